"""From slopes to verdicts: targets, decision rules, conformance, budgets of uncertainty."""
