"""What certgen costs, run by hand."""
