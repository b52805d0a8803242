"""What keeps the code readable: sizes, names, and what every test says about itself. Each rule is one test.

`python -m tests.test_style` prints the measures of the whole house beside what it aims at.
"""

import ast
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from statistics import median

import certgen

PACKAGE = Path(certgen.__file__).parent
TESTS = Path(__file__).parent
PRODUCT = sorted(PACKAGE.rglob("*.py"))
FILES = [*PRODUCT, *sorted(TESTS.rglob("*.py"))]

MOST_LINES = 500
LONGEST_BODY = 50
MOST_ARGUMENTS = 5
TEST_NAME = re.compile(r"test_[a-z0-9]+(_[a-z0-9]+)+")

Function = ast.FunctionDef | ast.AsyncFunctionDef


def name_of(path: Path) -> str:
    """Return the name of a file as it stands in a report."""
    return str(path.relative_to(TESTS.parent if path.is_relative_to(TESTS) else PACKAGE.parent))


def parsed(path: Path) -> ast.Module:
    """Return the syntax tree of a file."""
    return ast.parse(path.read_text(encoding="utf-8"))


def functions(path: Path) -> Iterator[Function]:
    """Yield every function of a file, methods and inner ones among them."""
    yield from (node for node in ast.walk(parsed(path)) if isinstance(node, Function))


def body_lines(function: Function) -> int:
    """Return the length of a body in lines, its docstring not counted."""
    body = function.body[1:] if ast.get_docstring(function) is not None else function.body
    return 0 if not body else (body[-1].end_lineno or 0) - body[0].lineno + 1


def argument_count(function: Function) -> int:
    """Return the number of positional arguments, `self` and `cls` not counted; keyword arguments are free."""
    given = function.args
    return len([one for one in (*given.posonlyargs, *given.args) if one.arg not in ("self", "cls")])


def test_every_file_stays_readable() -> None:
    """No file over 500 lines; one that grows towards it holds two ideas."""
    sizes = {name_of(path): len(path.read_text(encoding="utf-8").splitlines()) for path in FILES}
    assert {name: size for name, size in sizes.items() if size > MOST_LINES} == {}


def test_every_function_stays_short() -> None:
    """No body over 50 lines, no more than five positional arguments."""
    found = [(name_of(path), one) for path in FILES for one in functions(path)]
    assert [(name, one.name) for name, one in found if body_lines(one) > LONGEST_BODY] == []
    assert [(name, one.name) for name, one in found if argument_count(one) > MOST_ARGUMENTS] == []


def test_every_test_says_what_it_shows() -> None:
    """Each has a docstring and a name of a subject and an expectation, and no file of tests is empty."""
    tests = {
        name_of(path): [one for one in functions(path) if one.name.startswith("test_")]
        for path in sorted(TESTS.rglob("test_*.py"))
    }
    every = [(name, one) for name, found in tests.items() for one in found]
    assert [name for name, found in tests.items() if not found] == []
    assert [(name, one.name) for name, one in every if not ast.get_docstring(one)] == []
    assert [(name, one.name) for name, one in every if not TEST_NAME.fullmatch(one.name)] == []


@dataclass(frozen=True, slots=True)
class House:
    """The measures of the product code: counts, and shares in percent."""

    modules: int
    biggest_folder: int
    median_lines: float
    imports: float
    helpers_used_once: float
    names_twice: int
    lines: int


# what the house aims at: at most so much, of the median at least
AIM = House(190, 25, 120, 7.0, 50.0, 8, 24_000)


def house() -> House:
    """Measure the product code."""
    modules = [path for path in PRODUCT if path.name != "__init__.py"]
    lines = {path: len(path.read_text(encoding="utf-8").splitlines()) for path in PRODUCT}
    helpers: set[tuple[Path, str]] = set()
    uses: Counter[tuple[Path, str]] = Counter()
    imports = 0
    for path in PRODUCT:
        for node in ast.walk(parsed(path)):
            if isinstance(node, ast.Import | ast.ImportFrom):
                imports += (node.end_lineno or node.lineno) - node.lineno + 1
            elif isinstance(node, Function) and node.name.startswith("_") and not node.name.startswith("__"):
                helpers.add((path, node.name))
            elif isinstance(node, ast.Name):
                uses[path, node.id] += 1
            elif isinstance(node, ast.Attribute):
                uses[path, node.attr] += 1
    return House(
        modules=len(modules),
        biggest_folder=max(Counter(path.parent for path in modules).values()),
        median_lines=median(lines[path] for path in modules),
        imports=100.0 * imports / sum(lines.values()),
        helpers_used_once=100.0 * sum(uses[one] <= 1 for one in helpers) / len(helpers),
        names_twice=sum(count > 1 for count in Counter(path.name for path in modules).values()),
        lines=sum(lines.values()),
    )


def report() -> Iterator[str]:
    """Yield a line for each measure, with its aim."""
    now = house()
    for name in House.__dataclass_fields__:
        yield f"{name.replace('_', ' '):20} {getattr(now, name):8.5g}   aim {getattr(AIM, name):g}"


if __name__ == "__main__":
    print("\n".join(report()))  # noqa: T201  # it is a command
