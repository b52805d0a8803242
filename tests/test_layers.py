"""Imports run one way, each library stays in its layer, and only the command line sees the outside."""

import ast
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

import pytest

import certgen

ROOT = Path(certgen.__file__).parent
LAYERS = (
    "findings",
    "errors",
    "resources",
    "survey",
    "network",
    "assessment",
    "moves",
    "visits",
    "reference_study",
    "results",
    "wording",
    "document",
    "figures",
    "pdf",
    "web",
    "exports",
    "signature",
    "verify",
    "register",
    "cli",
)
TOP = len(LAYERS)  # the front door and `python -m certgen`

# library -> the modules (and all below them) that may import it
HOMES = {
    "pint": ("certgen.survey.units",),
    "yaml": ("certgen.survey", "certgen.wording"),
    "numpy": (
        "certgen.network",
        "certgen.assessment",
        "certgen.visits",
        "certgen.reference_study",
        "certgen.pdf.archive.print_record",
        "certgen.figures",
    ),
    "scipy": ("certgen.network", "certgen.assessment", "certgen.visits", "certgen.document"),
    "reportlab": ("certgen.figures", "certgen.pdf", "certgen.web", "certgen.signature", "certgen.verify"),
    "matplotlib": ("certgen.figures", "certgen.pdf.archive.print_record"),
    "jinja2": ("certgen.wording",),
    "pypdf": ("certgen.pdf.archive", "certgen.verify"),
    "pyhanko": ("certgen.signature.pades", "certgen.verify.signatures", "certgen.cli.signing"),
    "click": ("certgen.cli",),
    "rich": ("certgen.cli",),
    "sqlalchemy": ("certgen.register",),
    "psycopg": ("certgen.register",),
}
# What makes two runs on the same survey differ, or writes where nobody asked: for the command line only.
OUTSIDE_MODULES = {
    "time",
    "random",
    "secrets",
    "uuid",
    "locale",
    "getpass",
    "socket",
    "logging",
    "subprocess",
}
OUTSIDE_CALLS = {"print", "input", "breakpoint", "exit", "quit"}
OUTSIDE_ATTRIBUTES = {
    ("os", "environ"),
    ("os", "getenv"),
    ("sys", "stdout"),
    ("sys", "stderr"),
    ("sys", "stdin"),
    ("sys", "argv"),
    ("datetime", "now"),
    ("datetime", "today"),
    ("datetime", "utcnow"),
    ("date", "today"),
    ("Path", "cwd"),
    ("Path", "home"),
}

MODULES = {
    ".".join(path.relative_to(ROOT.parent).with_suffix("").parts).removesuffix(".__init__"): path
    for path in sorted(ROOT.rglob("*.py"))
}


def rank(module: str) -> int:
    """Return the layer of a module as a number that rises."""
    parts = module.split(".")
    return LAYERS.index(parts[1]) if len(parts) > 1 and parts[1] in LAYERS else TOP


def imported(tree: ast.AST, module: str) -> Iterator[str]:
    """Yield the full names of all that a module imports, wherever in it the import stands."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = _absolute(node, module)
            yield from (f"{base}.{alias.name}" for alias in node.names)


def _absolute(node: ast.ImportFrom, module: str) -> str:
    if node.level == 0:
        return node.module or ""
    parent = module.rsplit(".", node.level)[0]
    return f"{parent}.{node.module}" if node.module else parent


def upward(tree: ast.AST, module: str) -> list[str]:
    """Return the imports from a higher layer; the version is anyone's."""
    return [
        name
        for name in imported(tree, module)
        if name.split(".")[0] == "certgen" and name != "certgen.__version__" and rank(name) > rank(module)
    ]


def away_from_home(tree: ast.AST, module: str) -> list[str]:
    """Return the imports of libraries that belong into other modules."""
    return [name for name in imported(tree, module) if not _at_home(name.split(".")[0], module)]


def _at_home(library: str, module: str) -> bool:
    homes = HOMES.get(library)
    return homes is None or any(module == home or module.startswith(f"{home}.") for home in homes)


def outside(tree: ast.AST, module: str) -> list[str]:
    """Return what reads the clock, chance or the environment, or prints."""
    found = [name for name in imported(tree, module) if name.split(".")[0] in OUTSIDE_MODULES]
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in OUTSIDE_CALLS:
            found.append(node.func.id)
        elif isinstance(node, ast.Attribute) and (ast.unparse(node.value), node.attr) in OUTSIDE_ATTRIBUTES:
            found.append(ast.unparse(node))
    return found


def parsed(module: str) -> ast.Module:
    """Return the syntax tree of a module of certgen."""
    return ast.parse(MODULES[module].read_text(encoding="utf-8"))


def offences(check: Callable[[ast.AST, str], list[str]], modules: Iterable[str]) -> dict[str, list[str]]:
    """Return by module what breaks a rule."""
    found = {module: check(parsed(module), module) for module in modules}
    return {module: names for module, names in found.items() if names}


def test_every_module_imports_only_from_below() -> None:
    """In the order of LAYERS, from findings to the command line."""
    assert offences(upward, MODULES) == {}


def test_every_module_keeps_libraries_at_home() -> None:
    """One file knows the units library, one layer draws, one talks to the user."""
    assert offences(away_from_home, MODULES) == {}


def test_every_module_below_the_command_line_sees_no_outside() -> None:
    """No clock, chance or environment, and nothing printed: the same survey gives the same bytes."""
    assert offences(outside, (name for name in MODULES if rank(name) < rank("certgen.cli"))) == {}


def test_modules_all_belong_to_a_layer() -> None:
    """A new folder must be given its place in the order."""
    top = {name for name in MODULES if rank(name) == TOP}
    assert top <= {"certgen", "certgen.__main__", "certgen.front_door"}


@pytest.mark.parametrize(
    ("source", "check"),
    [
        ("def f():\n    from certgen.certificate import pages", upward),
        ("import certgen.cli.group", upward),
        ("from certgen import load_survey", upward),
        ("from ..certificate import pages", upward),
        ("import scipy.special", away_from_home),
        ("from pint import UnitRegistry", away_from_home),
        ("from datetime import date\nissued = date.today()", outside),
        ("import os\nhome = os.environ['HOME']", outside),
        ("print('done')", outside),
    ],
)
def test_rule_finds_what_breaks_it(source: str, check: object) -> None:
    """Each rule sees an offence in a module of the survey layer."""
    assert callable(check)
    assert check(ast.parse(source), "certgen.survey.made_up") != []
