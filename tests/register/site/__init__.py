"""Tests of the web site of a register."""
