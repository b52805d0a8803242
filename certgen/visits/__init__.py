"""A line over more than one moment: comparison, drift and trend, and when to survey next."""
