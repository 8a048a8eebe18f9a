"""In which direction a line leaves its end.

A drawn curve has a tangent there. A digitised line has only chords, and the first chord of a bent line points
beside the curve it stands for (by half of what it turns): there the direction is that of a parabola through the
first vertices.
"""

from __future__ import annotations

import numpy as np

from seamcheck.curve import Curve

SHORT_CHORD = 6.0  # mm: straight segments up to this long, in a row, are taken for a digitised curve
REACH = 12.0  # mm of line that the parabola is laid through
FEWEST = 4  # vertices that a parabola can be trusted from


def leaving(curve: Curve) -> complex:
    """The unit direction in which a curve leaves its start."""
    vertices = digitised_start(curve)
    if vertices is None:
        return curve.tangent(0.0, side=+1)
    return parabola_direction(vertices)


def arriving(curve: Curve) -> complex:
    """The unit direction in which a curve arrives at its end."""
    return -leaving(curve.reversed())


def digitised_start(curve: Curve) -> np.ndarray | None:
    """The vertices of the first REACH mm, when the curve begins as a row of short chords; else None."""
    segments = curve.segments[: int(4 * REACH)]
    chords = segments[:, 3] - segments[:, 0]
    lengths = np.abs(chords)
    along = np.cumsum(lengths)
    count = int(np.searchsorted(along, REACH, side="right"))
    count = min(max(count, FEWEST - 1), len(lengths))
    if count < FEWEST - 1 or np.any(lengths[:count] > SHORT_CHORD) or not np.all(straight(segments[:count])):
        return None
    return np.concatenate([segments[:1, 0], segments[:count, 3]])


def straight(segments: np.ndarray) -> np.ndarray:
    """Which segments (n, 4) are straight lines: handles on the chord within 1e-9 of its length."""
    chord = segments[:, 3] - segments[:, 0]
    size = np.abs(chord)
    off = np.abs(((segments[:, 1:3] - segments[:, :1]) * np.conj(chord)[:, None]).imag).max(axis=1)
    return np.asarray(off <= 1e-9 * size**2 + 1e-15)


def parabola_direction(vertices: np.ndarray) -> complex:
    """The direction at the first vertex of the parabola that passes through it and fits the others best."""
    steps = np.abs(np.diff(vertices))
    s = np.cumsum(steps)
    rise = vertices[1:] - vertices[0]
    basis = np.stack([s, s**2], axis=1)
    slope = np.linalg.lstsq(basis, np.stack([rise.real, rise.imag], axis=1), rcond=None)[0][0]
    direction = complex(slope[0], slope[1])
    return direction / abs(direction) if abs(direction) > 0 else 1 + 0j
