"""Every row of the threat model names a test that is there."""

import ast
import re
from pathlib import Path

ROOT = Path(__file__).parent.parent
TEXT = (ROOT / "docs" / "threat_model.md").read_text(encoding="utf-8")
NAMED = re.compile(r"`(tests/[\w/]+\.py)::(test_\w+)`")


def rows() -> list[str]:
    """Return the rows of all tables, heads and rules left out."""
    lines = [line for line in TEXT.splitlines() if line.startswith("| ")]
    return [line for line in lines if not line.startswith("| who ")]


def test_every_row_names_one_test() -> None:
    """Who, what is tried, what stops it, what does not, and the test."""
    assert len(rows()) >= 25
    assert [row for row in rows() if len(NAMED.findall(row)) != 1 or row.count(" | ") != 4] == []


def test_every_named_test_exists() -> None:
    """A test that was renamed is missed here."""
    missing = []
    for file, name in NAMED.findall(TEXT):
        tree = ast.parse((ROOT / file).read_text(encoding="utf-8"))
        if name not in {node.name for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)}:
            missing.append((file, name))
    assert missing == []
