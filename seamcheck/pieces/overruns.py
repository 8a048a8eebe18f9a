"""Lines that run over the corners of an outline: trimmed where they cross, so that no piece is lost by it, and told."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

import numpy as np

from seamcheck.amounts import Name, PlainLength, phrase
from seamcheck.exact import EXACT, most
from seamcheck.geometry.curve import Curve
from seamcheck.geometry.loops import close_loops
from seamcheck.pattern.drawing import LineMark, Note
from seamcheck.pieces.nesting import PICTURE, SMALLEST_PIECE, ClosedLine, closed_line

OVERRUN = 15.0  # mm: so far a line may run over its corner
SHARE = 0.2  # of a line may be trimmed off
MOST = 400  # lines that are looked at: among more the crossings are a grid or a table
MOST_MEETING = 1000  # pairs of them that come near each other are looked at
MEETS = 1e-3  # mm: how near trimmed ends meet

Chain = tuple[Curve, tuple[LineMark, ...]]


def trimmed_outlines(chains: Sequence[Chain], order: int) -> tuple[list[ClosedLine], set[int], list[Note]]:
    """The outlines that open lines make which cross near both their ends and nowhere else; the chains in them, and what is told.

    `order` is that of the first of them among all closed lines.
    """
    parts = _trimmed(chains)
    loops, _ = close_loops([curve for _, curve, _ in parts], (MEETS,))
    made: list[ClosedLine] = []
    used: set[int] = set()
    notes: list[Note] = []
    for loop in loops:
        numbers = [parts[member][0] for member in loop.members]
        x0, y0, x1, y1 = loop.curve.bounds()
        if len(numbers) < 3 or abs(loop.curve.signed_area()) < SMALLEST_PIECE or max(x1 - x0, y1 - y0) <= PICTURE:
            continue
        members = tuple(mark for number in numbers for mark in chains[number][1])
        labelled = [mark for mark in members if mark.label]
        speaker = most(labelled or members, key=lambda mark: mark.curve.length)
        made.append(closed_line(loop.curve, speaker, members, (), order + len(made)))
        used |= set(numbers)
        over = max(parts[member][2] for member in loop.members)
        message = phrase(
            "{piece}: lines run over the corners of the outline, by up to {over}. It was trimmed where they cross.",
            piece=Name(speaker.label or str(speaker.place)),
            over=PlainLength(over, 1),
        )
        notes.append(Note("corners-overrun", message))
    return made, used, notes


def _trimmed(chains: Sequence[Chain]) -> list[tuple[int, Curve, float]]:
    """The chains that cross others near both ends and nowhere else: their numbers, what lies between, and the longest end that is off."""
    curves = [curve for curve, _ in chains]
    met: list[list[float]] = [[] for _ in chains]
    pairs = combinations(range(len(chains)), 2) if len(chains) <= MOST else ()
    near = [(one, other) for one, other in pairs if _may_cross(curves[one], curves[other])]
    for one, other in near if len(near) <= MOST_MEETING else ():
        for here, there in curves[one].crossings(curves[other]):
            met[one].append(here)
            met[other].append(there)
    found = []
    for number, (curve, stations) in enumerate(zip(curves, met, strict=True)):
        if len(stations) != 2:
            continue
        first, last = sorted(stations)
        ends = (first, curve.length - last)
        if max(ends) <= min(OVERRUN, SHARE * curve.length) + EXACT:
            found.append((number, curve.between(first, last), max(ends)))
    return found


def _may_cross(curve: Curve, other: Curve) -> bool:
    """Whether lines come near enough to cross; those that are the very same are drawn twice and cross nowhere."""
    (x0, y0, x1, y1), (u0, v0, u1, v1) = curve.bounds(), other.bounds()
    near = x0 <= u1 and u0 <= x1 and y0 <= v1 and v0 <= y1
    return near and not ((x0, y0, x1, y1) == (u0, v0, u1, v1) and np.array_equal(curve.segments, other.segments))
