"""Open lines along an outline that are the sew line of a piece which is drawn with its allowance: one line, or one for every edge.

Each runs at one distance from the outline, that of an allowance, and together they go most of the way round. They are dashed, or
the file calls them the sew line. Where two follow each other they are trimmed at their crossing, or led on straight to where they
meet, or joined over a gap. On one stretch, the fold, there may be none: there they are closed along the outline. What is not called
a sew line and lies nearer to the outline than seams do may be topstitching: it is left inside, and told, as are dashed lines beside
some of the edges.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from seamcheck.amounts import Name, PlainLength, count, phrase
from seamcheck.exact import EXACT, least, snapped
from seamcheck.geometry.curve import Curve
from seamcheck.geometry.distances import distances
from seamcheck.geometry.long_line import LongLine
from seamcheck.pattern.drawing import LineMark, Note, Role
from seamcheck.pieces.markings import TOUCH
from seamcheck.pieces.nesting import ALLOWANCES, SMALLEST_PIECE, ClosedLine, closed_line, contained

NEAREST = 8.0  # mm: what is sewn nearer to the edge may be topstitching; common practice, no source
MOST_OF_IT = 0.5  # of the outline's length: what is shorter together tells of single edges
GAP = 25.0  # mm: over so much two lines that follow each other are joined
GOES_ON = 0.5  # the cosine between a line's end and the gap that it is joined over, at least
CORNER = 30.0  # degrees: so much the outline turns between two edges
ROUND = 1.5  # times the gap at most goes the outline beside it: a gap round corners is none
LED_ON = 60.0  # mm: so far a line is led on to meet the next
TRIMMED = 0.4  # of a line may reach beyond where it meets the next
PLACES = 40  # at which it is asked how far from the outline a line runs
EVEN = 0.6  # of the usual distance, or its inverse: beyond that the distance is another
MOST_DARTS = 2  # that an edge has, by far the most often ...
DARTS_SHARE = 0.7  # ... which take so much of its line at most ...
DART_CLEAR = 2  # ... and leave its first places and its last ones
OVERLAP = 0.5  # of the shorter one: two lines beside so much of the same stretch are beside one edge
HEMS = 0.35  # of the line may run at the other distance of a hem ...
WIDEST = 5.0  # ... times the usual one, at most
INSIDE = 0.8  # of a line lies within the outline: its ends may run out beyond it
FEWEST_TOLD = 2  # edges beside which dashed lines run are worth telling of ...
LEAST_TOLD = 0.3  # ... where they are so much of the outline's length

Chain = tuple[Curve, tuple[LineMark, ...]]


class _Beside(NamedTuple):
    """A chain that runs beside an outline, turned to run as it does: how far within it, from which station on,
    for how much of it, and how long it is but for its darts; mm.
    """

    number: int
    curve: Curve
    members: tuple[LineMark, ...]
    apart: float
    start: float
    span: float
    covers: float


def open_sew_lines(
    chains: Sequence[Chain], candidates: Sequence[ClosedLine]
) -> tuple[list[ClosedLine], set[int], list[Note]]:
    """The sew lines that open lines make, closed, which of the chains went into them, and what is to be told.

    The outlines round them become cut lines. `chains` are dashed or called the sew line, each with the lines that it is made of.
    """
    made: list[ClosedLine] = []
    used: set[int] = set()
    topstitched: set[int] = set()
    notes: list[Note] = []
    for outline in sorted(candidates, key=lambda one: (round(one.area, 6), one.order)):
        if outline.area < SMALLEST_PIECE or outline.mark.role not in (None, Role.OUTLINE, Role.CUT):
            continue
        beside = [
            found
            for number, chain in enumerate(chains)
            if number not in used | topstitched and (found := _beside(number, chain, outline)) is not None
        ]
        if not beside:
            continue
        called = all(line.role is Role.SEW for one in beside for line in one.members)
        usual = _usual(beside)
        parts = [one for one in beside if usual * EVEN <= one.apart + EXACT and one.apart <= WIDEST * usual + EXACT]
        parts = _one_beside_each(parts, usual, outline.curve.length)
        covered = sum(one.covers for one in parts)
        whole = (
            _closed(parts, outline, called=called) if covered >= MOST_OF_IT * outline.curve.length - EXACT else None
        )
        if whole is None:
            stacked = len(parts) < len(beside)  # several beside one edge are quilting, pleats or the folds of a strap
            notes += _told_of_edges(beside, usual, covered, outline) if not (called or stacked) else []
            continue
        numbers = {one.number for one in parts}
        members = tuple(line for one in parts for line in one.members)
        if usual < NEAREST - EXACT and not called:
            topstitched |= numbers
            notes.append(_topstitching(members[0], usual))
            continue
        used |= numbers
        made.append(_sew_line(whole, members, outline, len(candidates) + len(made), called=called))
    return made, used, notes


def _sew_line(
    whole: tuple[Curve, list[tuple[float, complex]]],
    members: tuple[LineMark, ...],
    outline: ClosedLine,
    order: int,
    *,
    called: bool,
) -> ClosedLine:
    loop, gaps = whole
    how = "an open dashed line" if len(members) == 1 else f"{len(members)} open dashed lines"
    why = members[0].why if called else f"{how} along the outline, closed"
    mark = replace(members[0], curve=loop, closed=True, role=Role.SEW, why=why)
    outline.mark = replace(outline.mark, role=Role.CUT, why=outline.mark.why or "the outline round a dashed line")
    return closed_line(loop, mark, members, tuple(gaps), order)


def _topstitching(line: LineMark, apart: float) -> Note:
    message = phrase(
        "{line}: a dashed line runs {apart} inside an outline, most of the way round. It was taken for topstitching; if it "
        "is the sew line, call it so: sew line.",
        line=Name(str(line.place)),
        apart=PlainLength(apart, 1),
    )
    return Note("dashed-line", message)


def _told_of_edges(beside: Sequence[_Beside], usual: float, covered: float, outline: ClosedLine) -> list[Note]:
    lines = sum(len(one.members) for one in beside)
    seams = NEAREST - EXACT <= usual <= ALLOWANCES[1] + EXACT
    if lines < FEWEST_TOLD or not seams or covered < LEAST_TOLD * outline.curve.length:
        return []
    message = phrase(
        "{piece}: {lines} beside the outline, {apart} inside it, and do not go all the way round. They were taken for lines inside "
        "the piece; if they are the sew line, draw it beside every edge but the fold, or as one closed line.",
        piece=Name(outline.mark.label or str(outline.mark.place)),
        lines=count(lines, "dashed line runs", "dashed lines run"),
        apart=PlainLength(usual, 1),
    )
    return [Note("dashed-line", message)]


# Beside the outline


def _beside(number: int, chain: Chain, outline: ClosedLine) -> _Beside | None:
    """A chain that runs beside an outline at one distance; None where it does not."""
    curve, members = chain
    if any(line.block != outline.mark.block for line in members):
        return None
    at = curve.points(curve.length * (np.arange(PLACES) + 0.5) / PLACES)
    if np.count_nonzero(contained(outline.polygon, at)) < INSIDE * PLACES:
        return None
    off = distances(outline.curve, at)
    usual = snapped(float(np.sort(off)[PLACES // 4]))  # a dart may take more than half of a line far in
    far, near = off > usual / EVEN + EXACT, off < EVEN * usual - EXACT
    even = np.count_nonzero(far | near) <= HEMS * PLACES and off.max() <= WIDEST * usual + EXACT
    if usual < ALLOWANCES[0] - EXACT or not (even or _goes_in_for_darts(far, near)):
        return None
    total = outline.curve.length
    stations = [outline.curve.nearest(complex(one)).station for one in (at if even else at[~far])]
    # A step along the outline is less than half of it, whichever way it goes.
    steps = [(b - a + total / 2) % total - total / 2 for a, b in pairwise(stations)]
    forward = sum(steps) >= 0.0
    return _Beside(
        number=number,
        curve=curve if forward else curve.reversed(),
        members=members,
        apart=usual,
        start=stations[0] if forward else stations[-1],
        span=abs(sum(steps)),
        covers=curve.length * (1.0 if even else float(np.mean(~far))),
    )


def _goes_in_for_darts(far: npt.NDArray[np.bool_], near: npt.NDArray[np.bool_]) -> bool:
    """Whether a line keeps its distance at both ends, and leaves it for one dart or two between them."""
    stretches = int(np.count_nonzero(far[1:] & ~far[:-1]))
    ends = [*far[:DART_CLEAR], *far[-DART_CLEAR:]]
    return not near.any() and not any(ends) and 0 < stretches <= MOST_DARTS and bool(far.mean() <= DARTS_SHARE)


def _one_beside_each(parts: Sequence[_Beside], usual: float, total: float) -> list[_Beside]:
    """Of lines that run beside the same stretch of outline the one whose distance is the most usual."""
    kept: list[_Beside] = []
    for one in sorted(parts, key=lambda one: (round(abs(math.log(one.apart / usual)), 6), one.number)):
        if all(_common(one, other, total) <= OVERLAP * min(one.span, other.span) + EXACT for other in kept):
            kept.append(one)
    return kept


def _common(one: _Beside, other: _Beside, total: float) -> float:
    """How much of the outline two lines run beside both, in mm."""
    ahead = (other.start - one.start) % total
    behind = (one.start - other.start) % total
    return max(min(one.span - ahead, other.span), min(other.span - behind, one.span), 0.0)


def _usual(beside: Sequence[_Beside]) -> float:
    """The distance at which the middle of all the length runs; a hem may have its own."""
    rows = sorted(((one.apart, one.covers) for one in beside), key=lambda row: row[0])
    half, along = sum(covers for _, covers in rows) / 2, 0.0
    for apart, covers in rows:
        along += covers
        if along >= half - EXACT:
            return apart
    return rows[-1][0]


# Closing


class _Joint(NamedTuple):
    """How a line goes over into the next: a place on either, and the line between them, None where they meet."""

    before: float
    after: float
    at: complex
    way: Curve | None = None
    gap: float = 0.0
    on_outline: bool = False


def _closed(
    parts: Sequence[_Beside], outline: ClosedLine, *, called: bool
) -> tuple[Curve, list[tuple[float, complex]]] | None:
    """One closed line of all, with the gaps that it was joined over; None where they do not make one."""
    if not parts or not ALLOWANCES[0] - EXACT <= _usual(parts) <= ALLOWANCES[1] + EXACT:
        return None
    curves = [one.curve for one in sorted(parts, key=lambda one: round(one.start, 6))]
    if len(curves) == 1:
        curves = list(curves[0].split(curves[0].length / 2))
    long = [LongLine(curve, LED_ON) for curve in curves]
    joints = [_joint(long[k - 1], long[k], outline) for k in range(len(long))]
    found = [joint for joint in joints if joint is not None]
    if len(found) < len(joints) or sum(joint.on_outline for joint in found) > 1:
        return None
    if called and len(parts) == 1 and not any(joint.on_outline for joint in found):
        return None  # what is called so and does not close was meant to
    rows: list[Curve] = []
    for k, line in enumerate(long):
        first, last = found[k].after, found[(k + 1) % len(found)].before
        if last - first <= EXACT:
            return None
        way = found[k].way
        rows += [way] if way is not None else []
        rows.append(line.between(first, last))
    loop = Curve.join([_moved(row, rows[k - 1], rows[(k + 1) % len(rows)]) for k, row in enumerate(rows)])
    x0, y0, x1, y1 = outline.curve.bounds()
    u0, v0, u1, v1 = loop.bounds()
    inside = x0 - TOUCH <= u0 and y0 - TOUCH <= v0 and u1 <= x1 + TOUCH and v1 <= y1 + TOUCH
    if not inside or loop.self_crossings():
        return None
    # That a line stops short of a corner, and is led on to it, is a habit; what is missing between two corners is a gap.
    return loop, [(joint.gap, joint.at) for joint in found if joint.gap and joint.way is not None]


def _moved(row: Curve, before: Curve, after: Curve) -> Curve:
    """A row whose ends are those of its neighbours, from which they are off by rounding."""
    segments = row.segments.copy()
    segments[0, 0] = (before.end + row.start) / 2
    segments[-1, 3] = (row.end + after.start) / 2
    return Curve(segments)


def _joint(before: LongLine, after: LongLine, outline: ClosedLine) -> _Joint | None:
    """How two lines that follow each other are joined; None where they cannot be."""
    end, start = before.line.end, after.line.start
    gap = snapped(abs(end - start))
    if gap <= EXACT:
        return _Joint(before.length, 0.0, end)
    met = before.meeting(after)
    if met is not None and not _is_meeting(met, before, after, outline):
        met = None
    crosses = met is not None and met[0] <= before.length + EXACT and met[1] >= -EXACT
    here, there = (outline.curve.nearest(at) for at in (end, start))
    way = _along(outline.curve, here.station, there.station)
    if max(here.distance, there.distance) <= TOUCH + EXACT and not crosses:
        if (np.abs(way.joint_turns()) >= CORNER - EXACT).any():
            return None  # more than one edge has no line beside it
        return _Joint(before.length, 0.0, end, _between(way, end, start), on_outline=True)
    if met is not None:
        return _Joint(*met, end, gap=0.0 if crosses else gap)
    on = (start - end) / gap
    goes_on = min((on / before.arriving).real, (on / after.leaving).real) >= GOES_ON
    if gap <= GAP + EXACT and way.length <= ROUND * gap + EXACT and goes_on:
        return _Joint(before.length, 0.0, end, Curve.line(end, start), gap)
    return None


def _is_meeting(met: tuple[float, float], before: LongLine, after: LongLine, outline: ClosedLine) -> bool:
    """Whether two lines may be said to meet there: neither loses much of itself, and it is within the outline."""
    short = (before.length - met[0]) > TRIMMED * before.length or met[1] > TRIMMED * after.length
    at = before.between(0.0, met[0]).end if met[0] > EXACT else before.line.start
    on = outline.curve.nearest(at).distance <= TOUCH + EXACT
    return not short and (on or outline.curve.contains(at))


def _along(outline: Curve, first: float, second: float) -> Curve:
    """The shorter way along an outline from one station to another."""
    return least(
        [outline.between(first, second), outline.between(second, first).reversed()], key=lambda way: way.length
    )


def _between(way: Curve, start: complex, end: complex) -> Curve:
    """A way whose ends are moved to those of the lines that it joins."""
    rows = way.segments.copy()
    rows[0, 0], rows[-1, 3] = start, end
    return Curve(rows)
