"""What of a file's own lines is to be replaced by what, once a pattern is trued.

edit   lines of the file that are no longer right, and the lines to draw in their stead, each like one of the old
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from seamcheck.exact import least, most
from seamcheck.geometry import bezier
from seamcheck.geometry.curve import Affine, Curve
from seamcheck.pattern.drawing import LineMark, PointMark, Role, drawn_marks
from seamcheck.pattern.model import Grainline
from seamcheck.pieces.outline import Shape
from seamcheck.places import Place
from seamcheck.truing.state import State

SAME = 1e-5  # mm: what is moved by less has stayed
AS_LONG = 1e-4  # mm
NOTCH_STAYS = 1e-3  # mm: a notch that moved less ...
NOTCH_TURN = 0.1  # degrees: ... and turned less is not drawn anew
LONGEST_STROKE = 30.0  # mm of a notch
NOTCH_REACH = 9.0  # mm from a notch to its strokes, which stand side by side where it is a double one


@dataclass(frozen=True, slots=True, kw_only=True)
class Edit:
    """Old lines of one piece and what to draw instead, with the old line that it looks like; points, and where they go.

    `added` are points that come in beside those that are there: each like one of them, and where.
    """

    piece: str
    old: tuple[LineMark, ...]
    new: tuple[tuple[Curve, LineMark], ...]
    points: tuple[tuple[PointMark, complex], ...] = ()
    added: tuple[tuple[PointMark, complex], ...] = ()


def edits(before: State, after: State) -> Iterator[Edit]:
    """The edits of one size, piece by piece: outline, then notches, then grain, then what lies within."""
    for name, old in before.shapes.items():
        new = after.shapes[name]
        if new is old:
            continue
        sew, cut = (old.outline, new.outline), None
        if name in before.cuts:
            cut = before.cuts[name].curve, after.cuts[name].curve
        if cut is None or old.other_members:
            yield from _outline(name, *sew, old.members)
        if cut is not None:
            yield from _outline(name, *cut, old.other_members or old.members)
        # Of a piece with two lines a notch may stand on either.
        lines = [sew] if cut is None else [sew, cut] if old.other_members else [cut]
        yield from _notches(name, old, new, lines)
        yield from _grain(name, old, new)
        yield from _within(name, old, new)


def _outline(name: str, ring: Curve, outline: Curve, members: Sequence[LineMark]) -> Iterator[Edit]:
    total = ring.length
    placed = sorted(((_interval(ring, mark.curve), mark) for mark in members), key=lambda item: item[0])
    touched = [not _kept(ring, interval, outline) for interval, _ in placed]
    if not any(touched):
        return
    marks = [mark for _, mark in placed]
    if all(touched):
        yield Edit(piece=name, old=tuple(marks), new=((outline, most(marks, key=lambda m: m.curve.length)),))
        return
    # Begin behind a line that stays, so that no run of changed lines is cut in two.
    first = next(k for k in range(len(placed)) if touched[k] and not touched[k - 1])
    order = [(first + k) % len(placed) for k in range(len(placed))]
    run: list[int] = []
    for k in [*order, -1]:
        if k >= 0 and touched[k]:
            run.append(k)
            continue
        if run:
            a, b = placed[run[0]][0][0], placed[run[-1]][0][1]
            start = outline.nearest(ring.point(a % total)).station
            end = outline.nearest(ring.point(b % total)).station
            line = outline.between(start, end)
            like = [placed[j][1] for j in run]
            yield Edit(piece=name, old=tuple(like), new=((line, most(like, key=lambda m: m.curve.length)),))
        run = []


def _interval(ring: Curve, curve: Curve) -> tuple[float, float]:
    """Where a line that is a part of a closed one lies on it: clockwise from station to station."""
    total = ring.length
    if curve.is_closed:
        return 0.0, total
    middle = ring.nearest(curve.point(curve.length / 2)).station
    a, b = (ring.nearest(point).station % total for point in (curve.start, curve.end))
    if (middle - a) % total > (b - a) % total:
        a, b = b, a
    return a, a + (b - a) % total


def _kept(ring: Curve, interval: tuple[float, float], new: Curve) -> bool:
    """Whether a stretch of the old outline is on the new one, segment by segment, and the new one as long there."""
    a, b = interval
    whole = b - a >= ring.length - 1e-9
    part = ring if whole else ring.between(a % ring.length, b % ring.length)
    # A long segment may be redrawn between the places that are looked at, but seldom without getting longer or shorter.
    start, end = (new.nearest(ring.point(station % ring.length)).station for station in interval)
    length = new.length if whole else (end - start) % new.length
    if abs(length - part.length) > AS_LONG:
        return False
    index = np.repeat(np.arange(len(part.segments)), 4)
    points = bezier.evaluate(part.segments[index], np.tile([0.0, 1 / 3, 2 / 3, 1.0], len(part.segments)))
    return all(new.nearest(complex(point)).distance < SAME for point in points)


def notch_moves(
    old: Shape, new: Shape, lines: tuple[Curve, Curve] | None = None
) -> Iterator[tuple[complex, Affine, float]]:
    """The notches that moved: where each was, the move, and its turn in degrees.

    `lines` are the old and the new line that they are drawn on, where that is not the one that is walked.
    """
    for before, after in zip(old.notches, new.notches, strict=True):
        here, there = old.outline.point(before.station), new.outline.point(after.station)
        turned = new.outline.tangent(after.station) / old.outline.tangent(before.station)
        if lines is not None:
            here, there = lines[0].nearest(here).point, lines[1].nearest(there).point
        if before.ticks and after.ticks:  # a notch may also have been turned where it stands
            (a, b), (c, d) = before.ticks[0], after.ticks[0]
            turned = (d - c) / (b - a) if b != a else turned
        turn = float(np.degrees(np.angle(turned)))
        if abs(there - here) >= NOTCH_STAYS or abs(turn) >= NOTCH_TURN:
            yield here, Affine.translation(there - here) @ Affine.rotation(turn, about=here), turn


def _notches(name: str, old: Shape, new: Shape, lines: Sequence[tuple[Curve, Curve]]) -> Iterator[Edit]:
    drawn = (one for mark in old.marks for one in drawn_marks(mark))
    marks = [mark for mark in drawn if isinstance(mark, LineMark) and _is_stroke(mark)]
    seen: set[int] = set()
    for pair in lines:
        places = [pair[0].nearest(old.outline.point(notch.station)).point for notch in old.notches]
        for here, move, _ in notch_moves(old, new, pair):
            strokes = [mark for mark in marks if _belongs(mark, here, places) and id(mark) not in seen]
            seen |= {id(mark) for mark in strokes}
            moved = tuple((mark.curve.transformed(move), mark) for mark in strokes)
            if moved:
                yield Edit(piece=name, old=tuple(strokes), new=moved)


def _is_stroke(mark: LineMark) -> bool:
    return mark.role in (Role.NOTCH, None) and mark.curve.length < LONGEST_STROKE


def _belongs(mark: LineMark, at: complex, places: Sequence[complex]) -> bool:
    """Whether a stroke is one of those that make up the notch at a place."""
    near = mark.curve.nearest(at).distance
    if near > NOTCH_REACH:
        return False
    return all(near <= mark.curve.nearest(other).distance + 1e-9 for other in places)


def lines_moved(old: Shape, new: Shape) -> Iterator[tuple[Place, Curve, Curve]]:
    """The lines within a piece that are no longer where they were, folds too: the place in the file, the old line, the new one."""
    for before, after in zip(old.inside, new.inside, strict=True):
        if after.curve != before.curve:
            yield before.place, before.curve, after.curve
    for place, was, now in zip(old.fold_places, old.folds, new.folds, strict=False):
        if now != was:
            yield place, was, now


def holes_moved(old: Shape, new: Shape) -> Iterator[tuple[Place, complex, complex]]:
    """The drill holes that are no longer where they were: the place in the file, and where each was and is."""
    for place, was, now in zip(old.hole_places, old.drill_holes, new.drill_holes, strict=False):
        if abs(now - was) > SAME:
            yield place, was, now


def _within(name: str, old: Shape, new: Shape) -> Iterator[Edit]:
    marks = {mark.place: mark for mark in reversed(old.marks)}
    for place, _, now in lines_moved(old, new):
        mark = marks.get(place)
        if isinstance(mark, LineMark):
            strokes = tuple(one for one in drawn_marks(mark) if isinstance(one, LineMark))
            yield Edit(piece=name, old=strokes, new=((now, strokes[0]),))
    for place, was, to in holes_moved(old, new):
        mark = marks.get(place)
        if isinstance(mark, LineMark):
            move = Affine.translation(to - was)
            strokes = tuple(one for one in drawn_marks(mark) if isinstance(one, LineMark))
            yield Edit(piece=name, old=strokes, new=tuple((one.curve.transformed(move), one) for one in strokes))
        elif isinstance(mark, PointMark):
            yield Edit(piece=name, old=(), new=(), points=((mark, mark.at + to - was),))


def _grain(name: str, old: Shape, new: Shape) -> Iterator[Edit]:
    if new.grainlines == old.grainlines:
        return
    drawn: list[list[LineMark]] = [[] for _ in old.grainlines]
    for mark in old.marks:
        if isinstance(mark, LineMark) and mark.role is Role.GRAIN:
            at = mark.curve.start
            arrows = [Curve.polyline(grain.points) for grain in old.grainlines]
            drawn[least(range(len(arrows)), key=lambda k: arrows[k].nearest(at).distance)] += [
                stroke for stroke in drawn_marks(mark) if isinstance(stroke, LineMark)
            ]
    alike = len(new.grainlines) == len(old.grainlines)
    left = new.grainlines if alike else tuple(one if one in new.grainlines else None for one in old.grainlines)
    for grain, now, strokes in zip(old.grainlines, left, drawn, strict=True):
        if now == grain or not strokes:
            continue
        lines: list[tuple[Curve, LineMark]] = []
        if now is not None:
            shaft = [stroke for stroke in strokes if _is_part(stroke.curve, grain)]
            lines += [(Curve.polyline(now.points), most(shaft, key=lambda one: one.curve.length))] if shaft else []
            rest = [stroke for stroke in strokes if all(stroke is not one for one in shaft)]
            lines += [(_as_the_arrow_runs(stroke.curve, grain, now), stroke) for stroke in rest]
        yield Edit(piece=name, old=tuple(strokes), new=tuple(lines))


def _is_part(curve: Curve, grain: Grainline) -> bool:
    """Whether a line is the shaft of an arrow, or a part of it from vertex to vertex."""
    return all(min(abs(at - point) for point in grain.points) < 1e-3 for at in (curve.start, curve.end))


def _as_the_arrow_runs(stroke: Curve, before: Grainline, now: Grainline) -> Curve:
    """A stroke of an arrow where the arrow now is: what lies beside its first half keeps its place from the tail on, the rest from the head.

    So heads keep their form, however much longer or shorter the shaft became.
    """
    old, new = Curve.polyline(before.points), Curve.polyline(now.points)
    found = []
    for at in stroke.segments.ravel().tolist():
        station = old.nearest(at).station
        way = old.tangent(min(max(station, 1e-6), old.length - 1e-6))
        off = (at - old.point(station)) / way
        there = station if station <= old.length / 2 else new.length - (old.length - station)
        found.append(new.point(there) + off * new.tangent(min(max(there, 1e-6), new.length - 1e-6)))
    return Curve(np.array(found).reshape(stroke.segments.shape))
