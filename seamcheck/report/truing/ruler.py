"""What a person measures on paper to draw a new line: distances along the old line from a corner that is found there, and how far
square to it the new line lies.

along   mm along the old line from one of its corners
inward  mm from the old line square to it, into the piece; less than nothing out of it
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from seamcheck.geometry.curve import Curve
from seamcheck.pattern.model import Edge, Piece
from seamcheck.truing.changes import CornerChange
from seamcheck.truing.stray import led_on

SPACINGS = (10.0, 20.0, 50.0, 100.0, 200.0, 500.0)  # mm between marks
MOST = 6  # marks between where a line leaves the old one and where it comes back
SEEN = 0.3  # mm: what a pencil can show
ROUND = 5.0  # mm: to what the places are rounded where lines part and meet
STAYS = 0.05  # mm
STRAIGHT_ON = 0.2  # mm beside a line led on: in line with it


@dataclass(frozen=True, slots=True)
class Mark:
    """A place on the new line, by the old one."""

    along: float
    inward: float


@dataclass(frozen=True, slots=True)
class RunMarks:
    """The marks for one stretch of an edge, from a corner at its end; the first and last are where the lines part and meet."""

    edge: str
    corner: str
    marks: tuple[Mark, ...]


@dataclass(frozen=True, slots=True)
class CornerMark:
    """Where a corner goes: so far along an edge from where it was, past its end or back along it, then square to the edge."""

    corner: str
    edge: str
    beyond: float
    inward: float


def offset_at(old: Curve, new: Curve, along: float, inward: complex) -> float | None:
    """How far the new line lies from a place on the old one, square to it; None where it does not pass there.

    `inward` turns the old line's direction into the piece. Newton steps on the new line itself.
    """
    place, tangent = old.point(along), old.tangent(along)
    station = new.nearest(place).station
    for _ in range(30):
        off = (new.point(station) - place) * np.conj(tangent)
        if abs(off.real) < 1e-9:
            return float((off * np.conj(inward)).real)
        slope = float((new.tangent(station) * np.conj(tangent)).real)
        if abs(slope) < 0.2:
            return None
        further = min(max(station - float(off.real) / slope, 0.0), new.length)
        if further == station:
            return None
        station = further
    return None


def run_marks(old: Piece, new: Piece, name: str) -> Iterator[RunMarks]:
    """The marks for every stretch of an edge that leaves its old line by what a pencil can show."""
    was, now = old.edge(name), new.edge(name)
    if len(was.runs) != len(now.runs):
        return
    inward = _inward(old, was)
    starts = [was.start, *(after for _, after in was.breaks)]
    ends = [*(before for before, _ in was.breaks), was.end]
    for line, drawn, start, end in zip(was.runs, now.runs, starts, ends, strict=True):
        corner, side = start, inward
        if abs(line.start - drawn.start) > STAYS >= abs(line.end - drawn.end):
            line, drawn, corner, side = line.reversed(), drawn.reversed(), end, inward.conjugate()
        marks = _marks(line, drawn, side)
        if marks:
            yield RunMarks(name, corner, marks)


def _marks(old: Curve, new: Curve, inward: complex) -> tuple[Mark, ...]:
    length = old.length
    reach = led_on(new.reversed(), 1.0).reversed()
    reach = led_on(reach, 1.0)
    looked = np.linspace(0.0, length, 2 + int(min(length, 1000.0) / 2))
    seen = [s for s in looked.tolist() if abs(offset_at(old, reach, s, inward) or 0.0) > SEEN]
    if not seen:
        return ()
    first = max(math.floor((seen[0] - looked[1]) / ROUND) * ROUND, 0.0)
    last = min(math.ceil((seen[-1] + looked[1]) / ROUND) * ROUND, length)
    spacing = next((s for s in SPACINGS if (last - first) / s <= MOST), SPACINGS[-1])
    inner = [k * spacing for k in range(int(length / spacing) + 1)]
    places = [first, *(s for s in inner if first + 0.3 * spacing < s < last - 0.3 * spacing), last]
    found = ((s, offset_at(old, reach, s, inward)) for s in places)
    return tuple(Mark(s, off) for s, off in found if off is not None)


def corner_mark(old: Piece, change: CornerChange) -> CornerMark | None:
    """Where a corner went, by the edge that it went along most nearly; None where no edge ends there."""
    found = []
    for edge in old.edges:
        if edge.inside or change.name not in (edge.start, edge.end):
            continue
        line, inward = edge.runs[-1], _inward(old, edge)
        if change.name == edge.start:
            line, inward = edge.runs[0].reversed(), inward.conjugate()
        off = (change.after - line.end) * np.conj(line.tangent(line.length))
        if off.real >= 0.0:
            beyond, across = float(off.real), float((off * np.conj(inward)).real)
        else:
            near = line.nearest(change.after)
            off = (change.after - near.point) * np.conj(line.tangent(near.station))
            beyond, across = near.station - line.length, float((off * np.conj(inward)).real)
        found.append(CornerMark(change.name, edge.name, beyond, across))
    return min(found, key=lambda mark: round(abs(mark.inward), 6), default=None)


def _inward(piece: Piece, edge: Edge) -> complex:
    """What turns the direction of an edge into its piece: a clockwise outline has the piece on its right."""
    right = 1j if piece.y_down else -1j
    return right if edge.forward else -right
