"""In which direction a line leaves its end.

A drawn curve has a tangent there. A digitised line has only chords, and the first chord of a bent line points
beside the curve it stands for (by half of what it turns): there the direction is that of the circle that starts at the
end and fits the next vertices best. At a corner that was rounded off, the directions of both lines are those that they
had before.

Digitised lines keep their chords: their length is that of the chords, and the loss is below 0.01 % at 2 mm. Only
the direction at an end is that of the circle, through the first 12 mm.
"""

from __future__ import annotations

import cmath
import math

import numpy as np

from seamcheck.exact import snapped
from seamcheck.geometry.bezier import Row
from seamcheck.geometry.curve import Curve

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
    back, going = _without_crumbs(coming.reversed()), _without_crumbs(going)
    sharp = abs(_turn(-back.tangent(0.0, side=+1), going.tangent(0.0, side=+1)))
    if min(back.length, going.length) >= 2 * ROUNDED:
        before, after = -_leaving_beyond(back), _leaving_beyond(going)
        whole = abs(_turn(before, after))
        if whole >= ROUND_TURN and sharp < 0.9 * whole:
            return before, after
    return -leaving(back), leaving(going)


def _turn(before: complex, after: complex) -> float:
    return snapped(math.degrees(cmath.phase(after / before)))


def _leaving_beyond(curve: Curve) -> complex:
    """The direction at the start of a curve as it would be without the rounding there."""
    drawn_on = curve.segments[curve.locate(ROUNDED)[0]].tolist()
    vertices = digitised_start(curve.between(ROUNDED, curve.length)) if _is_straight(drawn_on) else None
    if vertices is None:
        heading, bend = curve.tangent(ROUNDED, side=+1), curve.curvature(ROUNDED, side=+1)
    else:
        heading, bend = fitted_circle(vertices)
    return heading * cmath.rect(1.0, -bend * ROUNDED)


def digitised_start(curve: Curve) -> np.ndarray | None:
    """The vertices of the first REACH mm, when the curve begins as a row of short chords; else None."""
    first = curve.segments[0].tolist()
    if not _is_chord(first):
        return None
    vertices, along = [first[0]], 0.0
    for row in curve.segments[: int(4 * REACH)].tolist():
        along += snapped(abs(row[3] - row[0]))
        if along > REACH and len(vertices) >= FEWEST:
            break
        if not _is_chord(row):
            return None
        vertices.append(row[3])
    return np.array(vertices) if len(vertices) >= FEWEST else None


def _is_chord(row: Row) -> bool:
    """Whether a segment is a straight line and short."""
    return snapped(abs(row[3] - row[0])) <= SHORT_CHORD and _is_straight(row)


def _is_straight(row: Row) -> bool:
    """What `straight` tells, of one segment."""
    a, b, c, d = row
    along = (d - a).conjugate()
    off = max(abs(((b - a) * along).imag), abs(((c - a) * along).imag))
    return off <= 1e-9 * abs(along) ** 2 + 1e-15


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
    x, y = (_least_squares(s, s**2, part) for part in (rise.real, rise.imag))
    start = complex(x[0], y[0])
    if abs(start) == 0.0:
        return 1 + 0j, 0.0
    heading = cmath.phase(start)
    curvature = 2.0 * ((start / abs(start)).conjugate() * complex(x[1], y[1])).imag
    for _ in range(4):
        turned = 1j * curvature * s
        # (e^x - 1) / x and its derivative, from their series where x is nearly 0
        small = np.abs(turned) < 1e-4
        safe = np.where(small, 1.0, turned)
        grown = np.exp(safe)
        ratio = np.where(small, 1 + turned / 2 + turned**2 / 6, (grown - 1) / safe)
        slope_of_ratio = np.where(small, 0.5 + turned / 3, (grown - ratio) / safe)
        unit = cmath.rect(1.0, heading)
        there = unit * s * ratio
        by_curvature = unit * s * slope_of_ratio * 1j * s
        step = _least_squares(*(_both(one) for one in (1j * there, by_curvature, rise - there)))
        heading += step[0]
        curvature += step[1]
    return cmath.rect(1.0, heading), curvature


def _both(points: np.ndarray) -> np.ndarray:
    """The real parts and behind them the imaginary ones."""
    return np.concatenate([points.real, points.imag])


def _least_squares(first: np.ndarray, second: np.ndarray, wanted: np.ndarray) -> tuple[float, float]:
    """How much of two columns adds up to a third, as nearly as can be: by the part of the second that is square to the first."""
    size = float((first * first).sum())
    if size == 0.0:
        return 0.0, 0.0
    square = second - float((first * second).sum()) / size * first
    rest = float((square * square).sum())
    b = float((square * wanted).sum()) / rest if rest else 0.0
    return float((first * (wanted - b * second)).sum()) / size, b


def interior_angle(coming: complex, going: complex, y_down: bool) -> float:
    """Degrees of piece between a line that arrives at a corner and the next, on a clockwise outline."""
    turn = _turn(coming, going)
    return 180.0 - (turn if y_down else -turn)
