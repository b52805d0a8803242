"""The certificate for a browser: HTML and SVG."""
