"""The curve that noisy chords sample: how far its vertices lie beside it, where it goes at its end, how long it is.

The vertices of a digitised line are taken for points of a curve, each put down beside its place by an amount that the line
itself tells. The line is unrolled first, so that a circle is a parabola: what stands at a vertex is the sum of all chords
before it, each times the angle by which it is turned against the first. Noise beside the line is noise of that value.
The curvature wanders along the line, as fast as the vertices around say: every rate of wandering is
believed by its likelihood, so that none is chosen and no last bit decides. For one rate the curve is that of least squares.

noise      the standard deviation, in mm, of either coordinate of a vertex
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from numpy.lib.stride_tricks import sliding_window_view

from seamcheck.exact import snapped
from seamcheck.geometry.exact_arrays import snapped_all
from seamcheck.geometry.short_arrays import differences, median

Reals = npt.NDArray[np.float64]
Points = npt.NDArray[np.complex128]

LEAST_NOISE = 0.002  # mm: what the decimals of a file round off
ORDERS = (3, 4, 5)  # of the differences that a smooth line hardly has
MEDIAN = 0.6745  # of the amounts of a Gaussian, in standard deviations
FEWEST = 4  # vertices that a curve can be told from
# How fast the curvature may wander, in 1/mm per root of mm.
WANDERING = np.array([4e-3, 2e-3, 1e-3, 5e-4, 2e-4, 1e-4, 5e-5, 2e-5])
REACH = 60.0  # mm of line that tell the direction at its end ...
LEAST_CHORDS = 8  # ... or so many chords ...
MOST_VERTICES = 48  # ... and no more vertices
WITHIN_CHORD = (
    1 / 20
)  # of the cube of a chord: what curvature that wanders within it adds to the variance of a direction
UNSTEADY = (
    0.15  # noise by chord length: beyond this directions of chords mean nothing, and means of vertices are taken
)
OVERLAP = 12  # vertices by which the windows along a line overlap


class Direction(NamedTuple):
    """A unit direction of a line, and the standard error of its angle in degrees."""

    heading: complex
    error: float


def noise_of(vertices: Points) -> float:
    """How far the vertices of a line lie beside it, as the standard deviation of either coordinate in mm.

    From differences of high order, which a smooth line hardly has, however unevenly its vertices lie; a kink is an outlier that
    the median passes over.
    """
    row, of = vertices[np.append(True, differences(vertices) != 0)], 1
    if len(row) < 2:
        return LEAST_NOISE
    while True:
        along, beside = _unrolled(row)
        found = [
            median(np.abs(_differences(along, beside, order))) / MEDIAN
            for order in ORDERS
            if len(row) >= 2 * order + 2
        ]
        noise = snapped(min(found, default=0.0))
        merged = _merged(row)
        if noise <= UNSTEADY * median(differences(along)) or len(merged) < 2 * ORDERS[0] + 2:
            return max(LEAST_NOISE, float(noise * of**0.5))
        row, of = merged, 2 * of


def _merged(row: Points) -> Points:
    """Means of two neighbouring vertices each, the ends as they are."""
    inner = row[1:-1]
    inner = inner[: len(inner) // 2 * 2].reshape(-1, 2).mean(axis=1)
    return np.concatenate([row[:1], inner, row[-1:]])


def _steadied(vertices: Points, noise: float) -> tuple[Points, Reals]:
    """A line of which the chords tell something, and the noise of each of its vertices in mm."""
    row, of = vertices, 1
    while noise / of**0.5 > UNSTEADY * median(np.abs(differences(row))) and len(row) >= 4 * FEWEST:
        row, of = _merged(row), 2 * of
    spread = np.full(len(row), noise / of**0.5)
    spread[[0, -1]] = noise
    return row, spread


def direction_at(vertices: Points, noise: float, station: float = 0.0, before: float = 0.0) -> Direction:
    """In which direction the curve goes at a station along its chords, or did `before` mm ahead of it, where it bent as it does there.

    `vertices` are four or more.
    """
    row, spread = _steadied(vertices, noise)
    window = _window(row, station)
    along, beside = _unrolled(row[window])
    station -= float(np.abs(differences(row[: window.start + 1])).sum())
    # The cubic through the four places of the curve about the station: its direction and its bending there.
    first = int(np.clip(np.searchsorted(along, station, side="right") - 2, 0, len(along) - FEWEST))
    fitted = _fitted(along[None], beside[None], spread[None, window], first)
    about = slice(first, first + FEWEST)
    slope, bend = _derivatives(along[about], station)
    shares = slope - before * bend
    angles = (fitted.places[0, :, about] * shares).sum(axis=1)
    weights = fitted.weights[0]
    mean = float((weights * angles).sum())
    variance = (fitted.covariance[0] * shares[:, None] * shares).sum(axis=(1, 2))
    variance += WANDERING**2 * ((along[first + 1] - along[first]) ** 3 * WITHIN_CHORD + before**3 / 3)
    variance += (angles - mean) ** 2
    chord = row[window.start + 1] - row[window.start]
    heading = chord / abs(chord) * np.exp(1j * mean)
    return Direction(complex(heading), snapped(float(np.degrees(np.sqrt((weights * variance).sum())))))


def _window(row: Points, station: float) -> slice:
    """The vertices that tell the direction at a station along their chords: those within REACH of line, if they are not few or many."""
    along = snapped_all(np.concatenate([[0.0], np.cumsum(np.abs(differences(row)))]))
    low = float(np.clip(station - REACH / 2, 0.0, max(along[-1] - REACH, 0.0)))
    start, stop = int(np.searchsorted(along, low)), int(np.searchsorted(along, low + REACH, side="right"))
    count = int(np.clip(stop - start, min(LEAST_CHORDS + 1, len(row)), MOST_VERTICES))
    if count != stop - start:
        start = int(np.clip(int(np.searchsorted(along, station)) - count // 2, 0, len(row) - count))
    return slice(start, start + count)


def smoothed_length(vertices: Points, noise: float) -> float:
    """The length in mm of the curve that four or more vertices sample: of each chord what runs along the curve."""
    row, spread = _steadied(vertices, noise)
    count = len(row)
    size = min(MOST_VERTICES, count)
    starts = [*range(0, count - size, max(size - OVERLAP, 1)), count - size]
    rows = np.array(starts)[:, None] + np.arange(size)
    along, beside = _unrolled(row)
    chords, angles = differences(along), differences(beside) / differences(along)
    fitted = _fitted(along[rows], beside[rows], spread[rows])
    smooth = differences((fitted.weights[:, :, None] * fitted.places).sum(axis=1)) / chords[rows[:, :-1]]
    kept = chords[rows[:, :-1]] * np.cos(angles[rows[:, :-1]] - smooth)
    total = 0.0
    for k, start in enumerate(starts):
        # Two windows share what they overlap by halves: a place is told best from both sides.
        low = 0 if k == 0 else (starts[k - 1] + size + start) // 2 - start
        high = size - 1 if k == len(starts) - 1 else (start + size + starts[k + 1]) // 2 - start
        total += snapped(float(kept[k, low:high].sum()))
    return total


def _unrolled(vertices: Points) -> tuple[Reals, Reals]:
    """The stations of the vertices along their chords, and what stands at each when the line is unrolled, in mm."""
    steps = differences(vertices)
    chords = np.abs(steps)
    turned = np.concatenate([[0.0], np.cumsum(np.angle(steps[1:] / steps[:-1]))])
    return np.concatenate([[0.0], np.cumsum(chords)]), np.concatenate([[0.0], np.cumsum(chords * turned)])


class _Fitted(NamedTuple):
    """What stands at the vertices of the curve (windows, rates, n), covariances of a few of them, and how likely each rate is."""

    places: Reals
    covariance: Reals
    weights: Reals


def _fitted(along: Reals, beside: Reals, noise: Reals, first: int = 0) -> _Fitted:
    """The curves of least squares for windows (windows, n) of an unrolled line and the noise of its vertices, for every rate.

    The covariances are those of the FEWEST places from the `first` on. Only what the noise adds is solved for: a line that
    bends evenly comes back to the last bit.
    """
    third, spread = _curvature_changes(along)
    variance = noise**2
    # How far the curvature changes at each joint, and how it may: by noise, and by wandering.
    changes = (third @ beside[:, :, None])[:, None]
    by_noise = third * variance[:, None, :]
    at = np.arange(spread.shape[1])
    matrix = np.repeat((by_noise @ np.swapaxes(third, 1, 2))[:, None], len(WANDERING), axis=1)
    matrix[:, :, at, at] += WANDERING[:, None] ** 2 * spread[:, None]
    few = slice(first, first + FEWEST)
    asked = [np.broadcast_to(one, (*matrix.shape[:3], one.shape[3])) for one in (changes, by_noise[:, None, :, few])]
    explained = np.linalg.solve(matrix, np.concatenate(asked, axis=3))
    back = np.swapaxes(by_noise, 1, 2)[:, None]
    places = beside[:, None] - (back @ explained[..., :1])[..., 0]
    covariance = np.eye(FEWEST) * variance[:, None, few, None] - back[:, :, few] @ explained[..., 1:]
    fit = (changes * explained[..., :1]).sum(axis=(2, 3))
    likelihood = -0.5 * (np.linalg.slogdet(matrix)[1] + fit)
    weights = np.exp(likelihood - likelihood.max(axis=1, keepdims=True))
    return _Fitted(places, covariance, weights / weights.sum(axis=1, keepdims=True))


def _curvature_changes(along: Reals) -> tuple[Reals, Reals]:
    """By how much the second derivative changes from joint to joint: (windows, n - 3, n) of places, and over how many mm."""
    windows, count = along.shape
    matrix = np.zeros((windows, count - 3, count))
    at = np.arange(count - 3)
    weights = _second(along[:, :-2], along[:, 1:-1], along[:, 2:])
    for k in range(3):
        matrix[:, at, at + k] -= weights[k][:, :-1]
        matrix[:, at, at + k + 1] += weights[k][:, 1:]
    return matrix, (along[:, 3:] - along[:, :-3]) / 3


def _second(a: Reals, b: Reals, c: Reals) -> tuple[Reals, Reals, Reals]:
    """The weights of three values in the second derivative of the parabola through them."""
    return 2 / ((a - b) * (a - c)), 2 / ((b - a) * (b - c)), 2 / ((c - a) * (c - b))


def _derivatives(along: Reals, at: float) -> tuple[Reals, Reals]:
    """The weights of four values in the first and the second derivative, at a station, of the cubic through them."""
    inverse = np.linalg.inv(np.vander(along - at, FEWEST, increasing=True))
    return inverse[1], 2 * inverse[2]


def _differences(along: Reals, beside: Reals, order: int) -> Reals:
    """Divided differences of an unrolled line, scaled so that noise of 1 gives values of 1."""
    at = sliding_window_view(along, order + 1)
    apart = at[:, :, None] - at[:, None, :] + np.eye(order + 1)
    weights = 1.0 / apart.prod(axis=2)
    weights /= np.sqrt((weights**2).sum(axis=1, keepdims=True))
    return np.asarray((weights * sliding_window_view(beside, order + 1)).sum(axis=1))
