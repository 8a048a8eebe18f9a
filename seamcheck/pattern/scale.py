"""Whether a drawing is as large as it should be: by its labelled square, else by the sizes of its pieces.

Many patterns carry a square with its side written in it ("5 cm", "2 in"), so that a print can be measured. Where
there is none, a piece of clothing still has a plausible size. What is off by the factor of a well-known slip is told
with the option that mends it. An inch is 25.4 mm exactly (ISO 80000-3); programs have written 96, 90 and 72 px to it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from seamcheck.exact import least
from seamcheck.geometry.loops import close_loops
from seamcheck.pattern.drawing import Drawing, LineMark, Note, Role, ScaleReading, TextMark
from seamcheck.pattern.words import plain_words, role_in

LONGEST = 300  # characters of a text that are looked at
MOST_WORDS = 50  # texts in a square: with more in it, it is no test square
LARGEST = 305.0  # mm by its label; larger squares are pieces
CLOSE = 0.01  # of a square's side: what is nearer to its label is right; common practice, no source
SAME_SIDE = 0.025  # of a side: 2 in and 5 cm are written for one another
SMALLEST_PIECE, LARGEST_PIECE = 30.0, 2000.0  # mm, the longer side; common practice, no source
FACTORS = {"mm": 1.0, "cm": 10.0, "in": 25.4}
LARGEST_STATED = 3000.0  # mm, where the file states millimetres; common practice, no source
_OTHER_UNITS = {"m": 1000.0, "ft": 304.8}
# What makes a drawing this many times too large; the inverse makes it as much too small.
_SLIPS = {
    25.4: "inches and millimetres taken for each other",
    10.0: "centimetres and millimetres taken for each other",
    2.54: "inches and centimetres taken for each other",
    96 / 72: "96 and 72 px per inch taken for each other",
    96 / 90: "96 and 90 px per inch taken for each other",
    96 / 25.4: "px and millimetres taken for each other",
}
TIMES = 1.1  # what is off by less is told in per cent
_UNITS = {"mm": 1.0, "cm": 10.0, "in": 25.4, "inch": 25.4, "inches": 25.4, '"': 25.4, "″": 25.4, "zoll": 25.4,
          "pouce": 25.4, "pouces": 25.4, "duim": 25.4, "pollici": 25.4, "pulgadas": 25.4}  # fmt: skip
# What may stand beside a size in a square that nothing else is said of.
_SQUARE = frozenset({
    "square", "test", "check", "control", "scale", "gauge", "print", "printing", "quadrat", "kontrolle", "maßstab", "massstab", "druck",
    "carre", "echelle", "temoin", "cuadrado", "cuadro", "prueba", "escala", "de", "quadrato", "prova", "scala", "di", "vierkant", "van", "proef",
    "schaal",
})  # fmt: skip
_SIDE = r"(\d+(?:[.,]\d+)?)"
_UNIT = "(" + "|".join(sorted(map(re.escape, _UNITS), key=len, reverse=True)) + ")"
_SIZE = re.compile(rf"{_SIDE}[\s-]*{_UNIT}?\s*(?:(?:[x×*]|by)\s*{_SIDE}[\s-]*)?{_UNIT}?(?![\w])", re.IGNORECASE)


class ScaleSquare(NamedTuple):
    """The square's place in the list of lines, the side its words state, and the side as drawn (both in mm).

    `called` tells that words call it a test square; else it is only a square with a size in it. `also` are the sides that the
    same words state in another unit ("5 cm / 2 in").
    """

    at: int
    stated: float
    drawn: float
    why: str
    called: bool
    also: tuple[float, ...] = ()


def labelled_square(lines: Sequence[LineMark], texts: Sequence[TextMark]) -> ScaleSquare | None:
    """The drawing's scale square: the first square with its size written inside it; None when there is none.

    Words that call it a test square, on the square or in the text, are looked for first; then a text inside that
    is nothing but a size.
    """
    at = np.array([text.at for text in texts], dtype=np.complex128)
    found = []
    for index, line in enumerate(lines):
        corners = _square(line) if texts or line.label else []
        if not corners:
            continue
        across, down = [corner.real for corner in corners], [corner.imag for corner in corners]
        inside_it = (
            (min(across) <= at.real) & (at.real <= max(across)) & (min(down) <= at.imag) & (at.imag <= max(down))
        )
        inside = [texts[k].text for k in np.flatnonzero(inside_it).tolist()]
        if len(inside) > MOST_WORDS:
            continue
        words = (line.label, *inside, " ".join(inside))
        found.append((index, corners, [each for each in words if _stated(each, alone=False) is not None]))
    for alone in (False, True):
        for index, corners, sized in found:
            for each in sized:
                stated = _stated(each, alone=alone)
                called = any(role_in(name) is Role.TEST_SQUARE for name in (each, *_names(lines[index])))
                if stated is not None and stated <= LARGEST and (alone or called):
                    why = f'{lines[index].place} is a square marked "{each}"'
                    return ScaleSquare(index, stated, _side(corners), why, called, _also(each, stated))
    return None


def stated_square(lines: Sequence[LineMark], texts: Sequence[TextMark]) -> ScaleSquare | None:
    """The drawing's scale square, whether it is drawn as one line or as four loose ones; its place is then among those squares."""
    found = labelled_square(lines, texts)
    sized = any(_stated(text.text, alone=False) is not None for text in texts)
    return labelled_square(_loose_squares(lines), texts) if found is None and sized else found


def _loose_squares(lines: Sequence[LineMark]) -> list[LineMark]:
    """The closed lines that straight lines of one length make by fours."""
    sides = [line for line in lines if line.role in (None, Role.TEST_SQUARE) and not line.hidden and _is_stroke(line)]
    sides.sort(key=lambda line: round(line.curve.length, 6))
    found: list[LineMark] = []
    while sides:
        long = sides[0].curve.length
        alike = [side for side in sides if side.curve.length <= long * (1.0 + CLOSE)]
        sides = sides[len(alike) :]
        loops, _ = close_loops([side.curve for side in alike], (CLOSE * long,))
        fours = (loop for loop in loops if len(loop.members) == 4)
        found += [replace(alike[loop.members[0]], curve=loop.curve, closed=True) for loop in fours]
    return found


def _is_stroke(line: LineMark) -> bool:
    return not line.closed and len(line.curve.segments) == 1 and line.curve.length > 0.0 and line.curve.is_straight()


def _names(line: LineMark) -> tuple[str, ...]:
    """What the file calls a line and what it lies in."""
    return (line.label, line.layer, *line.groups, line.block or "")


def unit_factor(unit: str) -> float:
    """How many mm one unit of a DXF comes to, by the unit's short name; KeyError for another."""
    return (FACTORS | _OTHER_UNITS)[unit]


def plausible(sides: Sequence[float], factor: float = 1.0, most: float = LARGEST_PIECE) -> bool:
    """Whether pieces whose longer sides are given have sizes that clothes are made of, `factor` mm to a unit, up to `most` mm.

    Pieces of less than a fifth of the largest are left out: loops, tabs and marks may be as small as they like.
    """
    largest = max(sides, default=0.0)
    return all(SMALLEST_PIECE <= side * factor <= most for side in sides if side >= 0.2 * largest)


def scale_readings(drawing: Drawing, sides: Sequence[float]) -> list[ScaleReading]:
    """What tells whether the scale is right: every test square, else the pieces; `sides` are their longer sides in mm.

    A square that nothing calls a test square only counts when it is right or off by a well-known slip.
    """
    squares = list(_squares(drawing))
    found = [
        _square_reading(drawing, one)
        for one in squares
        if one.called or _is_right(one) or _slip(one.drawn / one.stated)
    ]
    if squares or not sides:
        return found
    # Millimetres that the file states are believed of a cloak or a tent, too.
    stated = (
        drawing.units == "mm" and drawing.dpi is None and all(note.code != "units-assumed" for note in drawing.notes)
    )
    most = LARGEST_STATED if stated else LARGEST_PIECE
    largest = max(sides)
    limit = most if largest > most else SMALLEST_PIECE
    if plausible(sides, most=most):
        return [ScaleReading(what="pieces", drawn=largest, stated=limit, right=True)]
    ratios = [ratio for slip in _SLIPS for ratio in (slip, 1.0 / slip) if plausible(sides, 1.0 / ratio)]
    ratios = [ratio for ratio in ratios if _fits_form(drawing, ratio)]
    what = "large" if largest > most else "small"
    slip, remedy = _described(ratios[0], "would be") if ratios else "", _remedy(drawing, ratios)
    words = f"The largest piece measures {largest:.4g} mm, and pieces of clothes are seldom so {what}{slip}. {remedy}"
    return [
        ScaleReading(what="pieces", drawn=largest, stated=limit, right=False, slip=slip, remedy=remedy, words=words)
    ]


def _square_reading(drawing: Drawing, square: ScaleSquare) -> ScaleReading:
    stated = least((square.stated, *square.also), key=lambda side: abs(square.drawn - side))
    ratio = square.drawn / stated
    slip, remedy = _described(ratio), _remedy(drawing, [ratio])
    words = (
        f"The scale is wrong: {square.why}, and it measures {square.drawn:.4g} mm where {stated:.4g} mm are "
        f"meant{slip}. {remedy}"
    )
    right = abs(ratio - 1.0) <= CLOSE
    return ScaleReading(
        what="square",
        drawn=square.drawn,
        stated=stated,
        right=right,
        slip=slip,
        why=square.why,
        remedy=remedy,
        at=drawing.lines[square.at].curve.start,
        words=words,
    )


def scale_notes(readings: Iterable[ScaleReading]) -> list[Note]:
    """The first reading that is wrong, in words."""
    codes = {"square": "scale-square", "pieces": "units-implausible"}
    return [Note(codes[one.what], one.words) for one in readings if not one.right][:1]


def _is_right(square: ScaleSquare) -> bool:
    return abs(square.drawn - square.stated) <= CLOSE * square.stated


def _slip(ratio: float) -> str:
    """The well-known slip that makes just this difference, either way; "" where there is none."""
    amount = max(ratio, 1.0 / ratio)
    return next((told for slip, told in _SLIPS.items() if _near(amount, slip)), "")


def _near(a: float, b: float) -> bool:
    return abs(a / b - 1.0) <= CLOSE


def _described(ratio: float, verb: str = "is") -> str:
    """How much too large or too small, and the slip that makes it so."""
    amount, slip = max(ratio, 1.0 / ratio), _slip(ratio)
    told = f", which {verb} {slip}" if slip else ""
    much = f"{amount:.4g} times" if told or amount >= TIMES else f"{100.0 * (amount - 1.0):.2g} %"
    return f", {much} too {'large' if ratio > 1.0 else 'small'}{told}"


def _is_svg(drawing: Drawing) -> bool:
    """An SVG states its own size, in mm or in px; only for other forms a unit can be given."""
    return drawing.format == "svg"


def _units_for(drawing: Drawing, ratio: float) -> str | None:
    """The unit that a DXF is really in when it was read `ratio` times too large."""
    now = (FACTORS | _OTHER_UNITS).get(drawing.units)
    if now is None or _is_svg(drawing):
        return None
    return next((unit for unit, factor in FACTORS.items() if _near(now / ratio, factor)), None)


def _fits_form(drawing: Drawing, ratio: float) -> bool:
    """Whether a slip can have happened in a file of this form."""
    if not _is_svg(drawing):
        return _units_for(drawing, ratio) is not None
    return drawing.dpi is None or _near(drawing.dpi * ratio, 25.4)


def _remedy(drawing: Drawing, ratios: Sequence[float]) -> str:
    """The option that mends a drawing that was read so many times too large."""
    if drawing.dpi is not None and ratios:
        return f"If so, say --dpi {drawing.dpi * ratios[0]:.4g}."
    units = [unit for ratio in ratios if (unit := _units_for(drawing, ratio))]
    if units:
        return "If so, say " + " or ".join(f"--units {unit}" for unit in dict.fromkeys(units)) + "."
    if ratios:
        doubt = "If so, scale" if _slip(ratios[0]) else "Scale"
        return f"{doubt} it by {1.0 / ratios[0]:.4g} in the drawing program and save it again."
    return "Check the units that it was saved in."


def _squares(drawing: Drawing) -> Iterator[ScaleSquare]:
    """The test squares of a drawing: one labelled on the sheet, and blocks that are called so."""
    found = labelled_square(
        [line for line in drawing.lines if line.block is None],
        [text for text in drawing.texts if text.block is None],
    )
    if found is not None:
        yield found
    blocks = {block.name: block for block in drawing.blocks}
    for index, line in enumerate(drawing.lines):
        block = blocks.get(line.block or "")
        if line.role is Role.TEST_SQUARE and block is not None:
            words = f"{block.piece} {block.labels.get('annotation', '')}".strip()
            stated = _stated(words, alone=False)
            if stated is not None:
                x0, y0, x1, y1 = line.curve.bounds()
                why = f'{line.place} is a square marked "{words}"'
                yield ScaleSquare(index, stated, max(x1 - x0, y1 - y0), why, called=True, also=_also(words, stated))


def _stated(words: str, *, alone: bool) -> float | None:
    """The side in mm that words state first; with `alone`, only when they are nothing but a size, and words for a square."""
    words = words[:LONGEST].strip()
    for match in _SIZE.finditer(words):
        if match[4] or match[2]:
            beside = plain_words(_SIZE.sub(" ", words)) if alone else ()
            return _side_in(match) if set(beside) <= _SQUARE else None
    return None


def _also(words: str, stated: float) -> tuple[float, ...]:
    """The other sides in mm that words state and that are the same but for rounding."""
    sides = (_side_in(match) for match in _SIZE.finditer(words[:LONGEST]) if match[4] or match[2])
    return tuple(side for side in sides if side is not None and 0.0 < abs(side / stated - 1.0) <= SAME_SIDE)


def _side_in(match: re.Match[str]) -> float | None:
    across, down = (float(side.replace(",", ".")) for side in (match[1], match[3] or match[1]))
    return across * _UNITS[(match[4] or match[2]).lower()] if across == down > 0.0 else None


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
