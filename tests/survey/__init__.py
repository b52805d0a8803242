"""Tests of the survey layer."""
