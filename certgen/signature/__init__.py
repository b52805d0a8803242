"""Electronic signatures: signing, and what signatures claim."""
