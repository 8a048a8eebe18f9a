"""The labelled square that many patterns carry so that a print can be measured: "5 cm", "2 in"."""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from typing import NamedTuple

from seamcheck.importers.roles import role_in
from seamcheck.marks import LineMark, Role, TextMark

LONGEST = 300  # characters of a text that are looked at
LARGEST = 305.0  # mm by its label; larger squares are pieces
_UNITS = {"mm": 1.0, "cm": 10.0, "in": 25.4, "inch": 25.4, "inches": 25.4, '"': 25.4, "″": 25.4, "zoll": 25.4,
          "pouce": 25.4, "pouces": 25.4, "duim": 25.4, "pollici": 25.4, "pulgadas": 25.4}  # fmt: skip
_SIDE = r"(\d+(?:[.,]\d+)?)"
_UNIT = "(" + "|".join(sorted(map(re.escape, _UNITS), key=len, reverse=True)) + ")"
_SIZE = re.compile(rf"{_SIDE}\s*{_UNIT}?\s*(?:[x×*]\s*{_SIDE}\s*)?{_UNIT}?(?![\w])", re.IGNORECASE)


class ScaleSquare(NamedTuple):
    """The square's place in the list of lines, the side its words state, and the side as drawn (both in mm)."""

    at: int
    stated: float
    drawn: float
    why: str


def labelled_square(lines: Sequence[LineMark], texts: Sequence[TextMark]) -> ScaleSquare | None:
    """The drawing's scale square: the first square with its size written inside it; None when there is none.

    Words that call it a test square, on the square or in the text, are looked for first; then a text inside that
    is nothing but a size.
    """
    ordered = sorted(enumerate(texts), key=lambda item: item[1].at.real)
    places = [text.at.real for _, text in ordered]
    found = []
    for index, line in enumerate(lines):
        corners = _square(line) if texts or line.label else []
        if not corners:
            continue
        across, down = [corner.real for corner in corners], [corner.imag for corner in corners]
        near = ordered[bisect_left(places, min(across)) : bisect_right(places, max(across))]
        inside = [
            text.text for _, text in sorted(near, key=lambda item: item[0]) if min(down) <= text.at.imag <= max(down)
        ]
        words = (line.label, *inside, " ".join(inside))
        found.append((index, corners, [each for each in words if _stated(each, alone=False) is not None]))
    for alone in (False, True):
        for index, corners, sized in found:
            for each in sized:
                stated = _stated(each, alone=alone)
                called = lines[index].role == Role.TEST_SQUARE or role_in(each) == Role.TEST_SQUARE
                if stated is not None and stated <= LARGEST and (alone or called):
                    why = f'{lines[index].place} is a square marked "{each}"'
                    return ScaleSquare(index, stated, _side(corners), why)
    return None


def _stated(words: str, *, alone: bool) -> float | None:
    """The side in mm that words state; with `alone`, only when they are nothing but a size."""
    words = words[:LONGEST].strip()
    matches = [_SIZE.fullmatch(words)] if alone else _SIZE.finditer(words)
    for match in matches:
        if match is None or not (unit := match[4] or match[2]):
            continue
        across, down = (float(side.replace(",", ".")) for side in (match[1], match[3] or match[1]))
        return across * _UNITS[unit.lower()] if across == down > 0.0 else None
    return None


def _side(corners: Sequence[complex]) -> float:
    return sum(abs(corners[index] - corners[index - 1]) for index in range(4)) / 4.0


def _square(line: LineMark) -> list[complex]:
    """The corners of a square of four straight strokes, within 1 %; nothing for any other line."""
    if not line.closed or len(line.curve.segments) != 4 or line.hidden:
        return []
    segments: list[list[complex]] = line.curve.segments.tolist()
    sides = [segment[3] - segment[0] for segment in segments]
    side = sum(map(abs, sides)) / 4.0
    straight = all(
        abs(3.0 * (segment[1] - segment[0]) - (segment[3] - segment[0])) <= 0.01 * side for segment in segments
    )
    turn = sides[1] - sides[0] * (1j if (sides[1] / sides[0]).imag > 0.0 else -1j) if straight and sides[0] else side
    opposite = max(abs(sides[0] + sides[2]), abs(sides[1] + sides[3]))
    return [segment[0] for segment in segments] if max(abs(turn), opposite) <= 0.01 * side else []
