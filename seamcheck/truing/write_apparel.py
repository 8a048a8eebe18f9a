"""A trued pattern written into its apparel DXF: every block, text and layer kept, the old lines on a layer of their own.

The vertices of an outline keep their number and order, so that turn points, curve points, grade rules and notches stay theirs:
those on a redrawn stretch move to the same share of the new line, and those of a cut line stay beside their places on the sew
line. Where a straight step became a curve, curve points
are added, in a nest in all sizes alike. The new line stays on the layer that the standard gives it, since whoever
receives the file looks for it there.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import partial
from itertools import pairwise

import numpy as np

from seamcheck.errors import InputError
from seamcheck.exact import steady
from seamcheck.geometry.curve import Curve
from seamcheck.pattern.drawing import LineMark, PointMark, Role
from seamcheck.pieces.markings import ShapeNotch
from seamcheck.pieces.outline import Shape
from seamcheck.places import Place
from seamcheck.reading.dxf.apparel_blocks import BOUNDARY, CURVE, TURN, VALIDATION, layer_number
from seamcheck.records import dataclass
from seamcheck.truing.cut_lines import CutLine
from seamcheck.truing.dxf_pairs import Pairs, Record, number
from seamcheck.truing.edits import holes_moved, lines_moved, notch_moves
from seamcheck.truing.state import State
from seamcheck.truing.write_dxf import OLD_LAYER, Handles, add_layers, add_tables, is_modern

ROOM = 6.0  # times what a notch moves: how far vertices to both sides make room for it
STEP = 10.0  # mm between curve points on a stretch that became a curve
SAME = 2e-5  # mm: a vertex that moves less stays as it is written
ON_VERTEX = 1e-3  # mm: a notch this near to a vertex is on it
SMOOTH = 0.3  # degrees: a vertex that turns less is no corner any more, if it was one only for its kink
KINK = 0.5
STRAIGHT = 1e-3  # mm
DECIMALS = 4  # of the file's own unit at least


@dataclass(slots=True)
class _Outline:
    """A closed line of one piece in one size, as it was and as it is: its records, where its vertices are and where they go."""

    old: Curve
    new: Curve
    place: Place
    records: list[Record]  # the polyline, its vertices, its end
    points: list[complex]  # mm
    stations: list[float]  # on the new line

    @property
    def changed(self) -> bool:
        """Whether it was drawn anew."""
        return self.new is not self.old


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
            added = _added(outlines)
            for outline in outlines:
                if outline.changed or any(added):
                    _redraw(pairs, outline, added, factor, handles)
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


def _outlines(pairs: Pairs, path: str, factor: float, before: State, after: State, name: str) -> Iterator[_Outline]:
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
        if curves[0] is old.outline and curves[1] is not old.outline:
            stations = _with_notches(points, stations, old, after.shapes[name])
        yield _Outline(*curves, place, records, points, stations)


def _with_notches(points: Sequence[complex], stations: Sequence[float], old: Shape, new: Shape) -> list[float]:
    """Stations of vertices, those that bear a notch where that is now: in a nest the notches of all sizes are known by their vertices.

    Vertices that a notch would pass make room for it, up to the next one that bears a mark of its own; where that is too near, the
    notch leaves its vertex behind.
    """
    found, total = list(stations), new.outline.length
    feet = [[_feet(notch, shape) for notch in shape.notches] for shape in (old, new)]
    marks = [*(foot for each in feet[0] for foot in each), *(old.outline.point(station) for station in old.corners)]
    bears = [min(abs(point - mark) for mark in marks) < ON_VERTEX for point in points] if marks else []
    for was, now in zip(*feet, strict=True):
        moves = {}  # of the vertices of one notch, which may be double: where each goes
        for foot, to in zip(was, now, strict=False):
            k = min(range(len(points)), key=lambda k: abs(points[k] - foot))
            if abs(points[k] - foot) < ON_VERTEX:
                moves[k] = new.outline.nearest(to).station
        if not moves:
            continue
        first = next(iter(moves))
        off = [_wrapped(station - found[first], total) for station in found]
        low, high = (pick(off[k] for k in moves) for pick in (min, max))
        beside = [d - min(max(d, low), high) for d in off]  # how far beyond the notch's own vertices
        way = _wrapped(moves[first] - found[first], total)
        others = [abs(beside[j]) for j in range(len(points)) if j not in moves and bears[j]]
        reach = min([ROOM * abs(way), *others])
        if reach < 2.0 * abs(way):
            continue
        ahead = [d for j, d in enumerate(beside) if j not in moves and d * way > 0.0]
        if any(abs(d) < abs(way) + 1.0 for d in ahead):
            for j, d in enumerate(beside):
                if j not in moves and abs(d) < reach:
                    found[j] = (found[j] + way * (1.0 - abs(d) / reach)) % total
        for k, station in moves.items():
            found[k] = station
    return found


def _feet(notch: ShapeNotch, shape: Shape) -> list[complex]:
    """Where the ticks of a notch stand on its outline; its own place where it is drawn as a point."""
    near = shape.outline.nearest
    ends = [min(tick, key=lambda end: near(end).distance) for tick in notch.ticks]
    return ends or [shape.outline.point(notch.station)]


def _wrapped(along: float, total: float) -> float:
    """A way along a closed line, the shorter way round."""
    return (along + total / 2) % total - total / 2


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


def _added(outlines: Sequence[_Outline]) -> list[int]:
    """How many curve points to add behind each vertex, for all sizes alike where they have the same vertices."""
    counts = {len(outline.points) for outline in outlines}
    if len(counts) > 1:
        return [0] * max(counts)
    found = [0] * counts.pop()
    for outline in outlines:
        if outline.changed:
            found = [max(pair) for pair in zip(found, _needed(outline), strict=True)]
    return found


def _needed(outline: _Outline) -> Iterator[int]:
    total = outline.new.length
    count = len(outline.points)
    clockwise = _clockwise(outline)
    for k, start in enumerate(outline.stations):
        end = outline.stations[(k + 1) % count]
        a, b = (start, end) if clockwise else (end, start)
        length = (b - a) % total
        if not 1.5 * STEP < length < total - 1e-6:
            yield 0
            continue
        stretch = outline.new.between(a, b)
        middle = stretch.point(length / 2)
        stays = outline.old.nearest(middle).distance < SAME
        yield 0 if stays or stretch.is_straight(STRAIGHT) else int(np.ceil(length / STEP)) - 1


def _clockwise(outline: _Outline) -> bool:
    """Whether the vertices run as the outline does."""
    total = outline.new.length
    ahead = sum((b - a) % total for a, b in zip(outline.stations, outline.stations[1:], strict=False))
    return ahead < 1.5 * total


def _redraw(pairs: Pairs, outline: _Outline, added: Sequence[int], factor: float, handles: Handles) -> None:
    block = _block(pairs, outline.place)
    old = [record.copy() for record in outline.records]
    marks = _marks(block)
    curve_layer = next((r.text(8) for r in block if r.kind == "POINT" and layer_number(r.text(8)) == CURVE), "3")
    ring, total = outline.new, outline.new.length
    vertices = [record for record in outline.records if record.kind == "VERTEX"]
    clockwise = _clockwise(outline)
    for k, (vertex, point, station) in enumerate(zip(vertices, outline.points, outline.stations, strict=True)):
        here = marks.get(_key(point / factor), [])
        new = ring.point(station)
        if abs(new - point) > SAME:
            for record in (vertex, *here):
                _put(record, new / factor)
            _smoothed(outline, point, station, here, curve_layer)
        after = outline.stations[(k + 1) % len(outline.stations)]
        way = ((after - station) if clockwise else (station - after)) % total
        more = added[k] if k < len(added) else 0
        if more and vertex.first(42) is not None:
            vertex.put(42, "0")
        for j in range(1, more + 1):
            at = ring.point((station + (way if clockwise else -way) * j / (more + 1)) % total) / factor
            vertex.added.append(_copied(vertex, at, handles))
            point_record = next((r for r in here if r.kind == "POINT"), None)
            if point_record is not None:
                mark = _copied(point_record, at, handles)
                mark.put(8, curve_layer)
                point_record.added.append(mark)
    if outline.changed:
        _keep_old(block, outline, old, handles)


def _keep_old(block: Sequence[Record], outline: _Outline, old: Sequence[Record], handles: Handles) -> None:
    """The old polyline behind the new one, and lines that say how the old one ran, on the layer of old lines."""
    for record in old:
        record.put(8, OLD_LAYER)
        _own_handle(record, handles)
    outline.records[-1].added += old
    for record in block:
        if record.kind not in ("POINT", "TEXT") and layer_number(record.text(8)) in VALIDATION:
            record.put(8, OLD_LAYER)


def _smoothed(outline: _Outline, point: complex, station: float, marks: Sequence[Record], curve_layer: str) -> None:
    """Mark a vertex that was a corner only for its kink as a curve point."""
    ring, before = outline.new, outline.old
    was = before.nearest(point).station
    old_turn = abs(np.degrees(np.angle(before.tangent(was, 1) / before.tangent(was, -1))))
    new_turn = abs(np.degrees(np.angle(ring.tangent(station, 1) / ring.tangent(station, -1))))
    if old_turn >= KINK and new_turn < SMOOTH:
        for record in marks:
            if record.kind == "POINT" and layer_number(record.text(8)) == TURN:
                record.put(8, curve_layer)


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
