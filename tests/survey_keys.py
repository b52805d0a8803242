"""The page on every key of a survey, made from the format itself: `python -m tests.survey_keys` writes it.

Examples are what the sample surveys say, which other tests read, check and issue.
"""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import yaml

from certgen import resources
from certgen.survey.schema import SURVEY
from certgen.survey.sections import Forms, Key, LeafOr, ListOf, Named, Section, Shape

ROOT = Path(__file__).parent.parent
PAGE = ROOT / "docs" / "survey_keys.md"
# in the order in which an example is taken: the smallest survey first, the one with every key last
SURVEYS = ("tutorial", "dryer_mixed", "coater_mm", "winder_inch", "unwind_wide", "winder_inch_next_year")
EVERY_KEY = Path(__file__).parent / "every_key.yaml"
_LONGEST = 100
_UNCERTAINTY = ("standard", "dof", "half_width", "shape", "expanded", "k")
_HEAD = """# Every key of a survey

Made from the format by `python -m tests.survey_keys`; a test holds this page to it. A key is needed unless
it says *may be left out*. The examples stand in the sample surveys or in
[tests/every_key.yaml](../tests/every_key.yaml), all of which certgen reads and issues. `rolls[]` is one of a
list, `<roll>` an id. How quantities are written: [units.md](units.md). Which end is which and what is
positive: [taking_readings.md](taking_readings.md).
"""


def sections(shape: Shape) -> tuple[Section, ...]:
    """Return the sections a shape may have, in the order of its forms."""
    if isinstance(shape, Section):
        return (shape,)
    if isinstance(shape, Forms):
        return shape.variants
    if isinstance(shape, LeafOr):
        return sections(shape.section)
    if isinstance(shape, ListOf):
        return sections(shape.item)
    return sections(shape.value) if isinstance(shape, Named) else ()


def keys(shape: Shape) -> list[tuple[Key, str]]:
    """Return the keys below a shape, each once, and what is to be said of leaving it out."""
    forms = sections(shape)
    names = list(dict.fromkeys(key.name for form in forms for key in form.keys))
    found = []
    for name in names:
        those = [form.named()[name] for form in forms if name in form.named()]
        needed = all(key.required for key in those)
        told = "*in one of its forms*" if len(those) < len(forms) and needed else "*may be left out*"
        found.append((those[0], "" if len(those) == len(forms) and needed else told))
    return found


def below(shape: Shape) -> str:
    """Return what stands between a key and the keys below it: the places in lists, the names in groups."""
    if isinstance(shape, ListOf):
        return "[]" * (not shape.single) + below(shape.item)
    if isinstance(shape, Named):
        return f".<{shape.names.removesuffix('s')}>" + below(shape.value)
    return ""


def every(shape: Shape, path: str) -> Iterator[tuple[str, list[tuple[Key, str]]]]:
    """Yield every group of keys: its path, and its keys."""
    there = keys(shape)
    if there:
        yield path, there
    for key, _ in there:
        inner = f"{path}.{key.name}" if path else key.name
        yield from every(key.shape, inner + below(key.shape))


def values(tree: Any, steps: list[str]) -> Iterator[Any]:
    """Yield what surveys have at a path; a list or a group of names is looked into."""
    if not steps:
        yield tree
        return
    step, rest = steps[0], steps[1:]
    many = tree if isinstance(tree, list) else [tree]
    for one in many:
        if not isinstance(one, dict):
            continue
        if step.startswith("<"):
            for value in one.values():
                yield from values(value, rest)
        elif step in one:
            yield from values(one[step], rest)


def surveys() -> list[Any]:
    """Return the surveys that examples are taken from, every value a text as it stands in the file."""
    files = [*(resources.sample_surveys() / f"{name}.yaml" for name in SURVEYS), EVERY_KEY]
    return [yaml.load(path.read_text("utf-8"), yaml.BaseLoader) for path in files]  # noqa: S506  # texts only


def written(value: Any) -> str:
    """Return a value as it would stand in a survey, on one line."""
    text = yaml.dump(value, default_flow_style=True, width=10_000, allow_unicode=True, sort_keys=False)
    return re.sub(r"'(-?[\d.][^'{}\[\],:#]*|true|false)'", r"\1", text.removesuffix("\n...\n").strip())


def example(path: str, found: list[Any]) -> str | None:
    """Return an example of a key from the first survey that has it, a short one where there is one."""
    steps = [step for step in re.sub(r"\[\]", "", path).split(".") if step]
    texts = [written(value) for tree in found for value in values(tree, steps)]
    short = [text for text in texts if len(text) <= _LONGEST]
    return short[0] if short else (min(texts, key=len) if texts else None)


def choices(shape: Any) -> str:
    """Return the words that a value may be, where these are few."""
    json = shape.json() if hasattr(shape, "json") else {}
    words = json.get("enum", ()) if isinstance(json, dict) else ()
    return ": " + ", ".join(f"`{word}`" for word in words) if words else ""


Places = list[tuple[str, list[tuple[Key, str]]]]


def groups() -> list[tuple[tuple[str, ...], Places]]:
    """Return every group of keys: names, and all its places, such as the many of an uncertainty."""
    found: dict[tuple[tuple[str, str], ...], Places] = {}
    for path, there in every(SURVEY, ""):
        found.setdefault(tuple((key.name, key.about) for key, _ in there), []).append((path, there))
    return [(tuple(name for name, _ in names), places) for names, places in found.items()]


def own_names(names: tuple[str, ...]) -> tuple[str, ...]:
    """Return the names of a group without those of an uncertainty that it also states."""
    states_one = set(_UNCERTAINTY) < set(names)
    return tuple(name for name in names if not (states_one and name in _UNCERTAINTY))


def page() -> str:
    """Return the page."""
    found, lines = surveys(), [_HEAD]
    for names, places in groups():
        paths = [path for path, _ in places]
        lines += [f"## {_title(names, paths)}", "", "| key | what it says | example |", "|---|---|---|"]
        own = own_names(names)
        for key, told in places[0][1]:
            if key.name not in own:
                continue
            sample = _first(paths, key.name, found)
            shown = "" if sample is None or len(sample) > _LONGEST else f"`{key.name}: {sample}`"
            more = f"; {told}" if told and "may be left out" not in key.about else ""
            about = f"{key.about}{choices(key.shape)}{more}"
            lines.append(f"| `{key.name}` | {about} | {shown} |".replace(" |  |", " | |"))
        if len(own) < len(names):
            lines.append(
                "| " + ", ".join(f"`{name}`" for name in _UNCERTAINTY) + " | as in any uncertainty | |"
            )
        lines.append("")
    return "\n".join(lines)


def _title(names: tuple[str, ...], paths: list[str]) -> str:
    if names == _UNCERTAINTY:
        return "An uncertainty, wherever one is stated"
    return ", ".join(f"`{path}`" for path in paths) if paths[0] else "The survey"


def _first(paths: list[str], name: str, found: list[Any]) -> str | None:
    """The first example of a key at one of its paths."""
    there = (example(f"{path}.{name}" if path else name, found) for path in paths)
    return next((text for text in there if text is not None), None)


def without_example() -> list[str]:
    """Return the keys that no survey here shows."""
    found = surveys()
    return [
        f"{places[0][0]}.{name}"
        for names, places in groups()
        for name in own_names(names)
        if _first([path for path, _ in places], name, found) is None
    ]


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
