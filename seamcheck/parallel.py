"""The parallel of a run of segments: cut lines from sew lines, and sew lines from cut lines."""

from __future__ import annotations

from functools import partial
from itertools import pairwise

import numpy as np

from seamcheck import bezier
from seamcheck.bezier import Flags, Indices, Points, Reals

_SMOOTH = 1e-9  # radians; a joint that turns by less needs no corner


class OffsetSwallowed(ValueError):  # noqa: N818 - it names what happened to the curve
    """The curve has no parallel at that distance: it bends more tightly, or doubles back.

    `station` is the place in mm along the curve that is swallowed.
    """

    def __init__(self, distance: float, station: float) -> None:
        """Keep the station; the text is one sentence."""
        self.station = station
        super().__init__(
            f"the line turns too tightly at {station:.2f} mm from its start to be offset by {distance:g} mm"
        )


def parallel(segments: Points, stations: Reals, distance: float, tolerance: float) -> Points:
    """The segments of the parallel curve; see `Curve.offset`."""
    steps = bezier.clean_steps(segments)
    kept = np.flatnonzero((steps != 0).any(axis=1))
    if not kept.size:
        raise OffsetSwallowed(distance, 0.0)
    segments, steps = segments[kept], steps[kept]
    starts = stations[kept]
    _refuse_tight(segments, starts, distance)

    leaving, arriving = (d / np.abs(d) for d in bezier.end_directions(steps))
    turns = np.angle(leaving[1:] * arriving[:-1].conjugate())
    if (np.abs(turns) > np.pi - 1e-6).any():
        raise OffsetSwallowed(distance, float(starts[1 + np.flatnonzero(np.abs(turns) > np.pi - 1e-6)[0]]))
    corners = segments[1:, 0] + 1j * distance * arriving[:-1] * (1 + 1j * np.tan(turns / 2))

    plain = _is_line(segments)
    if plain.all():
        points = np.concatenate(
            [
                segments[:1, 0] + 1j * distance * leaving[:1],
                corners,
                segments[-1:, 3] + 1j * distance * arriving[-1:],
            ]
        )
        eaten = (np.diff(points) * leaving.conjugate()).real <= 0
        if eaten.any():
            raise OffsetSwallowed(distance, float(starts[np.flatnonzero(eaten)[0]]))
        return bezier.lines(points)
    return _joined(segments, starts, distance, tolerance, turns, corners)


def _is_line(segments: Points) -> Flags:
    """Which segments are straight and never turn back."""
    steps = bezier.clean_steps(segments)
    chord = segments[:, 3] - segments[:, 0]
    along = steps * np.where(chord == 0, 1, chord).conjugate()[:, None]
    return np.asarray(
        ((np.abs(along.imag) <= 1e-12 * np.abs(chord)[:, None] ** 2) & (along.real >= 0)).all(axis=1) & (chord != 0)
    )


def _refuse_tight(segments: Points, starts: Reals, distance: float) -> None:
    """Raise where the radius of curvature on the side of the offset is no larger than the distance.

    Looked for where it can be least: at the ends, and where the derivative of the curvature vanishes, which
    is a polynomial of degree five.
    """
    inner_cusps = bezier.cusps(segments)
    if (~np.isnan(inner_cusps)).any():
        index, column = np.argwhere(~np.isnan(inner_cusps))[0]
        t = inner_cusps[index, column]
        raise OffsetSwallowed(
            distance, float(starts[index] + bezier.lengths_to(segments[index : index + 1], np.array([t]))[0])
        )
    size = np.abs(np.diff(segments, axis=1)).max(axis=1)
    power = bezier.powers(segments) / size[:, None]
    first = power[:, 1:] * np.arange(1, 4)
    second = first[:, 1:] * np.arange(1, 3)
    third = second[:, 1:]
    speed = bezier.product(first.conjugate(), first)
    bend = bezier.product(first.conjugate(), second)
    jerk = bezier.product(first.conjugate(), third).imag.astype(np.complex128)
    change = bezier.product(jerk, speed).real
    change[:, : bend.shape[1] * 2 - 1] -= 3 * bezier.product(bend.imag.astype(np.complex128), bend).real
    t = np.concatenate(
        [
            np.zeros((len(segments), 1)),
            np.nan_to_num(bezier.real_roots(change), nan=0.0),
            np.ones((len(segments), 1)),
        ],
        axis=1,
    )
    velocity = bezier.derivative(segments[:, None, :], t)
    bends = (velocity.conjugate() * bezier.second_derivative(segments[:, None, :], t)).imag
    tight = np.argwhere(distance * bends >= np.abs(velocity) ** 3)
    moving = [(i, k) for i, k in tight if distance * bends[i, k] > 0]
    if moving:
        index, column = moving[0]
        at = bezier.lengths_to(segments[index : index + 1], t[index, column : column + 1])
        raise OffsetSwallowed(distance, float(starts[index] + at[0]))


def _sample(segments: Points, distance: float, index: Indices, t: Reals) -> tuple[Points, Points]:
    """Points and derivatives of the exact parallels of the segments."""
    rows = segments[index]
    velocity = bezier.derivative(rows, t)
    speed = np.abs(velocity)
    still = speed <= 1e-12 * np.abs(np.diff(rows, axis=1)).max(axis=1)
    nudged = np.where(still, np.where(t < 0.5, t + 1e-7, t - 1e-7), t)
    velocity = np.where(still, bezier.derivative(rows, nudged), velocity)
    speed = np.abs(velocity)
    bend = (velocity.conjugate() * bezier.second_derivative(rows, nudged)).imag / speed**3
    return bezier.evaluate(rows, t) + 1j * distance * velocity / speed, velocity * (1 - distance * bend)


def _joined(
    segments: Points, starts: Reals, distance: float, tolerance: float, turns: Reals, corners: Points
) -> Points:
    """The parallels of the smooth stretches, mitred or trimmed where they meet."""
    breaks = np.flatnonzero(np.abs(turns) > _SMOOTH)
    bounds = np.concatenate([[0], breaks + 1, [len(segments)]])
    result: list[Points] = []
    for number, (low, high) in enumerate(pairwise(bounds)):
        stretch = segments[low:high]
        run = bezier.fit(partial(_sample, stretch, distance), len(stretch), tolerance)
        run[1:, 0] = run[:-1, 3]
        if number:
            joint = breaks[number - 1]
            before = result.pop()
            if turns[joint] * distance < 0:
                tip = corners[joint]
                result.append(np.concatenate([before, bezier.lines(np.array([before[-1, 3], tip, run[0, 0]]))]))
            else:
                i, t, j, u = bezier.crossings(before, run)
                if not i.size:
                    raise OffsetSwallowed(distance, float(starts[joint + 1]))
                best = int(np.argmin((len(before) - i - t) + (j + u)))
                one = np.ones(1)
                before = before[: i[best] + 1].copy()
                before[-1:] = bezier.part(before[-1:], 0 * one, t[best] * one)
                run = run[j[best] :].copy()
                run[:1] = bezier.part(run[:1], u[best] * one, one)
                run[0, 0] = before[-1, 3]
                result.append(before)
        result.append(run)
    return np.concatenate(result)
