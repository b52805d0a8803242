"""What still stands as the scaffold has it that `certgen new` writes: a certificate would look real."""

from collections.abc import Iterator
from functools import cache

from certgen.findings import Finding
from certgen.resources import templates
from certgen.survey.checked import Checked
from certgen.survey.read import read_tree
from certgen.survey.tree import Mapping, Node, Scalar

FILE = "survey.yaml"
# what no other survey has by chance; roles, halls and readings may well be the same
_KEYS = {
    "certificate": ("number",),
    "contractor": ("name", "address", "contact"),
    "customer": ("name", "address", "contact"),
    "line": ("name",),
}


def scaffold(root: Checked) -> Iterator[Finding]:
    """Yield a warning for every part of the survey that is still the scaffold's."""
    for group, keys in _KEYS.items():
        for key in keys:
            stated = root.sure(group, key)
            if stated and stated.text == _words().get((group, key)):
                message = "this still stands as in the scaffold of `certgen new`"
                yield stated.warning(
                    message, "Replace it by your own; no certificate should be issued with it."
                )


@cache
def _words() -> dict[tuple[str, str], str]:
    """The texts of the scaffold itself, by group and key."""
    tree = read_tree(FILE, (templates() / FILE).read_text("utf-8"))
    named = ((group, key) for group, keys in _KEYS.items() for key in keys)
    return {(group, key): _text(tree, group, key) for group, key in named}


def _text(node: Node, *path: str) -> str:
    for key in path:
        assert isinstance(node, Mapping)  # noqa: S101  # the scaffold is ours
        node = node.entries[key].value
    assert isinstance(node, Scalar)  # noqa: S101  # the scaffold is ours
    return node.text.strip()
