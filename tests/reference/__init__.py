"""Published cases and independent peers, each with its source and tolerance."""
