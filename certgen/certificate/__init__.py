"""From an assessment to the PDF."""
