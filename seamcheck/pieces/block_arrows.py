"""Arrows that are drawn as one closed outline: a shaft with a head at one end or at both, alike on both sides of its middle.

Where such an outline lies in a larger one it is an arrow on a piece, and neither a piece nor a hole. Beside the pieces it is a sign on
the sheet, unless a name is written in it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from seamcheck.exact import EXACT
from seamcheck.geometry.curve import Curve
from seamcheck.geometry.end_directions import straight
from seamcheck.pattern.drawing import LineMark, Role
from seamcheck.pieces.nesting import ClosedLine, is_inside

SHORTEST = 30.0  # mm: a shorter one is a sign
ALIKE = 0.02  # of its length: so far from their mirror images corners may lie
SHARPEST_TIP, BLUNTEST_TIP = 10.0, 120.0  # degrees between the two sides of a head
SLENDER = 2.0  # times as long as wide at least
SHAFT = 0.7  # of the head's width at most
LARGER = 4.0  # times as large as the arrow is the piece that it lies on
# By how many corners there are: which turn inward and how many places from the tip, either way. With 8 the tail has a dent or a point.
_INWARD = {7: (2,), 8: (2,), 10: (2, 3)}


def without_block_arrows(
    candidates: Sequence[ClosedLine], others: Sequence[LineMark]
) -> tuple[list[ClosedLine], list[LineMark], list[tuple[ClosedLine, str]]]:
    """The closed lines without the arrows among them, the other marks with these arrows, each as its middle line, and the signs.

    Of the others, too, what is closed and called the grainline may be an arrow. A sign comes with what it is.
    """
    signs: list[tuple[ClosedLine, str]] = []
    kept: list[ClosedLine] = []
    arrows: list[LineMark] = []
    for one in candidates:
        middle = middle_line(one.curve) if one.mark.role is None else None
        if middle is not None and any(
            LARGER * one.area <= other.area and is_inside(one, other) for other in candidates
        ):
            arrows.append(_arrow(one.mark, middle, one.members))
        elif middle is not None and not one.named:
            signs.append((one, "closed arrow beside the pieces"))
        else:
            kept.append(one)
    for mark in others:
        middle = middle_line(mark.curve) if mark.role is Role.GRAIN and mark.closed else None
        arrows.append(mark if middle is None else _arrow(mark, middle, (mark,)))
    return kept, arrows, signs


def _arrow(mark: LineMark, middle: Curve, strokes: tuple[LineMark, ...]) -> LineMark:
    return replace(mark, curve=middle, closed=False, arrow=True, strokes=strokes)


def middle_line(curve: Curve) -> Curve | None:
    """The line from the tail of a closed arrow to its tip; None for any other outline."""
    if not curve.is_closed or not 7 <= len(curve.segments) <= 20 or not straight(curve.segments).all():
        return None
    points = _corners(curve.segments[:, 0])
    count = len(points)
    if count not in _INWARD:
        return None
    ways = np.roll(points, -1) - points
    turns = np.degrees(np.angle(ways / np.roll(ways, 1))) * np.sign(curve.signed_area())
    inward = {place % count for offset in _INWARD[count] for place in (offset, -offset)}
    for tip in range(count):
        row, turned = np.roll(points, -tip), np.roll(turns, -tip)
        bent_in = {int(k) for k in np.flatnonzero(turned < 0.0)} - ({4} if count == 8 else set())
        if bent_in == inward and (middle := _middle(row, float(turned[0]))) is not None:
            return middle
    return None


def _middle(row: npt.NDArray[np.complex128], turn: float) -> Curve | None:
    """The middle line of an outline that is an arrow with its tip first; None where it is none."""
    count = len(row)
    half = count // 2
    tail = complex(row[half] if count % 2 == 0 else (row[half] + row[half + 1]) / 2)
    if count == 8:
        tail = complex((row[3] + row[5]) / 2)
    tip = complex(row[0])
    long = abs(tip - tail)
    if long < SHORTEST - EXACT or not SHARPEST_TIP <= 180.0 - turn <= BLUNTEST_TIP:
        return None
    flat = (row - tail) / ((tip - tail) / long)
    mirrored = np.conj(np.roll(flat[::-1], 1))
    wide, narrow = 2.0 * abs(float(flat[1].imag)), 2.0 * abs(float(flat[2].imag))
    if np.abs(flat - mirrored).max() > ALIKE * long or long < SLENDER * wide or narrow > SHAFT * wide:
        return None
    return Curve.line(tail, tip)


def _corners(points: npt.NDArray[np.complex128]) -> npt.NDArray[np.complex128]:
    """The vertices of a polygon at which it turns."""
    before, after = points - np.roll(points, 1), np.roll(points, -1) - points
    off = np.abs((after * np.conj(before)).imag)
    return points[off > 1e-6 * np.abs(after) * np.abs(before)]
