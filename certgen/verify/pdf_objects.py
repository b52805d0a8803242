"""The objects of a PDF as they were read, and what leads from one to the other (ISO 32000-1:2008, 7.3)."""

import zlib
from dataclasses import dataclass, field
from typing import Any

from certgen.errors import NotVerified

MOST_OBJECTS = 150_000
MOST_PAGES = 2_000


class Name(str):
    """A name; texts are bytes."""

    __slots__ = ()


@dataclass(frozen=True, slots=True)
class Reference:
    """A reference to an object by its number."""

    number: int


@dataclass(frozen=True, slots=True)
class Stream:
    """The dictionary of a stream, its data as they stand in the file, and how long they are unfolded."""

    keys: dict[str, Any]
    packed: bytes
    length: int

    @property
    def data(self) -> bytes:
        """What the stream holds."""
        return zlib.decompress(self.packed) if "Filter" in self.keys else self.packed


@dataclass(slots=True)
class Revision:
    """Objects by number and the trailer of the file as issued, or of one update; `end` is where it ends.

    `places` are those of the objects, `inside` those of packed ones, the number of their stream and the index
    there; `table` is the place of their table.
    """

    objects: dict[int, Any] = field(default_factory=dict)
    trailer: dict[str, Any] = field(default_factory=dict)
    places: dict[int, int] = field(default_factory=dict)
    inside: dict[int, tuple[int, int]] = field(default_factory=dict)
    table: int = 0
    end: int = 0

    def at(self, value: Any) -> Any:
        """Return the object that a reference leads to, None where that is missing; anything else as it is."""
        return self.objects.get(value.number) if isinstance(value, Reference) else value

    def root(self) -> dict[str, Any]:
        """Return the catalog; NotVerified where there is none."""
        found = self.at(self.trailer.get("Root"))
        if not isinstance(found, dict):
            raise NotVerified("the file is not built as certgen builds it: it has no catalog.")
        return found

    def pages(self) -> list[dict[str, Any]]:
        """Return the pages, which stand in one list; NotVerified where they do not."""
        tree = self.at(self.root().get("Pages"))
        kids = tree.get("Kids") if isinstance(tree, dict) else None
        found = [self.at(kid) for kid in kids] if isinstance(kids, list) else []
        sound = all(isinstance(one, dict) and one.get("Type") == "Page" for one in found)
        distinct = len({kid.number for kid in kids or () if isinstance(kid, Reference)}) == len(found)
        if not sound or not distinct or not 0 < len(found) <= MOST_PAGES or tree.get("Count") != len(found):
            told = f"its pages do not stand in one list of at most {MOST_PAGES}"
            raise NotVerified(f"the file is not built as certgen builds it: {told}.")
        return found

    def files(self) -> dict[str, bytes]:
        """Return by name every file that the catalog lists as attached (ISO 32000-1:2008, 7.11.4)."""
        found: dict[str, bytes] = {}
        names = self.at(self.root().get("Names"))
        tree = self.at(names.get("EmbeddedFiles")) if isinstance(names, dict) else None
        pairs = self.at(tree.get("Names")) if isinstance(tree, dict) else None
        for name, item in zip(pairs[::2], pairs[1::2], strict=False) if isinstance(pairs, list) else ():
            stream = self._file(item)
            if isinstance(name, bytes) and stream is not None:
                found[name.decode("latin-1")] = stream.data
        return found

    def _file(self, item: Any) -> Stream | None:
        spec = self.at(item)
        inside = self.at(spec.get("EF")) if isinstance(spec, dict) else None
        stream = self.at(inside.get("F")) if isinstance(inside, dict) else None
        return stream if isinstance(stream, Stream) else None
