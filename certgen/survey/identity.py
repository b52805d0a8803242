"""What a survey file says its certificate is called, read by itself: many files are told apart by it."""

from dataclasses import dataclass

from certgen.errors import SurveyRefused
from certgen.findings import Place
from certgen.survey.read import read_tree
from certgen.survey.source import decode
from certgen.survey.tree import Mapping, Node, Scalar


@dataclass(frozen=True, slots=True)
class Identity:
    """Number and revision as written, without space around them, and the place of the number in the file."""

    number: str
    revision: str
    place: Place


def identity(file: str, data: bytes) -> Identity | None:
    """Return how the certificate of a survey is called; None where the file does not say so."""
    try:
        root = read_tree(file, decode(file, data))
    except SurveyRefused:
        return None
    named = _below(root, "certificate")
    number, revision = _below(named, "number"), _below(named, "revision")
    if not isinstance(number, Scalar) or not isinstance(revision, Scalar):
        return None
    return Identity(number.text.strip(), revision.text.strip(), number.place)


def _below(node: Node | None, key: str) -> Node | None:
    return node.entries[key].value if isinstance(node, Mapping) and key in node.entries else None
