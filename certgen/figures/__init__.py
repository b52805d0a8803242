"""Drawings as shapes: the line diagram, views and plots."""
