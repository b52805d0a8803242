"""Invented roll lines, read by exact plane geometry, as records and as survey files."""
