"""A trued pattern written into its apparel DXF: every block, text and layer kept, the old lines on a layer of their own.

The vertices of a sew line go where `apparel_vertices` says, those of a cut line stay beside their places on it. The new line stays
on the layer that the standard gives it, since whoever receives the file looks for it there.
"""

from __future__ import annotations

from collections.abc import Callable, Container, Iterator, Mapping, Sequence
from functools import partial
from itertools import pairwise

import numpy as np

from seamcheck.errors import InputError
from seamcheck.exact import steady
from seamcheck.geometry.curve import Curve
from seamcheck.pattern.drawing import LineMark, PointMark, Role
from seamcheck.pieces.outline import Shape
from seamcheck.places import Place
from seamcheck.reading.dxf.apparel_blocks import BOUNDARY, CURVE, TURN, VALIDATION, layer_number
from seamcheck.truing.apparel_vertices import (
    KINK,
    ON_VERTEX,
    SAME,
    SMOOTH,
    STRAIGHT,
    VertexLine,
    added_points,
    bearing,
    kinked,
    line_up,
    placed,
    turned,
    with_notches,
)
from seamcheck.truing.cut_lines import CutLine
from seamcheck.truing.dxf_pairs import Pairs, Record, number
from seamcheck.truing.edits import holes_moved, lines_moved, notch_moves
from seamcheck.truing.state import State
from seamcheck.truing.write_dxf import OLD_LAYER, Handles, add_layers, add_tables, is_modern

DECIMALS = 4  # of the file's own unit at least


def write_apparel(data: bytes, path: str, factor: float, sizes: Sequence[tuple[State, State]]) -> bytes:
    """The file with every size as trued; `factor` is mm per file unit.

    InputError for an outline that is drawn in several lines, or computed from a rule table.
    """
    pairs = Pairs(data, path)
    handles = Handles(pairs)
    names = dict.fromkeys(name for before, after in sizes for name in before.shapes if _differs(before, after, name))
    for name in names:
        each = [
            _outlines(pairs, path, factor, before, after, name) for before, after in sizes if name in before.shapes
        ]
        for outlines in zip(*each, strict=True):
            line_up(outlines)
            added = added_points(outlines)
            kinks = kinked(outlines, added)
            for outline in outlines:
                if outline.changed or any(added):
                    _redraw(pairs, outline, added, kinks, factor, handles)
    for before, after in sizes:
        for name in names:
            if name in before.shapes and _differs(before, after, name):
                block = _block(pairs, before.shapes[name].place)
                _move_notches(block, before, after, name, factor, handles)
                _redraw_grain(block, before.shapes[name], after.shapes[name], factor, handles)
                _redraw_within(pairs, block, before.shapes[name], after.shapes[name], factor, handles)
    if names:
        # The layer of the old lines is dashed and thin, as far as the file can say so.
        add_layers(pairs, {OLD_LAYER: "1"}, handles, factor, modern=is_modern(pairs))
        add_tables(pairs, factor)
    handles.close()
    return pairs.data()


def _differs(before: State, after: State, name: str) -> bool:
    return before.shapes[name] is not after.shapes[name]


def _outlines(pairs: Pairs, path: str, factor: float, before: State, after: State, name: str) -> Iterator[VertexLine]:
    """The lines of a piece that the file draws: its sew line, its cut line, or both."""
    old = before.shapes[name]
    if "graded" in old.labels:
        raise InputError(
            f"{name}, size {before.size}: this size is computed from a rule table and does not stand in the file",
            path=path,
            remedy=f"true the sample size alone with --size, and have the others graded from it; this is {before.size}",
        )
    for curves, members, moved in _drawn_lines(before, after, name):
        place = members[0].place if members else old.place
        records = pairs.entity(place)
        vertices = [record for record in records if record.kind == "VERTEX"]
        if len(members) != 1 or not vertices or not members[0].closed:
            raise InputError(
                f"{name}: the outline is not one closed polyline",
                path=path,
                place=place,
                remedy="join its lines in the drawing program, then try again",
            )
        points = [complex(float(r.text(10)), float(r.text(20))) * factor for r in vertices]
        stations = [moved(curves[0].nearest(point).station) for point in points]
        bears = bearing(points, curves[0], old)
        if curves[0] is old.outline and curves[1] is not old.outline:
            stations = with_notches(points, stations, bears, old, after.shapes[name])
        yield VertexLine(*curves, place, records, points, stations, bears)


_Drawn = tuple[tuple[Curve, Curve], Sequence[LineMark], Callable[[float], float]]


def _drawn_lines(before: State, after: State, name: str) -> Iterator[_Drawn]:
    """The lines of a piece as they were and are, the marks that draw each, and where a place on the old one is on the new."""
    old, new, cut = before.shapes[name], after.shapes[name], before.cuts.get(name)
    trail = after.trails.get(name, _same_station)
    if cut is None or old.other_members:
        yield (old.outline, new.outline), old.members, trail
    if cut is not None:
        now = after.cuts[name]
        curves = (cut.curve, cut.curve if now is cut else now.curve)
        yield curves, old.other_members or old.members, partial(_beside, old.outline, new.outline, trail, (cut, now))


def _same_station(station: float) -> float:
    return station


def _beside(
    old: Curve, new: Curve, trail: Callable[[float], float], cuts: tuple[CutLine, CutLine], station: float
) -> float:
    """Where a place on a cut line is on the new one: beside the place on the sew line that it was beside.

    What lies beside none, at a corner or on what is turned up, keeps its share of its side.
    """
    if cuts[0] is cuts[1]:
        return station
    before, after = cuts
    ends = np.cumsum([side.cut.length for side in before.sides])
    k = min(int(np.searchsorted(ends, station - SAME, side="left")), len(before.sides) - 1)
    side, now = before.sides[k], after.sides[k]
    start = float(ends[k]) - side.cut.length
    into = min(max(station - start, 0.0), side.cut.length)
    begun = float(sum(one.cut.length for one in after.sides[:k]))
    if not side.hem and SAME < into < side.cut.length - SAME:
        sewn = old.between(side.start, side.end)
        at = sewn.nearest(side.cut.point(into)).station
        if SAME < at < sewn.length - SAME:
            return begun + now.cut.nearest(new.point(trail((side.start + at) % old.length))).station
    return begun + into * now.cut.length / side.cut.length


def _redraw(
    pairs: Pairs,
    outline: VertexLine,
    added: Sequence[int],
    kinks: Container[tuple[int, int]],
    factor: float,
    handles: Handles,
) -> None:
    block = _block(pairs, outline.place)
    old = [record.copy() for record in outline.records]
    marks = _marks(block)
    points = _Points(block, factor, handles)
    vertices = [record for record in outline.records if record.kind == "VERTEX"]
    for k, (vertex, point, station) in enumerate(zip(vertices, outline.points, outline.stations, strict=True)):
        here = marks.get(_key(point / factor), [])
        new = outline.new.point(station)
        if abs(new - point) > SAME:
            for record in (vertex, *here):
                _put(record, new / factor)
            _smoothed(outline, point, station, here, points)
        if (k, 0) in kinks:
            points.sharpen(here, new)
        more = added[k] if k < len(added) else 0
        if more and vertex.first(42) is not None:
            vertex.put(42, "0")
        for j, place in enumerate(placed(outline, k, more), 1):
            at = outline.new.point(place)
            vertex.added.append(_copied(vertex, at / factor, handles))
            if (k, j) in kinks:
                points.mark(at, points.turn)
            elif any(record.kind == "POINT" for record in here):
                points.mark(at, points.curve)
    if outline.changed:
        _keep_old(block, outline, old, handles)


def _keep_old(block: Sequence[Record], outline: VertexLine, old: Sequence[Record], handles: Handles) -> None:
    """The old polyline behind the new one, and lines that say how the old one ran, on the layer of old lines."""
    for record in old:
        record.put(8, OLD_LAYER)
        _own_handle(record, handles)
    outline.records[-1].added += old
    for record in block:
        if record.kind not in ("POINT", "TEXT") and layer_number(record.text(8)) in VALIDATION:
            record.put(8, OLD_LAYER)


class _Points:
    """The points of a block that say which vertices are corners: what it calls their layers, and more of them."""

    def __init__(self, block: Sequence[Record], factor: float, handles: Handles) -> None:
        self.factor, self.handles = factor, handles
        points = [record for record in block if record.kind == "POINT"]
        self.model = next((record for record in points if layer_number(record.text(8)) in (TURN, CURVE)), None)
        self.turn, self.curve = (
            next((one.text(8) for one in points if layer_number(one.text(8)) == layer), str(layer))
            for layer in (TURN, CURVE)
        )

    def mark(self, at: complex, layer: str) -> None:
        """A point more, at a place in mm; none where the block has no points at all, and is read by its chords."""
        if self.model is not None:
            made = _copied(self.model, at / self.factor, self.handles)
            made.put(8, layer)
            self.model.added.append(made)

    def sharpen(self, marks: Sequence[Record], at: complex) -> None:
        """Mark a vertex, with the marks that it has, as a corner."""
        mine = [record for record in marks if record.kind == "POINT"]
        for record in mine:
            record.put(8, self.turn)
        if not mine:
            self.mark(at, self.turn)


def _smoothed(outline: VertexLine, point: complex, station: float, marks: Sequence[Record], points: _Points) -> None:
    """Mark a vertex that was a corner only for its kink as a curve point."""
    if turned(outline.old, outline.old.nearest(point).station) >= KINK and turned(outline.new, station) < SMOOTH:
        for record in marks:
            if record.kind == "POINT" and layer_number(record.text(8)) == TURN:
                record.put(8, points.curve)


def _block(pairs: Pairs, place: Place) -> list[Record]:
    """All records of the block that a place of the file is in."""
    index = pairs.at(place)
    start = next(k for k in range(index, -1, -1) if pairs.records[k].kind == "BLOCK")
    end = next((k for k in range(index, len(pairs.records)) if pairs.records[k].kind == "ENDBLK"), len(pairs.records))
    return pairs.records[start:end]


def _marks(block: Sequence[Record]) -> Mapping[tuple[int, int], list[Record]]:
    """The points and rule texts of a block by their places: those that say something of a vertex."""
    found: dict[tuple[int, int], list[Record]] = {}
    for record in block:
        marks_vertex = record.kind == "POINT" and layer_number(record.text(8)) in (TURN, CURVE, BOUNDARY)
        rules = record.kind == "TEXT" and record.text(1).startswith("#")
        if marks_vertex or rules:
            at = complex(float(record.text(10)), float(record.text(20)))
            found.setdefault(_key(at), []).append(record)
    return found


def _key(at: complex) -> tuple[int, int]:
    return round(steady(at.real) * 10**DECIMALS), round(steady(at.imag) * 10**DECIMALS)


def _put(record: Record, at: complex, code: int = 10) -> None:
    places = max(DECIMALS, len(record.text(code).partition(".")[2]))
    record.put(code, number(at.real, places))
    record.put(code + 10, number(at.imag, places))


def _copied(record: Record, at: complex, handles: Handles) -> Record:
    made = record.copy()
    _put(made, at)
    _own_handle(made, handles)
    return made


def _own_handle(record: Record, handles: Handles) -> None:
    if record.first(5) is not None:
        record.put(5, handles.next())


def _move_notches(
    block: Sequence[Record], before: State, after: State, name: str, factor: float, handles: Handles
) -> None:
    by_line = {record.line: record for record in block}
    old, new = before.shapes[name], after.shapes[name]
    marks = [mark for mark in old.marks if isinstance(mark, PointMark) and mark.role is Role.NOTCH]
    moved: set[int] = set()
    drawn = [lines for lines, _, _ in _drawn_lines(before, after, name)]
    for lines in drawn:
        places = [lines[0].nearest(old.outline.point(notch.station)).point for notch in old.notches]
        for here, move, turn in notch_moves(old, new, lines):
            for mark in marks:
                record = by_line.get(mark.place.line or 0)
                off = abs(mark.at - here)
                is_its = off <= min(abs(at - mark.at) for at in places) + 1e-6 and _is_on(mark.at, lines[0], drawn)
                if record is None or id(mark) in moved or not is_its:
                    continue
                moved.add(id(mark))
                kept = record.copy()
                kept.put(8, OLD_LAYER)
                _own_handle(kept, handles)
                to = complex(move.apply(mark.at))
                if lines[0].nearest(mark.at).distance < ON_VERTEX:  # as its vertex does, by which other sizes know it
                    to = lines[1].nearest(to).point
                _put(record, to / factor)
                if record.first(50) is not None:
                    record.put(50, number(steady(float(record.text(50)) + turn) % 360.0, DECIMALS))
                record.added.append(kept)


def _is_on(at: complex, line: Curve, drawn: Sequence[tuple[Curve, Curve]]) -> bool:
    """Whether a place is on a line rather than on another of the same piece."""
    return line.nearest(at).distance <= min(old.nearest(at).distance for old, _ in drawn) + SAME


def _redraw_grain(block: Sequence[Record], old: Shape, new: Shape, factor: float, handles: Handles) -> None:
    if old.grainlines == new.grainlines:
        return
    by_line = {record.line: record for record in block}
    marks = [mark for mark in old.marks if isinstance(mark, LineMark) and mark.role is Role.GRAIN]
    records = [record for mark in marks if (record := by_line.get(mark.place.line or 0)) is not None]
    records = [record for record in records if record.kind == "LINE"]
    for record, grain in zip(records, new.grainlines, strict=False):
        kept = record.copy()
        kept.put(8, OLD_LAYER)
        _own_handle(kept, handles)
        record.added.append(kept)
        # An arrow that a cut has bent is a line for each of its parts.
        points = _bent(grain.points)
        more = [record.copy() for _ in points[2:]]
        for one, (tail, head) in zip([record, *more], pairwise(points), strict=True):
            _put(one, tail / factor)
            _put(one, head / factor, 11)
        for one in more:
            _own_handle(one, handles)
        record.added += more
    for record in records[len(new.grainlines) :]:
        record.put(8, OLD_LAYER)


def _bent(points: Sequence[complex]) -> list[complex]:
    """The ends of an arrow, and the points at which it is bent."""
    found = [points[0]]
    for at, behind in pairwise(points[1:]):
        way, on = at - found[-1], behind - at
        if abs((on * way.conjugate()).imag) > STRAIGHT * abs(way) or (on * way.conjugate()).real < 0.0:
            found.append(at)
    return [*found, points[-1]]


def _redraw_within(
    pairs: Pairs, block: Sequence[Record], old: Shape, new: Shape, factor: float, handles: Handles
) -> None:
    """Lines and drill holes within a piece that went with their part of it."""
    for place, was, now in lines_moved(old, new):
        records = pairs.entity(place)
        kept = [record.copy() for record in records]
        for record in kept:
            record.put(8, OLD_LAYER)
            _own_handle(record, handles)
        if records[0].kind == "LINE":
            _put(records[0], now.start / factor)
            _put(records[0], now.end / factor, 11)
        else:
            _put_vertices(block, records, was, now, factor, handles)
        records[-1].added += kept
    for place, at, to in holes_moved(old, new):
        for record in pairs.entity(place)[:1]:
            _put(record, complex(float(record.text(10)), float(record.text(20))) + (to - at) / factor)


def _put_vertices(
    block: Sequence[Record], records: Sequence[Record], was: Curve, now: Curve, factor: float, handles: Handles
) -> None:
    """The vertices of a line within a piece at their shares of the new line; where a cut bent it, with a vertex at each bend more."""
    marks = _marks(block)
    vertices = [record for record in records if record.kind == "VERTEX"]
    points = [complex(float(record.text(10)), float(record.text(20))) * factor for record in vertices]
    shares = [was.nearest(point).station / was.length for point in points]
    for vertex, point, share in zip(vertices, points, shares, strict=True):
        to = now.point(share * now.length) / factor
        for record in (vertex, *marks.get(_key(point / factor), [])):
            _put(record, to)
    turns = np.abs(now.joint_turns())
    bends = [
        float(station) / now.length
        for station, turn in zip(now.joint_stations[1:-1], turns, strict=False)
        if turn > SMOOTH and all(abs(float(station) / now.length - share) * now.length > STRAIGHT for share in shares)
    ]
    for bend in sorted(bends, reverse=True):
        before = max((k for k, share in enumerate(shares) if share < bend), key=lambda k: shares[k], default=0)
        vertices[before].added.insert(0, _copied(vertices[before], now.point(bend * now.length) / factor, handles))
