"""A junction as it is sewn: the pieces laid together at the point and opened flat, true to scale.

ruler   the straight line that the edge across the seam should follow, laid along one piece's edge through the point
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from seamcheck import pen, wording
from seamcheck.curve import Affine, Curve
from seamcheck.meeting import meet
from seamcheck.report.figures.base import Figure, disc, stroke
from seamcheck.report.figures.parts import geometry_of, pieces_in

if TYPE_CHECKING:
    from seamcheck.meeting import Sector
    from seamcheck.result import FileResult

REACH = 40.0  # mm of cloth round the point
SCALE = 1.5
CENTRE = complex(90.0, 0.0)


def junction_figure(file: FileResult, junction: int) -> Figure:
    """A junction by its place in the result's list; IndexError where there is none."""
    told = file.junctions[junction]
    meeting = meet(geometry_of(file).junctions[junction], pieces_in(file, told.size))
    move = Affine.translation(CENTRE) @ Affine.scaling(SCALE)
    parts = [part for sector in meeting.sectors for part in _sector(sector, move)]
    parts.append(disc(CENTRE, 0.8, "dot"))
    radius = REACH * SCALE
    return Figure(
        body="".join(parts),
        box=(0.0, -radius - 8.0, 180.0, 2 * radius + 16.0),
        title=f"Where {wording.listed(told.corners)} come together",
        description=f"The angles add to {wording.angle(told.angle)}; they should add to {wording.angle(told.expected)}.",
    )


def _sector(sector: Sector, move: Affine) -> list[str]:
    begin, end = (_within(curve).transformed(move) for curve in sector.lines)
    radius = REACH * SCALE
    large = 1 if sector.angle > 180.0 else 0
    data = (
        f"{pen.path(begin.reversed())}{pen.path(end, go_on=True)}"
        f"A{pen.number(radius)} {pen.number(radius)} 0 {large} 0 {pen.point(begin.end)}Z"
    )
    return [stroke(data, "cloth"), stroke(pen.path(begin), "seam"), stroke(pen.path(end), "seam")]


def _within(curve: Curve) -> Curve:
    """A line from the point up to where it leaves the circle that is drawn."""
    leaves = curve.crossings(Curve.arc(0j, REACH))
    return curve.between(0.0, leaves[0][0]) if leaves else curve
