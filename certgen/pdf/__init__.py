"""From content and shapes to pages."""
