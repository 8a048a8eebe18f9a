"""A small drawing of a fit as data: the folds that are seen on the garment, and where it is cut.

Points lie on a garment that stands before you, drawn 100 high from its waist seam at 0 to its hem, x to the right and y down, its
middle at 0. `LANDMARKS` are where things are on trousers; `report/figures/sketch.py` draws the garment itself.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

# On the right leg of trousers; the left leg is its mirror image.
LANDMARKS = {
    "top of the band": -4.0 + 0j,
    "side waist": 17.0 + 0j,
    "hip": 21.5 + 17j,
    "crotch": 0.0 + 31j,
    "seat": 10.0 + 22j,
    "knee outside": 18.6 + 62j,
    "knee inside": 5.6 + 62j,
    "hem outside": 17.4 + 100j,
    "hem inside": 6.2 + 100j,
}

Cloth = Literal["tight", "loose"]


@dataclass(frozen=True, slots=True)
class Crease:
    """A fold in the cloth, through its points; `cloth` says whether it is drawn tight there or hangs loose.

    With `both` it is there on the other leg as well, mirrored.
    """

    points: tuple[complex, ...]
    cloth: Cloth
    both: bool = True


@dataclass(frozen=True, slots=True)
class Cut:
    """Where the piece is cut, or its line drawn anew, on the right leg.

    `what` says which: a "slash" from the end that opens to its hinge, at the last point; a "line" that is the edge as it becomes; an
    "across" that parts the whole piece. `opens` says whether it is spread or overlapped, None where it is neither.
    """

    points: tuple[complex, ...]
    what: Literal["slash", "line", "across"]
    opens: Literal["spread", "overlap"] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Sketch:
    """What is seen, from behind or from the front, and what is done; `gapes` where the band stands away from the body."""

    view: Literal["back", "front"]
    creases: tuple[Crease, ...] = ()
    cuts: tuple[Cut, ...] = ()
    gapes: bool = False
