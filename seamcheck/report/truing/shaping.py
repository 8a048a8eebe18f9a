"""Letters as outlines, set as their script wants it.

Each run of one direction and one font is shaped by HarfBuzz, which joins Arabic letters and puts accents and vowel signs where
they belong. The order of the runs is that of the Unicode Bidirectional Algorithm (Unicode Standard Annex 9) for texts
without signs of direction, which are taken out before: `uharfbuzz` wants its runs in this order, and no kept library gives
it anything but whole texts turned round.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import groupby

from seamcheck.report.truing.fonts import Face

Point = tuple[float, float]

_RIGHT_TO_LEFT = frozenset({"R", "AL"})
_NUMBERS = frozenset({"EN", "AN"})


@dataclass(frozen=True, slots=True)
class Outline:
    """A line of text from the origin to the right, as filled shapes.

    `parts` are ("M" | "L" | "C" | "Z", points), x to the right and y up; all in ems. Quadratic curves are told as cubic ones.
    """

    parts: tuple[tuple[str, tuple[Point, ...]], ...]
    width: float


def is_plain(text: str) -> bool:
    """Whether a text reads from left to right, letter by letter, so that nothing has to be shaped."""
    return not any(
        unicodedata.combining(letter) or unicodedata.bidirectional(letter) in _RIGHT_TO_LEFT | {"AN"}
        for letter in text
    )


def outline(text: str, faces: Sequence[Face]) -> Outline:
    """A text drawn with the first face that has each letter."""
    import uharfbuzz

    parts: list[tuple[str, tuple[Point, ...]]] = []
    pen_at = 0.0
    for run, leftwards in visual_runs(text):
        pieces = _by_face(run, faces)
        for face, letters in reversed(pieces) if leftwards else pieces:
            buffer = uharfbuzz.Buffer()
            buffer.add_str(letters)
            buffer.guess_segment_properties()
            buffer.direction = "rtl" if leftwards else "ltr"
            uharfbuzz.shape(face.font, buffer)
            em = face.font.face.upem
            for glyph, place in zip(buffer.glyph_infos, buffer.glyph_positions, strict=True):
                pen = _Pen(pen_at + place.x_offset / em, place.y_offset / em, 1 / em, parts)
                face.font.draw_glyph_with_pen(glyph.codepoint, pen)
                pen_at += place.x_advance / em
    return Outline(tuple(parts), pen_at)


def _by_face(run: str, faces: Sequence[Face]) -> list[tuple[Face, str]]:
    """A run parted where the font changes; blanks and marks stay with the letter before them if its font has them too."""
    chosen: list[Face] = []
    for letter in run:
        follows = chosen and (unicodedata.combining(letter) or letter.isspace() or letter in "\u200c\u200d")
        if follows and ord(letter) in chosen[-1].letters:
            chosen.append(chosen[-1])
        else:
            chosen.append(next((face for face in faces if ord(letter) in face.letters), faces[0]))
    return [
        (face, "".join(letter for _, letter in pairs))
        for face, pairs in groupby(zip(chosen, run, strict=True), key=lambda pair: pair[0])
    ]


def visual_runs(text: str) -> list[tuple[str, bool]]:
    """The runs of a text from left to right, each in the order in which it is read, and whether it runs to the left."""
    runs = [
        (level, "".join(letter for _, letter in pairs))
        for level, pairs in groupby(zip(_levels(text), text, strict=True), key=lambda pair: pair[0])
    ]
    for level in range(max((level for level, _ in runs), default=0), 0, -1):  # rule L2
        at = 0
        for inside, group in groupby(list(runs), key=lambda run, level=level: run[0] >= level):  # type: ignore[misc]
            count = len(list(group))
            if inside:
                runs[at : at + count] = reversed(runs[at : at + count])
            at += count
    return [(run, level % 2 == 1) for level, run in runs]


def _levels(text: str) -> list[int]:
    """How deep each letter lies in turned text: even numbers run to the right, odd ones to the left."""
    kinds = [unicodedata.bidirectional(letter) or "L" for letter in text]
    strong = next((kind for kind in kinds if kind in _RIGHT_TO_LEFT | {"L"}), "L")
    base = "R" if strong in _RIGHT_TO_LEFT else "L"
    _weaken(kinds, base)
    at = 0
    while at < len(
        kinds
    ):  # rules N1 and N2: what has no direction takes that of what stands round it, else of the text
        end = at
        while end < len(kinds) and kinds[end] == "ON":
            end += 1
        if end > at:
            before = "L" if at and kinds[at - 1] == "L" else "R" if at else base
            after = "L" if end < len(kinds) and kinds[end] == "L" else "R" if end < len(kinds) else base
            kinds[at:end] = [before if before == after else base] * (end - at)
        at = max(end, at + 1)
    above = {"L": {"L": 0, "R": 1}, "R": {"L": 2, "R": 1}}[base]  # rules I1 and I2
    return [above.get(kind, 2) for kind in kinds]


def _weaken(kinds: list[str], base: str) -> None:
    """Rules W1 to W7: afterwards every letter is "L", "R", a number ("EN", "AN") or "ON"."""
    before, strong = base, base
    for k, kind in enumerate(kinds):
        if kind == "NSM":
            kind = before
        if kind in ("L", "R", "AL"):
            strong = kind
        if kind == "EN" and strong == "AL":
            kind = "AN"
        kinds[k] = before = kind
    kinds[:] = ["R" if kind == "AL" else kind for kind in kinds]
    for k in range(1, len(kinds) - 1):
        around = kinds[k - 1]
        if around == kinds[k + 1] and (
            (kinds[k] in ("ES", "CS") and around == "EN") or (kinds[k] == "CS" and around == "AN")
        ):
            kinds[k] = around
    for order in (range(len(kinds)), range(len(kinds) - 1, -1, -1)):
        beside = ""
        for k in order:
            if kinds[k] == "ET" and beside == "EN":
                kinds[k] = "EN"
            beside = kinds[k]
    strong = base
    for k, kind in enumerate(kinds):
        if kind in ("L", "R"):
            strong = kind
        elif kind == "EN" and strong == "L":
            kinds[k] = "L"
        elif kind not in _NUMBERS:
            kinds[k] = "ON"


class _Pen:
    """What HarfBuzz draws a letter with; it moves and scales what is drawn to its place."""

    def __init__(self, x: float, y: float, scale: float, parts: list[tuple[str, tuple[Point, ...]]]) -> None:
        self._x, self._y, self._scale, self._parts = x, y, scale, parts
        self._last: Point = (x, y)
        self.moveTo: Callable[[Point], None] = lambda at: self._add("M", at)
        self.lineTo: Callable[[Point], None] = lambda at: self._add("L", at)
        self.curveTo: Callable[[Point, Point, Point], None] = lambda *points: self._add("C", *points)
        self.closePath: Callable[[], None] = lambda: self._add("Z")
        self.endPath = self.closePath

    def _add(self, kind: str, *points: Point) -> None:
        placed = tuple((self._x + x * self._scale, self._y + y * self._scale) for x, y in points)
        self._parts.append((kind, placed))
        self._last = points[-1] if points else self._last

    def qCurveTo(self, middle: Point, end: Point) -> None:  # noqa: N802  the name by which it is called
        """A quadratic curve as the cubic one that it is."""
        (x0, y0), (x1, y1), (x2, y2) = self._last, middle, end
        self.curveTo(
            (x0 + 2 * (x1 - x0) / 3, y0 + 2 * (y1 - y0) / 3), (x2 + 2 * (x1 - x2) / 3, y2 + 2 * (y1 - y2) / 3), end
        )
