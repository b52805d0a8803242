"""From slopes to verdicts: decision rules, targets, conformance."""
