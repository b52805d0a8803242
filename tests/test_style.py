"""The sizes that keep a file readable, and what every test must say about itself."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import certgen

PACKAGE = Path(certgen.__file__).parent
TESTS = Path(__file__).parent
FILES = sorted([*PACKAGE.rglob("*.py"), *TESTS.rglob("*.py")])

MOST_LINES = 500
LONGEST_BODY = 50
MOST_ARGUMENTS = 5
TEST_NAME = re.compile(r"test_[a-z0-9]+(_[a-z0-9]+)+")

Function = ast.FunctionDef | ast.AsyncFunctionDef


def name_of(path: Path) -> str:
    """Return the name of a file as it stands in a report."""
    return str(path.relative_to(TESTS.parent if path.is_relative_to(TESTS) else PACKAGE.parent))


def functions(path: Path) -> Iterator[Function]:
    """Yield every function of a file, methods and inner ones among them."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    yield from (node for node in ast.walk(tree) if isinstance(node, Function))


def body_lines(function: Function) -> int:
    """Return the length of a body in lines, its docstring not counted."""
    body = function.body[1:] if ast.get_docstring(function) is not None else function.body
    return 0 if not body else (body[-1].end_lineno or 0) - body[0].lineno + 1


def argument_count(function: Function) -> int:
    """Return the number of arguments, `self` and `cls` not counted."""
    given = function.args
    names = [one.arg for one in (*given.posonlyargs, *given.args, *given.kwonlyargs)]
    return len([name for name in names if name not in ("self", "cls")])


@pytest.mark.parametrize("path", FILES, ids=name_of)
def test_file_stays_readable(path: Path) -> None:
    """No file over 500 lines; one that grows towards it holds two ideas."""
    assert len(path.read_text(encoding="utf-8").splitlines()) <= MOST_LINES


@pytest.mark.parametrize("path", FILES, ids=name_of)
def test_functions_stay_short(path: Path) -> None:
    """No body over 50 lines, no more than five arguments."""
    long = [one.name for one in functions(path) if body_lines(one) > LONGEST_BODY]
    wide = [one.name for one in functions(path) if argument_count(one) > MOST_ARGUMENTS]
    assert (long, wide) == ([], [])


@pytest.mark.parametrize("path", sorted(TESTS.rglob("test_*.py")), ids=name_of)
def test_tests_say_what_they_show(path: Path) -> None:
    """Every test has a docstring and a name of a subject and an expectation."""
    tests = [one for one in functions(path) if one.name.startswith("test_")]
    assert tests
    assert [one.name for one in tests if not ast.get_docstring(one)] == []
    assert [one.name for one in tests if not TEST_NAME.fullmatch(one.name)] == []
