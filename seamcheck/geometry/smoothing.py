"""The curve that noisy chords sample: how far its vertices lie beside it, where it goes at its end, how long it is.

The vertices of a digitised line are taken for points of a curve, each put down beside its place by an amount that the line
itself tells. The line is unrolled first, so that a circle is a parabola: what stands at a vertex is the sum of all chords
before it, each times the angle by which it is turned against the first. Noise beside the line is noise of that value.
The curvature wanders along the line, as fast as the vertices around say: every rate of wandering is
believed by its likelihood, so that none is chosen and no last bit decides. For one rate the curve is that of least squares.

noise      the standard deviation, in mm, of either coordinate of a vertex
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from seamcheck.exact import snapped
from seamcheck.geometry.exact_arrays import median_of, snapped_all
from seamcheck.geometry.short_arrays import batches, differences, medians

Reals = npt.NDArray[np.float64]
Points = npt.NDArray[np.complex128]
Indices = npt.NDArray[np.intp]

LEAST_NOISE = 0.002  # mm: what the decimals of a file round off
ORDERS = (3, 4, 5)  # of the differences that a smooth line hardly has
MEDIAN = 0.6745  # of the amounts of a Gaussian, in standard deviations
FEWEST = 4  # vertices that a curve can be told from
TELLING = (
    40  # chords that surely tell the noise of their vertices; of a shorter row the rest of its piece tells it too
)
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
SLIVER = 1e-3  # of the usual chord: what is shorter tells no direction
MOST_VALUES = 1 << 17  # that are solved for at a time
OVERLAP = 12  # vertices by which the windows along a line overlap


class Direction(NamedTuple):
    """A unit direction of a line, and the standard error of its angle in degrees."""

    heading: complex
    error: float


def noise_of(vertices: Points) -> float:
    """How far the vertices of a line lie beside it, as the standard deviation of either coordinate in mm; see `noises_of`."""
    return noises_of([vertices])[0]


def noises_of(rows: Sequence[Points]) -> list[float]:
    """How far the vertices of each of several lines lie beside it, as the standard deviation of either coordinate in mm.

    From differences of high order, which a smooth line hardly has, however unevenly its vertices lie; a kink is an outlier that
    the median passes over.
    """
    found = [LEAST_NOISE] * len(rows)
    asked = [(k, row[np.append(True, differences(row) != 0)], 1) for k, row in enumerate(rows)]
    asked = [one for one in asked if len(one[1]) > 1]
    while asked:
        told = _noises([row for _, row, _ in asked])
        steadied = []
        for (k, row, of), (noise, chord) in zip(asked, told, strict=True):
            merged = _merged(row) if noise > UNSTEADY * chord else row[:0]
            if len(merged) < 2 * ORDERS[0] + 2:
                found[k] = max(LEAST_NOISE, noise * of**0.5)
            else:
                steadied.append((k, merged, 2 * of))
        asked = steadied
    return found


def _noises(rows: Sequence[Points]) -> list[tuple[float, float]]:
    """For each line what its own differences tell of its noise, as it is, and its usual chord; both in mm."""
    told = [(0.0, 0.0)] * len(rows)
    for numbers, points, counts in batches(rows):
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            along, beside = _unrolled(points)
            least = np.full(len(points), np.inf)
            for order, values in zip(ORDERS, _differences(along, beside), strict=False):
                found = medians(np.abs(values), np.maximum(counts - order, 1)) / MEDIAN
                least = np.where(counts >= 2 * order + 2, np.minimum(least, found), least)
            chords = medians(differences(along), counts - 1)
        for k, noise, chord in zip(numbers, least.tolist(), chords.tolist(), strict=True):
            told[k] = snapped(noise) if noise < np.inf else 0.0, chord
    return told


def _merged(row: Points) -> Points:
    """Means of two neighbouring vertices each, the ends as they are."""
    inner = row[1:-1]
    inner = inner[: len(inner) // 2 * 2].reshape(-1, 2).mean(axis=1)
    return np.concatenate([row[:1], inner, row[-1:]])


def _apart(vertices: Points) -> Points:
    """The vertices without those that all but fall on the one before them, as where a new line was let in beside a vertex.

    The chord between two such goes anywhere, and is so short that nothing can be solved for beside it.
    """
    chords = np.abs(differences(vertices))
    far = np.append(True, chords > SLIVER * median_of(chords))
    return vertices if far.all() or far.sum() < FEWEST else vertices[far]


def _steadied(vertices: Points, noise: float) -> tuple[Points, Reals]:
    """A line of which the chords tell something, and the noise of each of its vertices in mm."""
    row, of = _apart(vertices), 1
    while noise / of**0.5 > UNSTEADY * median_of(np.abs(differences(row))) and len(row) >= 4 * FEWEST:
        row, of = _merged(row), 2 * of
    spread = np.full(len(row), noise / of**0.5)
    spread[[0, -1]] = noise
    return row, spread


class Asked(NamedTuple):
    """Where a line of four or more vertices is asked for its direction.

    `noise` is that of its vertices in mm. The direction is that at a station along its chords, or the one that the curve had `before`
    mm ahead of it, if it bent as it does there.
    """

    vertices: Points
    noise: float
    station: float = 0.0
    before: float = 0.0


def direction_at(vertices: Points, noise: float, station: float = 0.0, before: float = 0.0) -> Direction:
    """In which direction the curve goes that vertices sample; see `Asked`."""
    return directions_of([Asked(vertices, noise, station, before)])[0]


def directions_of(lines: Sequence[Asked]) -> list[Direction]:
    """In which directions the curves go that the vertices of lines sample."""
    rows = [_steadied(line.vertices, line.noise) for line in lines]
    windows = [_window(row, line.station) for (row, _), line in zip(rows, lines, strict=True)]
    alike: dict[int, list[int]] = {}
    for k, window in enumerate(windows):
        alike.setdefault(window.stop - window.start, []).append(k)
    found: dict[int, Direction] = {}
    for numbers in (part for size, mine in alike.items() for part in _in_parts(mine, size)):
        mine = [(*rows[k], windows[k]) for k in numbers]
        stations = [
            lines[k].station - float(np.abs(differences(row[: window.start + 1])).sum())
            for k, (row, _, window) in zip(numbers, mine, strict=True)
        ]
        told = _directions(
            np.stack([row[window] for row, _, window in mine]),
            np.stack([spread[window] for _, spread, window in mine]),
            np.array(stations),
            np.array([lines[k].before for k in numbers]),
        )
        found.update(zip(numbers, told, strict=True))
    return [found[k] for k in range(len(lines))]


def _in_parts(numbers: Sequence[int], size: int) -> Iterator[Sequence[int]]:
    """Numbers of lines of so many vertices, no more at a time than the covariances of all rates take little memory for."""
    step = max(1, MOST_VALUES // (len(WANDERING) * size * size))
    return (numbers[k : k + step] for k in range(0, len(numbers), step))


def _directions(rows: Points, spread: Reals, stations: Reals, before: Reals) -> list[Direction]:
    """The directions of lines of equally many vertices, each with its own noise."""
    along, beside = _unrolled(rows)
    # The cubic through the four places of the curve about the station: its direction and its bending there.
    first = (along <= stations[:, None]).sum(axis=1) - 2
    about = np.clip(first, 0, rows.shape[1] - FEWEST)[:, None] + np.arange(FEWEST)
    fitted = _fitted(along, beside, spread, about)
    slope, bend = _derivatives(np.take_along_axis(along, about, axis=1), stations)
    shares = slope - before[:, None] * bend
    angles = (np.take_along_axis(fitted.places, about[:, None], axis=2) * shares[:, None]).sum(axis=2)
    mean = (fitted.weights * angles).sum(axis=1)
    variance = (fitted.covariance * shares[:, None, :, None] * shares[:, None, None, :]).sum(axis=(2, 3))
    step = np.take_along_axis(along, about[:, 1:2], axis=1) - np.take_along_axis(along, about[:, :1], axis=1)
    variance += WANDERING**2 * (step**3 * WITHIN_CHORD + before[:, None] ** 3 / 3)
    variance += (angles - mean[:, None]) ** 2
    chords = rows[:, 1] - rows[:, 0]
    headings = chords / np.abs(chords) * np.exp(1j * mean)
    errors = np.degrees(np.sqrt(np.maximum((fitted.weights * variance).sum(axis=1), 0.0)))
    return [
        Direction(heading, snapped(error)) for heading, error in zip(headings.tolist(), errors.tolist(), strict=True)
    ]


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
    fitted = _fitted(along[rows], beside[rows], spread[rows], np.empty((len(rows), 0), dtype=np.intp))
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
    """The stations of the vertices of lines along their chords, and what stands at each when a line is unrolled, in mm."""
    steps = differences(vertices)
    chords = np.abs(steps)
    along, turned, beside = np.zeros(vertices.shape), np.zeros(chords.shape), np.zeros(vertices.shape)
    np.cumsum(np.angle(steps[..., 1:] / steps[..., :-1]), axis=-1, out=turned[..., 1:])
    np.cumsum(chords, axis=-1, out=along[..., 1:])
    np.cumsum(chords * turned, axis=-1, out=beside[..., 1:])
    return along, beside


class _Fitted(NamedTuple):
    """What stands at the vertices of the curve (windows, rates, n), covariances of a few of them, and how likely each rate is."""

    places: Reals
    covariance: Reals
    weights: Reals


def _fitted(along: Reals, beside: Reals, noise: Reals, few: Indices) -> _Fitted:
    """The curves of least squares for windows (windows, n) of an unrolled line and the noise of its vertices, for every rate.

    The covariances are those of a `few` places (windows, k). Only what the noise adds is solved
    for: a line that bends evenly comes back to the last bit.
    """
    third, spread = _curvature_changes(along)
    variance = noise**2
    # How far the curvature changes at each joint, and how it may: by noise, and by wandering.
    changes = (third @ beside[:, :, None])[:, None]
    by_noise = third * variance[:, None, :]
    at = np.arange(spread.shape[1])
    matrix = np.repeat((by_noise @ np.swapaxes(third, 1, 2))[:, None], len(WANDERING), axis=1)
    matrix[:, :, at, at] += WANDERING[:, None] ** 2 * spread[:, None]
    of_few = np.take_along_axis(by_noise, few[:, None], axis=2)
    asked = [np.broadcast_to(one, (*matrix.shape[:3], one.shape[-1])) for one in (changes, of_few[:, None])]
    explained = np.linalg.solve(matrix, np.concatenate(asked, axis=3))
    places = beside[:, None] - (np.swapaxes(by_noise, 1, 2)[:, None] @ explained[..., :1])[..., 0]
    known = np.eye(few.shape[1]) * np.take_along_axis(variance, few, axis=1)[:, None]
    covariance = known[:, None] - np.swapaxes(of_few, 1, 2)[:, None] @ explained[..., 1:]
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


def _derivatives(along: Reals, at: Reals) -> tuple[Reals, Reals]:
    """The weights of the values (n, 4) in the first and the second derivative, each at a station, of the cubics through them."""
    inverse = np.asarray(np.linalg.inv((along - at[:, None])[:, :, None] ** np.arange(FEWEST)), dtype=np.float64)
    return inverse[:, 1], 2 * inverse[:, 2]


def _differences(along: Reals, beside: Reals) -> Iterator[Reals]:
    """Divided differences of unrolled lines, of the orders that their length allows, scaled so that noise of 1 gives values of 1.

    The weight of a place is one by the product of its distances from all others of the difference: from those before it and
    from those behind it.
    """
    count = along.shape[1]
    before = behind = np.ones_like(along)
    befores, behinds = [before], [behind]
    for k in range(1, ORDERS[-1] + 1):
        apart = along[:, k:] - along[:, :-k]
        before, behind = before[:, 1:] * apart, behind[:, : count - k] * apart
        befores.append(before)
        behinds.append(behind)
        if k in ORDERS and count >= 2 * k + 2:
            total, size, sign = np.zeros_like(apart), np.zeros_like(apart), 1.0
            for place in range(k + 1):
                weight = sign / (befores[place][:, : count - k] * behinds[k - place][:, place : place + count - k])
                total += weight * beside[:, place : place + count - k]
                size += weight * weight
                sign = -sign
            yield total / np.sqrt(size)
