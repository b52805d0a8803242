"""Certificates as they were issued, which must verify for ever."""
