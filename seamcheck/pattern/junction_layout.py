"""How pieces lie where their corners come together: sewn, opened flat, and seen from the right side.

sector    the cloth that one corner, or a straight stretch of edge, brings to the point
heading   a direction from the point in degrees, clockwise as seen: 0 to the right, 90 down

Coordinates are mm, x to the right and y down, whatever axes the file has; the point is the origin. Every piece is moved
rigidly: shifted, turned and, where two edges that run the same way are sewn together, turned over.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from seamcheck.geometry.curve import Affine
from seamcheck.geometry.end_directions import at_corner
from seamcheck.pattern.junctions import mouth_lines

if TYPE_CHECKING:
    from seamcheck.geometry.curve import Curve
    from seamcheck.pattern.junctions import Junction
    from seamcheck.pattern.model import Piece
    from seamcheck.pattern.seams import Node, Ray


class Sector(NamedTuple):
    """Cloth from one heading clockwise to the next; `move` takes the piece from the file's axes to where it lies.

    `corner` is "" for a stretch of edge. `first` and `last` are the rays at both headings. `lines` are what leaves the point
    there, moved: the outline half way round, or the leg of a dart; `ends` tells how far along them the next corner is, in mm.
    """

    piece: str
    corner: str
    angle: float
    start: float
    first: Ray
    last: Ray
    move: Affine
    turned_over: bool
    lines: tuple[Curve, Curve]
    ends: tuple[float, float]

    @property
    def end(self) -> float:
        """The heading of the last ray."""
        return self.start + self.angle


class Meeting(NamedTuple):
    """Sectors side by side, clockwise. `closed` where the cloth goes all round, so that the last lies beside the first."""

    sectors: tuple[Sector, ...]
    closed: bool

    def turned(self, degrees: float) -> Meeting:
        """The same, turned clockwise as a whole."""
        turn = Affine.rotation(degrees)
        return self._replace(
            sectors=tuple(
                one._replace(
                    start=one.start + degrees,
                    move=turn @ one.move,
                    lines=(one.lines[0].transformed(turn), one.lines[1].transformed(turn)),
                )
                for one in self.sectors
            ),
        )


class _Loose(NamedTuple):
    """A sector before it is laid: its place, what leaves it clockwise and what leaves it the other way."""

    node: Node
    corner: str
    angle: float
    at: complex
    out: _Line
    back: _Line
    upright: Affine


class _Line(NamedTuple):
    """A line that leaves the point: its direction there, itself, and how far along it the next corner is."""

    direction: complex
    curve: Curve
    end: float


def meet(junction: Junction, pieces: Mapping[str, Piece]) -> Meeting:
    """Lay the pieces of a junction together, from an edge that is not sewn on round the point.

    The first sector lies as the file shows it.
    """
    loose = {one.node: one for one in _sectors(junction, pieces)}
    mates: dict[Ray, tuple[Ray, float]] = {}
    for join in junction.joins:
        mates.setdefault(join.first, (join.second, join.beyond))
        mates.setdefault(join.second, (join.first, -join.beyond))
    mates = {ray: mate for ray, mate in mates.items() if mate[0][:2] in loose}
    laid: list[Sector] = []
    left = dict(loose)
    closed = False
    while left:
        first = _begin(left, mates)
        sector: Sector | None = _lay(left.pop(first[:2]), first, laid[-1].end if laid else None, 0j)
        while sector is not None:
            laid.append(sector)
            ray, beyond = mates.get(sector.last, (None, 0.0))
            if ray is None or ray[:2] not in left:
                closed = ray is not None and ray == laid[0].first
                break
            heading = _unit(sector.end)
            place = complex(sector.move.apply(loose[sector.last[:2]].at)) + heading * beyond
            sector = _lay(left.pop(ray[:2]), ray, sector.end, place)
    return Meeting(sectors=tuple(laid), closed=closed)


def _begin(left: Mapping[Node, _Loose], mates: Mapping[Ray, object]) -> Ray:
    """The ray to begin at: one that is sewn to nothing, best of a piece that need not be turned over."""
    rays: list[Ray] = [(*node, way) for way in ("out", "in") for node in left]
    return next((ray for ray in rays if ray not in mates), rays[0])


def _lay(loose: _Loose, first: Ray, heading: float | None, place: complex) -> Sector:
    """Lay a sector with its `first` ray at a heading (None: as the file shows it) and its corner at a place."""
    turned_over = first[2] == "in"
    begin, end = (loose.back, loose.out) if turned_over else (loose.out, loose.back)
    # Turned over about an upright line, so that what is up stays up.
    over = Affine(0j, -1 + 0j, 0j) if turned_over else Affine.identity()
    direction = complex((over @ loose.upright).apply(begin.direction))
    start = float(np.degrees(np.angle(direction))) if heading is None else heading
    turn = Affine(_unit(start) / direction, 0j, 0j)
    move = Affine.translation(place) @ turn @ over @ loose.upright @ Affine.translation(-loose.at)
    return Sector(
        piece=loose.node[0],
        corner=loose.corner,
        angle=loose.angle,
        start=start,
        first=first,
        last=(*loose.node, "out" if turned_over else "in"),
        move=move,
        turned_over=turned_over,
        lines=(begin.curve.transformed(move), end.curve.transformed(move)),
        ends=(begin.end, end.end),
    )


def _sectors(junction: Junction, pieces: Mapping[str, Piece]) -> Iterator[_Loose]:
    """The sectors of a junction, none laid yet."""
    legs = {ray for join in junction.joins if not join.seam for ray in (join.first, join.second)}
    for node, angle in zip(junction.corners, junction.angles, strict=True):
        piece = pieces[node[0]]
        corner = piece.corner(node[1])
        back, out = _round(piece, corner.station)
        coming, going = _neighbouring(piece, node[1])
        ahead, behind = (*node, "out") in legs, (*node, "in") in legs
        if ahead or behind:
            coming, going = mouth_lines(piece, node[1])
        before, after = at_corner(coming, going)
        yield _Loose(
            node,
            node[1],
            angle,
            corner.at,
            _Line(after, going if ahead else out, going.length),
            _Line(-before, coming.reversed() if behind else back, coming.length),
            upright(piece),
        )
    for stretch in junction.stretches:
        piece = pieces[stretch.node[0]]
        edge = piece.edge(stretch.edge)
        at = edge.point(stretch.station)
        along = edge.tangent(stretch.station) * (1 if edge.forward else -1)
        back, out = _round(piece, piece.outline.nearest(at).station)
        to_end = edge.length - stretch.station
        ahead_of, behind_of = (to_end, stretch.station) if edge.forward else (stretch.station, to_end)
        yield _Loose(
            stretch.node,
            "",
            180.0 * stretch.share,
            at,
            _Line(along, out, ahead_of),
            _Line(-along, back, behind_of),
            upright(piece),
        )


def upright(piece: Piece) -> Affine:
    """From the axes of the piece's file to y down."""
    return Affine.identity() if piece.y_down else Affine.scaling(1.0, -1.0)


def bounds_upright(piece: Piece, *lines: Curve) -> tuple[float, float, float, float]:
    """The bounds with y down of the piece's outline and of other lines in its file."""
    each = [line.bounds() for line in (piece.outline, *lines)]
    x0, y0 = min(box[0] for box in each), min(box[1] for box in each)
    x1, y1 = max(box[2] for box in each), max(box[3] for box in each)
    return (x0, y0, x1, y1) if piece.y_down else (x0, -y1, x1, -y0)


def _round(piece: Piece, station: float) -> tuple[Curve, Curve]:
    """The outline from a station half way round, counter-clockwise and clockwise."""
    half = piece.outline.length / 2
    across = (station + half) % piece.outline.length
    return piece.outline.between(across, station).reversed(), piece.outline.between(station, across)


def _neighbouring(piece: Piece, name: str) -> tuple[Curve, Curve]:
    """The outline from the corner before to this corner, and from it to the next."""
    corners = sorted(piece.corners, key=lambda corner: corner.station)
    k = next(k for k, corner in enumerate(corners) if corner.name == name)
    before, here, after = (corners[(k + step) % len(corners)].station for step in (-1, 0, 1))
    return piece.outline.between(before, here), piece.outline.between(here, after)


def _unit(degrees: float) -> complex:
    return complex(np.exp(1j * np.radians(degrees)))
