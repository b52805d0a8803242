"""A register as a static web site: an overview to search in, a page for each line and each certificate."""
