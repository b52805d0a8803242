"""The drawing of mutants: what a test notices is told from what it does not."""

from pathlib import Path

import pytest

from tests.mutants import drawn, mutants, survives

CODE = (
    '"""A file."""\n\n\ndef size(value: float) -> float:\n    return abs(value) if value < 0.0 else value\n'
)


@pytest.mark.parametrize(("after", "survived"), [("(value <= 0.0)", True), ("(value > 0.0)", False)])
def test_mutant_survives_where_no_test_notices_it(after: str, survived: bool, tmp_path: Path) -> None:
    """At zero both branches give zero; turned about, a negative number stays one. The file is put back."""
    file = tmp_path / "size.py"
    file.write_text(CODE)
    (tmp_path / "test_size.py").write_text(
        "from size import size\n\n\n"
        "def test_size() -> None:\n    assert (size(-2.0), size(3.0)) == (2.0, 3.0)\n"
    )
    (one,) = (one for one in mutants(Path("size.py"), CODE) if one.after == after)
    assert (one.line, one.before) == (5, "value < 0.0")
    assert survives(tmp_path, one, ["test_size.py"]) is survived
    assert file.read_text() == CODE


def test_same_seed_draws_the_same_mutants() -> None:
    """Each of another line of the computing folders, and each a program that Python reads."""
    root = Path(__file__).parent.parent
    found = drawn(root, 3, 20)
    assert found == drawn(root, 3, 20)
    assert len({(one.path, one.line) for one in found}) == 20
    for one in found:
        compile(one.text, str(one.path), "exec")
