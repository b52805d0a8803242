"""The register: every certificate a firm has issued, kept whole and in order, so that a change shows."""
