"""An open dashed line along an outline: the sew line of a piece that is drawn with its allowance, except on the fold.

It goes most of the way round at one distance, that of an allowance, and ends on the outline or nearly at its own start. There
it is closed: along the outline, where no allowance is, or over the gap. What lies nearer to the outline than seams do may be
topstitching: it is left inside, and told.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from seamcheck.amounts import Name, PlainLength, phrase
from seamcheck.exact import EXACT, snapped
from seamcheck.geometry.curve import Curve
from seamcheck.geometry.distances import distances
from seamcheck.pattern.drawing import LineMark, Note, Role
from seamcheck.pieces.markings import TOUCH
from seamcheck.pieces.nesting import ALLOWANCES, SMALLEST_PIECE, ClosedLine, closed_line, contained

NEAREST = 8.0  # mm: what is sewn nearer to the edge may be topstitching; common practice, no source
MOST_OF_IT = 0.5  # of the outline's length: a shorter line tells of single edges
GAP = 25.0  # mm: so near its own start a line is meant to close
PLACES = 40  # at which it is asked how far from the outline a line runs
EVEN = 0.6  # of the usual distance, or its inverse: beyond that the distance is another
HEMS = 0.35  # of the line may run at the other distance of a hem ...
WIDEST = 5.0  # ... times the usual one, at most


def dashed_sew_line(
    curve: Curve, members: Sequence[LineMark], candidates: Sequence[ClosedLine]
) -> tuple[ClosedLine | None, Note | None]:
    """The sew line that an open dashed line is, closed, or what is to be told of it; the outline round it becomes a cut line.

    `members` are the lines that it is made of, `candidates` the closed lines of the drawing.
    """
    if any(line.role is not None or not line.dashed for line in members):
        return None, None
    for outline in sorted(candidates, key=lambda one: (round(one.area, 6), one.order)):
        if outline.area < SMALLEST_PIECE or outline.mark.role not in (None, Role.OUTLINE, Role.CUT):
            continue
        apart = _apart(curve, outline)
        whole = None if apart is None else _closed(curve, outline.curve)
        if apart is None or whole is None:
            continue
        if apart < NEAREST - EXACT:
            message = phrase(
                "{line}: a dashed line runs {apart} inside an outline, most of the way round. It was taken for topstitching; if it "
                "is the sew line, call it so: sew line.",
                line=Name(str(members[0].place)),
                apart=PlainLength(apart, 1),
            )
            return None, Note("dashed-line", message)
        loop, gap = whole
        mark = replace(
            members[0], curve=loop, closed=True, role=Role.SEW, why="an open dashed line along the outline, closed"
        )
        outline.mark = replace(outline.mark, role=Role.CUT, why=outline.mark.why or "the outline round a dashed line")
        gaps = ((gap, curve.end),) if gap else ()
        return closed_line(loop, mark, tuple(members), gaps, len(candidates)), None
    return None, None


def _apart(curve: Curve, outline: ClosedLine) -> float | None:
    """How far within an outline a line runs at one distance most of the way round, in mm; None where it does not."""
    if curve.length < MOST_OF_IT * outline.curve.length - EXACT:
        return None
    # The ends may run out to the outline, so they are left out.
    at = np.array([curve.point(curve.length * (k + 0.5) / PLACES) for k in range(PLACES)])
    if not contained(outline.polygon, at).all():
        return None
    off = np.sort(distances(outline.curve, at))
    usual = snapped(float(off[PLACES // 2]))
    uneven = np.count_nonzero((off < EVEN * usual - EXACT) | (off > usual / EVEN + EXACT))
    seams = ALLOWANCES[0] - EXACT <= usual <= ALLOWANCES[1] + EXACT and uneven <= HEMS * PLACES
    return usual if seams and off[-1] <= WIDEST * usual + EXACT else None


def _closed(curve: Curve, outline: Curve) -> tuple[Curve, float] | None:
    """A line that is closed along the outline or over the gap between its ends, and that gap in mm; None where it cannot be."""
    ends = [outline.nearest(end) for end in (curve.end, curve.start)]
    if all(end.distance <= TOUCH + EXACT for end in ends):
        from_end, to_start = (end.station for end in ends)
        ways = [outline.between(from_end, to_start), outline.between(to_start, from_end).reversed()]
        way = ways[0] if ways[0].length <= ways[1].length else ways[1]
        rows = way.segments.copy()
        rows[0, 0], rows[-1, 3] = curve.end, curve.start
        return Curve.join([curve, Curve(rows)]), 0.0
    if curve.chord <= GAP + EXACT:
        return Curve.join([curve, Curve.line(curve.end, curve.start)]), snapped(curve.chord)
    return None
