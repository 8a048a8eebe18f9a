"""The lines of a pattern piece in the apparel DXF interchange: from marked vertices to the curve that is sewn.

A line is a polyline through turn points (corners) and curve points. How a receiver runs a curve through the curve
points is left open by the standard (ASTM D6673, 4.3.1.6), so the reading that was chosen goes with every line.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import Enum
from itertools import islice, pairwise
from typing import NamedTuple

import numpy as np

from seamcheck.exact import snapped
from seamcheck.geometry.bsplines import all_through
from seamcheck.geometry.curve import Curve
from seamcheck.geometry.exact_arrays import most_at, snapped_all
from seamcheck.geometry.short_arrays import differences, in_parts, rolled
from seamcheck.geometry.sparse import closed_spline
from seamcheck.pattern.drawing import LengthSource
from seamcheck.reading.dxf.curves import SMALLEST_EDGE, NotDrawableError, Vertices, polyline_curve
from seamcheck.reading.dxf.records import Entity

CLOSING_GAP = 0.05  # mm; a polyline whose ends come this near is closed
TINY_EDGE = 0.1  # mm; an edge shorter than this is a slip of the pen or of rounding
ON_CURVE = 0.01  # mm; how near a validation curve must come to every vertex of its line
BOWED = 0.1  # mm; a line with points this far beside its ends' straight line is curved, whatever its length
SHARP = 30.0  # degrees; a vertex that the file leaves unmarked is a corner from here on


class LineKind(Enum):
    """What the file says of a vertex."""

    TURN = 2
    CURVE = 3


@dataclass(slots=True)
class DraftLine:
    """A line of a piece, in mm, vertex by vertex as it stands in the file.

    A closed line does not repeat its first vertex. `kinds` and `rules` go with the vertices: what the file
    marks them as, and the grade rule that moves them. `exact` is the curve of an entity without vertices. `like` is the same line
    in the base size, in which it is decided what of it is a spline and what a straight line.
    """

    entity: Entity
    layer: int | None
    points: list[complex]
    bulges: list[float]
    closed: bool
    gap: float = 0.0
    kinds: list[LineKind | None] = field(default_factory=list)
    rules: list[str | None] = field(default_factory=list)
    exact: Curve | None = None
    smoothed: bool = False
    not_mirrored: bool = False
    like: DraftLine | None = field(default=None, repr=False)

    def resolved_kinds(self) -> list[LineKind | None]:
        """What each vertex is, also those that a marked line leaves unmarked: a corner where the line turns sharply."""
        if not self.marked:
            return list(self.kinds)
        turns = _turns(self.points, closed=self.closed)
        return [
            kind or (LineKind.TURN if abs(turn) >= SHARP else LineKind.CURVE)
            for kind, turn in zip(self.kinds, turns, strict=True)
        ]

    @property
    def marked(self) -> bool:
        """Whether the file marks turn or curve points on the line."""
        return any(self.kinds)

    def edges(self) -> np.ndarray:
        """The lengths of the steps from vertex to vertex, in mm."""
        points = np.asarray(self.points + self.points[:1] if self.closed else self.points)
        return np.asarray(np.abs(differences(points)))

    def area(self) -> float:
        """The signed area within the vertices, in square mm; positive when they run counter-clockwise."""
        points = np.asarray(self.points)
        return float(np.sum(points.conj() * rolled(points)).imag / 2)

    def chords(self) -> Curve:
        """The polyline in the file, bulges as arcs. NotDrawableError when it has no length."""
        return polyline_curve(Vertices(tuple(self.points), tuple(self.bulges), self.closed), 1.0)


def draft_line(entity: Entity, layer: int | None, line: Vertices, factor: float) -> DraftLine:
    """Make a draft of an entity's vertices; `factor` is mm per file unit.

    Three habits of closing a polyline are made one: flagged as closed, first vertex repeated at the end, or both.
    """
    points = [point * factor for point in line.points]
    bulges = list(line.bulges)
    closed, gap = line.closed, 0.0
    if len(points) > 2:
        gap = abs(points[-1] - points[0])
        if gap <= (SMALLEST_EDGE if closed else CLOSING_GAP):
            closed = True
            points.pop()
            bulges.pop()
        elif closed:
            gap = 0.0  # the edge that closes it is one of its edges
    return DraftLine(entity, layer, points, bulges, closed, gap, smoothed=line.smoothed)


def chained(lines: Sequence[DraftLine]) -> DraftLine | None:
    """One closed line of several open ones that meet end to end within 0.05 mm; None when they do not.

    Vertices keep their marks; where two lines meet, the one that comes first gives the vertex.
    """
    left = list(lines[1:])
    points, bulges = list(lines[0].points), list(lines[0].bulges)
    kinds, rules = list(lines[0].kinds), list(lines[0].rules)
    widest = 0.0
    while left:
        end = points[-1]
        gap, index, backwards = min(
            (abs((line.points[-1] if backwards else line.points[0]) - end), index, backwards)
            for index, line in enumerate(left)
            for backwards in (False, True)
        )
        if gap > CLOSING_GAP:
            return None
        widest = max(widest, gap)
        line = left.pop(index)
        more, more_bulges, more_kinds, more_rules = line.points, line.bulges, line.kinds, line.rules
        if backwards:
            more, more_kinds, more_rules = more[::-1], more_kinds[::-1], more_rules[::-1]
            more_bulges = [-bulge for bulge in more_bulges[-2::-1]] + [0.0]
        kinds[-1] = LineKind.TURN if LineKind.TURN in (kinds[-1], more_kinds[0]) else kinds[-1] or more_kinds[0]
        rules[-1] = rules[-1] or more_rules[0]
        bulges[-1] = more_bulges[0]
        points += more[1:]
        bulges += more_bulges[1:]
        kinds += more_kinds[1:]
        rules += more_rules[1:]
    gap = abs(points[-1] - points[0])
    if gap > CLOSING_GAP or len(points) < 4:
        return None
    if LineKind.TURN in (kinds[-1], kinds[0]):
        kinds[0] = LineKind.TURN
    return DraftLine(
        lines[0].entity,
        lines[0].layer,
        points[:-1],
        bulges[:-1],
        closed=True,
        gap=max(widest, gap),
        kinds=kinds[:-1],
        rules=rules[:-1],
    )


class LineReading(NamedTuple):
    """A line as it is walked: the curve, where its length comes from, the corners the file marks; the chords of one with a validation curve."""

    curve: Curve
    source: LengthSource
    turn_points: tuple[complex, ...] | None = None
    chords: Curve | None = None


@dataclass(slots=True)
class _Splined:
    """A marked line with runs that are splines: its corners, its runs, and which stretches of those are straight lines."""

    turn_points: tuple[complex, ...]
    runs: list[list[complex]]
    stretches: list[list[tuple[int, int]]]


def read_lines(
    asked: Sequence[tuple[DraftLine, Sequence[DraftLine]]],
) -> list[LineReading | NotDrawableError]:
    """Choose the curves of lines, each given with the validation curves of its kind, or tell why one cannot be drawn.

    The curve is the validation curve that passes through all vertices, else a spline through the curve points from turn point to
    turn point, else the chords. Which stretches are splines is decided once for all sizes, in the base size.
    """
    models: dict[int, _Model] = {}
    read = []
    for line, validation in asked:
        try:
            read.append(_read(line, validation, models))
        except NotDrawableError as error:
            read.append(error)
    drawn = iter(_drawn_by([(one.stretches, one.runs) for one in read if isinstance(one, _Splined)]))
    return [
        LineReading(next(drawn), LengthSource.SPLINE, one.turn_points) if isinstance(one, _Splined) else one
        for one in read
    ]


def _read(
    line: DraftLine, validation: Sequence[DraftLine], models: dict[int, _Model]
) -> LineReading | _Splined | NotDrawableError:
    """How a line is to be drawn; `models` are those of the lines of the base size that are known already."""
    if line.exact is not None:
        return LineReading(line.exact, LengthSource.DRAWN)
    points, kinds = _without_repeats(line)
    turns = tuple(point for point, kind in zip(points, kinds, strict=True) if kind is LineKind.TURN)
    turn_points = turns if line.marked else None
    for candidate in validation:
        if candidate.closed == line.closed and _passes_through(candidate, points):
            return LineReading(candidate.chords(), LengthSource.VALIDATION, turn_points, line.chords())
    if any(line.bulges):
        return LineReading(line.chords(), LengthSource.DRAWN, turn_points)
    if not line.marked:
        drawn = len(points) == 2 or all(abs(turn) >= SHARP for turn in _turns(points, closed=line.closed))
        source = LengthSource.DRAWN if drawn and not line.smoothed else LengthSource.CHORDS
        return LineReading(line.chords(), source)
    runs = _runs(points, kinds, closed=line.closed)
    counts = list(map(len, runs))
    if all(count == 2 for count in counts):
        return LineReading(line.chords(), LengthSource.DRAWN, turn_points)
    if line.closed and not turns:
        return LineReading(closed_spline(points), LengthSource.SPLINE, turn_points)
    model = None
    if line.like is not None:
        model = models.get(id(line.like))
        if model is None:
            base = _runs(*_without_repeats(line.like), closed=line.closed)
            model = models[id(line.like)] = _Model(line.like, base)
        if model.counts != counts:
            model = None
    model = model or models.setdefault(id(line), _Model(line, runs))
    if model.ruled:
        return LineReading(line.chords(), LengthSource.DRAWN, turn_points)
    return _Splined(turns, runs, model.stretches)


class _Model:
    """What of a marked line in the base size is a spline and what a straight line, or that all of it is ruled."""

    def __init__(self, line: DraftLine, runs: Sequence[Sequence[complex]]) -> None:
        """Take the line and its runs from turn point to turn point."""
        self.counts = list(map(len, runs))
        self.stretches = [_stretches(run) for run in runs]
        # Only what is nearly straight is worth the trouble of measuring it twice.
        self.ruled = max(map(_sagitta, runs)) < BOWED
        if self.ruled:
            (whole,) = _drawn_by([(self.stretches, runs)])
            self.ruled = whole.length - line.chords().length <= SMALLEST_EDGE


def _without_repeats(line: DraftLine) -> tuple[list[complex], list[LineKind | None]]:
    """The vertices with those that fall on one point taken as one; a corner among them makes it a corner."""
    points, kinds = list(line.points), list(line.kinds or [None] * len(line.points))
    if (line.edges() <= SMALLEST_EDGE).any():
        points, kinds = _joined(points, kinds, closed=line.closed)
    if line.marked:
        turns = _turns(points, closed=line.closed)
        kinds = [
            kind or (LineKind.TURN if abs(turn) >= SHARP else LineKind.CURVE)
            for kind, turn in zip(kinds, turns, strict=True)
        ]
    return points, kinds


def _joined(
    vertices: Sequence[complex], their_kinds: Sequence[LineKind | None], *, closed: bool
) -> tuple[list[complex], list[LineKind | None]]:
    """The vertices, and what they are, with those that fall on one point joined."""
    points: list[complex] = []
    kinds: list[LineKind | None] = []
    for point, kind in zip(vertices, their_kinds, strict=True):
        if points and abs(point - points[-1]) <= SMALLEST_EDGE:
            kinds[-1] = LineKind.TURN if LineKind.TURN in (kind, kinds[-1]) else kinds[-1] or kind
        else:
            points.append(point)
            kinds.append(kind)
    if closed and len(points) > 1 and abs(points[-1] - points[0]) <= SMALLEST_EDGE:
        kinds[0] = LineKind.TURN if LineKind.TURN in (kinds[0], kinds[-1]) else kinds[0] or kinds[-1]
        points.pop()
        kinds.pop()
    return points, kinds


def _turns(points: Sequence[complex], *, closed: bool) -> list[float]:
    """How far the direction turns at each vertex, in degrees; at the ends of an open line as far as can be."""
    if len(points) < 3:
        return [180.0] * len(points)
    array = np.asarray(points)
    turns = snapped_all(np.degrees(np.angle((rolled(array) - array) * (array - np.roll(array, 1)).conj())))
    if not closed:
        turns[0] = turns[-1] = 180.0
    return list(turns.tolist())


def turn_at(points: Sequence[complex], index: int) -> float:
    """How far the direction of a closed line turns at a vertex, in degrees, vertices that coincide left out."""
    here = points[index]
    count = len(points)
    before = next((p for k in range(1, count) if (p := points[index - k]) != here), here)
    after = next((p for k in range(1, count) if (p := points[(index + k) % count]) != here), here)
    return snapped(float(np.degrees(np.angle((after - here) * np.conj(here - before)))))


def _runs(points: list[complex], kinds: list[LineKind | None], *, closed: bool) -> list[list[complex]]:
    """The stretches from turn point to turn point; an open line also begins and ends one."""
    turns = [index for index, kind in enumerate(kinds) if kind is LineKind.TURN]
    if closed:
        if not turns:
            return [[*points, points[0]]]
        ring = points + points
        ends = [*turns[1:], turns[0] + len(points)]
        return [ring[start : end + 1] for start, end in zip(turns, ends, strict=True)]
    stops = sorted({0, len(points) - 1, *turns})
    return [points[start : end + 1] for start, end in pairwise(stops)]


def _sagitta(run: Sequence[complex]) -> float:
    """How far the points of a run lie from the straight line between its ends, in mm."""
    points = np.asarray(run)
    way = points[-1] - points[0]
    off = np.abs(((points - points[0]) * np.conj(way)).imag) / abs(way) if way else np.abs(points - points[0])
    return float(off.max())


def _passes_through(candidate: DraftLine, points: Sequence[complex]) -> bool:
    on_it = {complex(round(p.real, 4), round(p.imag, 4)) for p in candidate.points}
    rest = [p for p in points if complex(round(p.real, 4), round(p.imag, 4)) not in on_it]
    if not rest:
        return True
    curve = candidate.chords()
    return all(curve.nearest(point).distance <= ON_CURVE for point in rest)


def smooth(points: Sequence[complex]) -> Curve:
    """A spline through curve points that goes nowhere the chords do not lead.

    Where one long straight step lies among short ones, or the spline would swing out beside its chords, the
    longest step is a straight line and the rest is smoothed on either side of it.
    """
    return _drawn_by([([_stretches(points)], [points])])[0]


def _stretches(points: Sequence[complex], first: int = 0) -> list[tuple[int, int]]:
    """The stretches of a run, by the numbers of the points that they begin and end at: one step is straight, more are a spline."""
    last = first + len(points) - 1
    if len(points) == 2:
        return [(first, last)]
    array = np.asarray(points)
    steps = differences(array)
    straight = _straight_step(steps)
    if straight is None:
        if _follows(Curve.through(array), steps):
            return [(first, last)]
        straight = most_at(np.abs(steps))
    found = [(first + straight, first + straight + 1)]
    if straight > 0:
        found = [*_stretches(points[: straight + 1], first), *found]
    if straight < len(steps) - 1:
        found += _stretches(points[straight + 1 :], first + straight + 1)
    return found


def _drawn_by(
    lines: Sequence[tuple[Sequence[Sequence[tuple[int, int]]], Sequence[Sequence[complex]]]],
) -> list[Curve]:
    """The curves of lines in runs of points, of which it is known what is straight and what a spline."""
    rows = [
        np.array(run[start : end + 1])
        for stretches, runs in lines
        for mine, run in zip(stretches, runs, strict=True)
        for start, end in mine
    ]
    drawn = (segments for some in in_parts(rows, map(len, rows)) for segments in all_through(some))
    return [Curve(np.concatenate(list(islice(drawn, sum(map(len, stretches)))))) for stretches, _ in lines]


_LONG_STEP = 3.0  # times the steps beside it
_STRAIGHT_END = 0.3  # of the curvature at the next point: there the curve begins


def _straight_step(steps: np.ndarray) -> int | None:
    """The longest step, if it is a straight line that a finely drawn curve joins."""
    lengths = np.abs(steps)
    longest = most_at(lengths)
    bend = np.zeros(len(steps) + 1)
    bend[1:-1] = np.abs(np.angle(steps[1:] * steps[:-1].conj())) / (lengths[1:] + lengths[:-1])
    beside = [(longest - 1, longest, longest - 1), (longest + 1, longest + 1, longest + 2)]
    met = 0
    for step, end, beyond in beside:
        if not 0 <= step < len(steps):
            continue
        if not 0 < beyond < len(steps):
            return None
        if lengths[longest] < _LONG_STEP * lengths[step] or bend[end] > _STRAIGHT_END * bend[beyond]:
            return None
        met += 1
    return longest if met else None


def _follows(curve: Curve, steps: np.ndarray) -> bool:
    """Whether the spline leaves every point within the angle that the chords about it leave room for."""
    segments = curve.segments
    if len(segments) != len(steps):
        return True
    turns = np.abs(np.angle(steps[1:] * steps[:-1].conj()))
    at = np.concatenate([turns[:1], turns, turns[-1:]])
    room = at + 0.5 * np.maximum(np.append(at[1:], 0.0), np.insert(at[:-1], 0, 0.0)) + np.radians(1.0)
    leaving = np.abs(np.angle((segments[:, 1] - segments[:, 0]) * steps.conj()))
    arriving = np.abs(np.angle((segments[:, 3] - segments[:, 2]) * steps.conj()))
    return bool((leaving <= room[:-1]).all() and (arriving <= room[1:]).all())
