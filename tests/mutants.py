"""Draw mutants of the computing folders and say which of them the tests let pass.

`python -m tests.mutants SEED COUNT` draws so many. A mutant is one small change: a comparison turned or its
bound moved, an operator or a sign changed, a number one larger or twice as large, one branch taken for both,
the smallest for the largest. It is drawn by lines, so that a long line is no likelier than a short one.

The tests run on a copy of the tree in a temporary folder, those first whose file names the module; a mutant
is killed where one of them fails or all take too long. What survives shows what no test pins, or changes
nothing that can be seen: DEVELOPERS.md has the list of these.
"""

import ast
import os
import random
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate
from pathlib import Path

ROOT = Path(__file__).parent.parent
FOLDERS = ("network", "assessment", "moves", "visits", "reference_study")
TESTS = ("tests/engine", "tests/assessment", "tests/reference", "tests/certificate/test_worksheet.py")
SECONDS = 600.0  # of all tests on one mutant
_COMPARISONS: dict[type[ast.cmpop], tuple[type[ast.cmpop], ...]] = {
    ast.Lt: (ast.LtE, ast.Gt),
    ast.LtE: (ast.Lt, ast.GtE),
    ast.Gt: (ast.GtE, ast.Lt),
    ast.GtE: (ast.Gt, ast.LtE),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
}
_OPERATORS: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.Pow: ast.Mult,
    ast.MatMult: ast.Mult,
}


@dataclass(frozen=True)
class Mutant:
    """One change: the file, the line, the text before and after, and the whole text that holds it."""

    path: Path
    line: int
    before: str
    after: str
    text: str

    def __str__(self) -> str:
        return f"{self.path}:{self.line}  {self.before}  ->  {self.after}"


def changed(node: ast.AST) -> Iterator[ast.AST]:
    """Yield what may stand in the place of an expression, one change each."""
    if isinstance(node, ast.Compare):
        for place, one in enumerate(node.ops):
            for other in _COMPARISONS[type(one)]:
                yield ast.Compare(
                    node.left, [*node.ops[:place], other(), *node.ops[place + 1 :]], node.comparators
                )
    elif isinstance(node, ast.BinOp) and type(node.op) in _OPERATORS:
        yield ast.BinOp(node.left, _OPERATORS[type(node.op)](), node.right)
    elif isinstance(node, ast.BoolOp):
        yield ast.BoolOp(ast.Or() if isinstance(node.op, ast.And) else ast.And(), node.values)
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not | ast.USub):
        yield node.operand
    elif isinstance(node, ast.Constant) and type(node.value) in {int, float}:
        number = float(node.value) if isinstance(node.value, float) else int(str(node.value))
        yield from (ast.Constant(number + 1), ast.Constant(number * 2 if number else -1))
    elif isinstance(node, ast.IfExp):
        yield from (node.body, node.orelse)
    elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in {"min", "max"}:
        other_end = ast.Name("max" if node.func.id == "min" else "min", ast.Load())
        yield ast.Call(other_end, node.args, node.keywords)


def mutants(path: Path, text: str) -> Iterator[Mutant]:
    """Yield every mutant of a file that runs as another program: not those of types and documentation."""
    tree, code = ast.parse(text), text.encode()
    typed = _of_types(tree)
    starts = [0, *accumulate(len(line) for line in code.splitlines(keepends=True))]
    for node in ast.walk(tree):
        if not isinstance(node, ast.expr) or (node.lineno, node.col_offset) in typed:
            continue
        first = starts[node.lineno - 1] + node.col_offset  # columns count bytes
        last = starts[(node.end_lineno or node.lineno) - 1] + (node.end_col_offset or 0)
        for change in changed(node):
            after = f"({ast.unparse(change)})"
            whole = code[:first] + after.encode() + code[last:]
            yield Mutant(path, node.lineno, code[first:last].decode(), after, whole.decode())


def _of_types(tree: ast.Module) -> set[tuple[int, int]]:
    """Where the annotations stand, and the names of types that a file begins with."""
    roots: list[ast.AST] = [one for one in tree.body if isinstance(one, ast.Assign) and _names_type(one)]
    for node in ast.walk(tree):
        roots += [
            found for key in ("annotation", "returns") if (found := getattr(node, key, None)) is not None
        ]
    inside = (one for root in roots for one in ast.walk(root) if isinstance(one, ast.expr))
    return {(one.lineno, one.col_offset) for one in inside}


def _names_type(node: ast.Assign) -> bool:
    name = node.targets[0]
    return isinstance(name, ast.Name) and name.id[:1].isupper() and not name.id.isupper()


def drawn(root: Path, seed: int, count: int) -> list[Mutant]:
    """Return so many mutants of the computing folders, each of another line."""
    chance = random.Random(seed)  # noqa: S311  (a sample, no secret)
    by_line: dict[tuple[Path, int], list[Mutant]] = {}
    for path in sorted(one for folder in FOLDERS for one in (root / "certgen" / folder).glob("*.py")):
        for one in mutants(path.relative_to(root), path.read_text()):
            by_line.setdefault((one.path, one.line), []).append(one)
    lines = chance.sample(list(by_line.values()), min(count, len(by_line)))
    return [chance.choice(of_line) for of_line in lines]


def survives(root: Path, mutant: Mutant, tests: Sequence[str]) -> bool:
    """Run the tests on a tree with the mutant in it, then put the file back; return whether all passed."""
    path = root / mutant.path
    sound = path.read_text()
    path.write_text(mutant.text)
    try:
        return _passes(root, tests)
    finally:
        path.write_text(sound)


def _passes(root: Path, tests: Sequence[str]) -> bool:
    # nothing compiled is kept: a file that changes twice in a second would be taken for the one before
    path = {"PYTHONPATH": str(root), "PYTHONDONTWRITEBYTECODE": "1", "HYPOTHESIS_DERANDOMIZE": "1"}
    run = [
        sys.executable,
        "-m",
        "pytest",
        "-x",
        "-q",
        "-n0",
        "-m",
        "not slow",
        "-p",
        "no:cacheprovider",
        *tests,
    ]
    try:
        found = subprocess.run(
            run, cwd=root, env=os.environ | path, capture_output=True, timeout=SECONDS, check=False
        )
    except subprocess.TimeoutExpired:
        return False
    return found.returncode == 0


def in_order(root: Path, module: str) -> list[str]:
    """Return the test files, those first that name the module."""
    places = (root / one for one in TESTS)
    files = [file for one in places for file in (sorted(one.glob("test_*.py")) if one.is_dir() else [one])]
    files.sort(key=lambda file: module not in file.read_text())
    return [str(file.relative_to(root)) for file in files]


def main(seed: int, count: int) -> None:
    """Draw, run and print, on a copy of the tree."""
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "tree"
        left = shutil.ignore_patterns(".*", "__pycache__", "build", "dist")
        shutil.copytree(ROOT, copy, ignore=left)
        if not _passes(copy, in_order(copy, "")):
            sys.exit("The tests fail without any mutant.")
        survivors = []
        for one in drawn(copy, seed, count):
            passed = survives(copy, one, in_order(copy, one.path.stem))
            survivors += [one] if passed else []
            sys.stdout.write(f"{'survived' if passed else 'killed'}  {one}\n")
            sys.stdout.flush()
        listed = "".join(f"{one}\n" for one in survivors)
        sys.stdout.write(f"{count - len(survivors)} of {count} killed; survived:\n{listed}")


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]))
