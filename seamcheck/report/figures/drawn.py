"""The one drawing of a piece: which lines it has, and where its names stand.

Every picture of a piece is made from it: the report's page and sheet, a notebook, the page to confirm seams, the picture and the
print of a truing. `looks` says what its lines look like. Lines are exact curves in the file's axes; `paper` is how many mm of
cloth a mm of paper stands for.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from seamcheck.geometry.curve import Curve
from seamcheck.report.figures.looks import Kind
from seamcheck.report.lettering import Label, Labels, Points, on_runs

if TYPE_CHECKING:
    from seamcheck.geometry.curve import Affine
    from seamcheck.pattern.model import Edge, Grainline, Piece
    from seamcheck.pattern.plan import PiecePlan

# How large marks are: mm of paper, but no smaller than so many mm of cloth.
TICK = (2.4, 6.0)
APART = (1.1, 4.0)  # between the ticks of one notch
BARB = (3.0, 10.0)
HOLE = (1.2, 4.0)  # half of the cross that a drill hole is drawn as
BARB_TURN = 0.35  # radians
ON = 1e-3  # mm: a line that lies on another
FINE = 0.05  # mm of paper: how far the polyline that names keep off is from its line


class Line(NamedTuple):
    """A line of a drawing, and the edge that it is of, "" where it is of none."""

    curve: Curve
    kind: Kind
    edge: str = ""

    def transformed(self, move: Affine) -> Line:
        """The same line elsewhere."""
        return Line(self.curve.transformed(move), self.kind, self.edge)


def roles(piece: Piece, plan: PiecePlan | None, unsewn_yet: Collection[str] = ()) -> dict[str, Kind]:
    """What becomes of each edge of a piece by its plan; those in `unsewn_yet` are in no seam."""
    return {edge.name: _role(edge.name, plan, unsewn_yet) for edge in piece.edges}


def _role(name: str, plan: PiecePlan | None, unsewn_yet: Collection[str]) -> Kind:
    if plan is not None and name in plan.unsewn:
        return Kind.UNSEWN
    if plan is not None and name == plan.fold:
        return Kind.FOLD
    return Kind.OPEN if name in unsewn_yet else Kind.EDGE


def lines(piece: Piece, paper: float, role: Mapping[str, Kind] | None = None) -> Iterator[Line]:
    """All lines of a piece whose edges are looked at, each edge as it is called in `role`; those below come first."""
    if piece.drawn is not piece.outline:
        yield Line(piece.drawn, Kind.CUT)
    yield from within(piece, paper)
    # Darts and pleats may be a part of the outline that is in no edge.
    legs = (leg for dart in piece.darts for leg in dart.legs)
    pleats = (fold for pleat in piece.pleats for fold in pleat.folds)
    yield from (Line(curve, Kind.INNER) for curve in (*legs, *pleats))
    yield Line(piece.outline, Kind.OUTLINE)
    for edge in piece.edges:
        yield from (Line(run, (role or {}).get(edge.name, Kind.EDGE), edge.name) for run in edge.runs)
    yield from ticks(piece, paper)


def lines_to_cut(piece: Piece, paper: float) -> Iterator[Line]:
    """All lines of a piece that is cut out: the outermost is the one that scissors follow."""
    yield from within(piece, paper)
    if piece.drawn is not piece.outline:
        yield Line(piece.outline, Kind.SEW)
    yield Line(piece.drawn, Kind.EDGE)
    yield from ticks(piece, paper)


def within(piece: Piece, paper: float) -> Iterator[Line]:
    """What is drawn within an outline: folds, other lines, drill holes and the arrows of the grain."""
    # A fold that is an edge is drawn as such: a line below it would fill its dashes.
    folds = (fold for fold in piece.folds if piece.outline.nearest(fold.point(fold.length / 2)).distance > ON)
    yield from (Line(curve, Kind.INNER) for curve in (*piece.internals, *folds))
    half = _size(HOLE, paper)
    for hole in piece.drill_holes:
        yield from (Line(Curve.line(hole - way, hole + way), Kind.INNER) for way in (half + 0j, half * 1j))
    for grain in piece.grainlines:
        yield from (Line(curve, Kind.GRAIN) for curve in arrow(grain, paper))


def arrow(grain: Grainline, paper: float) -> Iterator[Curve]:
    """A grain arrow with its barbs."""
    yield Curve.polyline(grain.points)
    back = grain.points[-2] - grain.points[-1]
    if abs(back):
        barb, tip = back / abs(back) * _size(BARB, paper), grain.points[-1]
        yield Curve.polyline([tip + barb * np.exp(1j * BARB_TURN), tip, tip + barb * np.exp(-1j * BARB_TURN)])


def ticks(piece: Piece, paper: float) -> Iterator[Line]:
    """Notches, square into the cloth, side by side where one has several; where a cut line lies round the sew line, from that to the sew line."""
    long, apart = _size(TICK, paper), _size(APART, paper)
    for edge in piece.edges:
        for notch in edge.notches:
            # An outline runs clockwise as it is seen, with the cloth to the right.
            along = edge.tangent(notch.station) * (1 if edge.forward else -1)
            inward = along * (1j if piece.y_down else -1j)
            for k in range(notch.count):
                foot = edge.point(notch.station) + along * apart * (k - (notch.count - 1) / 2)
                if piece.drawn is piece.outline:
                    yield Line(Curve.line(foot, foot + inward * long), Kind.NOTCH, edge.name)
                else:
                    yield Line(Curve.line(piece.drawn.nearest(foot).point, foot), Kind.NOTCH, edge.name)


def _size(size: tuple[float, float], paper: float) -> float:
    on_paper, of_cloth = size
    return max(on_paper * paper, of_cloth)


# Names


def keep_off(labels: Labels, drawn: Sequence[Line]) -> None:
    """Keep names off all lines of a drawing, which are in mm of paper."""
    for line in drawn:
        labels.avoid(line.curve.polygon(FINE))


def edge_label(labels: Labels, runs: Sequence[Points], edge: Edge, wordings: Sequence[str]) -> Label | None:
    """The name of an edge: the first wording that finds room along it and is no longer, else the last beside its middle.

    None where there is no room at all. `runs` are the lines of the edge, in mm of paper.
    """
    inward = 1j if edge.forward else -1j
    for words in wordings:
        found = labels.along(runs, words, inward)
        if found is not None:
            return found
    at, along = on_runs(runs, 0.5)
    return labels.beside(at, wordings[-1], -inward * along)
