"""What the commands share to read and write: whole files, messages, tables, processes."""
