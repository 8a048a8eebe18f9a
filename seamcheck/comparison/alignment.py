"""Two outlines of one piece laid into one frame, x right and y up, both clockwise; and places on them in words.

A piece that was turned over in the file is turned back here, so that all that follows need not know of it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from seamcheck.comparison.changes import OutlinePlace
from seamcheck.geometry.curve import Affine, Curve
from seamcheck.geometry.fitting import best_fits
from seamcheck.pattern.model import Piece

UPRIGHT = Affine(0j, 1 + 0j, 0j)  # from y down to y up, and back
AT_CORNER = 0.02  # mm


@dataclass(frozen=True, slots=True)
class OutlineSpan:
    """A stretch of outline that belongs to an edge: clockwise from `start`, `length` mm; `offset` on the edge."""

    edge: str
    start: float
    length: float
    forward: bool
    offset: float


@dataclass(frozen=True)
class View:
    """One piece as it is seen in the frame. `to_frame` leads there from the axes of its file."""

    piece: Piece
    curve: Curve
    to_frame: Affine
    turned_over: bool
    spans: tuple[OutlineSpan, ...]

    @property
    def total(self) -> float:
        """The length of the outline."""
        return self.curve.length

    def station(self, in_file: float) -> float:
        """A station of the file's outline in the frame, and the other way round."""
        return (-in_file if self.turned_over else in_file) % self.total

    @property
    def corners(self) -> Mapping[str, float]:
        """The corners with their stations in the frame."""
        return {corner.name: self.station(corner.station) for corner in self.piece.corners}

    def place(self, station: float, edge: str = "") -> OutlinePlace:
        """A station of the frame as a place: on `edge` where it lies there, else on any edge."""
        station %= self.total
        in_file = self.station(station)
        at = self.piece.outline.point(in_file)
        hits = [
            span
            for span in self.spans
            if (in_file - span.start + AT_CORNER) % self.total <= span.length + 2 * AT_CORNER
        ]
        hits = [span for span in hits if span.edge == edge] or hits
        if not hits:
            return OutlinePlace(station=in_file, at=at)
        span = hits[0]
        ahead = (in_file - span.start + AT_CORNER) % self.total - AT_CORNER
        whole = self.piece.edge(span.edge)
        along = (span.offset + (ahead if span.forward else span.length - ahead)) * whole.smoothing
        along = min(max(along, 0.0), whole.length)
        near_start = along <= whole.length / 2
        return OutlinePlace(
            station=in_file,
            at=at,
            edge=span.edge,
            along=along,
            corner=whole.start if near_start else whole.end,
            distance=along if near_start else whole.length - along,
        )

    def edge_between(self, start: float, stop: float) -> str:
        """The edge on which the middle of a stretch of the frame lies, "" on none."""
        return self.place(start + ((stop - start) % self.total) / 2).edge


def views(before: Piece, after: Piece) -> tuple[View, View]:
    """Both pieces in one frame; which is the place of the piece as it is now."""
    upright = [UPRIGHT if piece.y_down else Affine.identity() for piece in (before, after)]
    mirrored = turned_over(before, after)
    to_frame = UPRIGHT @ upright[0] if mirrored else upright[0]
    return _view(before, to_frame, mirrored), _view(after, upright[1], False)


def _view(piece: Piece, to_frame: Affine, over: bool) -> View:
    curve = piece.outline.transformed(to_frame)
    return View(piece, curve.reversed() if over else curve, to_frame, over, tuple(_spans(piece)))


def turned_over(before: Piece, after: Piece) -> bool:
    """Whether the piece was turned over: its corners, by name, fit better as in a mirror."""
    names = [corner.name for corner in before.corners if any(corner.name == other.name for other in after.corners)]
    if len(names) < 3:
        return False
    source = np.array([before.corner(name).at for name in names])
    target = np.array([after.corner(name).at for name in names])
    if before.y_down != after.y_down:
        target = np.conj(target)
    mirrored = np.array([False, True])
    fits = best_fits(source, np.stack([target, target]), mirrored=mirrored, scaled=np.zeros(2, dtype=bool))
    as_is, turned = (float(np.log1p(np.abs(fit.apply(source) - target) ** 2).sum()) for fit in fits)
    return turned < as_is - 1.0


def _spans(piece: Piece) -> Iterator[OutlineSpan]:
    total = piece.outline.length
    for edge in sorted(piece.edges, key=lambda edge: not edge.named):
        if edge.inside:
            continue
        try:
            breaks = [(piece.corner(a).station, piece.corner(b).station) for a, b in edge.breaks]
            at = piece.corner(edge.start).station
        except KeyError:
            continue
        offset = 0.0
        for run, (_, beyond) in zip(edge.runs, [*breaks, (0.0, 0.0)], strict=False):
            start = at if edge.forward else (at - run.length) % total
            yield OutlineSpan(edge.name, start % total, run.length, edge.forward, offset)
            offset += run.length
            at = beyond
