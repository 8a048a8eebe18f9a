"""Arcs and splines as cubic segments."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from seamcheck.geometry import bezier
from seamcheck.geometry.bezier import Flags, Indices, Points, Reals
from seamcheck.geometry.short_arrays import differences

_ARC_TOLERANCE = 1e-7  # mm; the limit is 1e-6 for the shape, this keeps whole perimeters within it too
_FIT_TOLERANCE = 1e-5  # mm; the limit is 1e-4
_QUARTER_ERROR = 2.7253e-4  # radial error of one cubic for a quarter of a unit circle; falls with angle ** 6


def arc(centre: complex, radius_x: float, radius_y: float, rotation: float, start: float, sweep: float) -> Points:
    """The segments of an elliptic arc; see `Curve.arc`."""
    if not (0 < radius_x < math.inf and 0 < radius_y < math.inf):
        raise ValueError("the radii of an arc must be positive numbers")
    if not all(map(math.isfinite, (centre.real, centre.imag, rotation, start, sweep))):
        raise ValueError("an arc has a centre or an angle that is not a finite number")
    quarters = math.radians(abs(sweep)) / (math.pi / 2)
    finest = (_ARC_TOLERANCE / (_QUARTER_ERROR * max(radius_x, radius_y))) ** (1 / 6)
    count = max(1, math.ceil(quarters / min(finest, 1.0)))
    angles = np.radians(start + sweep * np.arange(count + 1) / count)
    circle = np.exp(1j * angles)
    handle = 4 / 3 * math.tan(math.radians(sweep) / count / 4) * 1j * circle
    unit = np.stack([circle[:-1], circle[:-1] + handle[:-1], circle[1:] - handle[1:], circle[1:]], axis=1)
    if abs(sweep) == 360:
        unit[-1, 3] = unit[0, 0]
    turn = complex(math.cos(math.radians(rotation)), math.sin(math.radians(rotation)))
    return np.asarray(centre + turn * (radius_x * unit.real + 1j * radius_y * unit.imag))


def bspline(control: npt.ArrayLike, knots: npt.ArrayLike, degree: int, weights: npt.ArrayLike | None) -> Points:
    """The segments of a B-spline; see `Curve.bspline`."""
    points = bezier.finite(control)
    knot = np.asarray(knots, dtype=np.float64)
    if degree < 1 or len(points) <= degree:
        raise ValueError(f"a spline of degree {degree} needs at least {degree + 1} control points")
    if len(knot) != len(points) + degree + 1:
        raise ValueError(f"the spline needs {len(points) + degree + 1} knots but has {len(knot)}")
    if not np.isfinite(knot).all() or (differences(knot) < 0).any():
        raise ValueError("the knots of a spline must not decrease")
    weight = np.ones(len(points)) if weights is None else np.asarray(weights, dtype=np.float64)
    if len(weight) != len(points) or not np.isfinite(weight).all() or (weight <= 0).any():
        raise ValueError("a spline needs one positive weight for each control point")

    spans = degree + np.flatnonzero(differences(knot[degree : len(points) + 1]) > 0)
    if not spans.size:
        raise ValueError("all knots of the spline coincide")
    if np.ptp(weight) <= 1e-12 * weight.max():
        parts = _bezier_parts(points, knot, degree, spans)
        if degree <= 3:
            return _raised(parts)
        return bezier.fit(lambda i, t: _evaluate(parts[i], t), len(parts), _FIT_TOLERANCE)
    parts = _bezier_parts(points * weight, knot, degree, spans)
    divisors = _bezier_parts(weight.astype(np.complex128), knot, degree, spans)

    def sample(i: Indices, t: Reals) -> tuple[Points, Points]:
        p, dp = _evaluate(parts[i], t)
        w, dw = _evaluate(divisors[i], t)
        return p / w, (dp - p / w * dw) / w

    return bezier.fit(sample, len(parts), _FIT_TOLERANCE)


def _bezier_parts(control: Points, knot: Reals, degree: int, spans: Indices) -> Points:
    """Bezier control points (spans, degree + 1): each knot span's polar form taken at its own two ends.

    The same numbers come out of inserting every knot until it is `degree`-fold (L. Ramshaw, "Blossoms are
    polar forms", 1989).
    """
    result = np.empty((len(spans), degree + 1), dtype=np.complex128)
    low, high = knot[spans], knot[spans + 1]
    for k in range(degree + 1):
        d = control[spans[:, None] + np.arange(-degree, 1)]
        for r in range(1, degree + 1):
            u = high if r <= k else low
            left = knot[spans[:, None] + np.arange(r - degree, 1)]
            right = knot[spans[:, None] + np.arange(1, degree - r + 2)]
            share = (u[:, None] - left) / (right - left)
            d = d[:, :-1] * (1 - share) + d[:, 1:] * share
        result[:, k] = d[:, 0]
    return result


def _raised(parts: Points) -> Points:
    """The same curves written with degree three."""
    while parts.shape[1] < 4:
        degree = parts.shape[1] - 1
        share = np.arange(1, degree + 1) / (degree + 1)
        inner = share * parts[:, :-1] + (1 - share) * parts[:, 1:]
        parts = np.concatenate([parts[:, :1], inner, parts[:, -1:]], axis=1)
    return parts


def _evaluate(control: Points, t: Reals) -> tuple[Points, Points]:
    """Points and derivatives of Bezier curves of any degree (k, degree + 1) at `t` (k,), by de Casteljau."""
    degree = control.shape[1] - 1
    t = t[:, None]
    while control.shape[1] > 2:
        control = control[:, :-1] * (1 - t) + control[:, 1:] * t
    slope = degree * (control[:, 1] - control[:, 0])
    return control[:, 0] * (1 - t[:, 0]) + control[:, 1] * t[:, 0], slope


def through(points: npt.ArrayLike, ends: str | tuple[complex, complex]) -> Points:
    """The segments of an interpolating spline; see `Curve.through`."""
    if isinstance(ends, str) and ends not in ("not-a-knot", "natural"):
        raise ValueError(f'the ends of a spline are "not-a-knot" or "natural", not "{ends}"')
    p = bezier.finite(points).ravel()
    if len(p) > 1:
        p = np.concatenate([p[:1], p[1:][np.abs(differences(p)) > 0]])
    if len(p) < 2:
        raise ValueError("a spline needs at least two different points")
    if isinstance(ends, str):
        return all_through([p], natural=ends == "natural")[0]
    start, end = (way / (abs(way) or 1.0) for way in ends)
    return all_through([p], natural=True, given=(start, end))[0]


def all_through(
    rows: Sequence[Points], *, natural: bool = False, given: tuple[complex, complex] | None = None
) -> list[Points]:
    """The segments of interpolating splines, each through two or more points that are different from one to the next.

    Three points are always joined by a natural spline, two by a line, unless the derivatives at the first and the last
    point of all are `given` (Piegl and Tiller, The NURBS Book, 9.2.3).
    """
    counts = np.array([len(row) for row in rows])
    p = np.concatenate(rows)
    last = np.cumsum(counts) - 1
    first = last - counts + 1
    with np.errstate(divide="ignore", invalid="ignore"):  # between the end of a row and the start of the next
        h = np.abs(differences(p))
        slopes = differences(p) / h
    tangents = _spline_tangents(h, slopes, first, last, natural | (counts == 3), given)
    before = np.delete(np.arange(len(p)), last)
    a, b, reach = p[before], p[before + 1], h[before] / 3
    found = np.stack([a, a + tangents[before] * reach, b - tangents[before + 1] * reach, b], axis=1)
    lines = (first - np.arange(len(rows)))[(counts == 2) & (given is None)]
    a, b = found[lines, 0], found[lines, 3]
    found[lines, 1], found[lines, 2] = (2 * a + b) / 3, (a + 2 * b) / 3
    ends = np.cumsum(counts - 1).tolist()
    return [found[start:end] for start, end in zip([0, *ends], ends, strict=False)]


def _spline_tangents(
    h: Reals,
    slopes: Points,
    first: Indices,
    last: Indices,
    natural: Flags,
    given: tuple[complex, complex] | None,
) -> Points:
    """The derivatives at the points of twice continuously differentiable splines (de Boor 1978, chapter IV).

    The points of all splines stand in one row, each from its `first` to its `last`; between two splines nothing is carried on.
    """
    n = len(h) + 1
    lower, diagonal, upper = np.zeros(n), np.zeros(n), np.zeros(n)
    right = np.zeros(n, dtype=np.complex128)
    lower[1:-1], upper[1:-1] = h[1:], h[:-1]
    diagonal[1:-1] = 2 * (h[:-1] + h[1:])
    right[1:-1] = 3 * (h[1:] * slopes[:-1] + h[:-1] * slopes[1:])
    lower[first] = upper[last] = 0.0
    natural = natural | (last - first < 2)
    # Each end, and the way into its spline: the step that begins there, and the one behind it.
    for end, step, inner, off in ((first, first, first + 1, upper), (last, last - 1, last - 2, lower)):
        diagonal[end[natural]], off[end[natural]], right[end[natural]] = 2, 1, 3 * slopes[step[natural]]
        end, one, two = end[~natural], step[~natural], inner[~natural]
        both = h[one] + h[two]
        diagonal[end], off[end] = h[two], both
        right[end] = ((h[one] + 2 * both) * h[two] * slopes[one] + h[one] ** 2 * slopes[two]) / both
    if given is not None:
        diagonal[[0, -1]], upper[0], lower[-1], right[[0, -1]] = 1.0, 0.0, 0.0, given
    # Row by row in plain numbers, which are quicker than arrays one at a time.
    a, b, c, found = lower.tolist(), diagonal.tolist(), upper.tolist(), right.tolist()
    for k in range(1, n):
        share = a[k] / b[k - 1]
        b[k] -= share * c[k - 1]
        found[k] -= share * found[k - 1]
    found[-1] /= b[-1]
    for k in range(n - 2, -1, -1):
        found[k] = (found[k] - c[k] * found[k + 1]) / b[k]
    return np.array(found)
