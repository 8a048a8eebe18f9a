"""The cut line of a piece that is drawn by it alone, while the piece is trued on its sew line.

The sew line is moved, and every stretch of cut line beside it is offset anew by its own allowance; neighbours are trimmed or
drawn on to where they meet. What lies beside a stretch that stayed is left as it was drawn.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from seamcheck.geometry.curve import Curve, OffsetSwallowed
from seamcheck.pattern.model import Piece
from seamcheck.pattern.plan import DartPlan, PiecePlan, PleatPlan
from seamcheck.pieces.build import on_its_sew_line
from seamcheck.pieces.outline import Shape
from seamcheck.pieces.sew_line import NoSewLineError, drawn_to_meet, sew_line

SAME = 1e-6  # mm


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
        outward = -1.0 if self.y_down else 1.0
        stretches = [(moved(side.start), moved(side.end)) for side in self.sides]
        lines = []
        for side, (start, end) in zip(self.sides, stretches, strict=True):
            was, now = old.between(side.start, side.end), new.between(start, end)
            if _is_same(was, now):
                lines.append(side.cut)
                continue
            try:
                lines.append(now.offset(outward * side.allowance) if side.allowance else now)
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
