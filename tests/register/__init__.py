"""Tests of the register, on SQLite and on PostgreSQL."""
