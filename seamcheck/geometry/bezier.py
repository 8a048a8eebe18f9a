"""Arrays of cubic Bezier segments: everything that is computed for all segments at once.

A segment is a row of four control points; an array of segments is complex128 of shape (n, 4), in mm. The
three differences of a row are its *steps*: the derivative is the quadratic Bezier curve with the control
points 3 * steps. Written as a product c * (t - r) * (t - s) over the complex numbers, the derivative tells
almost everything: its length is the speed, its argument the direction, and a real root is a cusp.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from seamcheck.geometry.short_arrays import differences, largest

Points = npt.NDArray[np.complex128]
Reals = npt.NDArray[np.float64]
Indices = npt.NDArray[np.intp]
Flags = npt.NDArray[np.bool_]
Row = list[complex]  # a segment in plain numbers

POINT = 1e-7  # mm; a segment with no longer step than this is a point and has no direction
VANISHING = 1e-10  # a step this much smaller than the largest of its segment has no direction
_CUSP = 1e-9  # a root of the derivative this close to the real axis is a cusp
_TOUCHING = 1e-9  # mm; a point this close to a line lies on it


def finite(points: npt.ArrayLike) -> Points:
    """The points as a complex array; ValueError when one is not finite."""
    array = np.asarray(points, dtype=np.complex128)
    if not np.isfinite(array).all():
        raise ValueError("a curve has a coordinate that is not a finite number")
    return array


def lines(points: Points) -> Points:
    """The segments (n, 4) of the polyline through n + 1 points; ValueError when one is not finite."""
    start, end = finite(points[:-1]), finite(points[1:])
    return np.stack([start, (2 * start + end) / 3, (start + 2 * end) / 3, end], axis=1)


def evaluate(segments: Points, t: Reals) -> Points:
    """The points at the parameters `t`, one for each segment (or broadcast over leading axes)."""
    return _blossom(segments, t, t, t)


def point_of(row: Row, t: float) -> complex:
    """The point of one segment at a parameter: in plain numbers, which are quicker than arrays where it is one alone."""
    a, b, c, d = row
    s = 1 - t
    a, b, c = a * s + b * t, b * s + c * t, c * s + d * t
    a, b = a * s + b * t, b * s + c * t
    return a * s + b * t


def part_of(row: Row, t: float, u: float) -> Row:
    """The stretch of one segment from one parameter to another."""
    a, b, c, d = row
    s, v = 1 - t, 1 - u
    ab, bc, cd = a * s + b * t, b * s + c * t, c * s + d * t  # with one t of the polar form ...
    abc, bcd = ab * s + bc * t, bc * s + cd * t
    first, second = ab * v + bc * u, bc * v + cd * u  # ... and with a u beside it
    last = (a * v + b * u) * v + (b * v + c * u) * u, (b * v + c * u) * v + (c * v + d * u) * u
    return [abc * s + bcd * t, abc * v + bcd * u, first * v + second * u, last[0] * v + last[1] * u]


def derivative(segments: Points, t: Reals) -> Points:
    """The first derivatives at the parameters `t`."""
    steps = differences(segments)
    s = 1 - t
    return 3 * (steps[..., 0] * s * s + 2 * steps[..., 1] * (s * t) + steps[..., 2] * t * t)


def second_derivative(segments: Points, t: Reals) -> Points:
    """The second derivatives at the parameters `t`."""
    bends = differences(differences(segments))
    return 6 * (bends[..., 0] * (1 - t) + bends[..., 1] * t)


def _blossom(segments: Points, u: Reals, v: Reals, w: Reals) -> Points:
    """The polar form of each segment: the point when u = v = w, else a control point of a part of it."""
    a, b, c, d = (segments[..., k] for k in range(4))
    r, s, t = 1 - u, 1 - v, 1 - w
    a, b, c = a * r + b * u, b * r + c * u, c * r + d * u
    a, b = a * s + b * v, b * s + c * v
    return a * t + b * w


def part(segments: Points, start: Reals, end: Reals) -> Points:
    """The stretch of each segment from parameter `start` to `end`, exactly, as segments of the same shape."""
    return np.stack(
        [
            _blossom(segments, start, start, start),
            _blossom(segments, start, start, end),
            _blossom(segments, start, end, end),
            _blossom(segments, end, end, end),
        ],
        axis=-1,
    )


def clean_steps(segments: Points) -> Points:
    """The steps (n, 3), those without a direction of their own set to zero."""
    steps = differences(segments)
    sizes = np.abs(steps)
    most = largest(sizes)[..., None]
    steps[(sizes <= VANISHING * most) | (most <= POINT)] = 0
    return steps


def derivative_roots(steps: Points) -> Points:
    """The two complex parameters (n, 2) at which the derivative vanishes; nan or inf where there are fewer."""
    first, middle, last = steps[:, 0], steps[:, 1], steps[:, 2]
    leading, half = first - 2 * middle + last, middle - first
    root = np.sqrt(half * half - leading * first)
    # The sign that adds up, never cancels.
    root = np.where((half.conjugate() * root).real < 0, -root, root)
    q = -(half + root)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        return np.stack([q / leading, first / q], axis=1)


def cusps(segments: Points) -> Reals:
    """The parameters (n, 2) of cusps strictly inside each segment, nan where there is none."""
    steps = clean_steps(segments)
    scale = np.abs(steps).max(axis=1, keepdims=True)
    roots = derivative_roots(steps / np.where(scale == 0, 1, scale))
    return np.where(_is_cusp(roots), roots.real, np.nan)


def _is_cusp(roots: Points) -> Flags:
    """Which roots of the derivative are real and inside the segment; one close to an end needs to be more so."""
    with np.errstate(invalid="ignore"):
        inside = np.minimum(roots.real, 1 - roots.real)
        return (inside > VANISHING / 10) & (np.abs(roots.imag) <= _CUSP * inside)


# --- direction --------------------------------------------------------------------------------------------


def end_directions(steps: Points) -> tuple[Points, Points]:
    """The directions (not unit) at start and end from clean steps; zero for a segment that is a point."""
    first, middle, last = steps[:, 0], steps[:, 1], steps[:, 2]
    start = np.where(first != 0, first, np.where(middle != 0, middle, last))
    end = np.where(last != 0, last, np.where(middle != 0, middle, first))
    return start, end


def angles_between(start: Points, end: Points) -> Reals:
    """The angles in radians, in (-pi, pi], from one direction to another; doubling back is +pi."""
    angles = np.angle(end * start.conjugate())
    return np.asarray(np.where(angles < -np.pi + 1e-12, np.pi, angles))


def windings(segments: Points) -> Reals:
    """How far the direction turns inside each segment, in radians, positive from the x to the y axis.

    Exact beyond half a turn: seen from a complex root r of the derivative the parameter interval subtends the
    angle by which the factor (t - r) turns. A cusp turns by half a turn; a second one in the same segment
    turns back.
    """
    steps = clean_steps(segments)
    scale = np.abs(steps).max(axis=1, keepdims=True)
    steps = steps / np.where(scale == 0, 1, scale)
    start, end = end_directions(steps)
    roots = derivative_roots(steps)
    with np.errstate(divide="ignore", invalid="ignore"):
        angles = np.angle((1 - roots) / -roots)
    inside = _is_cusp(roots)
    angles[inside] = np.pi
    angles[inside.all(axis=1)] = 0
    total = np.nan_to_num(angles, nan=0.0).sum(axis=1)
    # With a retracted handle only one linear factor can turn, by less than half a turn.
    retracted = (steps[:, 0] == 0) | (steps[:, 2] == 0)
    return np.where(retracted, angles_between(start, end), total)


# --- area, bounds, roots ----------------------------------------------------------------------------------


def signed_areas(segments: Points) -> Reals:
    """Twice-integrated exactly: the area (mm2) swept from the origin along each segment."""
    a, b, c, d = segments.T

    def cross(p: Points, q: Points) -> Reals:
        return p.real * q.imag - p.imag * q.real

    return np.asarray(
        (6 * cross(a, b) + 3 * cross(a, c) + cross(a, d) + 3 * cross(b, c) + 3 * cross(b, d) + 6 * cross(c, d)) / 20
    )


def extremes(segments: Points) -> Points:
    """The points (n, 6) of each segment among which its least and greatest x and y are found."""
    steps = differences(segments)
    roots = np.concatenate(
        [
            derivative_roots(steps.real.astype(np.complex128)),
            derivative_roots(steps.imag.astype(np.complex128)),
        ],
        axis=1,
    )
    # Outside the segment and complex roots fall on an end, which belongs to the answer anyway.
    t = np.clip(np.nan_to_num(roots.real, posinf=1.0, neginf=0.0), 0, 1)
    inner = evaluate(segments[:, None, :], t)
    return np.concatenate([inner, segments[:, :1], segments[:, 3:]], axis=1)


_POLES = np.array([-0.25, -0.6, -1.1, 1.25, 1.6, 2.1])


def real_roots(coefficients: Reals) -> Reals:
    """The real roots in [0, 1] of polynomials (k, degree + 1), constant first; (k, degree), nan elsewhere.

    Each polynomial is expanded about a place outside the interval where it is far from zero and solved for
    the reciprocal of the distance from there, so that a leading coefficient that vanishes does no harm.
    """
    count, terms = coefficients.shape
    degree = terms - 1
    values = (
        np.abs(_horner(coefficients, np.broadcast_to(_POLES, (count, len(_POLES))))) / (np.abs(_POLES) + 1) ** degree
    )
    pole = _POLES[values.argmax(axis=1)]
    shifted = coefficients.copy()
    for low in range(degree):  # repeated synthetic division: the Taylor coefficients about the pole
        for k in range(degree - 1, low - 1, -1):
            shifted[:, k] += pole * shifted[:, k + 1]
    usable = np.isfinite(shifted).all(axis=1) & (shifted[:, 0] != 0)
    companion = np.zeros((count, degree, degree))
    companion[:, np.arange(degree - 1), np.arange(1, degree)] = 1
    companion[usable, -1, :] = -(shifted[usable, :0:-1] / shifted[usable, :1])
    inverse = np.linalg.eigvals(companion)
    with np.errstate(divide="ignore", invalid="ignore"):
        roots = pole[:, None] + 1 / inverse
    real = (np.abs(roots.imag) <= 1e-5) & (roots.real > -1e-5) & (roots.real < 1 + 1e-5) & usable[:, None]
    result = np.where(real, np.clip(roots.real, 0, 1), np.nan)
    slopes = coefficients[:, 1:] * np.arange(1, degree + 1)
    for _ in range(2):
        with np.errstate(divide="ignore", invalid="ignore"):
            step = _horner(coefficients, result) / _horner(slopes, result)
        step[~(np.abs(step) < 1e-4)] = 0
        result = np.clip(result - step, 0, 1)
    return result


def _horner(coefficients: Reals, t: Reals) -> Reals:
    value = np.zeros_like(t)
    for k in range(coefficients.shape[1] - 1, -1, -1):
        value = value * t + coefficients[:, k, None]
    return value


def powers(segments: Points) -> Points:
    """The power coefficients (n, 4) of each segment, constant first."""
    a, b, c, d = segments.T
    return np.stack([a, 3 * (b - a), 3 * (a - 2 * b + c), d - 3 * c + 3 * b - a], axis=1)


def product(first: Points, second: Points) -> Points:
    """The coefficients of the products of polynomials, row by row."""
    rows, terms = first.shape
    result = np.zeros((rows, terms + second.shape[1] - 1), dtype=np.complex128)
    for k in range(terms):
        result[:, k : k + second.shape[1]] += first[:, k, None] * second
    return result


def boxes(segments: Points) -> Reals:
    """The boxes (4, n) that hold each segment with its handles: least x, least y, greatest x, greatest y."""
    a, b, c, d = np.ascontiguousarray(segments).view(np.float64).reshape(-1, 4, 2).transpose(1, 2, 0)
    least = np.minimum(np.minimum(a, b), np.minimum(c, d))
    return np.concatenate([least, np.maximum(np.maximum(a, b), np.maximum(c, d))])


def bounds(points: Points) -> tuple[float, float, float, float]:
    """Least x, least y, greatest x, greatest y of points."""
    x, y = points.real, points.imag
    return float(x.min()), float(y.min()), float(x.max()), float(y.max())


def winding_number(segments: Points, boxed: Reals, point: complex) -> tuple[int, bool]:
    """How often the closed run of segments, of which the boxes are given, winds round a point, and whether the point lies on it.

    That is how often it crosses the ray from the point along x upwards, less how often downwards. A stretch whose box leaves the
    point outside crosses it as its chord does, if it does; stretches that may surround the point are halved.
    """
    x, y = point.real, point.imag
    _, low, right, high = boxed
    rest = segments[(low <= y) & (high >= y) & (right >= x)].tolist()
    start, end = complex(segments[0, 0]), complex(segments[-1, 3])
    number = (
        _upwards(end, start, y) if ((start - end).conjugate() * (point - end)).imag * (start - end).imag > 0 else 0
    )
    on_line = False
    while rest:
        a, b, c, d = row = rest.pop()
        across, along = [one.real for one in row], [one.imag for one in row]
        if max(across) < x or not min(along) <= y <= max(along):
            continue
        if min(across) > x:
            number += _upwards(a, d, y)
        elif max(abs(one - point) for one in row) <= _TOUCHING:
            on_line = True
        else:
            ab, bc, cd = (a + b) / 2, (b + c) / 2, (c + d) / 2
            abc, bcd = (ab + bc) / 2, (bc + cd) / 2
            middle = (abc + bcd) / 2
            rest += [a, ab, abc, middle], [middle, bcd, cd, d]
    return number, on_line


def _upwards(start: complex, end: complex, y: float) -> int:
    """1 where a line passes a height on its way up, -1 on its way down, else 0."""
    return (start.imag <= y < end.imag) - (end.imag <= y < start.imag)


# --- fitting ----------------------------------------------------------------------------------------------

Sample = Callable[[Indices, Reals], tuple[Points, Points]]


def fit(sample: Sample, count: int, tolerance: float) -> Points:
    """Cubic segments that follow `count` smooth parametric curves on [0, 1] within `tolerance` mm, in order.

    `sample(index, t)` gives points and derivatives. Each curve is met with its derivative at both ends of
    every stretch, and stretches are halved until the fit holds in between; ValueError when it never does.
    """
    index = np.arange(count)
    start, end = np.zeros(count), np.ones(count)
    done: list[tuple[Indices, Reals, Points]] = []
    inner = np.arange(1, 8) / 8
    for _ in range(40):
        if not index.size:
            break
        width = end - start
        p, dp = sample(index, start)
        q, dq = sample(index, end)
        cubic = np.stack([p, p + dp * width / 3, q - dq * width / 3, q], axis=1)
        t = start[:, None] + width[:, None] * inner
        truth, _ = sample(np.repeat(index, len(inner)), t.ravel())
        error = np.abs(evaluate(cubic[:, None, :], inner[None, :]) - truth.reshape(t.shape)).max(axis=1)
        good = error <= tolerance / 2
        done.append((index[good], start[good], cubic[good]))
        bad = ~good
        middle = (start + end)[bad] / 2
        index = np.concatenate([index[bad], index[bad]])
        start, end = np.concatenate([start[bad], middle]), np.concatenate([middle, end[bad]])
    if index.size:
        raise ValueError("the curve cannot be followed within the tolerance")
    indices = np.concatenate([d[0] for d in done])
    starts = np.concatenate([d[1] for d in done])
    order = np.lexsort((starts, indices))
    return np.concatenate([d[2] for d in done])[order]
