"""Arrows that are drawn and not declared: a line with a small V, triangle or pair of barbs at its end."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from seamcheck.marks import LineMark, Role

LONGEST_BARB = 15.0  # mm
SHORTEST_SHAFT = 30.0  # mm
TOUCH = 1.0  # mm; how near to the line's end a tip must be


def with_arrowheads(lines: Sequence[LineMark]) -> tuple[LineMark, ...]:
    """Flag the lines that end in a drawn arrowhead as arrows, and the heads as no part of any piece.

    The barbs of a head lie back along a straight line from its tip, at least one on each side. They are strokes
    of their own, a V, or a triangle, which may also sit before the end of the line.
    """
    marks = list(lines)
    barbs = [(index, barb) for index, mark in enumerate(marks) for barb in _barbs(mark)]
    if not barbs:
        return tuple(marks)
    for at, shaft in enumerate(lines):
        if shaft.role not in (None, Role.GRAIN) or shaft.closed or shaft.curve.chord < SHORTEST_SHAFT:
            continue
        if not shaft.curve.is_straight(0.01):
            continue
        start, end = shaft.curve.start, shaft.curve.end
        for tip, tail in ((start, end), (end, start)):
            back = (tail - tip) / abs(tail - tip)
            sides: dict[bool, set[int]] = {True: set(), False: set()}
            for index, (point, barb) in barbs:
                side = _side((point - tip) / back, barb / back)
                if side is not None and index != at and marks[index].hidden == shaft.hidden:
                    sides[side].add(index)
            if sides[True] and sides[False]:
                marks[at] = replace(marks[at], arrow=True)
                for index in sides[True] | sides[False]:
                    marks[index] = replace(marks[index], role=Role.FURNITURE, why=f"arrowhead of {shaft.place}")
    return tuple(marks)


def _barbs(mark: LineMark) -> list[tuple[complex, complex]]:
    """Every tip that a small mark may be seen to have, with the barb that leads away from it."""
    segments = mark.curve.segments
    if (
        mark.role is not None
        or mark.curve.length > 3 * LONGEST_BARB
        or len(segments) != (3 if mark.closed else len(segments))
    ):
        return []
    if len(segments) > 3 or not all(_straight(segment) for segment in segments):
        return []
    strokes = [(complex(segment[0]), complex(segment[3])) for segment in segments]
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


def _side(tip: complex, barb: complex) -> bool | None:
    """On which side of a shaft that runs along +x from 0 a barb lies; None when it is none of that shaft."""
    reaches = abs(tip.imag) <= TOUCH and -barb.real - TOUCH <= tip.real <= TOUCH
    leans = barb.real > 0.0 and 0.1 * barb.real < abs(barb.imag) < 6.0 * barb.real
    return barb.imag > 0.0 if reaches and leans else None
