"""From marks to shapes: which lines are pieces, where their corners are, and what lies on and in them.

shape   a closed outline with its marks, before any plan has named anything
corner  where the file says so; else where the direction turns by more than a set angle over a few millimetres
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np

from seamcheck.bezier import windings
from seamcheck.chains import close_loops, open_chains
from seamcheck.crossing import crossings
from seamcheck.curve import Curve
from seamcheck.direction import SHORT_CHORD, straight
from seamcheck.importers.roles import piece_name
from seamcheck.marks import Block, Drawing, LengthSource, LineMark, Note, PointMark, Role, TextMark
from seamcheck.model import Grainline, OpenOutline

CORNER_ANGLE = 25.0  # degrees: a turn from here on is a corner; a hand-drawn curve turns less within CORNER_REACH
CORNER_REACH = 4.0  # mm on either side over which a turn is measured, so that a blended corner is one corner
TICK = 15.0  # mm: a loose line up to this long that touches an outline is a notch
TOUCH = 1.0  # mm: how near an end must come to the outline to touch it
DOUBLE_NOTCH = 10.0  # mm: notches this close together are one double (or triple) notch; common practice, no source
SMALLEST_PIECE = 400.0  # square mm: a closed line round less than this is a mark, not a piece
SHARP_ANGLE = 45.0  # degrees: joints that each turn by this much are corners of their own, even across a narrow strip
RULED_ANGLE = 5.0  # degrees: from here on two ruled lines meet in a corner ...
RULED_LENGTH = 15.0  # mm: ... when one is this long and the other longer than a chord of a digitised curve
SILENT_GAP = 0.05  # mm: ends nearer than this meet as drawn
NEARLY_CLOSED = 25.0  # mm: a long line whose ends come this near was meant to close

_OUTLINE_ROLES = {Role.OUTLINE, Role.SEW, Role.CUT}
UNSIZED = "as drawn"


@dataclass(frozen=True, slots=True)
class ShapeNotch:
    """A notch on an outline: where, its station along the outline, and whether it is single, double or more."""

    at: complex
    station: float
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """A closed outline, clockwise as the file is seen and started at the corner nearest the top left.

    `outline` is the line to walk as far as the file tells (the sew line where it draws one), `other` the second
    line of the same piece if there is one. `chords` is the polyline in the file where `outline` is smoother.
    """

    name: str
    size: str
    line: str
    outline: Curve
    corners: tuple[float, ...]
    y_down: bool
    turn_points: tuple[complex, ...] = ()  # the corners that the file marks, in its own order
    other: Curve | None = None
    notches: tuple[ShapeNotch, ...] = ()
    stray_notches: tuple[complex, ...] = ()
    grainlines: tuple[Grainline, ...] = ()
    folds: tuple[Curve, ...] = ()
    internals: tuple[Curve, ...] = ()
    drill_holes: tuple[complex, ...] = ()
    labels: Mapping[str, str] = field(default_factory=dict)
    texts: tuple[str, ...] = ()
    source: LengthSource = LengthSource.DRAWN
    chords: Curve | None = None
    gap: float = 0.0
    reasons: tuple[str, ...] = ()
    place: str = ""


@dataclass(frozen=True, slots=True)
class Sheet:
    """All shapes of a drawing, the outlines that do not close, the sizes in order, and what should be said."""

    shapes: tuple[Shape, ...]
    open_outlines: tuple[OpenOutline, ...]
    sizes: tuple[str, ...]
    notes: tuple[Note, ...]


@dataclass(slots=True)
class _Candidate:
    """A closed line on its way to becoming a piece."""

    curve: Curve
    mark: LineMark
    gaps: tuple[tuple[float, complex], ...]
    order: int
    polygon: np.ndarray
    bounds: tuple[float, float, float, float]
    area: float
    members: tuple[LineMark, ...]
    twin: _Candidate | None = None


def assemble(drawing: Drawing) -> Sheet:
    """Find the shapes of a drawing."""
    blocks: Sequence[Block | None] = drawing.blocks or (None,)
    shapes: list[Shape] = []
    opened: list[OpenOutline] = []
    notes: list[Note] = []
    for block in blocks:
        name = block.name if block else None
        more_shapes, more_open, more_notes = _assemble_group(
            drawing,
            block,
            [line for line in drawing.lines if line.block == name],
            [point for point in drawing.points if point.block == name],
            [text for text in drawing.texts if text.block == name],
        )
        shapes += more_shapes
        opened += more_open
        notes += more_notes
    shapes, opened = _one_size(shapes, opened)
    sizes = tuple(dict.fromkeys(shape.size for shape in shapes))
    return Sheet(tuple(_told_apart(shapes)), tuple(opened), sizes, tuple(notes))


def _assemble_group(
    drawing: Drawing,
    block: Block | None,
    lines: Sequence[LineMark],
    points: Sequence[PointMark],
    texts: Sequence[TextMark],
) -> tuple[list[Shape], list[OpenOutline], list[Note]]:
    notes: list[Note] = []
    drawn = [line for line in lines if not line.hidden]
    if len(drawn) < len(lines) and block is None:
        notes.append(Note("hidden", f"{len(lines) - len(drawn)} hidden lines were read and left out of the checks."))
    candidates, loose, opened = _closed_lines(drawn, block)
    pieces, inside = _pieces(candidates, blocked=block is not None)
    notes += [_gap_note(piece, block) for piece in pieces if any(gap > SILENT_GAP for gap, _ in piece.gaps)]
    shapes = []
    others = loose + [member for candidate in inside for member in candidate.members]
    owned = _owners(pieces, others, points, texts)
    written = [_labels_from_texts(text.text for text in my_texts).get("size", "") for _, _, my_texts in owned]
    common = {
        size: _common_texts([own[2] for own, own_size in zip(owned, written, strict=True) if own_size == size])
        for size in written
    }
    for index, piece in enumerate(pieces):
        mine, my_points, my_texts = owned[index]
        alone = sum(other.mark.groups[: len(piece.mark.groups)] == piece.mark.groups for other in pieces) == 1
        style = common[written[index]]
        shapes.append(_shape(drawing, block, piece, mine, my_points, my_texts, style, alone=alone))
    return shapes, opened, notes


def _gap_note(piece: _Candidate, block: Block | None) -> Note:
    wide = [(gap, at) for gap, at in piece.gaps if gap > SILENT_GAP]
    places = "; ".join(f"{gap:.2f} mm at ({at.real:.1f}, {at.imag:.1f})" for gap, at in wide)
    return Note(
        "gap-bridged",
        f"{_called(piece, block)}: the outline was closed by joining ends that miss each other: {places}.",
    )


def _called(candidate: _Candidate, block: Block | None) -> str:
    return block.piece if block else candidate.mark.label or candidate.mark.place


# Which lines are pieces


def _closed_lines(
    lines: Sequence[LineMark], block: Block | None
) -> tuple[list[_Candidate], list[LineMark], list[OpenOutline]]:
    """Sort lines into closed ones, loose ones, and those that were meant to close and do not."""
    candidates: list[_Candidate] = []
    loose: list[LineMark] = []
    chainable: dict[Role | None, list[LineMark]] = {}
    for line in lines:
        if line.closed and line.curve.is_closed:
            if line.role is None or line.role in _OUTLINE_ROLES | {Role.INTERNAL, Role.CUTOUT, Role.TEST_SQUARE}:
                candidates.append(_candidate(line.curve, line, (), len(candidates), (line,)))
            else:
                loose.append(line)
        elif line.role is None or line.role in _OUTLINE_ROLES:
            chainable.setdefault(line.role, []).append(line)
        else:
            loose.append(line)
    opened: list[OpenOutline] = []
    for role, marks in chainable.items():
        loops, left = close_loops([mark.curve for mark in marks])
        for loop in loops:
            members = tuple(marks[i] for i in loop.members)
            candidates.append(_candidate(loop.curve, _leader(members), loop.gaps, len(candidates), members))
        for chain in open_chains([mark.curve for mark in marks], left):
            members = tuple(marks[i] for i in chain.members)
            gap = chain.curve.chord
            area = abs(chain.curve.signed_area())
            meant = role in _OUTLINE_ROLES or (
                gap <= min(NEARLY_CLOSED, 0.1 * chain.curve.length) and area > 25 * SMALLEST_PIECE
            )
            if meant and area > SMALLEST_PIECE:
                leader = _leader(members)
                name = block.piece if block else _own_name(leader)
                size = block.size if block else ""
                opened.append(
                    OpenOutline(
                        name=name or leader.place,
                        size=size or UNSIZED,
                        ends=(chain.curve.start, chain.curve.end),
                        gap=gap,
                        place=leader.place,
                    )
                )
            else:
                loose += members
        tiny = {i for i, mark in enumerate(marks) if mark.curve.length == 0.0}
        loose += [marks[i] for i in sorted(tiny)]
    return candidates, loose, opened


def _leader(members: Sequence[LineMark]) -> LineMark:
    """The mark that speaks for a chain: the first with a label, else the longest."""
    labelled = [member for member in members if member.label]
    return labelled[0] if labelled else max(members, key=lambda member: member.curve.length)


def _candidate(
    curve: Curve,
    mark: LineMark,
    gaps: tuple[tuple[float, complex], ...],
    order: int,
    members: tuple[LineMark, ...],
) -> _Candidate:
    area = abs(curve.signed_area())
    return _Candidate(curve, mark, gaps, order, curve.polygon(0.1), curve.bounds(), area, members)


def _pieces(candidates: Sequence[_Candidate], *, blocked: bool) -> tuple[list[_Candidate], list[_Candidate]]:
    """Tell pieces from what lies inside them: second lines, cutouts, placement lines."""
    big = [
        c
        for c in candidates
        if c.area >= SMALLEST_PIECE and c.mark.role not in (Role.INTERNAL, Role.CUTOUT, Role.TEST_SQUARE)
    ]
    rest = [c for c in candidates if c not in big]
    if blocked:  # one piece to a block: its sew line is walked, whatever else is closed lies inside it
        sew = [c for c in big if c.mark.role is Role.SEW]
        outer = [c for c in big if c.mark.role is not Role.SEW]
        if not big:
            return [], rest
        main = max(sew or outer, key=lambda c: c.area)
        if sew and outer:
            main.twin = max(outer, key=lambda c: c.area)
        return [main], [c for c in candidates if c is not main and c is not main.twin]
    big.sort(key=lambda c: -c.area)
    pieces: list[_Candidate] = []
    for candidate in big:
        parent = next((p for p in reversed(pieces) if _inside(candidate, p)), None)
        if parent is None:
            pieces.append(candidate)
        elif _second_line(candidate, parent):
            if parent.mark.role is Role.SEW and candidate.mark.role is Role.CUT:
                rest.append(candidate)
            else:  # the inner line is the sew line: it takes the place of the cut line round it
                candidate.twin = parent
                pieces[pieces.index(parent)] = candidate
        elif candidate.mark.role in _OUTLINE_ROLES and not _same_group(candidate, parent):
            pieces.append(candidate)
        else:
            rest.append(candidate)
    pieces.sort(key=lambda c: c.order)
    return pieces, rest


def _inside(inner: _Candidate, outer: _Candidate) -> bool:
    x0, y0, x1, y1 = inner.bounds
    u0, v0, u1, v1 = outer.bounds
    if x0 < u0 - TOUCH or y0 < v0 - TOUCH or x1 > u1 + TOUCH or y1 > v1 + TOUCH:
        return False
    picks = inner.polygon[:: max(1, len(inner.polygon) // 12)]
    within = sum(_within(outer.polygon, complex(p)) or outer.curve.nearest(complex(p)).distance < 0.01 for p in picks)
    return bool(within == len(picks))


def _same_group(a: _Candidate, b: _Candidate) -> bool:
    return a.mark.groups == b.mark.groups


def _second_line(inner: _Candidate, outer: _Candidate) -> bool:
    """Whether two nested lines are sew line and cut line of one piece."""
    roles = {inner.mark.role, outer.mark.role}
    if roles == {Role.SEW, Role.CUT}:
        return True
    if inner.mark.role in _OUTLINE_ROLES and outer.mark.role in _OUTLINE_ROLES:
        return False
    # A parallel line at an allowance's distance all round (hems may be wider). It is looked at both ways: a placement
    # line may keep near the outline, but the outline does not keep near to it.
    low, middle, high = np.percentile(_distances(inner, outer), [5, 50, 95])
    farthest = max(high, np.percentile(_distances(outer, inner), 95))
    return bool(3.0 <= middle <= 30.0 and low > 0.6 * middle and farthest < 5.0 * middle)


def _distances(one: _Candidate, other: _Candidate) -> list[float]:
    """How far one closed line is from another at places spread evenly along it: what is like, not what is measured."""
    return [other.curve.nearest(one.curve.point(one.curve.length * k / 40)).distance for k in range(40)]


# Who owns the marks


def _owners(
    pieces: Sequence[_Candidate],
    lines: Sequence[LineMark],
    points: Sequence[PointMark],
    texts: Sequence[TextMark],
) -> list[tuple[list[LineMark], list[PointMark], list[TextMark]]]:
    owned: list[tuple[list[LineMark], list[PointMark], list[TextMark]]] = [([], [], []) for _ in pieces]
    by_group: dict[tuple[str, ...], list[int]] = {}
    for index, piece in enumerate(pieces):
        by_group.setdefault(piece.mark.groups, []).append(index)

    def owner(at: complex, groups: tuple[str, ...], block: str | None, reach: float) -> int | None:
        if block is not None:
            return 0 if pieces else None
        while groups:
            members = by_group.get(groups, [])
            if len(members) == 1:
                return members[0]
            groups = groups[:-1]
        near = [i for i, piece in enumerate(pieces) if _near_box(piece.twin or piece, at, reach)]
        holders = [i for i in near if _within((pieces[i].twin or pieces[i]).polygon, at)]
        if holders:
            return min(holders, key=lambda i: pieces[i].area)
        beside = [(pieces[i].curve.nearest(at).distance, i) for i in near]
        return min(beside)[1] if beside and min(beside)[0] <= reach else None

    for line in lines:
        middle = line.curve.point(line.curve.length / 2)
        holder = owner(middle, line.groups, line.block, TICK)
        if holder is not None:
            owned[holder][0].append(line)
    for point in points:
        holder = owner(point.at, point.groups, point.block, TICK)
        if holder is not None and not point.hidden:
            owned[holder][1].append(point)
    for text in texts:
        holder = owner(text.at, text.groups, text.block, 60.0)
        if holder is not None and not text.hidden:
            owned[holder][2].append(text)
    return owned


def _near_box(piece: _Candidate, at: complex, reach: float) -> bool:
    x0, y0, x1, y1 = piece.bounds
    return x0 - reach <= at.real <= x1 + reach and y0 - reach <= at.imag <= y1 + reach


def _within(polygon: np.ndarray, at: complex) -> bool:
    """Even-odd rule; a predicate, so the polygon may be a flattened one."""
    a, b = polygon, np.roll(polygon, -1)
    crosses = (a.imag > at.imag) != (b.imag > at.imag)
    with np.errstate(divide="ignore", invalid="ignore"):
        x = a.real + (at.imag - a.imag) * (b.real - a.real) / (b.imag - a.imag)
    return bool(np.count_nonzero(crosses & (at.real < x)) % 2)


# From a closed line to a shape


def _shape(
    drawing: Drawing,
    block: Block | None,
    piece: _Candidate,
    lines: Sequence[LineMark],
    points: Sequence[PointMark],
    texts: Sequence[TextMark],
    common: Sequence[str],
    *,
    alone: bool,
) -> Shape:
    clockwise = (piece.curve.signed_area() > 0) == drawing.y_down
    curve = piece.curve if clockwise else piece.curve.reversed()
    marked = _marked_corners(curve, piece)
    corners = detect_corners(curve) if marked is None else marked
    if corners:
        top_left = _top_left(curve, drawing.y_down)
        first = min(corners, key=lambda s: (round(abs(curve.point(s) - top_left), 6), s))
        curve = curve.with_start(first)
        total = curve.length
        # A corner within a hair of the start is the start; a wrapped 1e-12 would make an edge of nothing.
        corners = tuple(
            sorted({0.0 if min(t, total - t) < 1e-6 else t for t in ((s - first) % total for s in corners)})
        )
    notches, strays = _notches(curve, lines, points)
    twin = piece.twin
    line = {Role.SEW: "sew", Role.CUT: "cut"}.get(piece.mark.role or Role.OUTLINE, "unknown")
    if twin is not None:
        line = "sew"
    chords = piece.mark.chords if piece.mark.chords is not None and len(piece.members) == 1 else None
    written = tuple(text.text.strip() for text in texts if text.text.strip())
    labels = dict(block.labels) if block else {}
    labels = {**_labels_from_texts(written), **labels}
    return Shape(
        name=_name(piece, block, written, common, alone=alone),
        size=(block.size if block else labels.get("size", "")) or UNSIZED,
        line=line,
        outline=curve,
        corners=corners,
        y_down=drawing.y_down,
        turn_points=piece.mark.turn_points or (),
        other=twin.curve if twin else None,
        notches=notches,
        stray_notches=strays,
        grainlines=_grainlines([line for line in lines if line.role is Role.GRAIN]),
        folds=tuple(line.curve for line in lines if line.role is Role.FOLD),
        internals=tuple(
            line.curve
            for line in lines
            if line.role in (Role.INTERNAL, Role.CUTOUT, Role.DART)
            or (line.role is None and not _is_tick(line, curve))
        ),
        drill_holes=tuple(point.at for point in points if point.role is Role.DRILL)
        + tuple(_middle(line.curve) for line in lines if line.role is Role.DRILL),
        labels=labels,
        texts=written,
        source=piece.mark.source,
        chords=chords,
        gap=max((gap for gap, _ in piece.gaps), default=0.0),
        reasons=_reasons(piece),
        place=piece.mark.place,
    )


def _middle(curve: Curve) -> complex:
    x0, y0, x1, y1 = curve.bounds()
    return complex((x0 + x1) / 2, (y0 + y1) / 2)


def _top_left(curve: Curve, y_down: bool) -> complex:
    x0, y0, _, y1 = curve.bounds()
    return complex(x0, y0 if y_down else y1)


def _marked_corners(curve: Curve, piece: _Candidate) -> tuple[float, ...] | None:
    """Stations of the corners that the file marks; None when it marks none."""
    if piece.mark.turn_points is None or len(piece.members) != 1:
        return None
    stations = []
    for point in piece.mark.turn_points:
        near = curve.nearest(point)
        if near.distance <= 0.1:
            stations.append(near.station % curve.length)
    merged: list[float] = []
    for station in sorted(stations):
        if not merged or station - merged[-1] > 1e-3:
            merged.append(station)
    return tuple(merged)


def detect_corners(curve: Curve, angle: float = CORNER_ANGLE, reach: float = CORNER_REACH) -> tuple[float, ...]:
    """Stations on a closed curve where its direction, taken over `reach` mm on either side, turns by more than `angle`."""
    total = curve.length
    reach = min(reach, total / 8)
    stations = _places_to_look(curve, angle, reach)
    turned = [(360.0, station) for station in _ruled_corners(curve)]
    for station in stations:
        here = curve.point(station)
        back = here - curve.point((station - reach) % total)
        on = curve.point((station + reach) % total) - here
        if abs(back) < 1e-9 or abs(on) < 1e-9:
            continue
        turn = abs(float(np.degrees(np.angle(on / back))))
        if turn >= angle:
            turned.append((turn, station))
    sharp = {float(s) for s in curve.joint_stations[1:][np.abs(curve.joint_turns()) >= SHARP_ANGLE] % total}
    corners: list[float] = []
    for _, station in sorted(turned, key=lambda t: (-round(t[0], 6), t[1])):
        near = {s for s in corners if min(abs(station - s), total - abs(station - s)) <= 2 * reach}
        if station in sharp:
            near -= {s for s in near & sharp if min(abs(station - s), total - abs(station - s)) >= reach}
        if not near:
            corners.append(station)
    return tuple(sorted(corners))


def _ruled_corners(curve: Curve) -> list[float]:
    """Joints of two straight lines too long for chords: a corner however small the turn, for no curve is drawn so."""
    lengths = np.diff(curve.joint_stations)
    ruled = straight(curve.segments) & (lengths > SHORT_CHORD)
    long = lengths >= RULED_LENGTH
    meets = ruled & np.roll(ruled, -1) & (long | np.roll(long, -1)) & (np.abs(curve.joint_turns()) >= RULED_ANGLE)
    return [float(curve.joint_stations[k + 1] % curve.length) for k in np.flatnonzero(meets)]


def _places_to_look(curve: Curve, angle: float, reach: float) -> list[float]:
    """Joints, and the middles of tight bends, round which enough turning is gathered to be worth a look."""
    joints = np.asarray(curve.joint_stations)
    total = float(joints[-1])
    turns = np.abs(np.asarray(curve.joint_turns()))
    within = np.abs(np.degrees(windings(curve.segments)))
    at = np.concatenate([joints[1:], (joints[:-1] + joints[1:]) / 2])
    amount = np.concatenate([turns, within])
    order = np.argsort(at, kind="stable")
    at, amount = at[order], amount[order]
    rings = np.concatenate([at - total, at, at + total])
    sums = np.concatenate([[0.0], np.cumsum(np.tile(amount, 3))])
    window = reach + 1e-9
    low = np.searchsorted(rings, at - window, side="left")
    high = np.searchsorted(rings, at + window, side="right")
    gathered = sums[high] - sums[low]
    return [float(s % total) for s in at[gathered >= 0.8 * angle]]


# Notches, grain, words


def _is_tick(line: LineMark, outline: Curve) -> bool:
    if line.curve.length > TICK or not line.curve.is_straight(0.1):
        return False
    return min(outline.nearest(line.curve.start).distance, outline.nearest(line.curve.end).distance) <= TOUCH


def _notches(
    outline: Curve, lines: Sequence[LineMark], points: Sequence[PointMark]
) -> tuple[tuple[ShapeNotch, ...], tuple[complex, ...]]:
    """Notches on the outline, close ones counted together, and the notches that touch no outline."""
    stations: list[float] = []
    strays: list[complex] = []
    for point in points:
        if point.role is Role.NOTCH:
            near = outline.nearest(point.at)
            if near.distance <= TOUCH:
                stations.append(near.station % outline.length)
            else:
                strays.append(point.at)
    for line in lines:
        if line.role is Role.NOTCH or (line.role is None and _is_tick(line, outline)):
            station, distance = _crossing(outline, line.curve)
            if distance <= TICK:
                stations.append(station % outline.length)
            else:
                strays.append(_middle(line.curve))
    total = outline.length
    groups: list[list[float]] = []
    for station in sorted(stations):
        if groups and station - groups[-1][-1] <= DOUBLE_NOTCH:
            groups[-1].append(station)
        else:
            groups.append([station])
    if len(groups) > 1 and groups[0][0] + total - groups[-1][-1] <= DOUBLE_NOTCH:
        groups[0] = [s - total for s in groups.pop()] + groups[0]
    found = []
    for group in groups:
        distinct = [group[0]] + [b for a, b in pairwise(group) if b - a > 0.5]
        middle = (distinct[0] + distinct[-1]) / 2 % total
        found.append(ShapeNotch(outline.point(middle), middle, len(distinct)))
    return tuple(found), tuple(strays)


def _crossing(outline: Curve, tick: Curve) -> tuple[float, float]:
    """Station where a tick meets the outline, and how far it stays away from it (0 where it crosses)."""
    index, t, _, _ = crossings(outline.segments, tick.segments)
    if len(index):
        return outline.station_of(int(index[0]), float(t[0])), 0.0
    best = min((outline.nearest(end) for end in (tick.start, tick.end)), key=lambda near: near.distance)
    return best.station, best.distance


def _grainlines(lines: Sequence[LineMark]) -> tuple[Grainline, ...]:
    """Grain arrows without their heads; straight lines that follow each other are one arrow with a bend."""
    if not lines:
        return ()
    longest = max(line.curve.length for line in lines)
    shafts = [line.curve for line in lines if line.curve.length > 0.25 * longest]
    loops, left = close_loops(shafts, (0.05,))
    arrows = []
    for chain in open_chains(shafts, left, 0.05):
        points = [chain.curve.start, *(complex(p) for p in chain.curve.segments[:, 3])]
        arrows.append(Grainline(tuple(_without_idle_vertices(points))))
    arrows += [Grainline((loop.curve.start, loop.curve.point(loop.curve.length / 2))) for loop in loops]
    return tuple(arrows)


def _without_idle_vertices(points: Sequence[complex]) -> list[complex]:
    """Drop vertices that repeat or lie on the straight line between their neighbours (within 1e-6 mm)."""
    kept = [points[0]]
    for k in range(1, len(points)):
        if abs(points[k] - kept[-1]) < 1e-9:
            continue
        if len(kept) > 1:
            base = points[k] - kept[-2]
            off = abs(((kept[-1] - kept[-2]) * np.conj(base)).imag) / abs(base) if abs(base) > 0 else 1.0
            if off < 1e-6 and ((kept[-1] - kept[-2]) * np.conj(base)).real > 0:
                kept.pop()
        kept.append(points[k])
    return kept if len(kept) > 1 else [points[0], points[-1]]


_SIZE_TEXT = re.compile(
    r"\b(?:size|gr(?:ö|oe)(?:ß|ss)e|taille|talla|taglia|maat)\s*[:=]?\s*((?!\d+\s*(?:mm|cm|in)\b)[\w./+-]{1,8})",
    re.IGNORECASE,
)
_CUT_TEXT = re.compile(
    r"\bcut\s*[:=]?\s*(\d+|one|two|four|a pair|pair)\b|\b(\d+)\s*[x×]\b|\b[x×]\s*(\d+)\b", re.IGNORECASE
)


def _labels_from_texts(texts: Iterable[str]) -> dict[str, str]:
    labels: dict[str, str] = {}
    for text in texts:
        if (size := _SIZE_TEXT.search(text)) and "size" not in labels:
            labels["size"] = size.group(1)
        if (cut := _CUT_TEXT.search(text)) and "quantity" not in labels:
            labels["quantity"] = next(group for group in cut.groups() if group)
    return labels


_AMOUNT = re.compile(r"[\d.,/\s]+(?:mm|cm|m|in|inch(?:es)?|\"|'')?", re.IGNORECASE)


def _own_name(mark: LineMark, *, alone: bool = True) -> str:
    """The name of a line by its label, else by the nearest group that holds no other piece."""
    groups = reversed(mark.groups) if alone else ()
    names = (piece_name(word) for word in (mark.label, *groups))
    return next((name for name in names if name), "")


def _name(piece: _Candidate, block: Block | None, texts: Sequence[str], common: Sequence[str], *, alone: bool) -> str:
    """What the file calls a piece: its block, its label, its group, else what is written on it and on no other."""
    if block:
        return block.piece
    if name := _own_name(piece.mark, alone=alone):
        return name
    for text in texts:
        words = " ".join(text.split())
        for shared in common:  # the style's name may stand before the piece's
            if words.casefold().startswith(shared):
                words = words[len(shared) :].strip(" -–—:,;/·|")
        if any(pattern.fullmatch(words) for pattern in (_SIZE_TEXT, _CUT_TEXT, _AMOUNT)):
            continue
        if name := piece_name(words):
            name = name.strip("()[] ")
            return name if len(name) <= 40 else name[:40].rsplit(" ", 1)[0]
    return ""


def _common_texts(texts: Sequence[Sequence[TextMark]]) -> list[str]:
    """What is written on at least half of several pieces of a size, longest first: the style's name, not a piece's."""
    if len(texts) < 2:
        return []
    counts: dict[str, int] = {}
    for mine in texts:
        for words in {" ".join(text.text.split()).casefold() for text in mine}:
            counts[words] = counts.get(words, 0) + 1
    most = max(2, len(texts) / 2)
    shared = {
        words
        for words in counts
        if sum(n for w, n in counts.items() if w == words or w.startswith(words + " ")) >= most
    }
    return sorted(shared - {""}, key=lambda words: (-len(words), words))


def _reasons(piece: _Candidate) -> tuple[str, ...]:
    mark = piece.mark
    said = [f"piece: {mark.why}" if mark.why else "piece: a closed line round more than 4 square centimetres"]
    if piece.twin is not None:
        said.append(
            "sew line: the inner of two parallel closed lines"
            if mark.role is not Role.SEW
            else f"sew line: {mark.why}"
        )
    if len(piece.members) > 1:
        said.append(f"outline: {len(piece.members)} loose lines that close")
    return tuple(said)


def _one_size(shapes: list[Shape], opened: list[OpenOutline]) -> tuple[list[Shape], list[OpenOutline]]:
    """Where the file writes one size on some of its pieces, all of them are in it, and so are the outlines left open."""
    written = {shape.size for shape in shapes} - {UNSIZED}
    if len(written) != 1:
        return shapes, opened
    (size,) = written
    return [replace(shape, size=size) for shape in shapes], [replace(line, size=size) for line in opened]


def _told_apart(shapes: Sequence[Shape]) -> list[Shape]:
    """Give nameless shapes a number, and shapes of one name in one size a number behind it."""
    taken: dict[tuple[str, str], int] = {}
    out = []
    for number, shape in enumerate(shapes, 1):
        name = shape.name or f"piece {number}"
        count = taken[shape.size, name.casefold()] = taken.get((shape.size, name.casefold()), 0) + 1
        out.append(replace(shape, name=name if count == 1 else f"{name} {count}"))
    return out
