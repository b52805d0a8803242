"""Makes the survey records from the checked tree."""
