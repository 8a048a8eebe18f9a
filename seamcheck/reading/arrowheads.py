"""Arrows that are drawn and not declared: a line with a small V, triangle or pair of barbs at its end."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import product
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from seamcheck.exact import EXACT
from seamcheck.geometry.curve import Curve, measure
from seamcheck.geometry.loops import close_loops
from seamcheck.pattern.drawing import LineMark, Role

SHORT_BARB = 15.0  # mm: a barb up to here may be that of any shaft ...
BARB_SHARE = 1 / 8  # ... a longer one is no more than this of its shaft ...
LONGEST_BARB = 30.0  # ... and no longer than this, in mm
SHORTEST_SHAFT = 30.0  # mm
NEARLY_STRAIGHT = 0.98  # of its length: so far apart lie the ends of an arrow that an overlap has bent
TOUCH = 1.0  # mm; how near to the line's end a tip must be
LARGEST_HEAD = 2.0 * SHORT_BARB  # mm; lines that close round more than this are an outline

Cell = tuple[int, int]
Points = npt.NDArray[np.complex128]
Flags = npt.NDArray[np.bool_]


class _Barbs(NamedTuple):
    """The barbs of one cell (n): of which marks, their tips, the ways back from those, and which marks are hidden."""

    marks: npt.NDArray[np.int64]
    tips: Points
    ways: Points
    hidden: Flags


def with_arrowheads(lines: Sequence[LineMark]) -> tuple[LineMark, ...]:
    """Flag the lines that end in a drawn arrowhead as arrows, and the heads as no part of any piece.

    The barbs of a head lie back along a straight line from its tip, at least one on each side. They are strokes
    of their own, a V, or a triangle, which may also sit before the end of the line.
    """
    marks = list(lines)
    listed: dict[Cell, list[tuple[int, complex, complex, bool]]] = {}
    for index, mark in enumerate(marks):
        for tip, barb in _barbs(mark):
            listed.setdefault(_cell(tip), []).append((index, tip, barb, mark.hidden))
    if not listed:
        return tuple(marks)
    barbs = {cell: _Barbs(*map(np.array, zip(*own, strict=True))) for cell, own in listed.items()}
    measure(mark.curve for mark in lines)  # each is asked whether it is straight
    found = [(at, heads) for at, shaft in enumerate(lines) if (heads := _heads(at, shaft, barbs))]
    outlines = _on_outlines(lines) if found else frozenset()
    for at, heads in found:
        own = [(sides[True] - outlines, sides[False] - outlines) for sides in heads]
        for index in set().union(*(left | right for left, right in own if left and right and at not in outlines)):
            marks[at] = replace(marks[at], arrow=True)
            shaft = lines[at].place
            marks[index] = replace(marks[index], role=Role.FURNITURE, why=f"arrowhead of {shaft}", head_of=shaft)
    return tuple(marks)


def _heads(at: int, shaft: LineMark, barbs: Mapping[Cell, _Barbs]) -> list[dict[bool, set[int]]]:
    """The marks that lie like the barbs of a head at an end of a straight line, on both of its sides."""
    if shaft.role not in (None, Role.GRAIN) or shaft.closed or shaft.curve.chord < SHORTEST_SHAFT:
        return []
    if not shaft.curve.is_straight(0.01) and not _bent_by_an_overlap(shaft.curve):
        return []
    heads = []
    longest = max(SHORT_BARB, BARB_SHARE * shaft.curve.chord)
    ends = shaft.curve.segments[[0, -1]]
    for tip, tail in ((ends[0, 0], ends[0, 3]), (ends[-1, 3], ends[-1, 0])):
        tip, tail = complex(tip), complex(tail)
        back = (tail - tip) / abs(tail - tip)
        column, row = _cell(tip)
        sides: dict[bool, set[int]] = {True: set(), False: set()}
        for cell in product(range(column - 1, column + 2), range(row - 1, row + 2)):
            if (there := barbs.get(cell)) is not None:
                fits = (np.abs(there.ways) <= longest + EXACT) & (there.marks != at) & (there.hidden == shaft.hidden)
                left, right = _sides((there.tips - tip) / back, there.ways / back)
                sides[True].update(there.marks[fits & left].tolist())
                sides[False].update(there.marks[fits & right].tolist())
        if sides[True] and sides[False]:
            heads.append(sides)
    return heads


def _bent_by_an_overlap(curve: Curve) -> bool:
    """Whether a line is a straight one that was bent a little, in one place or two."""
    rows = curve.segments.tolist()
    return 1 < len(rows) <= 3 and curve.chord >= NEARLY_STRAIGHT * curve.length and all(map(_straight, rows))


def _on_outlines(lines: Sequence[LineMark]) -> frozenset[int]:
    """Which open lines close an outline with others: such a line is part of no arrow, however short it is."""
    open_lines = [at for at, line in enumerate(lines) if not line.closed and line.role is None and not line.hidden]
    loops, _ = close_loops([lines[at].curve for at in open_lines])
    large = (loop for loop in loops if _extent(loop.curve) > LARGEST_HEAD)
    return frozenset(open_lines[member] for loop in large for member in loop.members)


def _extent(curve: Curve) -> float:
    x0, y0, x1, y1 = curve.bounds()
    return max(x1 - x0, y1 - y0)


def _cell(point: complex) -> tuple[int, int]:
    """The square of a grid that a point is in; a head that belongs to a line's end is in the same or the next one."""
    size = LONGEST_BARB + 2.0 * TOUCH
    return math.floor(point.real / size), math.floor(point.imag / size)


def _barbs(mark: LineMark) -> list[tuple[complex, complex]]:
    """Every tip that a small mark may be seen to have, with the barb that leads away from it."""
    count = len(mark.curve.segments)
    if mark.role is not None or count > 3 or (mark.closed and count != 3):
        return []
    segments = mark.curve.segments.tolist()
    if not all(_straight(segment) for segment in segments):
        return []
    strokes = [(segment[0], segment[3]) for segment in segments]
    if mark.closed:
        ways = strokes + [(to, since) for since, to in strokes]
    elif len(strokes) == 2:
        tip = strokes[0][1]
        ways = [(tip, strokes[0][0]), (tip, strokes[1][1])]
    elif len(strokes) == 1:
        ways = [strokes[0], strokes[0][::-1]]
    else:
        return []
    return [(tip, to - tip) for tip, to in ways if 0.0 < abs(to - tip) <= LONGEST_BARB]


def _straight(segment: Sequence[complex]) -> bool:
    chord = segment[3] - segment[0]
    return all(abs(((point - segment[0]) * chord.conjugate()).imag) <= 0.01 * abs(chord) for point in segment[1:3])


def _sides(tips: Points, ways: Points) -> tuple[Flags, Flags]:
    """Which barbs lie on the left of a shaft that runs along +x from 0, and which on its right; the others are none of that shaft."""
    reaches = (np.abs(tips.imag) <= TOUCH) & (-ways.real - TOUCH <= tips.real) & (tips.real <= TOUCH)
    slope = np.abs(ways.imag)
    leans = (ways.real > 0.0) & (0.1 * ways.real < slope) & (slope < 6.0 * ways.real)
    own = reaches & leans
    return own & (ways.imag > 0.0), own & (ways.imag <= 0.0)
