"""The tests, laid out as the package is."""
