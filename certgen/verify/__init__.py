"""Whether a certificate is what its survey gives: read, issued anew, compared."""
