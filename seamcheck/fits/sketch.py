"""A small drawing of a fit as data: the folds that are seen on the garment, and where its piece is cut.

Both are of trousers, drawn 100 high or so from the waist at 0 to the hem, x to the right and y down, their middle at 0. `GARMENT` says
where things are on the garment as it stands before you, `PIECES` on the pieces that it is cut from; `report/figures/sketch.py` draws
them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

# On the right leg; the left leg is its mirror image.
GARMENT = {
    "side waist": 17.0 + 0j,
    "hip": 21.5 + 17j,
    "crotch": 31j,
    "knee outside": 18.6 + 62j,
    "knee inside": 5.6 + 62j,
    "hem outside": 17.4 + 100j,
    "hem inside": 6.2 + 100j,
}
# The edges of each piece, every one through its points: a tenth of the size of trousers for a hip of one metre.
PIECES: dict[str, tuple[tuple[complex, ...], ...]] = {
    "back": (
        (-4.4 - 1.1j, 5.3 + 0.3j, 4.3 + 11.5j, 7.3 + 0.7j, 16.4 + 0.8j),
        (16.4 + 0.8j, 18.0 + 10j, 18.5 + 18j, 17.2 + 36j, 14 + 58j),
        (14 + 58j, 14 + 102j, -10 + 102j, -10 + 58j),
        (-10 + 58j, -12.0 + 47j, -14.6 + 36j, -17.9 + 24.7j),
        (-17.9 + 24.7j, -14.4 + 23.9j, -11.4 + 21.0j, -9.4 + 15.5j, -8.1 + 11j),
        (-8.1 + 11j, -4.4 - 1.1j),
    ),
    "front": (
        (-13.1 + 0.8j, 9.5 + 1.8j),
        (9.5 + 1.8j, 10.4 + 15.8j),
        (10.4 + 15.8j, 11.4 + 20.4j, 15.2 + 24j),
        (15.2 + 24j, 13.4 + 36j, 11.8 + 47j, 11 + 58j),
        (11 + 58j, 11 + 102j, -11 + 102j, -11 + 58j),
        (-11 + 58j, -13.6 + 36j, -15.2 + 18j, -14.6 + 9j, -13.1 + 0.8j),
    ),
    "back waistband": (
        (-17 + 50j, -17 + 43j),
        (-17 + 43j, -0.6 + 41.9j, 15 + 38.6j),
        (15 + 38.6j, 17 + 45.2j),
        (17 + 45.2j, 0.4 + 48.9j, -17 + 50j),
    ),
}
SHARP = {"back": (0, 2), "front": (4,), "back waistband": ()}  # the edges that are straight from point to point

Cloth = Literal["tight", "loose"]


@dataclass(frozen=True, slots=True)
class Crease:
    """A fold on the garment, through its points; `cloth` says whether it is drawn tight there or hangs loose.

    With `both` it is there on the other leg as well, mirrored.
    """

    points: tuple[complex, ...]
    cloth: Cloth
    both: bool = True


@dataclass(frozen=True, slots=True)
class Cut:
    """Where the piece is cut, or an edge drawn anew, through its points.

    `what` says which: a "slash" from the end that opens to its hinge; a cut "across" that parts the whole piece; a "line" that is the
    edge as it becomes. `opens` says whether it is spread or overlapped; None for a line, and
    for a cut that only lets the paper lie flat.
    """

    points: tuple[complex, ...]
    what: Literal["slash", "across", "line"]
    opens: Literal["spread", "overlap"] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Sketch:
    """What is seen from behind or from the front, and what is done to a piece; `gapes` where the band stands away from the body."""

    view: Literal["back", "front"]
    creases: tuple[Crease, ...] = ()
    gapes: bool = False
    piece: Literal["back", "front", "back waistband"] | None = None
    cuts: tuple[Cut, ...] = ()
