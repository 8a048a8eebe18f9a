"""The cut line of a piece, while the piece is trued on its sew line: drawn by the file alone, or round the sew line.

The sew line is moved, and every stretch of cut line beside it is offset anew by its own allowance; neighbours are trimmed or
drawn on to where they meet. What lies beside a stretch that stayed is left as it was drawn.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from seamcheck.exact import least
from seamcheck.geometry.curve import Curve, OffsetSwallowed
from seamcheck.geometry.distances import distances, farthest
from seamcheck.pattern.model import Piece
from seamcheck.pattern.plan import DartPlan, PiecePlan, PleatPlan
from seamcheck.pieces.build import on_its_sew_line
from seamcheck.pieces.outline import Shape
from seamcheck.pieces.sew_line import NoSewLineError, drawn_to_meet, sew_line

SAME = 1e-6  # mm
PARALLEL = 0.3  # mm: a cut line that keeps so near to what is offset from the sew line is meant as that
AT_JOINT = 0.5  # mm


@dataclass(frozen=True, slots=True)
class CutSide:
    """A stretch of sew line from one station clockwise to another, its allowance in mm, and its cut line."""

    start: float
    end: float
    allowance: float
    cut: Curve


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
        lines = []
        for side, (start, end) in zip(self.sides, stretches, strict=True):
            was, now = old.between(side.start, side.end), new.between(start, end)
            if _is_same(was, now):
                lines.append(side.cut)
                continue
            try:
                lines.append(_outside(now, side.allowance, y_down=self.y_down))
            except OffsetSwallowed:
                return None
        met = drawn_to_meet(lines)
        if met is None:
            return None
        sides = (
            CutSide(start, end, side.allowance, cut)
            for side, (start, end), cut in zip(self.sides, stretches, met, strict=True)
        )
        return replace(self, sides=tuple(sides))


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

    None where a hem is turned up, an edge is swallowed, or the sew line is not parallel all along: the hand decides there.
    """
    moved, stretches = on_its_sew_line(shape, plan, darts, pleats, allowance)
    if len(stretches) < 2 or any(one.turned_up for one in stretches):
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
    sides = tuple(
        CutSide(start, end, one.allowance, shape.outline.between(one.start, one.end))
        for one, start, end in zip(stretches, sew.corners, ends, strict=True)
    )
    return replace(moved, line="sew", outline=piece.outline, other=shape.outline), CutLine(sides, shape.y_down)


def round_sew_line(shape: Shape, piece: Piece) -> CutLine | None:
    """The cut line that a file draws round the sew line of a piece, side by side.

    None where it is not parallel to the sew line all along, as where a hem is turned up: the hand decides there.
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
    try:
        offset = [_outside(line, width, y_down=shape.y_down) for line, width in zip(lines, widths, strict=True)]
    except OffsetSwallowed:
        return None
    met = drawn_to_meet(offset)
    if met is None:
        return None
    meant = CutLine(
        tuple(CutSide(a, b, width, line) for (a, b), width, line in zip(stretches, widths, met, strict=True)),
        shape.y_down,
    )
    if max(farthest(meant.curve, cut)[0], farthest(cut, meant.curve)[0]) > PARALLEL:
        return None
    places = [_at_joint(cut, line.start) for line in met]
    parts = [cut.between(a, b) for a, b in zip(places, [*places[1:], places[0]], strict=True)]
    if any(abs(part.length - line.length) > 4 * PARALLEL for part, line in zip(parts, met, strict=True)):
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
