"""What an edge is called that the trade has no word for: by where it lies on its piece as it is drawn."""

from __future__ import annotations

import cmath
import math

from seamcheck.pairing.alike import Classes
from seamcheck.pairing.lines import Line, Part

PLACES = ("top", "right", "bottom", "left")


def place_names(classes: Classes) -> dict[int, str]:
    """A name for every line: "left", or "left-1", "left-2" from above or from the left where several lie on one side."""
    names: dict[int, str] = {}
    for part in classes.parts:
        lines = [classes.lines[k] for k in part.lines]
        sides = {line.index: _side(line, part) for line in lines}
        for place in PLACES:
            own = [line for line in lines if sides[line.index] == place]
            across = place in ("top", "bottom")
            own.sort(
                key=lambda line: (
                    _seen(line.middle, part).real if across else _seen(line.middle, part).imag,
                    line.index,
                )
            )
            for number, line in enumerate(own, 1):
                names[line.index] = place if len(own) == 1 else f"{place}-{number}"
    return names


def _seen(at: complex, part: Part) -> complex:
    """A point as it is seen, x to the right and y down, to a tenth of a millimetre."""
    down = at.imag if part.piece.y_down else -at.imag
    return complex(round(at.real, 1), round(down, 1))


def _side(line: Line, part: Part) -> str:
    """The side of the piece on which a line lies: where its outside looks."""
    if line.closed or abs(line.chord) < 1e-6:
        return "top"
    chord = line.chord if part.piece.y_down else line.chord.conjugate()
    outward = chord / abs(chord) * -1j  # outlines run clockwise as seen, so that the outside is to their left
    turn = math.degrees(cmath.phase(outward * 1j))  # 0 up, 90 to the right
    return PLACES[int(((turn + 360.0 + 45.0 - 1e-6) % 360.0) // 90.0)]
