"""Where runs of cubic segments cross each other, or themselves."""

from __future__ import annotations

import numpy as np

from seamcheck.geometry import bezier
from seamcheck.geometry.bezier import Indices, Points, Reals
from seamcheck.geometry.feet import boxes

_HALVINGS = 12  # after these a stretch is straight enough for Newton's method
_MEETING = 1e-8  # mm; points this close to each other are one crossing
_PARALLEL = 1e-6  # radians; stretches that differ by less lie along each other and do not cross
_STRAIGHT = 1e-12  # of its length: how far a line may leave its chord
_CHUNK = 1_000_000  # pairs of boxes compared at a time

_MANY = 50_000  # stretches that lie on each other make this many pairs, and halving them tells nothing more

Crossings = tuple[Indices, Reals, Indices, Reals]


def crossings(first: Points, second: Points) -> Crossings:
    """Index and parameter on the first run, index and parameter on the second, of every crossing.

    A crossing at a joint is found once for each segment that ends there.
    """
    return _refined(first, second, *_near_pairs(first, second))


def self_crossings(segments: Points) -> Crossings:
    """Index and parameter of the earlier and of the later passage, of every crossing of a run with itself.

    Joints of neighbouring segments may be among them.
    """
    i, j = _pairs_within(segments)
    apart = ~_run_on(segments, i, j)
    one = _refined(segments, segments, i[apart], j[apart])
    two = _loops(segments)
    return (
        np.concatenate([one[0], two[0]]),
        np.concatenate([one[1], two[1]]),
        np.concatenate([one[2], two[2]]),
        np.concatenate([one[3], two[3]]),
    )


def _run_on(segments: Points, i: Indices, j: Indices) -> bezier.Flags:
    """Which of the paired segments follow each other, both ways round, and meet nowhere but at their joint.

    All steps between control points advance in one direction: then so do both segments, and none comes back. Two straight lines
    from one joint have nothing else in common.
    """
    chords = segments[:, 3:] - segments[:, :1]
    aside = ((segments[:, 1:3] - segments[:, :1]) * chords.conjugate()).imag
    lines = np.asarray((np.abs(aside) <= _STRAIGHT * np.abs(chords) ** 2).all(axis=1))
    found = np.zeros(len(i), dtype=bool)
    closes = (i == 0) & (j == len(segments) - 1) & (segments[j, 3] == segments[i, 0])
    for pairs, first, second in ((j == i + 1, i, j), (closes, j, i)):
        rows = np.flatnonzero(pairs)
        steps = np.concatenate(
            [np.diff(segments[first[rows]], axis=1), np.diff(segments[second[rows]], axis=1)], axis=1
        )
        size = np.abs(steps)
        units = steps / np.where(size == 0, 1, size)
        ahead = (units * units.sum(axis=1, keepdims=True).conjugate()).real
        found[rows] |= ((ahead > 1e-9) | (size == 0)).all(axis=1) | (lines[first[rows]] & lines[second[rows]])
    return found


def _near_pairs(first: Points, second: Points) -> tuple[Indices, Indices]:
    """The pairs of segments whose boxes meet, without segments that are points."""
    some, others = (np.flatnonzero((bezier.clean_steps(run) != 0).any(axis=1)) for run in (first, second))
    first, second = first[some], second[others]
    rows, columns = [np.empty(0, dtype=np.intp)], [np.empty(0, dtype=np.intp)]
    step = max(1, _CHUNK // max(1, len(second)))
    for low in range(0, len(first), step):
        i, j = np.nonzero(_boxes_meet(first[low : low + step, None], second[None, :]))
        rows.append(some[i + low])
        columns.append(others[j])
    return np.concatenate(rows), np.concatenate(columns)


def _pairs_within(segments: Points) -> tuple[Indices, Indices]:
    """The pairs (i, j), i < j, of segments whose boxes meet, found in the order of their least x."""
    some = np.flatnonzero((bezier.clean_steps(segments) != 0).any(axis=1))
    left, low, right, high = boxes(segments[some])
    order = np.argsort(left, kind="stable")
    reach = np.searchsorted(left[order], right[order] + _MEETING, side="right")
    count = reach - np.arange(len(order)) - 1
    first = np.repeat(np.arange(len(order)), count)
    second = first + 1 + np.arange(len(first)) - np.repeat(np.cumsum(count) - count, count)
    one, other = order[first], order[second]
    meet = (low[one] <= high[other] + _MEETING) & (low[other] <= high[one] + _MEETING)
    one, other = some[one[meet]], some[other[meet]]
    i, j = np.minimum(one, other), np.maximum(one, other)
    order = np.lexsort((j, i))
    return i[order], j[order]


def _boxes_meet(first: Points, second: Points) -> bezier.Flags:
    near = _MEETING  # what touches in a joint meets, whatever the last bits say
    x = (first.real.min(-1) <= second.real.max(-1) + near) & (second.real.min(-1) <= first.real.max(-1) + near)
    y = (first.imag.min(-1) <= second.imag.max(-1) + near) & (second.imag.min(-1) <= first.imag.max(-1) + near)
    return np.asarray(x & y)


def _refined(first: Points, second: Points, i: Indices, j: Indices) -> Crossings:
    """The crossings of the paired segments: stretches whose boxes meet are halved, then Newton's method."""
    if not i.size:
        return i, np.zeros(0), j, np.zeros(0)
    a, b, c, d = np.zeros(len(i)), np.ones(len(i)), np.zeros(len(i)), np.ones(len(i))
    for depth in range(_HALVINGS + 1):
        near = _boxes_meet(bezier.part(first[i], a, b), bezier.part(second[j], c, d))
        i, j, a, b, c, d = i[near], j[near], a[near], b[near], c[near], d[near]
        if not i.size or depth == _HALVINGS or len(i) > _MANY:
            break
        ab, cd = (a + b) / 2, (c + d) / 2
        i, j = np.tile(i, 4), np.tile(j, 4)
        a, b = np.concatenate([a, a, ab, ab]), np.concatenate([ab, ab, b, b])
        c, d = np.concatenate([c, cd, c, cd]), np.concatenate([cd, d, cd, d])
    t, u = (a + b) / 2, (c + d) / 2
    for _ in range(8):
        gap = bezier.evaluate(second[j], u) - bezier.evaluate(first[i], t)
        p, q = bezier.derivative(first[i], t), bezier.derivative(second[j], u)
        area = (p.conjugate() * q).imag
        with np.errstate(divide="ignore", invalid="ignore"):
            dt, du = (gap.conjugate() * q).imag / area, (gap.conjugate() * p).imag / area
        t, u = np.clip(t + np.nan_to_num(dt), 0, 1), np.clip(u + np.nan_to_num(du), 0, 1)
    hit = np.abs(bezier.evaluate(second[j], u) - bezier.evaluate(first[i], t)) <= _MEETING
    p, q = _headings(first[i], t, a, b), _headings(second[j], u, c, d)
    hit &= np.abs((p.conjugate() * q).imag) > _PARALLEL
    i, t, j, u = i[hit], t[hit], j[hit], u[hit]
    _, unique = np.unique(np.round(np.stack([i + t, j + u]), 7), axis=1, return_index=True)
    return i[unique], t[unique], j[unique], u[unique]


def _headings(rows: Points, t: Reals, start: Reals, end: Reals) -> Points:
    """Unit directions at `t`; where the derivative vanishes that of the stretch about it."""
    heading = bezier.derivative(rows, t)
    still = np.abs(heading) <= 1e-6 * np.abs(np.diff(rows, axis=1)).max(axis=1)
    heading = np.where(still, bezier.evaluate(rows, end) - bezier.evaluate(rows, start), heading)
    size = np.abs(heading)
    return np.asarray(heading / np.where(size == 0, 1, size))


def _loops(segments: Points) -> Crossings:
    """The loops inside single segments, in closed form.

    With B(t) = a t^3 + b t^2 + c t + d, the quotient (B(t) - B(u)) / (t - u) is a (s^2 - p) + b s + c with the
    sum s and the product p of the two parameters: two real equations, linear in p and s once a is eliminated.
    """
    powers = bezier.powers(segments)
    a, b, c = powers[:, 3], powers[:, 2], powers[:, 1]
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        total = -(a.conjugate() * c).imag / (a.conjugate() * b).imag
        product = total**2 + ((a.conjugate() * b).real * total + (a.conjugate() * c).real) / np.abs(a) ** 2
        root = np.sqrt(total**2 - 4 * product)
        t, u = (total - root) / 2, (total + root) / 2
        index = np.flatnonzero((root > 0) & (t >= 0) & (u <= 1))
    return index, t[index], index, u[index]
