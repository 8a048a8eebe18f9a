"""How long a line is that was traced by hand: its chords go to and fro beside the curve, and are longer than it.

Of every row of short chords the curve is found that it samples (`smoothing`), with the noise that the row itself shows. A
row that shows none is as long as it is drawn, and so is what is drawn with curves or long straight lines.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from seamcheck.exact import snapped
from seamcheck.geometry.curve import Curve
from seamcheck.geometry.end_directions import ruled, to_corner
from seamcheck.geometry.exact_arrays import snapped_all
from seamcheck.geometry.short_arrays import differences
from seamcheck.geometry.smoothing import Points, noises_of, smoothed_length

CHORD = 12.0  # mm: straight segments up to this long ...
ROW = 8  # ... so many of them in a row, can show noise
QUIET = 0.01  # mm: less noise than this is what the decimals of a file round off
ENDS = 2.0 * 2.0**0.5  # two standard errors of two places, each of them off along the line by its noise
WILDEST = 0.5  # mm: more is no noise but the shape of the line, as of teeth and scallops


class Traced(NamedTuple):
    """The length of the curve that a line samples, and the noise of its vertices; both in mm, the noise 0 where it shows none.

    `tells` is whether the line could show any: it is drawn in chords, and there are enough of them, or it is drawn with curves.
    """

    length: float
    noise: float
    tells: bool = True


def traced(curve: Curve) -> Traced:
    """The length of a line without what noise adds to it."""
    return all_traced([curve])[0]


def all_traced(curves: Sequence[Curve]) -> list[Traced]:
    """The lengths of lines without what noise adds to them."""
    parts = [[part for row in _rows(curve) for part in _parts(row)] for curve in curves]
    noises = iter(noises_of([part for mine in parts for part in mine]))
    found = []
    for curve, mine in zip(curves, parts, strict=True):
        length, loudest = snapped(curve.length), 0.0
        for part in mine:
            noise = next(noises)
            if QUIET < noise <= WILDEST:
                drawn = snapped(float(np.abs(differences(part)).sum()))
                length -= drawn - smoothed_length(part, noise)
                loudest = max(loudest, noise)
        found.append(Traced(length, loudest, bool(mine) or not ruled(curve).all()))
    return found


def _rows(curve: Curve) -> Iterator[Points]:
    """The vertices of each row of short chords of a line that is long enough to show noise."""
    chords = snapped_all(differences(curve.joint_stations))
    short = (chords <= CHORD) & (chords > 0.0)
    if np.count_nonzero(short) < ROW:
        return
    short &= ruled(curve)
    turns = np.flatnonzero(np.diff(np.concatenate([[False], short, [False]])))
    for first, last in turns.reshape(-1, 2).tolist():
        if last - first >= ROW:
            row = curve.segments[first:last]
            yield np.append(row[:, 0], row[-1, 3])


def _parts(vertices: Points) -> Iterator[Points]:
    """The parts of a row of vertices from corner to corner that are long enough to show noise."""
    while len(vertices) > ROW:
        part = vertices[: to_corner(vertices)]
        vertices = vertices[len(part) - 1 :]
        if len(part) > ROW:
            yield part
