"""Joining loose lines into closed outlines.

end       where a line starts or stops
knot      ends that lie together within the joining tolerance
loose end a knot that only one line reaches
loop      lines that follow each other round and close

The joining tolerance has two steps, 0.05 mm and then 1.05 mm for what is left over, so that a wide tolerance never
pulls apart what fitted. Ends that almost meet are moved to their middle, those of digitised lines to where the
lines cross if that is near (the middle would turn a chord of 2 mm by degrees), and each gap is listed with its
place.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from seamcheck.geometry.curve import Curve
from seamcheck.geometry.end_directions import arriving, digitised_start, leaving, straight

JOINING_TOLERANCES = (0.05, 1.05)
"""In mm. Ends that meet as drawn are joined first; what is then left over is joined across wider gaps, so that a
wide tolerance never pulls apart what fitted. The wider one bridges the 0.04 in that hand-drawn files miss by."""

SEEN = 1e-6  # mm: a narrower gap is none
NEAR = 2.0  # times the gap: how far from either end two lines may be led on to where they cross


class Loop(NamedTuple):
    """A closed curve, the indices of the lines it was made of, and the gaps that were bridged: mm and where."""

    curve: Curve
    members: tuple[int, ...]
    gaps: tuple[tuple[float, complex], ...]


class Chain(NamedTuple):
    """Lines that follow each other without closing; `members` as in a loop."""

    curve: Curve
    members: tuple[int, ...]


def close_loops(
    lines: Sequence[Curve], tolerances: Sequence[float] = JOINING_TOLERANCES
) -> tuple[list[Loop], list[int]]:
    """Join open lines to loops; returns the loops and the indices of the lines that are left over.

    Where more than two lines meet, the outermost way round is taken and what lies inside is left over.
    """
    loops: list[Loop] = []
    left = [i for i, line in enumerate(lines) if line.length > 0.0]
    for tolerance in tolerances:
        found = list(_loops(lines, left, tolerance))
        used = {member for loop in found for member in loop.members}
        loops += found
        left = [i for i in left if i not in used]
    return loops, left


def open_chains(
    lines: Sequence[Curve], left: Sequence[int], tolerance: float = JOINING_TOLERANCES[-1]
) -> list[Chain]:
    """Join the left-over lines that follow each other, where no third line meets them."""
    knots = _Knots(lines, left, tolerance)
    chains: list[Chain] = []
    seen: set[int] = set()
    starts = [(i, s) for i in left for s in (0, 1) if len(knots.reached[knots.of[i, s]]) != 2]
    for first, side in starts:
        if first in seen:
            continue
        walk = [(first, side)]
        seen.add(first)
        while True:
            line, entered = walk[-1]
            knot = knots.of[line, 1 - entered]
            ends = knots.reached[knot]
            if len(ends) != 2:
                break
            onward = ends[0] if ends[1] == (line, 1 - entered) else ends[1]
            if onward[0] in seen:
                break
            walk.append(onward)
            seen.add(onward[0])
        curve, _ = _joined(lines, walk, closed=False)
        chains.append(Chain(curve, tuple(line for line, _ in walk)))
    return chains


class _Knots:
    """Which ends lie together. An end is (line index, 0 for its start or 1 for its stop)."""

    def __init__(self, lines: Sequence[Curve], chosen: Sequence[int], tolerance: float) -> None:
        ends = [(i, side) for i in chosen for side in (0, 1)]
        points = [lines[i].end if side else lines[i].start for i, side in ends]
        parent = list(range(len(ends)))

        def root(k: int) -> int:
            while parent[k] != k:
                parent[k] = parent[parent[k]]
                k = parent[k]
            return k

        cells: dict[tuple[int, int], dict[complex, list[int]]] = defaultdict(dict)
        for k, point in enumerate(points):
            x, y = math.floor(point.real / tolerance), math.floor(point.imag / tolerance)
            short = lines[ends[k][0]].length <= 4 * tolerance
            for dx in (-1, 0, 1):
                for dy in (-1, 0, 1):
                    for there, others in cells.get((x + dx, y + dy), {}).items():
                        for other in others if abs(there - point) <= tolerance else ():
                            if not short or ends[other][0] != ends[k][0]:
                                parent[root(k)] = root(other)
            # Of the ends at one very point two of different lines stand for all: where thousands meet, each is not held against each.
            here = cells[x, y].setdefault(point, [])
            if len(here) < 2 or root(k) != root(here[0]):
                here.append(k)
        self.of = {end: root(k) for k, end in enumerate(ends)}
        self.reached: dict[int, list[tuple[int, int]]] = defaultdict(list)
        for end, knot in self.of.items():
            self.reached[knot].append(end)


def _loops(lines: Sequence[Curve], chosen: Sequence[int], tolerance: float) -> Iterator[Loop]:
    knots = _Knots(lines, chosen, tolerance)
    alive = set(chosen)
    reached = {knot: dict.fromkeys(ends) for knot, ends in knots.reached.items()}
    loose = [knot for knot, ends in reached.items() if len(ends) == 1]
    while loose:  # a line with a loose end is on no loop
        knot = loose.pop()
        if len(reached[knot]) != 1:
            continue
        line, side = next(iter(reached[knot]))
        alive.discard(line)
        reached[knot] = {}
        other = knots.of[line, 1 - side]
        for end in (0, 1):
            reached[other].pop((line, end), None)
        if len(reached[other]) == 1:
            loose.append(other)
    waiting = list(_components(sorted(alive), knots))
    while waiting:
        component = waiting.pop(0)
        walk = _outer_way(lines, component, knots)
        walked = [line for line, _ in walk]
        bridges = {line for line in walked if walked.count(line) > 1}
        if bridges:  # what is walked both ways joins two loops, or hangs on one, without being part of either
            waiting += _components([line for line in component if line not in bridges], knots)
        elif walk:
            curve, gaps = _joined(lines, walk, closed=True)
            yield Loop(curve, tuple(walked), gaps)


def _components(alive: Sequence[int], knots: _Knots) -> Iterator[list[int]]:
    members = set(alive)
    seen: set[int] = set()
    entered: set[int] = set()
    for first in alive:
        if first in seen:
            continue
        stack, component = [first], []
        seen.add(first)
        while stack:
            line = stack.pop()
            component.append(line)
            for side in (0, 1):
                knot = knots.of[line, side]
                if knot in entered:
                    continue
                entered.add(knot)
                for other, _ in knots.reached[knot]:
                    if other in members and other not in seen:
                        seen.add(other)
                        stack.append(other)
        yield sorted(component)


def _outer_way(lines: Sequence[Curve], component: Sequence[int], knots: _Knots) -> list[tuple[int, int]]:
    """The way round the outside of a component: (line, side it is entered at) in order."""
    leaving: dict[int, list[tuple[float, int, tuple[int, int]]]] = defaultdict(list)
    for line in component:
        for side in (0, 1):
            curve = lines[line].reversed() if side else lines[line]
            look = min(1.0, curve.length / 3)
            direction = round(float(np.angle(curve.point(look) - curve.start)) % (2 * np.pi), 9) % round(2 * np.pi, 9)
            here, there = knots.of[line, side], knots.of[line, 1 - side]
            # Lines that lie on each other are told apart as if they ran side by side: in reverse at their other end.
            leaving[here].append((direction, line if here < there else -line, (line, side)))
    order: dict[tuple[int, int], tuple[int, int]] = {}
    for ends in leaving.values():
        ends.sort()
        for k, (_, _, end) in enumerate(ends):
            # Arriving along `end`, go out by the next line clockwise: that keeps a face on the left.
            order[end] = ends[k - 1][2]
    best: list[tuple[int, int]] = []
    best_area = 0.0
    seen: set[tuple[int, int]] = set()
    for line in component:
        for side in (0, 1):
            if (line, side) in seen:
                continue
            face: list[tuple[int, int]] = []
            at = (line, side)
            while at not in seen:
                seen.add(at)
                face.append(at)
                at = order[at[0], 1 - at[1]]
            area = _joined(lines, face, closed=True)[0].signed_area()
            if area < best_area:  # inner faces run counter-clockwise, the outside runs clockwise
                best, best_area = face, area
    return best


def _joined(
    lines: Sequence[Curve], walk: Sequence[tuple[int, int]], *, closed: bool
) -> tuple[Curve, tuple[tuple[float, complex], ...]]:
    """One curve of several lines; ends that almost meet are moved together, and listed."""
    curves = [lines[line].reversed() if side else lines[line] for line, side in walk]
    segments = [np.array(curve.segments) for curve in curves]
    gaps: list[tuple[float, complex]] = []
    count = len(curves)
    for k in range(count if closed else count - 1):
        before, after = segments[k], segments[(k + 1) % count]
        gap = complex(after[0, 0] - before[-1, 3])
        meet = _meeting(curves[k], curves[(k + 1) % count]) if abs(gap) > SEEN else complex(before[-1, 3]) + gap / 2
        _move_end(before, -1, meet - complex(before[-1, 3]))
        _move_end(after, 0, meet - complex(after[0, 0]))
        after[0, 0] = before[-1, 3]
        if abs(gap) > SEEN:
            gaps.append((abs(gap), complex(before[-1, 3])))
    return Curve(np.concatenate(segments)), tuple(gaps)


def _meeting(before: Curve, after: Curve) -> complex:
    """Where the end of one line and the start of the next are moved to: the middle of their gap, directions kept.

    A digitised line would be bent by that, for its last chord is hardly longer than the gap. It is led on, or cut back, in
    its own direction to where it crosses the other, if that is near.
    """
    start, stop = before.end, after.start
    middle = (start + stop) / 2
    if digitised_start(before.reversed()) is None and digitised_start(after) is None:
        return middle
    onward, back = arriving(before), -leaving(after)
    across = (onward.conjugate() * back).imag
    if abs(across) < 1e-9:
        return middle
    gap = stop - start
    ahead, behind = (gap.conjugate() * back).imag / across, (gap.conjugate() * onward).imag / across
    near = max(abs(ahead), abs(behind)) <= NEAR * abs(gap)
    left = min(ahead + _chord(before.segments[-1]) / 2, behind + _chord(after.segments[0]) / 2)
    return start + ahead * onward if near and left > 0.0 else middle


def _chord(segment: npt.NDArray[np.complex128]) -> float:
    return float(abs(segment[3] - segment[0]))


def _move_end(segments: npt.NDArray[np.complex128], which: int, shift: complex) -> None:
    row = segments[which]
    near, handle, far_handle, far = (3, 2, 1, 0) if which == -1 else (0, 1, 2, 3)
    ruled = bool(straight(segments[which : which + 1 or None])[0])
    row[near] += shift
    if ruled:
        row[handle] = row[near] + (row[far] - row[near]) / 3
        row[far_handle] = row[far] + (row[near] - row[far]) / 3
    else:
        row[handle] += shift
