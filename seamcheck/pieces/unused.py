"""What is drawn and went into no piece: each line with why, and the piece that it lies nearest to, worst first.

of piece size   a closed line that could be cut out, or an open one that goes most of the way round such a shape
near            a line that the file does not call anything else, all of it on an outline or beside it
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace

import numpy as np

from seamcheck.exact import least, most
from seamcheck.geometry.end_directions import straight
from seamcheck.geometry.loops import close_loops
from seamcheck.geometry.short_arrays import rolled
from seamcheck.pattern.drawing import Drawing, LineMark, Role
from seamcheck.pattern.model import Unused
from seamcheck.pieces.markings import TICK
from seamcheck.pieces.nesting import OUTLINE_ROLES, PICTURE, SMALLEST_PIECE, ClosedLine

GAP = 10.0  # mm: lines whose ends come so near were perhaps meant to meet
LARGE = 25.0 * SMALLEST_PIECE  # square mm: what they close round is no sign or table then
ROUND = 0.5  # of its length: a line whose ends lie nearer than this goes most of the way round something


def unused(
    drawing: Drawing,
    used: Collection[int],
    aside: Sequence[tuple[ClosedLine, str]],
    pieces: Sequence[tuple[str, ClosedLine]],
) -> tuple[Unused, ...]:
    """The visible lines of a drawing that are not among those used, by identity; `aside` are closed lines that are no piece.

    `pieces` come with their names.
    """
    why = {id(member): what for one, what in aside for member in one.members}
    elsewhere = (Role.OLD, Role.TEST_SQUARE)  # kept on purpose, and judged by the scale
    left = [line for line in drawing.lines if not (id(line) in used or line.hidden or line.role in elsewhere)]
    loops = list(_nearly_closed([line for line in left if id(line) not in why]))
    together = {id(line) for lines, _ in loops for line in lines}
    found = [_told(line, why.get(id(line), ""), pieces) for line in left if id(line) not in together]
    found += [_told_together(lines, gap, pieces) for lines, gap in loops]
    ranks = {"piece": 0, "near": 1, "": 2}
    return tuple(sorted(found, key=lambda one: (ranks[one.weight], -round(one.length, 6), round(one.distance, 6))))


def _told(line: LineMark, aside: str, pieces: Sequence[tuple[str, ClosedLine]]) -> Unused:
    mine = [(name, _apart(line, piece)) for name, piece in pieces if piece.mark.block == line.block]
    nearest, (distance, farthest) = least(mine, key=lambda one: one[1][0]) if mine else ("", (0.0, float("inf")))
    return Unused(
        length=line.curve.length,
        closed=line.closed,
        why=_why(line, aside),
        piece=nearest,
        distance=distance,
        weight=_weight(line, aside, farthest),
        at=line.curve.start,
        place=line.place,
    )


def _nearly_closed(lines: Sequence[LineMark]) -> Iterator[tuple[list[LineMark], float]]:
    """Lines that would close an outline of the size of a piece if their ends met, and the widest of their gaps in mm."""
    drawn = [
        line
        for line in lines
        if line.role in (None, *OUTLINE_ROLES) and not (line.closed or line.dashed or line.arrow)
    ]
    for block in dict.fromkeys(line.block for line in drawn):
        here = [line for line in drawn if line.block == block and line.curve.length > 2.0 * GAP]
        loops, _ = close_loops([line.curve for line in here], (GAP / 2, GAP))
        for loop in loops:
            x0, y0, x1, y1 = loop.curve.bounds()
            large = abs(loop.curve.signed_area()) >= LARGE and min(x1 - x0, y1 - y0) > PICTURE
            if large and not any(_is_crossed(here[member], here) for member in loop.members):
                yield [here[member] for member in loop.members], max((gap for gap, _ in loop.gaps), default=0.0)


def _is_crossed(line: LineMark, others: Sequence[LineMark]) -> bool:
    """Whether others cross a line elsewhere than at its ends: then it is one of a table or a grid."""
    u0, v0, u1, v1 = line.curve.bounds()
    for other in others:
        x0, y0, x1, y1 = other.curve.bounds()
        if other is not line and x0 <= u1 and u0 <= x1 and y0 <= v1 and v0 <= y1:
            met = (station for station, _ in line.curve.crossings(other.curve))
            if any(GAP < station < line.curve.length - GAP for station in met):
                return True
    return False


def _told_together(lines: Sequence[LineMark], gap: float, pieces: Sequence[tuple[str, ClosedLine]]) -> Unused:
    longest = most(lines, key=lambda line: line.curve.length)
    why = f"with {len(lines) - 1} more lines it would close, but for gaps of up to {gap:.1f} mm"
    one = _told(longest, why, pieces)
    return replace(one, length=sum(line.curve.length for line in lines), weight="piece")


def _weight(line: LineMark, aside: str, farthest: float) -> str:
    if aside:
        return ""  # what it is taken for is said in a note
    stated = line.role is not None and line.role not in OUTLINE_ROLES
    if not stated and _piece_size(line):
        return "piece"
    return "near" if not stated and farthest <= TICK else ""


def _piece_size(line: LineMark) -> bool:
    x0, y0, x1, y1 = line.curve.bounds()
    large = abs(line.curve.signed_area()) >= SMALLEST_PIECE and max(x1 - x0, y1 - y0) > PICTURE
    # A leader with a bend in it leaves room between its two legs.
    ruled = len(line.curve.segments) == 2 and bool(straight(line.curve.segments).all())
    return large and not ruled and (line.closed or line.curve.chord <= ROUND * line.curve.length)


def _why(line: LineMark, aside: str) -> str:
    if aside:
        return aside
    if line.role in OUTLINE_ROLES and not line.closed:
        return f"an open {line.role.value} ({line.why}), which closes nothing"
    if line.role is not None:
        return f"{line.role.value} ({line.why})" if line.why else line.role.value
    return "it lies in no piece" if line.closed else "an open line outside the pieces"


def _apart(line: LineMark, piece: ClosedLine) -> tuple[float, float]:
    """How near to an outline, and how far from it, a line comes: its ends and its middle from a flattened copy, in mm."""
    at = np.array([line.curve.start, line.curve.point(line.curve.length / 2), line.curve.end])
    start = piece.outer.polygon
    way = rolled(start) - start
    size = np.where(way == 0, 1.0, np.abs(way) ** 2)
    off = at[:, None] - start
    share = np.clip((off * np.conj(way)).real / size, 0.0, 1.0)
    apart = np.abs(off - share * way).min(axis=1)
    return float(apart.min()), float(apart.max())
