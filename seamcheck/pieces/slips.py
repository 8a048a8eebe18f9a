"""Lines that are shorter than anything that is drawn: left over where a program trimmed, joined or exploded others.

slip   an open line of less than 0.1 mm between lines that are long: the outline is joined over it
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from seamcheck.geometry.loops import JOINING_TOLERANCES
from seamcheck.pattern.drawing import LineMark, Note

SLIP = 0.1  # mm
LONG = 4.0 * JOINING_TOLERANCES[0]  # mm: a line no shorter than this keeps its two ends apart when ends are joined
MEETS = 1e-4  # mm: ends this near are drawn as one
SEEN = 1e-6  # mm: what is shorter is rounding, and not told
SHOWN = 3


def without_slips(marks: Sequence[LineMark]) -> tuple[list[LineMark], list[LineMark]]:
    """The lines that are drawn, and those that are slips."""
    short = [mark for mark in marks if 0.0 < mark.curve.length < SLIP]
    if not short:
        return list(marks), []
    # A curve of many short chords has short lines beside short lines.
    beside: dict[tuple[int, int], list[complex]] = defaultdict(list)
    for mark in marks:
        if mark.curve.length < LONG:
            for end in (mark.curve.start, mark.curve.end):
                beside[_cell(end)].append(end)
    slips = [mark for mark in short if all(_met(end, beside) == 1 for end in (mark.curve.start, mark.curve.end))]
    gone = {id(mark) for mark in slips}
    return [mark for mark in marks if id(mark) not in gone], slips


def tolerances_for(marks: Sequence[LineMark]) -> tuple[float, ...]:
    """How far ends are joined, finest first: as drawn before all, where a line is so short that its own ends would be joined."""
    short = any(0.0 < mark.curve.length < LONG for mark in marks)
    return (MEETS, *JOINING_TOLERANCES) if short else JOINING_TOLERANCES


def slip_notes(slips: Sequence[LineMark]) -> list[Note]:
    """What is to be said of the slips that can be seen."""
    seen = [slip for slip in slips if slip.curve.length > SEEN]
    if not seen:
        return []
    places = ", ".join(f"({one.curve.start.real:.1f}, {one.curve.start.imag:.1f})" for one in seen[:SHOWN])
    more = f" and {len(seen) - SHOWN} more places" if len(seen) > SHOWN else ""
    what = "A line" if len(seen) == 1 else f"{len(seen)} lines"
    are = "is a slip" if len(seen) == 1 else "are slips"
    over = "it" if len(seen) == 1 else "them"
    return [
        Note("tiny-line", f"{what} of less than 0.1 mm {are}; outlines are joined over {over}: at {places}{more}.")
    ]


def _cell(at: complex) -> tuple[int, int]:
    return round(at.real / MEETS), round(at.imag / MEETS)


def _met(at: complex, beside: dict[tuple[int, int], list[complex]]) -> int:
    """How many ends of short lines lie at a place."""
    column, row = _cell(at)
    near = (end for dx in (-1, 0, 1) for dy in (-1, 0, 1) for end in beside.get((column + dx, row + dy), ()))
    return sum(abs(end - at) <= MEETS for end in near)
