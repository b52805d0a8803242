"""Which of the declared instruments are lasers."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date

from certgen.findings import Finding, Place, Severity
from certgen.survey.tree import echo
from certgen.survey.units import Measure


@dataclass(slots=True)
class Checked:
    """One key or list item. A value that could not be read is not `sound` and holds a stand-in.

    `where` is its path, `place` where its value stands, `key_place` where its key stands (its value,
    where it has no key). `written` is a single value's text.
    """

    where: str
    place: Place
    key_place: Place
    value: object = None
    sound: bool = True
    written: str = ""
    keys: dict[str, "Checked"] = field(default_factory=dict)
    items: tuple["Checked", ...] = ()

    def __getitem__(self, name: str) -> "Checked":
        return self.keys[name]

    def get(self, *path: str) -> "Checked | None":
        """Return what stands at the path of keys below, None where any of them is absent."""
        found: Checked | None = self
        for name in path:
            found = found.keys.get(name) if found else None
        return found

    def sure(self, *path: str) -> "Checked | None":
        """Return what stands at the path of keys below, None where it is absent or could not be read."""
        found = self.get(*path)
        return found if found is not None and found.sound else None

    def children(self, *path: str) -> dict[str, "Checked"]:
        """Return the keys at a path, none where it is absent."""
        found = self.get(*path)
        return found.keys if found else {}

    def list(self, *path: str) -> tuple["Checked", ...]:
        """Return the items at a path, none where it is absent."""
        found = self.get(*path)
        return found.items if found else ()

    @property
    def measure(self) -> Measure:
        """The value as a quantity."""
        assert isinstance(self.value, Measure)  # noqa: S101  # the schema gave this key a quantity's kind
        return self.value

    @property
    def base(self) -> float:
        """The value of a quantity in its base unit."""
        return self.measure.value

    @property
    def number(self) -> float:
        """The value as a number without a unit."""
        assert isinstance(self.value, int | float)  # noqa: S101  # the schema gave this key a number's kind
        return self.value

    @property
    def text(self) -> str:
        """The value as text."""
        return str(self.value)

    @property
    def day(self) -> date:
        """The value as a calendar day."""
        assert isinstance(self.value, date)  # noqa: S101  # the schema gave this key a day's kind
        return self.value

    @property
    def pointed_at(self) -> Place:
        """Where a finding points: at a single value, or at the key of a group."""
        return self.key_place if self.keys or self.items else self.place

    @property
    def called(self) -> str:
        """The id it states, a question mark where it states none."""
        name = self.sure("id")
        return name.text if name else "?"

    def everything(self) -> Iterator["Checked"]:
        """Return this and all that stands below it."""
        yield self
        for child in (*self.keys.values(), *self.items):
            yield from child.everything()

    def fault(self, message: str, hint: str, severity: Severity = "error") -> Finding:
        """Return a finding about this value, or about the group of values under this key."""
        got = echo(self.written) if self.written else None
        return Finding(severity, self.pointed_at, self.where or "the file", message, hint, got)

    def warning(self, message: str, hint: str) -> Finding:
        """Return a warning about this value."""
        return self.fault(message, hint, "warning")


def lasers(root: Checked) -> tuple[Checked, ...]:
    """Return the instruments that may be the laser of a setup.

    Those whose kind says so; where none does, all that are not a level.
    """
    declared = root.list("instruments")
    said = tuple(one for one in declared if "laser" in one["kind"].text.casefold())
    level = root.get("level", "instrument")
    others = (
        one for one in declared if not one.get("sensitivity") and not (level and one["id"].text == level.text)
    )
    return said or tuple(others)


def only_laser(root: Checked) -> str | None:
    """Return the id of the laser where there is exactly one."""
    found = lasers(root)
    return found[0]["id"].text if len(found) == 1 else None
