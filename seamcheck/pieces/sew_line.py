"""The sew line of a piece whose file draws only the cut line.

Every stretch of cut line between two corners is moved inward by its own allowance, and neighbours are trimmed or
drawn on along their end tangents until they meet:

    convex corner   both are trimmed where they cross; with unequal allowances the wider one may be drawn on instead
    hollow corner   both are drawn on; a line that bends towards its neighbour may be trimmed instead
    smooth corner   with equal allowances the point beside it; with unequal ones the sew line steps straight across,
                    and the step belongs to the stretch with the wider allowance
    vanished edge   a stretch that is shorter than its neighbours take from it is left out, and they meet instead
    tight bend      what bends more tightly than the allowance has no parallel and is left out; the lines on either
                    side are trimmed where they cross
    turned-up hem   the sides beyond the fold line mirror those above it; only what lies above the fold is offset
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from seamcheck.exact import least
from seamcheck.geometry import bezier
from seamcheck.geometry.bezier import Points
from seamcheck.geometry.curve import Curve, OffsetSwallowed
from seamcheck.geometry.intersections import crossings, self_crossings
from seamcheck.geometry.long_line import LongLine

SMOOTH = math.radians(15)  # a corner that turns by less has no meeting point for unequal allowances
ON_FOLD = 2.0  # mm: how near to the fold line of a hem a vertex of the sides must lie
MIRRORED = math.radians(5)  # how exactly a side must be mirrored in the fold line of a hem
RUNS_ON = math.radians(0.5)  # a side that turns no more at the fold line runs on over it
_TOUCHING = 1e-3  # mm; ends this close to each other are one point
_SPECK = 1.0  # mm; of a line without a parallel no shorter part is looked for one
_SAME_STATION = 1e-6  # mm
_FACING = 1e-9  # radians; lines that turn back on each other within this are parallel


class NoSewLineError(ValueError):
    """The allowances leave nothing of the piece."""


@dataclass(frozen=True, slots=True)
class AllowanceStretch:
    """A stretch of the closed cut line: its stations, clockwise as seen, and its allowance in mm, 0 or more.

    From a station to itself is all round. The `turned_up` part of a side, beyond the fold line of a hem, has no
    sew line of its own.
    """

    start: float
    end: float
    allowance: float
    turned_up: bool = False


@dataclass(frozen=True, slots=True)
class SewLine:
    """The closed sew line, started at the sew corner of the first stretch.

    `corners` holds for every stretch the station on `outline` at which its sew line starts; where it has none, that
    of the place it shrank to. `swallowed` tells where the sew line could not run parallel to the cut line: a
    station on the cut line, and why as the end of a sentence.
    """

    outline: Curve
    corners: tuple[float, ...]
    swallowed: tuple[tuple[float, str], ...]


def sew_line(cut: Curve, stretches: Sequence[AllowanceStretch], *, y_down: bool) -> SewLine:
    """The sew line of a closed cut line that runs clockwise as seen, within 1e-4 mm.

    The stretches follow each other clockwise. NoSewLineError when nothing is left.
    """
    inward = 1 if y_down else -1
    whole = _round_and_round(cut, stretches, inward)
    if whole is not None:
        return whole
    swallowed: list[tuple[float, str]] = []
    sides: list[_Side] = []
    reach = 2 * cut.length
    for index, stretch in enumerate(stretches):
        if not stretch.turned_up:
            sides += _sides(cut, index, stretch, inward, reach, swallowed)
    if len(sides) == 1:
        try:
            sides = sides[0].halves(inward)
        except OffsetSwallowed:  # a circle as wide as its allowances shrinks to a point
            sides = []
    if not sides:
        raise NoSewLineError(_NOTHING)
    sides, joints = _linked(sides, inward)
    outline, starts = _outline(sides, joints)
    if not 0 < outline.signed_area() / cut.signed_area() <= 1 + 1e-6:
        raise NoSewLineError(_NOTHING)
    alive = [side.stretch for side in sides]
    first = [next((k for k, number in enumerate(alive) if number >= index), 0) for index in range(len(stretches))]
    for index, stretch in enumerate(stretches):
        if not stretch.turned_up and index not in alive:
            length = _edge(cut, stretch).length
            swallowed.append(
                (
                    (stretch.start + length / 2) % cut.length,
                    f"an edge of {length:.1f} mm is swallowed by the allowances and its neighbours meet instead",
                )
            )
    swallowed += [(cut.nearest(at).station, why) for at, why in _straight_joints(sides, joints)]
    swallowed += [(cut.nearest(at).station, _CROSSES) for at in _crossings_with_itself(outline)]
    return SewLine(outline, tuple(starts[k] for k in first), tuple(sorted(swallowed)))


_NOTHING = "its allowances leave nothing of the piece"
_CROSSES = "the piece is narrower than its allowances and the sew line crosses itself"


def _edge(cut: Curve, stretch: AllowanceStretch) -> Curve:
    return cut.between(stretch.start, stretch.end)


def _round_and_round(cut: Curve, stretches: Sequence[AllowanceStretch], inward: int) -> SewLine | None:
    """The sew line of an outline that is one stretch; None when there are more, or it has no simple parallel."""
    if len(stretches) != 1:
        return None
    try:
        outline = _edge(cut, stretches[0]).offset(inward * stretches[0].allowance)
    except OffsetSwallowed:
        return None
    if not 0 < outline.signed_area() / cut.signed_area() <= 1 + 1e-6:
        raise NoSewLineError(_NOTHING)
    crossed = tuple((cut.nearest(at).station, _CROSSES) for at in _crossings_with_itself(outline))
    return SewLine(outline, (0.0,), crossed)


def _crossings_with_itself(outline: Curve) -> list[complex]:
    i, t, j, u = self_crossings(outline.segments)
    count = len(outline.segments)
    # Most of what is found are the joints.
    gap = (j + u - i - t) % count
    crossed = np.minimum(gap, count - gap) > 1e-9
    i, t, j, u = i[crossed], t[crossed], j[crossed], u[crossed]
    total = outline.length
    found: list[complex] = []
    for a, b, c, d in zip(i.tolist(), t.tolist(), j.tolist(), u.tolist(), strict=True):
        apart = abs(outline.station_of(a, b) - outline.station_of(c, d))
        at = complex(bezier.evaluate(outline.segments[a], np.array(b)))
        if min(apart, total - apart) > _TOUCHING and all(abs(at - other) > _TOUCHING for other in found):
            found.append(at)
    return found


# --- the parallel of one stretch --------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Side:
    """A line of the sew line to be: the stretch it comes from, its cut line, and the parallel of that."""

    stretch: int
    allowance: float
    cut: LongLine
    sew: LongLine

    def halves(self, inward: int) -> list[_Side]:
        parts = self.cut.line.split(self.cut.length / 2)
        sides = (_side(self.stretch, self.allowance, part, inward, self.cut.reach) for part in parts)
        return [side for side in sides if side is not None]


def _side(index: int, allowance: float, edge: Curve, inward: int, reach: float) -> _Side | None:
    """The parallel of a line; None for a round that shrinks to its own centre."""
    sew = edge.offset(inward * allowance)
    if not bezier.clean_steps(sew.segments).any():
        return None
    return _Side(index, allowance, LongLine(edge, reach), LongLine(sew, reach))


def _sides(
    cut: Curve, index: int, stretch: AllowanceStretch, inward: int, reach: float, swallowed: list[tuple[float, str]]
) -> list[_Side]:
    """The parallels of a stretch: one, or those of the parts between its tight bends."""
    found: list[_Side] = []
    waiting = [(stretch.start, _edge(cut, stretch))]
    while waiting:
        begin, edge = waiting.pop()
        try:
            side = _side(index, stretch.allowance, edge, inward, reach)
            if side is not None:
                found.append(side)
        except OffsetSwallowed as bend:
            _report_bend(cut, (begin + bend.station) % cut.length, stretch.allowance, swallowed)
            if edge.length > _SPECK:
                at = bend.station if _SPECK / 4 < bend.station < edge.length - _SPECK / 4 else edge.length / 2
                before, after = edge.split(at)
                waiting += [(begin + at, after), (begin, before)]
    return found


def _report_bend(cut: Curve, station: float, allowance: float, swallowed: list[tuple[float, str]]) -> None:
    """Report a tight bend, once for all the places at which it is met."""
    why = (
        f"the line bends more tightly than its allowance of {allowance:g} mm "
        "and the sew line is cut short where it crosses itself"
    )
    apart = ((station - other) % cut.length for other, said in swallowed if said == why)
    if all(4 * allowance < distance < cut.length - 4 * allowance for distance in apart):
        swallowed.append((station, why))


# --- meeting ----------------------------------------------------------------------------------------------


class _Joint(NamedTuple):
    """Where two sides meet: a place on the one that ends and on the one that begins; `straight`: by a line between."""

    before: float
    after: float
    straight: bool = False


def _linked(sides: Sequence[_Side], inward: int) -> tuple[list[_Side], list[_Joint]]:
    """The sides that are left, and the joint at the start of each.

    As if the lines moved inward all at once: a side that is too short for its neighbours shrinks to nothing on the
    way, the one that does so first is left out first, and its neighbours meet from then on. Neighbours that face
    each other by then meet where they cross; where they do not, they have met all along, and the shorter one is left out too.
    """
    sides = list(sides)
    joints = [_joint(sides[k - 1], side) for k, side in enumerate(sides)]
    roots = [_Joint(sides[k - 1].cut.length, 0.0) for k in range(len(sides))]  # where the cut lines meet
    turns = [inward * float(np.angle(side.sew.leaving / sides[k - 1].sew.arriving)) for k, side in enumerate(sides)]
    while True:
        count = len(sides)
        left = [joints[(k + 1) % count].before - joints[k].after for k in range(count)]
        size = [roots[(k + 1) % count].before - roots[k].after for k in range(count)]
        gone = [k for k in range(count) if left[k] <= _SAME_STATION]
        if not gone:
            return sides, joints
        first = least(gone, key=lambda k: size[k] / (size[k] - left[k]) if size[k] > left[k] else math.inf)
        while True:
            if len(sides) <= 2:
                raise NoSewLineError(_NOTHING)
            turned = turns[first] + inward * math.radians(sides[first].cut.line.turning())
            for rows in (sides, joints, roots, turns):
                del rows[first]
            k = first % len(sides)
            turns[k] += turned
            before, after = sides[k - 1], sides[k]
            # The sides of a strap that widens further on meet there, on the cloth, and nowhere beyond its end.
            facing = turns[k] >= math.pi - SMOOTH
            crossed = before.sew.meeting(after.sew, facing=inward) if facing else None
            if crossed is not None or turns[k] < math.pi - _FACING:
                break
            first = k if after.cut.length <= before.cut.length else (k - 1) % len(sides)
        joints[k] = _joint(before, after) if crossed is None else _Joint(*crossed)
        met = before.cut.meeting(after.cut)
        roots[k] = _Joint(*met) if met else _Joint(before.cut.length, 0.0)


def _joint(before: _Side, after: _Side) -> _Joint:
    ends = _Joint(before.sew.length, 0.0)
    if abs(before.sew.line.end - after.sew.line.start) <= _TOUCHING:
        return ends
    turn = abs(np.angle(after.sew.leaving / before.sew.arriving))
    neighbours = abs(before.cut.line.end - after.cut.line.start) <= _TOUCHING
    if neighbours and turn < SMOOTH and before.allowance != after.allowance:
        return ends._replace(straight=True)
    met = before.sew.meeting(after.sew)
    return _Joint(*met) if met else ends._replace(straight=True)


def _straight_joints(sides: Sequence[_Side], joints: Sequence[_Joint]) -> list[tuple[complex, str]]:
    """What is to be said about sides that do not meet, and where on the cut line."""
    said = []
    for k, joint in enumerate(joints):
        one, other = sides[k - 1].allowance, sides[k].allowance
        if not joint.straight:
            continue
        if one == other:
            why = "the lines on either side do not meet and are joined straight across"
        else:
            step = abs(sides[k].sew.line.start - sides[k - 1].sew.line.end)
            why = (
                f"the allowance changes from {one:g} to {other:g} mm where the line runs on smoothly and the sew line "
                f"steps across by {step:.1f} mm, which is counted to the edge with {max(one, other):g} mm"
            )
        said.append((sides[k].cut.line.start, why))
    return said


def _outline(sides: Sequence[_Side], joints: Sequence[_Joint]) -> tuple[Curve, list[float]]:
    """The closed line, and the station at which each side begins on it."""
    bodies: list[Points] = []
    for k, side in enumerate(sides):
        following = joints[(k + 1) % len(sides)]
        bodies.append(side.sew.between(joints[k].after, following.before).segments.copy())
    parts: list[list[Points]] = [[body] for body in bodies]
    for k, joint in enumerate(joints):
        last, first = bodies[k - 1], bodies[k]
        if joint.straight:
            step = bezier.lines(np.array([last[-1, 3], first[0, 0]]))
            if sides[k - 1].allowance > sides[k].allowance:
                parts[k - 1].append(step)
            else:
                parts[k].insert(0, step)
        else:
            last[-1, 2:] += first[0, 0] - last[-1, 3]
    rows = [np.concatenate(part) for part in parts]
    outline = Curve(np.concatenate(rows))
    begins = np.cumsum([0, *(len(part) for part in rows[:-1])])
    return outline, [float(station) for station in outline.joint_stations[begins]]


def drawn_to_meet(lines: Sequence[Curve]) -> list[Curve] | None:
    """Lines that follow each other round, each trimmed or drawn on along its end tangents to where it meets its neighbours.

    None where two never meet, or one is trimmed away.
    """
    long = [LongLine(line, 2.0 * sum(one.length for one in lines)) for line in lines]
    met = []
    for before, after in zip([long[-1], *long[:-1]], long, strict=True):
        touch = abs(before.line.end - after.line.start) <= _TOUCHING
        met.append((before.length, 0.0) if touch else before.meeting(after))
    starts, ends = [], []
    for k, place in enumerate(met):
        following = met[(k + 1) % len(met)]
        if place is None or following is None:
            return None
        starts.append(place[1])
        ends.append(following[0])
    if any(end - start <= _SAME_STATION for start, end in zip(starts, ends, strict=True)):
        return None
    return [
        line.line if (start, end) == (0.0, line.length) else line.between(start, end)
        for line, start, end in zip(long, starts, ends, strict=True)
    ]


# --- hems that are turned up ------------------------------------------------------------------------------


def turn_up_hems(
    cut: Curve, stretches: Sequence[AllowanceStretch], named: Collection[float], *, y_down: bool
) -> tuple[AllowanceStretch, ...]:
    """The stretches with those parts taken off that are turned up with a hem.

    A stretch is a hem when on both sides of it, before the next of the `named` stations, a vertex of the cut line
    lies on its fold line and the side beyond that vertex mirrors the side above. One of them may also cross the fold line
    squarely and straight, as a centre line does, and has no vertex there. Where both only run on, nothing is turned up.
    """
    result = list(stretches)
    for k, hem in enumerate(stretches):
        if hem.allowance == 0 or len(stretches) < 3:
            continue
        try:
            fold = LongLine(_edge(cut, hem).offset(hem.allowance * (1 if y_down else -1)), 2 * hem.allowance)
        except OffsetSwallowed:
            continue
        before = _fold_vertex(cut, fold, hem, hem.start, -1, named)
        after = _fold_vertex(cut, fold, hem, hem.end, +1, named)
        if before is None and after is None:
            continue
        before = _square_crossing(cut, fold, hem, hem.start, -1, named) if before is None else before
        after = _square_crossing(cut, fold, hem, hem.end, +1, named) if after is None else after
        if before is None or after is None:
            continue
        beside = ((before, stretches[k - 1]), (after, stretches[(k + 1) % len(stretches)]))
        if not any(_tells_of_turn_up(cut, vertex, hem, side) for vertex, side in beside):
            continue
        for j, stretch in enumerate(result):
            if j != k and not stretch.turned_up:
                result[j] = _above_fold(cut, stretch, before, hem.start, after, hem.end)
    return tuple(result)


def _fold_vertex(
    cut: Curve, fold: LongLine, hem: AllowanceStretch, corner: float, way: int, named: Collection[float]
) -> float | None:
    """The station of the vertex where a side crosses the fold line, going away from a corner of the hem."""
    total, limit = cut.length, _farthest_fold(cut, hem, corner, way, named)
    hits = []
    joints = cut.joint_stations[:-1]
    distances = (joints - corner) * way % total
    least = max(hem.allowance - ON_FOLD, _SAME_STATION)
    for station in joints[(distances > least) & (distances < limit - _SAME_STATION)].tolist():
        near = fold.drawn_on.nearest(cut.point(station))
        if near.distance > ON_FOLD:
            continue
        along = fold.drawn_on.tangent(near.station)
        above, beyond = cut.tangent(station, way) * way, cut.tangent(station, -way) * -way
        if abs(np.angle(along * along * beyond.conjugate() / above)) <= MIRRORED:
            hits.append((near.distance, station))
    return min(hits)[1] if hits else None


def _tells_of_turn_up(cut: Curve, vertex: float, hem: AllowanceStretch, side: AllowanceStretch) -> bool:
    """Whether a side turns at the fold line by so much that it does not merely run on there, as a bent line of many vertices does."""
    turn = abs(np.angle(cut.tangent(vertex, 1) / cut.tangent(vertex, -1)))
    return bool(turn > (RUNS_ON if hem.allowance > side.allowance else MIRRORED))


def _farthest_fold(cut: Curve, hem: AllowanceStretch, corner: float, way: int, named: Collection[float]) -> float:
    """How far along a side from a corner of a hem its fold line is looked for: to the next named corner at most."""
    to_named = ((station - corner) * way % cut.length for station in named)
    return min([2 * hem.allowance, *(distance for distance in to_named if distance > _SAME_STATION)])


def _square_crossing(
    cut: Curve, fold: LongLine, hem: AllowanceStretch, corner: float, way: int, named: Collection[float]
) -> float | None:
    """The station where a side crosses the fold line as straight as it began at the hem, and squarely."""
    limit = _farthest_fold(cut, hem, corner, way, named)
    ends = sorted((corner, corner + way * limit))
    side = cut.between(ends[0] % cut.length, ends[1] % cut.length)
    side = side.reversed() if way < 0 else side
    i, t, j, u = crossings(side.segments, fold.drawn_on.segments)
    for a, b, c, d in zip(i.tolist(), t.tolist(), j.tolist(), u.tolist(), strict=True):
        there = side.station_of(a, b)
        if there <= _SAME_STATION or not side.between(0.0, there).is_straight(_TOUCHING):
            continue
        along = fold.drawn_on.tangent(fold.drawn_on.station_of(c, d))
        if abs(abs(np.angle(side.tangent(there, -1) / along)) - math.pi / 2) <= MIRRORED / 2:
            return (corner + way * there) % cut.length
    return None


def _above_fold(
    cut: Curve, stretch: AllowanceStretch, before: float, hem_start: float, after: float, hem_end: float
) -> AllowanceStretch:
    """A stretch of the sides without what lies between a fold vertex and the hem."""

    def ahead(a: float, b: float) -> float:
        return (b - a) % cut.length

    def inside(station: float) -> bool:
        return _SAME_STATION < ahead(stretch.start, station) < ahead(stretch.start, stretch.end) - _SAME_STATION

    middle = stretch.start + ahead(stretch.start, stretch.end) / 2
    if ahead(before, middle) < ahead(before, hem_start) or ahead(hem_end, middle) < ahead(hem_end, after):
        turned_up = not inside(before) and not inside(after)
        stretch = replace(stretch, turned_up=turned_up)
    if inside(before):
        stretch = replace(stretch, end=before)
    if inside(after):
        stretch = replace(stretch, start=after)
    return stretch
