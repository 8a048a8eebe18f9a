"""The labelled square that many patterns carry so that a print can be measured: "5 cm", "2 in"."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import NamedTuple

from seamcheck.importers.roles import role_in
from seamcheck.marks import LineMark, Role, TextMark

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
    squares = [(index, side) for index, line in enumerate(lines) if (side := _side(line)) is not None]
    for strict in (False, True):
        for index, side in squares:
            named = lines[index].role == Role.TEST_SQUARE
            for words, place in _words(lines[index], texts):
                stated = _stated(words, alone=strict)
                called = named or role_in(words) == Role.TEST_SQUARE
                if stated is not None and stated <= LARGEST and (strict or called):
                    return ScaleSquare(index, stated, side, f'{lines[index].place} is a square marked "{place}"')
    return None


def _words(square: LineMark, texts: Sequence[TextMark]) -> list[tuple[str, str]]:
    """The square's own label, then each text in it, then all of them together."""
    left, top, right, bottom = square.curve.bounds()
    inside = [text.text for text in texts if left <= text.at.real <= right and top <= text.at.imag <= bottom]
    together = " ".join(inside)
    return [(words, words) for words in (square.label, *inside, together) if words]


def _stated(words: str, *, alone: bool) -> float | None:
    """The side in mm that words state; with `alone`, only when they are nothing but a size."""
    match = _SIZE.fullmatch(words.strip()) if alone else _SIZE.search(words)
    if match is None:
        return None
    unit = match[4] or match[2]
    if unit is None:
        return None
    first, second = match[1], match[3] or match[1]
    if float(first.replace(",", ".")) != float(second.replace(",", ".")):
        return None
    side = float(first.replace(",", ".")) * _UNITS[unit.lower()]
    return side if side > 0.0 else None


def _side(line: LineMark) -> float | None:
    """The side of an upright or turned square of four straight strokes within 1 %; None for any other line."""
    segments = line.curve.segments
    if not line.closed or len(segments) != 4 or line.hidden:
        return None
    sides = segments[:, 3] - segments[:, 0]
    mean = float(abs(sides).mean())
    straight = abs(segments[:, 1] - segments[:, 0] - sides / 3.0).max() <= 0.01 * mean
    turns = [sides[(index + 1) % 4] / sides[index] for index in range(4)]
    square = all(abs(turn - turns[0].imag * 1j) <= 0.02 for turn in turns) and abs(abs(turns[0]) - 1.0) <= 0.02
    return mean if straight and square else None
