"""The answer of `certgen aim` in words and as plain data."""

from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass

from certgen.certificate.content import Column, Table
from certgen.cli.text_table import text_table
from certgen.cli.typed import LengthUnit
from certgen.engine.aim import Lever, Pivot, Turn

FORMAT = "certgen-aim/1"

_SAME_MM = 1e-9

_WHY: Mapping[Pivot, str] = {
    "before near": "The pivot stands before the near target: the near end moves the same way as the far one,"
    " by less, so the aim lies past what the near end reads now.",
    "at near": "The pivot stands at the near target: the near end does not move; the aim is what it reads.",
    "between": "The pivot stands between the targets: the near end moves the other way, so the aim lies"
    " between what the two ends read now.",
    "at far": "The pivot stands at the far target: no turn changes what it reads. Watch the near end and turn"
    " until it reads the same.",
    "beyond far": "The pivot stands beyond the far target: the near end moves the same way, by more; the aim"
    " lies past what the far end reads now, away from the near reading.",
}


@dataclass(frozen=True, slots=True)
class Asked:
    """What was asked, in mm and shares; None or empty where it was not.

    `unit` is that of the far reading, `distances` pivot to near and near to far as they were typed.
    """

    lever: Lever
    near_mm: float
    far_mm: float
    reached_mm: float | None
    within_mm: float
    accuracy: float | None
    turns: tuple[Turn, ...]
    unit: LengthUnit
    distances: tuple[str, str]

    @property
    def aim_mm(self) -> float:
        """The far reading to aim at."""
        return self.lever.aim_mm(self.near_mm, self.far_mm)


@dataclass(frozen=True, slots=True)
class AfterTurn:
    """Where a turn led: what the near end reads, far less near, and the aim once near is zeroed again."""

    near_mm: float
    apart_mm: float
    zeroed_aim_mm: float


def plain(asked: Asked) -> dict[str, object]:
    """Return the answer as plain data, lengths in mm."""
    after = _after(asked)
    return {
        "format": FORMAT,
        **asdict(asked.lever),
        "pivot": asked.lever.pivot,
        "near_mm": asked.near_mm,
        "far_mm": asked.far_mm,
        "aim_mm": asked.aim_mm,
        "reached": None if after is None else {"far_mm": asked.reached_mm, **asdict(after)},
        "accuracy": asked.accuracy,
        "within_mm": None if asked.accuracy is None else asked.within_mm,
        "turns": None if asked.accuracy is None else [asdict(each) for each in asked.turns],
    }


def in_words(asked: Asked) -> str:
    """Return the answer for people."""
    parts = [_setting(asked), _aim(asked), *_reached(asked), *_table(asked)]
    return "\n".join(parts)


def _after(asked: Asked) -> AfterTurn | None:
    if asked.reached_mm is None:
        return None
    near = asked.lever.near_after_mm(asked.near_mm, asked.far_mm, asked.reached_mm)
    apart = asked.reached_mm - near
    return AfterTurn(near, apart, asked.lever.aim_mm(0.0, apart))


def _setting(asked: Asked) -> str:
    pivot, apart = asked.distances
    near, far = (asked.unit.text(reading) for reading in (asked.near_mm, asked.far_mm))
    return f"Pivot to near {pivot}, near to far {apart}; the near end reads {near}, the far end {far}."


def _aim(asked: Asked) -> str:
    if abs(asked.far_mm - asked.near_mm) < _SAME_MM:
        return "Both ends read the same: nothing to turn."
    aim = asked.unit.text(asked.aim_mm)
    what = "The near end" if asked.lever.pivot == "at far" else "The far end"
    return f"{what} is to read {aim}: then both ends read the same.\n{_WHY[asked.lever.pivot]}"


def _reached(asked: Asked) -> Iterator[str]:
    after = _after(asked)
    if after is None or asked.reached_mm is None:
        return
    far, near, apart = (asked.unit.text(each) for each in (asked.reached_mm, after.near_mm, after.apart_mm))
    aim, zeroed = asked.unit.text(asked.aim_mm), asked.unit.text(after.zeroed_aim_mm)
    yield ""
    yield f"The far end reached {far}: the near end then reads {near}, and the ends differ by {apart}."
    yield f"Without zeroing again, the aim stays {aim}."
    yield f"With the near end zeroed again, the far end reads {apart}: aim at {zeroed}."


def _table(asked: Asked) -> Iterator[str]:
    if asked.accuracy is None:
        return
    yield ""
    within = asked.unit.text(asked.within_mm, signed=False)
    if not asked.turns:
        yield f"The ends agree within {within} already."
        return
    count = "1 turn" if len(asked.turns) == 1 else f"{len(asked.turns)} turns"
    reached = f"{100.0 * asked.accuracy:g} %"
    yield f"With {reached} of each turn reached, the ends agree within {within} after {count}."
    yield text_table(_turn_table(asked))


def _turn_table(asked: Asked) -> Table:
    titles = ("Far reads", "Aim", "Reached", "Near then", "Apart")
    rows = (
        (str(number), *(asked.unit.number(value) for value in asdict(each).values()))
        for number, each in enumerate(asked.turns, 1)
    )
    note = f"In {asked.unit.sign}; the near end is zeroed before each turn."
    return Table("", (Column("Turn", "left"), *map(Column, titles)), tuple(rows), note)
