"""Words, languages and a house's own texts; numbers to text."""
