"""Which piece each mark belongs to: the one of its block or its group, the one that it lies in, or the one that it stands beside."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from seamcheck.exact import least, most
from seamcheck.pattern.drawing import LineMark, PointMark, Role, TextMark
from seamcheck.pieces.markings import TICK
from seamcheck.pieces.nesting import Boxes, ClosedLine, contained

ARROW_STEPS = 40  # places along an arrow that are asked whether they lie in a piece
BESIDE = 60.0  # mm: how far from a piece its words may stand


def box_of(at: complex) -> tuple[float, float, float, float]:
    """The box of a single place."""
    return at.real, at.imag, at.real, at.imag


def holds(one: ClosedLine, at: complex) -> bool:
    """Whether a place lies in a closed line."""
    return bool(contained(one.polygon, np.array([at]))[0])


@dataclass(slots=True)
class Owned:
    """The marks of one piece; of the texts it is known whether they stand inside its outline."""

    lines: list[LineMark] = field(default_factory=list)
    points: list[PointMark] = field(default_factory=list)
    placed_texts: list[tuple[TextMark, bool]] = field(default_factory=list)

    @property
    def texts(self) -> list[TextMark]:
        """The texts, wherever they stand."""
        return [text for text, _ in self.placed_texts]


def owners(
    pieces: Sequence[ClosedLine],
    lines: Sequence[LineMark],
    points: Sequence[PointMark],
    texts: Sequence[TextMark],
) -> list[Owned]:
    """The marks of each piece, in the order of the pieces; what belongs to none of them is left out."""
    owned = [Owned() for _ in pieces]
    boxes = Boxes([piece.outer for piece in pieces])
    by_group: dict[tuple[str, ...], list[int]] = {}
    for index, piece in enumerate(pieces):
        by_group.setdefault(piece.mark.groups, []).append(index)

    def owner(at: complex, groups: tuple[str, ...], block: str | None, reach: float) -> tuple[int | None, bool]:
        """The piece that a mark at some place belongs to, and whether it lies inside it."""
        if block is not None:
            return (0, True) if pieces else (None, False)
        near = boxes.holding(box_of(at), reach)
        holders = [i for i in near if holds(pieces[i].outer, at)]
        while groups:
            members = by_group.get(groups, [])
            if len(members) == 1:
                return members[0], members[0] in holders
            groups = groups[:-1]
        if holders:
            return least(holders, key=lambda i: pieces[i].area), True
        curves = ((curve, i) for i in near for curve in {pieces[i].curve, pieces[i].outer.curve})
        beside = min(((curve.nearest(at).distance, i) for curve, i in curves), default=None)
        return (beside[1], False) if beside and beside[0] <= reach else (None, False)

    for line in lines:
        at = line.curve.point(line.curve.length / 2)
        if line.block is None and (line.role is Role.GRAIN or line.arrow):
            at = _within(line, pieces, boxes, at)
        holder, _ = owner(at, line.groups, line.block, TICK)
        if holder is not None:
            owned[holder].lines.append(line)
    for point in points:
        holder, _ = owner(point.at, point.groups, point.block, TICK)
        if holder is not None:
            owned[holder].points.append(point)
    for text in texts:
        holder, inside = owner(text.at, text.groups, text.block, BESIDE)
        note = text.role is Role.FURNITURE and not inside  # a note beside a piece is about the sheet
        if holder is not None and not note:
            owned[holder].placed_texts.append((text, inside))
    return owned


def _within(line: LineMark, pieces: Sequence[ClosedLine], boxes: Boxes, middle: complex) -> complex:
    """Where an arrow lies that may leave its piece: its middle, or else the middle of what of it lies in some piece."""
    steps = (np.arange(ARROW_STEPS) + 0.5) / ARROW_STEPS * line.curve.length
    at = np.array([middle, line.curve.start, line.curve.end, *(line.curve.point(float(step)) for step in steps)])
    near = {k for one in at for k in boxes.holding(box_of(complex(one)))}
    held = {k: contained(pieces[k].outer.polygon, at) for k in near}
    if any(inside[0] for inside in held.values()) or not any(inside.any() for inside in held.values()):
        return middle
    most_of_it = most(sorted(held), key=lambda k: float(held[k].sum()))
    inside = np.flatnonzero(held[most_of_it])
    return complex(at[inside[len(inside) // 2]])
