"""The texts of a house folder: files of bounded size that lie in it, and templates that can do no harm.

Calls, attributes, loops, arithmetic, filters beyond a few and foreign files are refused before the template
is compiled, so that it can neither reach out nor grow without bound.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path

import yaml
from jinja2 import TemplateSyntaxError, meta, nodes
from jinja2.sandbox import ImmutableSandboxedEnvironment

from certgen.errors import WrongUsage
from certgen.wording.wording import (
    PROJECT,
    HouseText,
    HouseTexts,
    allowed_tags,
    foreign_tag,
    project_words,
    verdict_in,
)

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
MOST_TEXT = 64 * 1024
# What a result says is the project's to word: verdicts, rounds, sides, directions, signs, units, and what
# they are set in. Otherwise a folder of templates could have a certificate say the opposite of its results.
_FIXED = frozenset(
    [
        *(
            "pass",
            "conditional pass",
            "conditional fail",
            "fail",
            "reference",
            "not measured",
            "not adjusted",
            "not shown",
        ),
        *(
            "section_verdict",
            "plan_view",
            "cross_view",
            *("verdict_counts", "verdict", "line_surveyed", "title_one_round", "in_doubt", "draft"),
            *("rolls_all_within", "rolls_within", "rolls_outside", "rolls_not_shown", "rolls_beyond"),
            *("rolls conditional fail", "rolls conditional pass", "rolls_other_within", "rolls_pairs"),
            *("rolls_missing", "checks_counted", "checks_not_passed", "put_right"),
            *("remain_move", "remain_held", "remain_pairs", "running_doubt", "running_outside"),
            *("running_not_shown", "running_pairs", "running_unread", "running_pass", "running_release"),
            *("sure_u", "sure_simple", "sure_guarded", "sure_four_way", "sure_all", "proof_checked"),
            *("not_passed_signs", "not_passed_signs_one", "not_passed_unit", "not_passed_also"),
            *("not_passed_close", "proof_moves", "reading_alone", "reading_set_aside"),
            "verdict_none",
            "not_measured_note",
            "not_adjusted_note",
        ),
        *("titled", "between_clauses"),
        *("simple", "guarded", "four_way", "as_found", "as_left", "line_as_found", "line_as_left"),
        *("legend_found", "legend_left", "study_as_found", "study_as_left"),
        *("operator", "drive", "both", "none", "operator_end", "drive_end", "bearing_side"),
        *("upstream", "downstream", "up", "down", "raise", "lower", "move_downstream", "move_upstream"),
        *("adjustment_up", "adjustment_downstream", "sheet_done_downstream", "sheet_arrows", "sheet_verdict"),
        *("level", "parallel", "adjacent", "table_level", "table_parallel", "move_level", "move_parallel"),
        *("table_adjacent_level", "table_adjacent_parallel", "table_note_units", "table_note_adjacent"),
        *("split", "moves_none", "is_significant", "is_not_significant", "agrees", "differs"),
        *("tolerance_on", "tolerance_per_roll", "plot_axis", "sheet_expected"),
    ]
)
_TITLE = re.compile(r"title|.*_title|section_.*|document|identification")
_FIXED_KINDS = ("inline ", "stated ")
DECIMAL_SIGNS = (".", ",")


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
        known = {f"{PROJECT}/{name}" for name in rules.includes}
        if isinstance(node.template, nodes.Const) and node.template.value in known:
            return ""
        return f"only a paragraph of the project can be included: {', '.join(sorted(known)) or 'none here'}."
    if isinstance(node, nodes.Name) and node.name not in rules.names:
        return f"{node.name} is not known here. {_known(rules)}"
    return ""


def _known(rules: Rules) -> str:
    return f"There are: {', '.join(sorted(rules.names))}." if rules.names else "Nothing is filled in here."


def house_texts(folder: Path, project: Path, language: str) -> HouseTexts:
    """Return the words and paragraphs of a house folder in one language, each checked.

    Raises WrongUsage with file and line where one is faulty, or reaches out of the folder.
    """
    own = folder / language
    if not own.is_dir():
        return HouseTexts()
    words = own / "words.yaml"
    return HouseTexts(
        words=dict(_words(folder, words, project_words(project, language))) if words.exists() else {},
        paragraphs=dict(_paragraphs(folder, own, project / language)),
    )


def read_within(folder: Path, file: Path, most: int) -> bytes:
    """Return the bytes of a regular file that lies in the folder, links followed; at most so many.

    Raises WrongUsage where it is missing, elsewhere, something else than a file, or larger.
    """
    try:
        real = file.resolve(strict=True)
        if not real.is_relative_to(folder.resolve(strict=True)) or not real.is_file():
            raise WrongUsage(f"{file}: this is not a file within {folder}.")
        with real.open("rb") as stream:
            data = stream.read(most + 1)
    except (OSError, RuntimeError) as error:  # RuntimeError: links that lead in a circle
        raise WrongUsage(f"{file}: {getattr(error, 'strerror', None) or error}.") from None
    if len(data) > most:
        raise WrongUsage(f"{file}: this is larger than {most // 1024} KiB.")
    return data


def text_within(folder: Path, file: Path) -> str:
    """Return the text of a file that lies in the folder."""
    try:
        return read_within(folder, file, MOST_TEXT).decode("utf-8-sig")
    except UnicodeDecodeError:
        raise WrongUsage(f"{file}: this is not UTF-8 text.") from None


def _words(folder: Path, file: Path, project: Mapping[str, str]) -> Iterator[tuple[str, HouseText]]:
    for key, text, line in _entries(file, text_within(folder, file)):
        if key not in project:
            near = get_close_matches(key, project, 1)
            raise WrongUsage(
                f"{file}:{line}: {key} is no word here.{f' Did you mean {near[0]}?' if near else ''}"
            )
        if key in _FIXED or key.startswith(_FIXED_KINDS):
            told = (
                "verdicts, sides, directions, units and signs read alike on every certificate. Leave it out."
            )
            raise WrongUsage(f"{file}:{line}: {key}: this word is fixed: {told}")
        if key == "decimal_sign" and text not in DECIMAL_SIGNS:
            raise WrongUsage(f'{file}:{line}: decimal_sign: write "." or ",".')
        if _TITLE.fullmatch(key) and text != project[key] and (verdict := verdict_in(text)):
            raise WrongUsage(
                f"{file}:{line}: {key}: a title states no verdict, {verdict}; the results do. Leave it out."
            )
        fault = fault_in(text, Rules(names_in(project[key])))
        if fault is not None:
            raise WrongUsage(f"{file}:{line + fault.line - 1}: {key}: {fault.message}")
        yield key, HouseText(text, f"{file}:{line}")


def _entries(file: Path, text: str) -> Iterator[tuple[str, str, int]]:
    """Key, text and line of every word."""
    try:
        table = yaml.compose(text, Loader=yaml.SafeLoader)
    except yaml.YAMLError as error:
        mark = getattr(error, "problem_mark", None)
        line = 1 if mark is None else mark.line + 1
        raise WrongUsage(f"{file}:{line}: {getattr(error, 'problem', None) or error}.") from None
    except RecursionError:
        raise WrongUsage(f"{file}:1: this is nested too deeply.") from None
    if table is None:
        return
    if not isinstance(table, yaml.MappingNode):
        raise WrongUsage(f"{file}:1: write one word a line, key: text.")
    for key, value in table.value:
        line = key.start_mark.line + 1
        if not isinstance(key, yaml.ScalarNode) or not isinstance(value, yaml.ScalarNode):
            raise WrongUsage(f"{file}:{line}: a word is a text.")
        yield key.value, value.value, line


def _paragraphs(folder: Path, own: Path, project: Path) -> Iterator[tuple[str, HouseText]]:
    known = {path.name: names_in(path.read_text("utf-8")) for path in project.glob("*.j2")}
    for file in sorted(own.glob("*.j2")):
        if file.name not in known:
            raise WrongUsage(f"{file}: no such paragraphs. There are: {', '.join(sorted(known))}.")
        text = text_within(folder, file)
        names = known[file.name]
        includes = frozenset(name for name, needed in known.items() if needed <= names)
        fault = fault_in(text, Rules(names, includes, markup=True))
        if fault is not None:
            raise WrongUsage(f"{file}:{fault.line}: {fault.message}")
        yield file.name, HouseText(text, str(file))
