"""Outlines whose curves are drawn with few vertices: they get splines in place of them, and that is told.

Which vertices of a piece that is drawn in several sizes are those of a curve is decided once, in the first of them, and holds for
all that are drawn vertex for vertex alike.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot

import numpy as np

from seamcheck.amounts import Name, PlainLength, count, phrase
from seamcheck.exact import EXACT, least
from seamcheck.geometry.curve import Curve
from seamcheck.geometry.end_directions import straight
from seamcheck.geometry.sparse import CoarseEnd, smoothed, sparse_rows
from seamcheck.pattern.drawing import Note
from seamcheck.pieces.nesting import ClosedLine

ALIKE = 20.0  # degrees by which the turn at a vertex may differ from size to size
REACH = 60.0  # mm: how far an allowance may put a corner from the end of the curve that is drawn


def with_splines(pieces: Sequence[Sequence[ClosedLine]]) -> list[Note]:
    """Give the outlines of all pieces, and the cut lines round them, splines for their sparse curves, and say so.

    Of each piece there are one size or several.
    """
    notes = []
    for sizes in pieces:
        decides = [None if line is None else line.curve for line in (sizes[0], sizes[0].twin)]
        for piece in sizes:
            lines = zip((piece, piece.twin), decides, strict=True)
            found = [told for line, like in lines if line is not None and (told := _splined(line, like))]
            if found:
                notes.append(_note(piece, sum(curves for curves, _ in found), max(apart for _, apart in found)))
    return notes


def _note(piece: ClosedLine, curves: int, apart: float) -> Note:
    message = phrase(
        "{piece}: {curves} with vertices up to {apart} apart. They are taken for smooth: a spline through the vertices "
        "is walked, and of kinks only those that stand out from the evenness of the rest are told.",
        piece=Name(piece.mark.label or str(piece.mark.place)),
        curves=count(curves, "curve is drawn", "curves are drawn"),
        apart=PlainLength(apart, 1),
    )
    return Note("sparse-curve", message)


def _splined(line: ClosedLine, like: Curve | None) -> tuple[int, float] | None:
    """How many sparse curves of a line were made splines, and how far their vertices lie apart in mm at most.

    `like` is the line of the size that decides.
    """
    rows = sparse_rows(like) if like is not None and _is_drawn_like(line.curve, like) else sparse_rows(line.curve)
    found = None if line.mark.turn_points else smoothed(line.curve, rows)
    if found is None:
        return None
    line.chords, line.curve, line.coarse = line.curve, found.curve, found.ends
    return found.curves, found.apart


def _is_drawn_like(one: Curve, other: Curve) -> bool:
    """Whether two outlines are drawn vertex for vertex alike: as many, and about the same turn at each."""
    if len(one.segments) != len(other.segments) or (straight(one.segments) != straight(other.segments)).any():
        return False
    turns = np.asarray(one.joint_turns()) - np.asarray(other.joint_turns())
    return bool((np.abs((turns + 180.0) % 360.0 - 180.0) <= ALIKE + EXACT).all())


def uncertainties(corners: Sequence[complex], ends: Sequence[CoarseEnd]) -> list[float]:
    """By how many degrees the angle at each corner may be off for the sparse curves of which an end is nearest to it."""
    found = [0.0] * len(corners)
    for end in ends if corners else ():
        nearest = least(range(len(corners)), key=lambda k: abs(corners[k] - end.at))
        if abs(corners[nearest] - end.at) <= REACH:
            found[nearest] = hypot(found[nearest], end.uncertainty)
    return found
