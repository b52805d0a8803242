"""The checks that look at more than one value of a file."""
