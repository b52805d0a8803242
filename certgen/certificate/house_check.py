"""What a template of a contractor may do: fill in names and choose by them. It runs and reads nothing.

Calls, attributes, loops, arithmetic, filters beyond a few and foreign files are refused before the template
is compiled, so that it can neither reach out nor grow without bound.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from jinja2 import TemplateSyntaxError, meta, nodes
from jinja2.sandbox import ImmutableSandboxedEnvironment

from certgen.certificate.house_texts import PROJECT, allowed_tags, foreign_tag

_ALLOWED = (
    nodes.Template,
    nodes.Output,
    nodes.TemplateData,
    nodes.Name,
    nodes.Const,
    nodes.If,
    nodes.CondExpr,
    nodes.Compare,
    nodes.Operand,
    nodes.And,
    nodes.Or,
    nodes.Not,
    nodes.Concat,
    nodes.Filter,
    nodes.Include,
)
_FILTERS = ("lower", "upper", "capitalize", "trim")
_TOO_DEEP = "is nested too deeply"


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong with a template, and in which of its lines."""

    line: int
    message: str


@dataclass(frozen=True, slots=True)
class Rules:
    """The names a template may fill in, the project's paragraphs it may include, whether it is mark-up."""

    names: frozenset[str]
    includes: frozenset[str] = frozenset()
    markup: bool = False


def names_in(source: str) -> frozenset[str]:
    """Return the names that a template of the project fills in."""
    return frozenset(meta.find_undeclared_variables(_environment().parse(source)))


def fault_in(source: str, rules: Rules) -> Fault | None:
    """Return the first fault of a template of a contractor; None where it is sound."""
    try:
        tree = _environment().parse(source)
        return next(_faults(tree, rules), None)
    except TemplateSyntaxError as error:
        return Fault(error.lineno, error.message or "cannot be read")
    except RecursionError:
        return Fault(1, _TOO_DEEP)


def _environment() -> ImmutableSandboxedEnvironment:
    return ImmutableSandboxedEnvironment()


def _faults(tree: nodes.Node, rules: Rules) -> Iterator[Fault]:
    for node in _all(tree):
        message = _unwanted(node, rules)
        if message:
            yield Fault(node.lineno, message)
        if isinstance(node, nodes.TemplateData) and rules.markup and (tag := foreign_tag(node.data)):
            line = node.lineno + node.data[: tag[0]].count("\n")
            yield Fault(line, f"{tag[1]} is not allowed. Use only {allowed_tags()}.")


def _all(node: nodes.Node) -> Iterator[nodes.Node]:
    yield node
    for child in node.iter_child_nodes():
        yield from _all(child)


def _unwanted(node: nodes.Node, rules: Rules) -> str:
    if not isinstance(node, _ALLOWED):
        return f"{type(node).__name__.lower()} is not allowed. A template fills in names and chooses by if."
    if isinstance(node, nodes.Filter) and (node.name not in _FILTERS or node.args or node.kwargs):
        return f"the filter {node.name} is not allowed. There are: {', '.join(_FILTERS)}."
    if isinstance(node, nodes.Include):
        return _foreign_include(node, rules)
    if isinstance(node, nodes.Name) and node.name not in rules.names:
        return f"{node.name} is not known here. {_known(rules)}"
    return ""


def _known(rules: Rules) -> str:
    return f"There are: {', '.join(sorted(rules.names))}." if rules.names else "Nothing is filled in here."


def _foreign_include(node: nodes.Include, rules: Rules) -> str:
    known = {f"{PROJECT}/{name}" for name in rules.includes}
    if isinstance(node.template, nodes.Const) and node.template.value in known:
        return ""
    return f"only a paragraph of the project can be included: {', '.join(sorted(known)) or 'none here'}."
