"""Outlines whose curves are drawn with few vertices: they get splines in place of them, and that is told."""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot

from seamcheck.amounts import Name, PlainLength, count, phrase
from seamcheck.exact import least
from seamcheck.geometry.sparse import CoarseEnd, smoothed
from seamcheck.pattern.drawing import Note
from seamcheck.pieces.nesting import ClosedLine, Nested

REACH = 60.0  # mm: how far an allowance may put a corner from the end of the curve that is drawn


def with_splines(nested: Nested) -> list[Note]:
    """Give the outlines of all pieces, and the cut lines round them, splines for their sparse curves, and say so."""
    notes = []
    for piece in nested.pieces:
        found = [told for line in (piece, piece.twin) if line is not None and (told := _splined(line))]
        if found:
            message = phrase(
                "{piece}: {curves} with vertices up to {apart} apart. They are taken for smooth: a spline through the vertices "
                "is walked, and of kinks only those that stand out from the evenness of the rest are told.",
                piece=Name(piece.mark.label or str(piece.mark.place)),
                curves=count(sum(curves for curves, _ in found), "curve is drawn", "curves are drawn"),
                apart=PlainLength(max(apart for _, apart in found), 1),
            )
            notes.append(Note("sparse-curve", message))
    return notes


def _splined(line: ClosedLine) -> tuple[int, float] | None:
    """How many sparse curves of a line were made splines, and how far their vertices lie apart in mm at most."""
    found = None if line.mark.turn_points else smoothed(line.curve)
    if found is None:
        return None
    line.chords, line.curve, line.coarse = line.curve, found.curve, found.ends
    return found.curves, found.apart


def uncertainties(corners: Sequence[complex], ends: Sequence[CoarseEnd]) -> list[float]:
    """By how many degrees the angle at each corner may be off for the sparse curves of which an end is nearest to it."""
    found = [0.0] * len(corners)
    for end in ends if corners else ():
        nearest = least(range(len(corners)), key=lambda k: abs(corners[k] - end.at))
        if abs(corners[nearest] - end.at) <= REACH:
            found[nearest] = hypot(found[nearest], end.uncertainty)
    return found
