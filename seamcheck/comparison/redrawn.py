"""What was done to a stretch that no rigid motion explains: scooped, tapered, extended, shortened, let out, taken in."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from seamcheck.comparison.alignment import View
from seamcheck.comparison.changes import EndKind, Redrawn, RedrawnEnd, RedrawnKind
from seamcheck.comparison.footpoints import Target
from seamcheck.comparison.moved_parts import Division, Gap
from seamcheck.exact import EXACT, most
from seamcheck.geometry.bezier import Reals
from seamcheck.geometry.curve import Curve
from seamcheck.geometry.end_directions import straight
from seamcheck.geometry.exact_arrays import most_at
from seamcheck.geometry.short_arrays import each_once

STEP = 2.0  # mm between the places from which the greatest distance is sought
CHORD = 12.0  # mm: straight lines up to this long are taken for chords ...
SMOOTH = np.radians(15)  # ... of one curve where they turn by no more
NOTHING = 0.1  # mm: an edge that ends by less elsewhere ends where it did
SAME_STATION = 0.05  # mm
ALONG = 0.5  # mm: a redrawn line whose end moved by less along itself ends where it did
OBLIQUE = 0.25  # of what a corner moved: less than that along a line is what a move square to it brings
BESIDE = 0.001  # mm: how far on either side of the place where lines lie furthest apart is looked
HOLLOW = 1.25  # times what the ends moved: a line that went further between them was scooped or filled


@dataclass(frozen=True, slots=True)
class Portion:
    """The part of a gap on one edge: old stations, new stations, and the corners at its ends ("" at a gap's end)."""

    start: float
    stop: float
    new_start: float
    new_stop: float
    first: str
    last: str


def changes_of_line(
    old: View, new: View, division: Division, tolerance: float
) -> tuple[list[Redrawn], list[RedrawnEnd]]:
    """All that was drawn anew, in the order of the outline."""
    redrawn: list[Redrawn] = []
    ends: list[RedrawnEnd] = []
    for gap in division.gaps:
        if gap.cut:
            continue
        legs = {corner for dart in old.piece.darts for corner in dart.corners}
        for portion in _portions(gap, old, new):
            gone, added = portion.stop - portion.start, portion.new_stop - portion.new_start
            edge = _edge_of(portion, old, new)
            if min(gone, added) <= SAME_STATION:
                corner = portion.first or portion.last
                if max(gone, added) > max(NOTHING, tolerance) and corner:
                    kind: EndKind = "extended" if added > gone else "shortened"
                    ends.append(RedrawnEnd(edge=edge, corner=corner, kind=kind, amount=added - gone))
                continue
            if not edge and legs & {portion.first, portion.last}:
                continue  # what became of a dart is told of the dart
            ends += _moved_ends(portion, edge, old, new, division, gap)
            one = _redrawn(portion, edge, old, new, division, gap, tolerance)
            if one is not None:
                redrawn.append(one)
    return redrawn, ends


def _portions(gap: Gap, old: View, new: View) -> Iterator[Portion]:
    """A gap cut at the corners that both outlines have in it."""
    gone, added = gap.stop - gap.start, gap.new_stop - gap.new_start
    inside = []
    for name, station in old.corners.items():
        if name not in new.corners:
            continue
        ahead = (station - gap.start + SAME_STATION) % old.total - SAME_STATION
        new_ahead = (new.corners[name] - gap.new_start + SAME_STATION) % new.total - SAME_STATION
        if ahead <= gone + SAME_STATION and new_ahead <= added + SAME_STATION:
            inside.append((max(0.0, min(ahead, gone)), max(0.0, min(new_ahead, added)), name))
    inside.sort()
    marks = [(0.0, 0.0, ""), *inside, (gone, added, "")]
    for (a, na, first), (b, nb, last) in pairwise(marks):
        if max(b - a, nb - na) > SAME_STATION:
            yield Portion(gap.start + a, gap.start + b, gap.new_start + na, gap.new_start + nb, first, last)


def _edge_of(portion: Portion, old: View, new: View) -> str:
    if portion.stop - portion.start > SAME_STATION:
        return old.edge_between(portion.start, portion.stop)
    return new.edge_between(portion.new_start, portion.new_stop)


def _redrawn(
    portion: Portion, edge: str, old: View, new: View, division: Division, gap: Gap, tolerance: float
) -> Redrawn | None:
    """How one stretch of an edge differs from the old line as its part carried it."""
    motion = division.motions[gap.first]
    behind = division.motions[gap.second]
    before = old.curve.between(portion.start % old.total, portion.stop % old.total)
    after = new.curve.between(portion.new_start % new.total, portion.new_stop % new.total)
    blended = gap.first != gap.second
    lines = [before.transformed(motion)] + ([before.transformed(behind)] if blended else [])
    if blended:
        station, depth = _furthest(after, lines)
        share = station / max(after.length, 1e-9)
        deepest = old.place(portion.start + share * (portion.stop - portion.start), edge)
        offsets, at_middle = (0.0, 0.0), 0.0
        kind: RedrawnKind = "blended"
    else:
        station, depth, at_middle = _deepest(lines[0], after)
        deepest = old.place(portion.start + station, edge)
        offsets = (
            _offset(lines[0], after, 0) if portion.first else 0.0,
            _offset(lines[0], after, -1) if portion.last else 0.0,
        )
        if abs(depth) <= tolerance + max(_beside_curve(before), _beside_curve(after)):
            return None  # how long it became is told of its ends, or is the noise of its chords
        kind = _kind(depth, offsets, tolerance)
    ends = (old.place(portion.start, edge), old.place(portion.stop, edge))
    if ends[0].along > ends[1].along:
        ends, offsets = (ends[1], ends[0]), (offsets[1], offsets[0])
    return Redrawn(
        edge=edge,
        kind=kind,
        depth=depth,
        deepest=deepest,
        at_middle=at_middle,
        ends=ends,
        offsets=offsets,
        change=after.length - before.length,
    )


def _beside_curve(line: Curve) -> float:
    """How far the chords of a digitised line lie beside the curve that they sample, in mm, at most; 0 for one that was drawn.

    A chord of an arc that turns by `t` over its length `c` lies c t / 8 inside it.
    """
    lengths = np.diff(line.joint_stations)
    chords = straight(line.segments) & (lengths <= CHORD)
    turns = np.abs(np.radians(line.joint_turns()[: len(lengths) - 1]))
    smooth = chords[:-1] & chords[1:] & (turns <= SMOOTH)
    longest = np.maximum(lengths[:-1], lengths[1:])
    return float((longest * turns / 8)[smooth].max(initial=0.0))


def _moved_ends(
    portion: Portion, edge: str, old: View, new: View, division: Division, gap: Gap
) -> Iterator[RedrawnEnd]:
    """How far a line that was drawn anew ends beyond or before the old end, along the old line."""
    for corner, station, there, motion, way in (
        (portion.first, portion.start, portion.new_start, division.motions[gap.first], -1),
        (portion.last, portion.stop, portion.new_stop, division.motions[gap.second], 1),
    ):
        if not corner:
            continue
        moved = new.curve.point(there % new.total) - complex(motion.apply(old.curve.point(station % old.total)))
        outward = way * old.curve.tangent(station % old.total, side=-way) * motion.a
        along = float((moved * outward.conjugate()).real)
        if abs(along) > max(ALONG, abs(moved) * OBLIQUE):
            kind: EndKind = "extended" if along > 0 else "shortened"
            yield RedrawnEnd(edge=edge, corner=corner, kind=kind, amount=along)


def _kind(depth: float, offsets: tuple[float, float], tolerance: float) -> RedrawnKind:
    at_ends = most(offsets, key=abs)
    if abs(depth) > HOLLOW * abs(at_ends) + tolerance:
        return "scooped" if depth < 0 else "filled"
    if offsets[0] * offsets[1] < 0 and min(map(abs, offsets)) > tolerance:
        return "redrawn"
    return "taken-in" if at_ends < 0 else "let-out"


def _offset(old: Curve, new: Curve, which: int) -> float:
    """How far an end of the new line lies outward of the old one: square to the old line there."""
    station = 0.0 if which == 0 else old.length
    direction = old.tangent(station, side=1 if which == 0 else -1)
    moved = (new.start - old.start) if which == 0 else (new.end - old.end)
    return float((moved * direction.conjugate()).imag)


def _deepest(old: Curve, new: Curve) -> tuple[float, float, float]:
    """The station of the old line that lies furthest from the new one, how far, and how far its middle lies.

    Outward is positive.

    Found among the joints and places close together, and then between the neighbours of the best: where the line lies as far
    off a little before as a little behind. The distance itself hardly changes there, and would leave the place open.
    """
    target = Target(new)

    def distances(stations: Reals) -> Reals:
        points = old.points(stations)
        feet = target.feet(points)
        # What an old line reaches beyond the end of the new one is no distance between them: only what is square counts.
        square = np.abs(((feet.points - points) * feet.directions.conjugate()).imag)
        # Seen from the old line: where the new one lies to its left, that is outward of a clockwise outline.
        sides = ((feet.points - points) * old.tangents(stations).conjugate()).imag
        return np.where(sides < 0, -square, square)

    count = max(8, int(old.length / STEP))
    stations = each_once(np.concatenate([np.linspace(0.0, old.length, count + 1), old.joint_stations]))
    found = distances(stations)
    best = most_at(np.abs(found))
    low, high = float(stations[max(best - 1, 0)]), float(stations[min(best + 1, len(stations) - 1)])
    for _ in range(36):
        middle = (low + high) / 2
        behind, ahead = np.abs(distances(np.array([middle - BESIDE, middle + BESIDE])))
        low, high = (middle, high) if ahead > behind else (low, middle)
    middle = (low + high) / 2
    here, half_way = distances(np.array([middle, old.length / 2])).tolist()
    if abs(here) > abs(float(found[best])) + EXACT:
        return middle, here, half_way
    return float(stations[best]), float(found[best]), half_way


def _furthest(new: Curve, lines: Sequence[Curve]) -> tuple[float, float]:
    """The station of a new line that lies furthest from all of the old ones, and how far: outward positive."""
    stations = np.linspace(0.0, new.length, max(8, int(new.length / STEP)) + 1)
    points = new.points(stations)
    feet = [Target(line).feet(points).distances for line in lines]
    signed = np.stack(feet)
    nearest = np.round(np.abs(signed), 6).argmin(axis=0)
    distances = signed[nearest, np.arange(len(stations))]
    best = most_at(np.abs(distances))
    return float(stations[best]), float(distances[best])
