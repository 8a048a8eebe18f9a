"""Where runs of cubic segments cross each other, or themselves."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from seamcheck.geometry import bezier
from seamcheck.geometry.bezier import Indices, Points, Reals
from seamcheck.geometry.short_arrays import differences, largest

_HALVINGS = 12  # after these a stretch is straight enough for Newton's method
_MEETING = 1e-8  # mm; points this close to each other are one crossing
_PARALLEL = 1e-6  # radians; stretches that differ by less lie along each other and do not cross
_ONE_PLACE = 1e-6  # mm; passages whose stations differ by no more are one
_BESIDE = 1e-6  # mm; a passage so little beyond the end of a line may yet be one at its end
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


def distinct(first: Reals, second: Reals) -> tuple[tuple[float, float], ...]:
    """Pairs of stations in order, those that a joint gave twice named once."""
    result: list[tuple[float, float]] = []
    for a, b in sorted(zip(first.tolist(), second.tolist(), strict=True)):
        if not any(abs(a - c) <= _ONE_PLACE and abs(b - d) <= _ONE_PLACE for c, d in result[-4:]):
            result.append((a, b))
    return tuple(result)


def _run_on(segments: Points, i: Indices, j: Indices) -> bezier.Flags:
    """Which of the paired segments follow each other, both ways round, and meet nowhere but at their joint.

    All steps between control points advance in one direction: then so do both segments, and none comes back. Two straight lines
    from one joint have nothing else in common.
    """
    chords = segments[:, 3:] - segments[:, :1]
    aside = ((segments[:, 1:3] - segments[:, :1]) * chords.conjugate()).imag
    lines = largest(np.abs(aside)) <= _STRAIGHT * np.abs(chords[:, 0]) ** 2
    found = np.zeros(len(i), dtype=bool)
    closes = (i == 0) & (j == len(segments) - 1) & (segments[j, 3] == segments[i, 0])
    for pairs, first, second in ((j == i + 1, i, j), (closes, j, i)):
        rows = np.flatnonzero(pairs)
        steps = np.concatenate([differences(segments[first[rows]]), differences(segments[second[rows]])], axis=1)
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


def overlapping(segments: Points, most: int) -> int:
    """How many pairs of segments lie in boxes that meet, without those that follow each other; it counts little further than `most`."""
    found = 0
    for one, other in _box_pairs(segments):
        found += int(np.count_nonzero(np.abs(one - other) > 1))
        if found > most:
            break
    return found


def _pairs_within(segments: Points) -> tuple[Indices, Indices]:
    """The pairs (i, j), i < j, of segments whose boxes meet."""
    found = list(_box_pairs(segments))
    one, other = (np.concatenate([np.empty(0, dtype=np.intp), *(pair[k] for pair in found)]) for k in (0, 1))
    i, j = np.minimum(one, other), np.maximum(one, other)
    order = np.lexsort((j, i))
    return i[order], j[order]


def _box_pairs(segments: Points) -> Iterator[tuple[Indices, Indices]]:
    """The pairs of segments whose boxes meet, found in order along the longer side of all, some at a time so that memory stays small."""
    some = np.flatnonzero((bezier.clean_steps(segments) != 0).any(axis=1))
    left, low, right, high = bezier.boxes(segments[some])
    if low.size and np.ptp(low) > np.ptp(left):
        left, low, right, high = low, left, high, right
    order = np.argsort(left, kind="stable")
    reach = np.searchsorted(left[order], right[order] + _MEETING, side="right")
    count = reach - np.arange(len(order)) - 1
    before = np.cumsum(count) - count
    start = 0
    while start < len(order):
        stop = max(start + 1, int(np.searchsorted(before, before[start] + _CHUNK)))
        rows = np.arange(start, stop)
        first = np.repeat(rows, count[rows])
        second = first + 1 + np.arange(len(first)) - np.repeat(before[rows] - before[start], count[rows])
        one, other = order[first], order[second]
        meet = (low[one] <= high[other] + _MEETING) & (low[other] <= high[one] + _MEETING)
        yield some[one[meet]], some[other[meet]]
        start = stop


def _boxes_meet(first: Points, second: Points) -> bezier.Flags:
    near = _MEETING  # what touches in a joint meets, whatever the last bits say
    x = (first.real.min(-1) <= second.real.max(-1) + near) & (second.real.min(-1) <= first.real.max(-1) + near)
    y = (first.imag.min(-1) <= second.imag.max(-1) + near) & (second.imag.min(-1) <= first.imag.max(-1) + near)
    return np.asarray(x & y)


def _refined(first: Points, second: Points, i: Indices, j: Indices) -> Crossings:
    """The crossings of the paired segments: where they may be, and then Newton's method, for the last bits of roots too."""
    if not i.size:
        return i, np.zeros(0), j, np.zeros(0)
    ruled_first, ruled_second = _run_evenly(first[i]), _run_evenly(second[j])
    drawn = ~(ruled_first | ruled_second)
    on_second, on_first = ruled_second, ruled_first & ~ruled_second
    rows, t, u = _through_lines(first[i[on_second]], second[j[on_second]])
    others, v, w = _through_lines(second[j[on_first]], first[i[on_first]])
    halved = _halved(first, second, i[drawn], j[drawn])
    i, j = (
        np.concatenate([whole[on_second][rows], whole[on_first][others], part])
        for whole, part in ((i, halved[0]), (j, halved[1]))
    )
    t, u = np.concatenate([t, w, halved[2]]), np.concatenate([u, v, halved[3]])
    if not i.size:
        return i, t, j, u
    t, u = _closed_in(first[i], second[j], t, u)
    around = 2.0**-_HALVINGS / 2
    hit = np.abs(bezier.evaluate(second[j], u) - bezier.evaluate(first[i], t)) <= _MEETING
    p, q = _headings(first[i], t, around), _headings(second[j], u, around)
    hit &= np.abs((p.conjugate() * q).imag) > _PARALLEL
    i, t, j, u = i[hit], t[hit], j[hit], u[hit]
    along, other = np.round(i + t, 7), np.round(j + u, 7)
    order = np.lexsort((other, along))
    new = np.ones(len(order), dtype=bool)
    new[1:] = (differences(along[order]) != 0) | (differences(other[order]) != 0)
    kept = order[new]
    return i[kept], t[kept], j[kept], u[kept]


def _run_evenly(rows: Points) -> bezier.Flags:
    """Which segments are straight lines with their handles at the thirds."""
    chords = rows[:, 3] - rows[:, 0]
    off = np.abs(rows[:, 1] - rows[:, 0] - chords / 3) + np.abs(rows[:, 3] - rows[:, 2] - chords / 3)
    return np.asarray(off <= 1e-10 * np.abs(chords))


def _through_lines(rows: Points, lines: Points) -> tuple[Indices, Reals, Reals]:
    """Where segments pass through the lines paired with them: which pair, and the parameter on either.

    How far a segment lies beside a line is a cubic polynomial, so all its passages are found at once.
    """
    if not len(rows):
        return np.empty(0, dtype=np.intp), np.empty(0), np.empty(0)
    chords = lines[:, 3] - lines[:, 0]
    size = np.abs(chords)
    units = chords.conjugate() / np.where(size == 0, 1, size)
    position = bezier.powers(rows - lines[:, :1]) * units[:, None]
    t = bezier.real_roots(position.imag)
    pair, column = np.nonzero(~np.isnan(t))
    t = t[pair, column]
    along = (bezier.evaluate(rows[pair] - lines[pair, :1], t) * units[pair]).real
    within = (along >= -_BESIDE) & (along <= size[pair] + _BESIDE)
    pair, t, along = pair[within], t[within], along[within]
    return pair, t, np.clip(along / np.where(size == 0, 1, size)[pair], 0, 1)


def _halved(first: Points, second: Points, i: Indices, j: Indices) -> tuple[Indices, Indices, Reals, Reals]:
    """The pairs of stretches left of the paired segments, by their middles, when those whose boxes meet are halved often enough."""
    a, b, c, d = np.zeros(len(i)), np.ones(len(i)), np.zeros(len(i)), np.ones(len(i))
    for depth in range(_HALVINGS + 1):
        if not i.size:
            break
        near = _boxes_meet(bezier.part(first[i], a, b), bezier.part(second[j], c, d))
        i, j, a, b, c, d = i[near], j[near], a[near], b[near], c[near], d[near]
        if depth == _HALVINGS or len(i) > _MANY:
            break
        ab, cd = (a + b) / 2, (c + d) / 2
        i, j = np.tile(i, 4), np.tile(j, 4)
        a, b = np.concatenate([a, a, ab, ab]), np.concatenate([ab, ab, b, b])
        c, d = np.concatenate([c, cd, c, cd]), np.concatenate([cd, d, cd, d])
    return i, j, (a + b) / 2, (c + d) / 2


def _closed_in(first: Points, second: Points, t: Reals, u: Reals) -> tuple[Reals, Reals]:
    """The parameters near which paired segments may cross, closed in on by Newton's method."""
    for _ in range(8):
        gap = bezier.evaluate(second, u) - bezier.evaluate(first, t)
        p, q = bezier.derivative(first, t), bezier.derivative(second, u)
        area = (p.conjugate() * q).imag
        with np.errstate(divide="ignore", invalid="ignore"):
            dt, du = (gap.conjugate() * q).imag / area, (gap.conjugate() * p).imag / area
        before, t, u = (t, u), np.clip(t + np.nan_to_num(dt), 0, 1), np.clip(u + np.nan_to_num(du), 0, 1)
        if max(np.abs(t - before[0]).max(initial=0), np.abs(u - before[1]).max(initial=0)) <= 1e-15:
            break
    return t, u


def _headings(rows: Points, t: Reals, around: float) -> Points:
    """Unit directions at `t`; where the derivative vanishes that of the stretch `around` it."""
    heading = bezier.derivative(rows, t)
    still = np.abs(heading) <= 1e-6 * np.abs(differences(rows)).max(axis=1)
    if still.any():
        start, end = np.clip(t - around, 0, 1), np.clip(t + around, 0, 1)
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
