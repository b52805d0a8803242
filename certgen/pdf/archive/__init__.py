"""Pages kept for long: PDF/A, metadata, attached files, the record of printing."""
