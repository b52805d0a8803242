"""Tests of the certificate: content, numbers, drawings, pages."""
