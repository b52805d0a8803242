"""Tests of verdicts, moves and results."""
