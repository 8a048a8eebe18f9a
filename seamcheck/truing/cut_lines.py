"""The cut line of a piece, while the piece is trued on its sew line: drawn by the file alone, or round the sew line.

The sew line is moved, and every stretch of cut line beside it is offset anew by its own allowance; neighbours are trimmed or
drawn on to where they meet. What is turned up with a hem mirrors the sides above its fold line. What lies beside a stretch that
stayed is left as it was drawn.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from seamcheck.exact import least
from seamcheck.geometry.curve import Affine, Curve, OffsetSwallowed
from seamcheck.geometry.distances import distances, farthest
from seamcheck.geometry.long_line import LongLine
from seamcheck.pattern.model import Piece
from seamcheck.pattern.plan import DartPlan, PiecePlan, PleatPlan
from seamcheck.pieces.build import on_its_sew_line
from seamcheck.pieces.outline import Shape
from seamcheck.pieces.sew_line import RUNS_ON, AllowanceStretch, NoSewLineError, SewLine, drawn_to_meet, sew_line

SAME = 1e-6  # mm
PARALLEL = 0.3  # mm: a cut line that keeps so near to what is offset from the sew line is meant as that
AT_JOINT = 0.5  # mm


@dataclass(frozen=True, slots=True)
class CutSide:
    """A stretch of sew line from one station clockwise to another, its allowance in mm, and its cut line.

    What is turned up with a hem has a cut line alone, between that of a side and that of the hem: `hem` is 1 where the hem follows
    it clockwise, -1 where the hem comes before it, and 0 for all else.
    """

    start: float
    end: float
    allowance: float
    cut: Curve
    hem: int = 0


@dataclass(frozen=True, slots=True)
class CutLine:
    """The sides of a cut line, clockwise."""

    sides: tuple[CutSide, ...]
    y_down: bool

    @property
    def curve(self) -> Curve:
        """The closed cut line."""
        rows = np.concatenate([side.cut.segments for side in self.sides])
        rows[:, 0] = np.roll(rows[:, 3], 1)
        return Curve(rows)

    def beside(self, old: Curve, new: Curve, moved: Callable[[float], float]) -> CutLine | None:
        """The cut line round a sew line that was redrawn; `moved` says where an old station is on the new line.

        None where a line has no parallel, or two do not meet.
        """
        stretches = [(moved(side.start), moved(side.end)) for side in self.sides]
        beside = []
        for side, (start, end) in zip(self.sides, stretches, strict=True):
            if side.hem:
                beside.append(_Beside(None, side.allowance, side.hem, side.cut))
                continue
            was, now = old.between(side.start, side.end), new.between(start, end)
            beside.append(_Beside(now, side.allowance, 0, side.cut if _is_same(was, now) else None))
        met = _met(beside, y_down=self.y_down)
        if met is None:
            return None
        sides = (
            replace(side, start=start, end=end, cut=cut)
            for side, (start, end), cut in zip(self.sides, stretches, met, strict=True)
        )
        return replace(self, sides=tuple(sides))


@dataclass(frozen=True, slots=True)
class _Beside:
    """A stretch of sew line that a cut line is drawn beside, None for what is turned up with a hem; `kept` is what need not be drawn anew."""

    sew: Curve | None
    allowance: float
    hem: int = 0
    kept: Curve | None = None


def _met(beside: Sequence[_Beside], *, y_down: bool) -> list[Curve] | None:
    """The cut lines beside stretches of sew line, each drawn to where it meets the next; None where that cannot be."""
    lines: dict[int, Curve] = {}
    try:
        for k, one in enumerate(beside):
            if one.sew is not None:
                lines[k] = one.kept or _outside(one.sew, one.allowance, y_down=y_down)
    except OffsetSwallowed:
        return None
    for k, one in enumerate(beside):
        if one.sew is None:
            hem, above = (k + one.hem) % len(beside), (k - one.hem) % len(beside)
            if one.kept is not None and beside[hem].kept is not None and beside[above].kept is not None:
                lines[k] = one.kept
                continue
            fold = beside[hem].sew
            turned = fold and _turned_up(lines[above], fold, one.hem, 2.0 * beside[hem].allowance)
            if not turned:
                return None
            lines[above], lines[k] = turned
    return drawn_to_meet([lines[k] for k in range(len(beside))])


def _turned_up(above: Curve, fold: Curve, hem: int, reach: float) -> tuple[Curve, Curve] | None:
    """The cut line of a side as far as the fold line of a hem, and its mirror image beyond, `reach` mm of it.

    None where the two do not meet.
    """
    side, line = LongLine(above, above.length), LongLine(fold, above.length + fold.length)
    if hem > 0:
        place, along = side.meeting(line) or (None, 0.0)
    else:
        along, place = line.meeting(side) or (0.0, None)
    if place is None or not -above.length < place < 2.0 * above.length:
        return None
    kept = side.between(0.0, place) if hem > 0 else side.between(place, above.length)
    vertex, way = (kept.end if hem > 0 else kept.start), line.drawn_on.tangent(along + line.reach)
    way *= way
    near = min(reach, kept.length)
    part = kept.between(kept.length - near, kept.length) if hem > 0 else kept.between(0.0, near)
    return kept, part.reversed().transformed(Affine(0j, way, vertex - way * vertex.conjugate()))


def _is_same(was: Curve, now: Curve) -> bool:
    return was.segments.shape == now.segments.shape and bool(np.abs(was.segments - now.segments).max() < SAME)


def on_sew_line(
    shape: Shape,
    piece: Piece,
    plan: PiecePlan,
    darts: Sequence[DartPlan],
    pleats: Sequence[PleatPlan],
    allowance: float | None,
) -> tuple[Shape, CutLine] | None:
    """A shape that is drawn by its cut line alone as one on its sew line, and that cut line.

    None where an edge is swallowed, or the sew line is not parallel all along: the hand decides there.
    """
    moved, found = on_its_sew_line(shape, plan, darts, pleats, allowance)
    stretches = [one for one in found if not one.turned_up]
    if len(stretches) < 2:
        return None
    try:
        sew = sew_line(shape.outline, stretches, y_down=shape.y_down)
    except NoSewLineError:
        return None
    if sew.swallowed or not _is_same(sew.outline, piece.outline):
        return None
    ends = (*sew.corners[1:], sew.corners[0])
    if any(abs(a - b) <= SAME for a, b in zip(sew.corners, ends, strict=True)):
        return None
    sides = _with_turn_ups(shape.outline, sew, stretches)
    return replace(moved, line="sew", outline=piece.outline, other=shape.outline), CutLine(tuple(sides), shape.y_down)


def _with_turn_ups(cut: Curve, sew: SewLine, stretches: Sequence[AllowanceStretch]) -> Iterator[CutSide]:
    """The sides of a cut line, and between them what is turned up with a hem: those parts that no stretch has.

    Where such a part runs on straight it is taken for the end of its side.
    """
    ends = (*sew.corners[1:], sew.corners[0])
    lines = [sew.outline.between(start, end) for start, end in zip(sew.corners, ends, strict=True)]
    firsts, lasts = [one.start for one in stretches], [one.end for one in stretches]
    turned: dict[int, CutSide] = {}
    for k, (line, after) in enumerate(zip(lines, [*lines[1:], lines[0]], strict=True)):
        following = (k + 1) % len(stretches)
        a, b = lasts[k], firsts[following]
        if min((b - a) % cut.length, (a - b) % cut.length) <= SAME:
            continue
        reach = (b - a) % cut.length
        off = [LongLine(fold, reach).drawn_on.nearest(cut.point(at)).distance for fold, at in ((after, a), (line, b))]
        hem, vertex, side = (1, a, k) if off[0] <= off[1] else (-1, b, following)
        if abs(np.angle(cut.tangent(vertex, 1) / cut.tangent(vertex, -1))) > RUNS_ON:
            width = stretches[following if hem > 0 else k].allowance
            turned[k] = CutSide(ends[k], ends[k], width, cut.between(a, b), hem)
        elif hem > 0:
            lasts[side] = b
        else:
            firsts[side] = a
    for k, (start, end, one) in enumerate(zip(sew.corners, ends, stretches, strict=True)):
        yield CutSide(start, end, one.allowance, cut.between(firsts[k], lasts[k]))
        if k in turned:
            yield turned[k]


def round_sew_line(shape: Shape, piece: Piece) -> CutLine | None:
    """The cut line that a file draws round the sew line of a piece, side by side; hems that are turned up too.

    None where it is not parallel to the sew line all along: the hand decides there.
    """
    sew, cut = piece.outline, shape.other
    stations = sorted(corner.station % sew.length for corner in piece.corners)
    if cut is None or len(stations) < 2:
        return None
    if (cut.signed_area() > 0.0) != (sew.signed_area() > 0.0):
        cut = cut.reversed()
    stretches = list(zip(stations, [*stations[1:], stations[0]], strict=True))
    lines = [sew.between(a, b) for a, b in stretches]
    widths = [float(distances(cut, np.array([line.point(line.length / 2)]))[0]) for line in lines]
    # A hem is wider than what is beside it.
    hems = [width > max(widths[k - 1], widths[(k + 1) % len(widths)]) + PARALLEL for k, width in enumerate(widths)]
    for turned_up in ([False] * len(hems), hems):
        sides = [
            (a, b, one)
            for k, ((a, b), line, width) in enumerate(zip(stretches, lines, widths, strict=True))
            for a, b, one in (
                *([(a, a, _Beside(None, width, 1))] if turned_up[k] else []),
                (a, b, _Beside(line, width)),
                *([(b, b, _Beside(None, width, -1))] if turned_up[k] else []),
            )
        ]
        met = _met([one for _, _, one in sides], y_down=shape.y_down)
        if met is None:
            continue
        meant = CutLine(
            tuple(CutSide(a, b, one.allowance, line, one.hem) for (a, b, one), line in zip(sides, met, strict=True)),
            shape.y_down,
        )
        if max(farthest(meant.curve, cut)[0], farthest(cut, meant.curve)[0]) <= PARALLEL:
            return _as_drawn(meant, cut)
    return None


def _as_drawn(meant: CutLine, cut: Curve) -> CutLine | None:
    """A cut line with its sides as the file draws them; None where one is not where it is meant."""
    places = [_at_joint(cut, side.cut.start) for side in meant.sides]
    parts = [cut.between(a, b) for a, b in zip(places, [*places[1:], places[0]], strict=True)]
    if any(abs(part.length - side.cut.length) > 4 * PARALLEL for part, side in zip(parts, meant.sides, strict=True)):
        return None
    sides = tuple(replace(side, cut=part) for side, part in zip(meant.sides, parts, strict=True))
    return replace(meant, sides=sides)


def _outside(line: Curve, allowance: float, *, y_down: bool) -> Curve:
    """A line that runs clockwise, moved outward."""
    return line.offset(-allowance if y_down else allowance) if allowance else line


def _at_joint(cut: Curve, at: complex) -> float:
    """The station of the joint of a closed line at a place, or of the place itself where none is."""
    joint = least(cut.joint_stations[:-1].tolist(), key=lambda station: abs(cut.point(station) - at))
    return joint if abs(cut.point(joint) - at) <= AT_JOINT else cut.nearest(at).station
