"""How a seam is shown: a numbered plate on both its sides, and a band along them.

Shape and fill of the plate, dash pattern and hue of the band all change from seam to seam, so that seams are told apart
in grey and by eyes that do not see all colours; the number alone is enough to tell them by. The hues keep a contrast
of 4.5 to 1 to the paper and to the letters on them (WCAG 2.2, success criterion 1.4.3).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from seamcheck.report.pairing.sheet import LAYERS, DrawnEdge, PlatePlace
from seamcheck.report.pen import number

SHAPES = (
    "M-2.5 0A2.5 2.5 0 1 0 2.5 0A2.5 2.5 0 1 0-2.5 0Z",
    "M-2.35-2.35H2.35V2.35H-2.35Z",
    "M0-3.3L3.3 0L0 3.3L-3.3 0Z",
    "M-3 0L-1.5-2.5H1.5L3 0L1.5 2.5H-1.5Z",
    "M0-3L2.85-.8L1.85 2.5H-1.85L-2.85-.8Z",
)
DASHES = ("none", "5 1.5", "2.2 1.3", "6 1.3 1.2 1.3", ".9 1.2", "4 1.1 1 1.1 1 1.1")
HUES = ("#0b4f8a", "#a33a00", "#00664b", "#7d2f6f", "#6a4a00", "#27606e", "#8c1d2f")
HUES_ON_DARK = ("#8cc4f2", "#f5a27a", "#62cfa8", "#dc9fd0", "#dcbc6a", "#93cad8", "#f2a0ac")
ARROW = "M0-1.7L3 0L0 1.7L.7 0Z"
ARROW_AT = 3.4  # mm of paper from the middle of a plate


class Style(NamedTuple):
    """The looks of one seam."""

    shape: str
    filled: bool
    dash: str
    hue: str


def style(index: int, hues: Sequence[str] = HUES) -> Style:
    """The looks of a seam by its number, from 0; ten plates, six bands and seven hues make 210 before one comes again."""
    return Style(SHAPES[index % len(SHAPES)], index % 2 == 0, DASHES[index % len(DASHES)], hues[index % len(hues)])


def plate(index: int, *, question: bool, at: complex = 0j, hues: Sequence[str] = HUES) -> str:
    """A seam's plate with its number from 1, with "?" behind it while it is a question."""
    looks = style(index, hues)
    filled = looks.filled and not question
    told = f"{index + 1}{'?' if question else ''}"
    size = {1: 3.2, 2: 2.9}.get(len(told), 2.2)
    kind = f"plate{' filled' if filled else ''}{' question' if question else ''}"
    ground, letters = (f"fill:{looks.hue};", "") if filled else ("", f' style="fill:{looks.hue}"')
    return (
        f'<g class="{kind}" transform="translate({number(at.real)} {number(at.imag)})">'
        f'<path style="{ground}stroke:{looks.hue}" d="{looks.shape}"/>'
        f'<text{letters} y="{number(size * 0.36)}" font-size="{size}">{told}</text></g>'
    )


def mark(index: int, place: PlatePlace, *, question: bool, backwards: bool) -> str:
    """A plate with the arrow that says which way the edge is walked."""
    turned = place.angle + (180.0 if backwards else 0.0)
    return (
        f'<path class="arrow" style="fill:{style(index).hue}" d="{ARROW}" '
        f'transform="translate({number(place.at.real)} {number(place.at.imag)}) rotate({number(turned)}) '
        f'translate({number(ARROW_AT)} 0)"/>{plate(index, question=question, at=place.at)}'
    )


def leader(index: int, place: PlatePlace) -> str:
    """The line from an edge to a plate that stands off it, "" where it stands on it."""
    if abs(place.at - place.foot) < 0.1:
        return ""
    ends = [f"{number(end.real)} {number(end.imag)}" for end in (place.foot, place.at)]
    return f'<path class="leader" style="stroke:{style(index).hue}" d="M{ends[0]}L{ends[1]}"/>'


def band(index: int, edge: DrawnEdge, layer: int, *, question: bool) -> str:
    """The line along an edge that belongs to a seam; the second seam of an edge lies further in."""
    looks = style(index)
    kind = "band question" if question else "band"
    return (
        f'<path class="{kind}" style="stroke:{looks.hue}" d="{edge.bands[min(layer, LAYERS - 1)]}" '
        f'stroke-dasharray="{looks.dash}"/>'
    )
