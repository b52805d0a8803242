"""What the results say on moves is on the pages: shims, what travel leaves, the check of reported moves."""

import re
from typing import Any

import pytest

from tests.certificate.test_printed_results import FACTORS, SAMPLES, cells, issued, shown, small

ASPECTS = ("level", "parallel")


def systems(units: str) -> tuple[str, ...]:
    """Return the unit systems on the page."""
    return ("mm", "in") if units == "both" else (units,)


def in_text(units: str, value: float) -> str:
    """Return a move in running text: number and unit in each system."""
    signs = {"mm": "mm", "in": "thou"}
    return " / ".join(
        f"{shown(value * FACTORS[u][1], FACTORS[u][2], signed=True)} {signs[u]}" for u in systems(units)
    )


def plain(value: float) -> str:
    """Return a shim's thickness to four places, trailing zeros dropped."""
    return f"{value:.4f}".rstrip("0").rstrip(".")


@pytest.mark.parametrize("aspect", ASPECTS)
@pytest.mark.parametrize("name", SAMPLES)
def test_every_check_of_a_reported_move_is_on_the_pages(name: str, aspect: str) -> None:
    """Predicted, measured, difference, U and whether they agree, in one row."""
    found, units, text = issued(name)
    for roll in found["rolls"]:
        check = (roll["adjustment_check"] or {}).get(aspect)
        if check is not None:
            expanded = check["U_mm_per_m"]
            keys = ("predicted_mm_per_m", "measured_mm_per_m", "difference_mm_per_m")
            numbers = " ".join(cells(units, check[key], expanded) for key in keys)
            row = f" {roll['id']} {aspect.capitalize()} {numbers} "
            row += f"{cells(units, expanded, expanded, signed=False)} {check['result']} "
            assert re.search(row, text), row


@pytest.mark.parametrize("name", SAMPLES)
def test_every_reported_move_is_on_the_pages(name: str) -> None:
    """By bearing, up and downstream beside each other; the check adds up what one bearing was moved."""
    found, units, text = issued(name)
    for roll in found["rolls"]:
        check = roll["adjustment_check"] or {}
        for side in ("operator", "drive"):
            moved = [check[aspect]["reported_mm"][side] if check.get(aspect) else 0.0 for aspect in ASPECTS]
            if all(moved):
                row = f" {roll['id']} {side} side {' '.join(small(units, amount) for amount in moved)} "
                assert re.search(row, text), row


@pytest.mark.parametrize("name", SAMPLES)
def test_every_shim_pack_is_on_the_pages(name: str) -> None:
    """Behind the move that is raised by it."""
    found, units, text = issued(name)
    for roll in found["rolls"]:
        level = roll["moves"]["level"]
        if level is not None and level["shims"] is not None and level["shims"]["pieces_mm"]:
            pieces = level["shims"]["pieces_mm"]
            assert len(set(pieces)) == len(pieces), "equal shims are counted on the page"
            packs = (" + ".join(plain(p * FACTORS[u][1]) for p in pieces) for u in systems(units))
            row = f" {level['side']} side {small(units, level['up_mm'])} {re.escape(' '.join(packs))} "
            assert re.search(f" {roll['id']} .*?{row}", text), row


def needed(found: dict[str, Any]) -> list[tuple[str, str, dict[str, Any]]]:
    """Return roll, aspect and moves of all that is left to do."""
    return [
        (roll["id"], aspect, roll["moves"][aspect])
        for roll in found["rolls"]
        for aspect in ASPECTS
        if roll["moves"][aspect] is not None and roll["moves"][aspect]["needed"]
    ]


@pytest.mark.parametrize("name", SAMPLES)
def test_everything_left_to_do_is_on_the_pages(name: str) -> None:
    """Every step, what travel forbids, the error it leaves with U, and the verdict then."""
    found, units, text = issued(name)
    for roll, aspect, moves in needed(found):
        way = "up_mm" if aspect == "level" else "downstream_mm"
        steps = "; ".join(f"{step['side']} side {in_text(units, step[way])}" for step in moves["steps"])
        after = moves["predicted"]
        row = f" {roll} {aspect.capitalize()} {re.escape(steps)}.*? "
        row += (
            f"limited by travel: {re.escape(in_text(units, moves[way]))} .*? "
            if moves["travel"]["limited"]
            else ""
        )
        row += f"{cells(units, after['error_mm_per_m'], after['U_mm_per_m'])} "
        row += f"{cells(units, after['U_mm_per_m'], after['U_mm_per_m'], signed=False)} {after['verdict']} "
        assert re.search(row, text), row


def test_samples_show_what_travel_and_shims_do() -> None:
    """Else this file would look for nothing: a roll limited by travel, packs, and checks."""
    results = {name: issued(name)[0]["rolls"] for name in SAMPLES}
    rolls = [roll for found in results.values() for roll in found]
    moves = [roll["moves"][aspect] for roll in rolls for aspect in ASPECTS if roll["moves"][aspect]]
    assert any(one["needed"] and one["travel"]["limited"] for one in moves)
    assert any(one.get("shims") and one["shims"]["pieces_mm"] for one in moves)
    assert any(roll["adjustment_check"] for roll in rolls)
