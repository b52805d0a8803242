"""Tests of the correction engine."""
