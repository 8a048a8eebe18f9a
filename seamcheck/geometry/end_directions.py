"""In which direction a line leaves its end.

A drawn curve has a tangent there. A digitised line has only chords, and the first chord of a bent line points
beside the curve it stands for (by half of what it turns): there the direction is that of the circle that starts at the
end and fits the next vertices best. At a corner that was rounded off, the directions of both lines are those that they
had before.

Digitised lines keep their chords: their length is that of the chords, and the loss is below 0.01 % at 2 mm. Only
the direction at an end is that of the circle, through the first 12 mm.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from seamcheck.geometry.curve import Curve

if TYPE_CHECKING:
    pass

from seamcheck.exact import snapped
from seamcheck.geometry.exact_arrays import snapped_all

SHORT_CHORD = 6.0  # mm: straight segments up to this long, in a row, are taken for a digitised curve
REACH = 12.0  # mm of line that the circle is laid through
FEWEST = 4  # vertices that a circle can be trusted from
ROUNDED = 8.0  # mm on either side of a corner that a rounding may take up
CRUMB = 1e-3  # mm
ROUND_TURN = 25.0  # degrees: what a rounding turns at least


def leaving(curve: Curve) -> complex:
    """The unit direction in which a curve leaves its start."""
    curve = _without_crumbs(curve)
    vertices = digitised_start(curve)
    if vertices is None:
        return curve.tangent(0.0, side=+1)
    return fitted_circle(vertices)[0]


def arriving(curve: Curve) -> complex:
    """The unit direction in which a curve arrives at its end."""
    return -leaving(curve.reversed())


def _without_crumbs(curve: Curve) -> Curve:
    """The curve without what a cut left at its start: so short a segment points anywhere."""
    sized = np.abs(np.diff(curve.segments, axis=1)).max(axis=1) >= CRUMB
    return Curve(curve.segments[int(sized.argmax()) :]) if sized.any() and not sized[0] else curve


def at_corner(coming: Curve, going: Curve) -> tuple[complex, complex]:
    """The unit directions in which one curve arrives at a corner and the next leaves it.

    Where the corner is rounded, so that hardly anything turns in the very point, both are taken from beyond the
    rounding and carried on to the corner as the curves bend there.
    """
    coming, going = _without_crumbs(coming.reversed()).reversed(), _without_crumbs(going)
    sharp = abs(_turn(coming.tangent(coming.length, side=-1), going.tangent(0.0, side=+1)))
    if min(coming.length, going.length) >= 2 * ROUNDED:
        before, after = -_leaving_beyond(coming.reversed()), _leaving_beyond(going)
        whole = abs(_turn(before, after))
        if whole >= ROUND_TURN and sharp < 0.9 * whole:
            return before, after
    return arriving(coming), leaving(going)


def _turn(before: complex, after: complex) -> float:
    return snapped(float(np.degrees(np.angle(after / before))))


def _leaving_beyond(curve: Curve) -> complex:
    """The direction at the start of a curve as it would be without the rounding there."""
    rest = curve.between(ROUNDED, curve.length)
    vertices = digitised_start(rest)
    if vertices is None:
        heading, bend = rest.tangent(0.0, side=+1), rest.curvature(0.0, side=+1)
    else:
        heading, bend = fitted_circle(vertices)
    return complex(heading * np.exp(-1j * bend * ROUNDED))


def digitised_start(curve: Curve) -> np.ndarray | None:
    """The vertices of the first REACH mm, when the curve begins as a row of short chords; else None."""
    segments = curve.segments[: int(4 * REACH)]
    chords = segments[:, 3] - segments[:, 0]
    lengths = snapped_all(np.abs(chords))
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


def fitted_circle(vertices: np.ndarray) -> tuple[complex, float]:
    """The direction at the first vertex of the circle through it that fits the others best, and its curvature in 1/mm.

    Least squares over the direction and the curvature at the start, by a few Gauss-Newton steps from a parabola.
    """
    rise = vertices[1:] - vertices[0]
    s = np.cumsum(np.abs(np.diff(vertices)))
    basis = np.stack([s, s**2], axis=1)
    slope, bend = np.linalg.lstsq(basis, np.stack([rise.real, rise.imag], axis=1), rcond=None)[0]
    start = complex(slope[0], slope[1])
    if abs(start) == 0.0:
        return 1 + 0j, 0.0
    heading = float(np.angle(start))
    curvature = 2.0 * float((np.conj(start / abs(start)) * complex(bend[0], bend[1])).imag)
    for _ in range(4):
        turned = 1j * curvature * s
        # (e^x - 1) / x and its derivative, from their series where x is nearly 0
        small = np.abs(turned) < 1e-4
        safe = np.where(small, 1.0, turned)
        ratio = np.where(small, 1 + turned / 2 + turned**2 / 6, (np.exp(safe) - 1) / safe)
        slope_of_ratio = np.where(small, 0.5 + turned / 3, (np.exp(safe) - ratio) / safe)
        unit = np.exp(1j * heading)
        there = unit * s * ratio
        by_heading, by_curvature = 1j * there, unit * s * slope_of_ratio * 1j * s
        off = rise - there
        matrix = np.stack([by_heading, by_curvature], axis=1)
        step = np.linalg.lstsq(
            np.concatenate([matrix.real, matrix.imag]), np.concatenate([off.real, off.imag]), rcond=None
        )[0]
        heading += float(step[0])
        curvature += float(step[1])
    return complex(np.exp(1j * heading)), curvature


def interior_angle(coming: complex, going: complex, y_down: bool) -> float:
    """Degrees of piece between a line that arrives at a corner and the next, on a clockwise outline."""
    turn = snapped(float(np.degrees(np.angle(going / coming))))
    return 180.0 - (turn if y_down else -turn)
