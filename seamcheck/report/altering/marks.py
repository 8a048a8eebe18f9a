"""The places of a step as a person finds them on paper: lettered, each so far from a corner along the sew line, or from a notch."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from string import ascii_uppercase
from typing import TYPE_CHECKING

from seamcheck import amounts
from seamcheck.geometry.curve import Curve
from seamcheck.pattern.recipe import (
    AlongCut,
    AtCorner,
    DartMove,
    Extend,
    Hinge,
    Parallel,
    Scoop,
    Spot,
    Step,
    Taper,
    Wedge,
)
from seamcheck.pattern.spots import OnEdge, found

if TYPE_CHECKING:
    from seamcheck.altering.run import DoneStep
    from seamcheck.pattern.model import Piece

AT = 0.5  # mm: a place this near to a corner or a notch is that
NEAR = 150.0  # mm: a notch that is no farther helps to find a place


@dataclass(frozen=True, slots=True)
class Mark:
    """A place: its letter, its point in the axes of the file, and where it is, in words."""

    letter: str
    at: complex
    words: str


def cuts_of(done: DoneStep, ring: float) -> Iterator[Curve]:
    """The cuts of a step, on the piece as it is before it, in the axes of the file; with a ring of this radius round every hinge."""
    step, piece = done.step, done.before.pieces[done.step.piece]
    if isinstance(step, DartMove) and step.into is not None:
        tip = next(one for one in piece.darts if step.dart in one.corners).points[1]
        yield Curve.line(found(piece, step.into).at, tip)
        yield Curve.arc(tip, ring)
    if done.turned is None:
        return
    for cut in (done.turned.cut, *done.turned.reliefs):
        yield cut
        if isinstance(done.step, Hinge):
            yield Curve.arc(cut.end, ring)


def marks(step: Step, piece: Piece, cut: Curve | None, reliefs: Sequence[Curve]) -> tuple[Mark, ...]:
    """The places of a step on a piece as it is before it, in the order in which its sentences name them.

    `cut` is the line of the step's own cut, and `reliefs` those of its relief cuts, from the cut outwards.
    """
    places = list(_places(step, piece, cut, reliefs))
    return tuple(Mark(letter, at, words) for letter, (at, words) in zip(ascii_uppercase, places, strict=False))


def _places(step: Step, piece: Piece, cut: Curve | None, reliefs: Sequence[Curve]) -> Iterator[tuple[complex, str]]:
    if isinstance(step, Hinge):
        yield _on_edge(piece, step.opens)
        yield _on_edge(piece, step.hinge)
        for one, line in zip(step.reliefs, reliefs, strict=False):
            yield line.start, _on_cut(one.start, cut)
            yield _on_edge(piece, one.hinge)
    elif isinstance(step, Parallel):
        yield from (_on_edge(piece, spot) for spot in step.cut)
    elif isinstance(step, Scoop):
        yield from (_on_edge(piece, spot, step.edge) for spot in (step.start, step.end))
    elif isinstance(step, Extend):
        yield _on_edge(piece, AtCorner(step.corner))
        if step.blend is not None:
            yield _on_edge(piece, step.blend)
    elif isinstance(step, Taper):
        ends = () if step.end is None else (step.end,)
        yield from (_on_edge(piece, spot, step.edge) for spot in (step.start, step.peak, *ends))
    elif isinstance(step, Wedge):
        yield _on_edge(piece, step.start, step.edge)
        yield _on_edge(piece, AtCorner(step.corner), step.edge)
    elif isinstance(step, DartMove):
        dart = next(one for one in piece.darts if step.dart in one.corners)
        for name, at in zip(dart.corners, dart.points, strict=True):
            yield at, name
        if step.into is not None:
            yield _on_edge(piece, step.into)


def _on_cut(spot: AlongCut, cut: Curve | None) -> str:
    if abs(spot.share - 0.5) < 1e-9:
        return "half-way along the cut from A to B"
    far = "" if cut is None else f", {amounts.length(spot.share * cut.length)} from A"
    return f"on the cut from A to B{far}"


def _on_edge(piece: Piece, spot: Spot, edge: str | None = None) -> tuple[complex, str]:
    place = found(piece, spot, edge)
    if place.edge is None or isinstance(spot, AtCorner):
        return place.at, f"the corner {spot}"
    return place.at, _words(piece, place, getattr(spot, "corner", ""))


def _words(piece: Piece, place: OnEdge, corner: str) -> str:
    """Where on its edge a place is: from the corner that the recipe names, else the nearer one, and from a notch that is near."""
    edge, station = place.edge, place.station
    assert edge is not None
    if corner not in (edge.start, edge.end):
        corner = edge.start if station <= edge.length / 2 else edge.end
    far = station if corner == edge.start else edge.length - station
    if far < AT:
        return f"the corner {corner}"
    told = f"on {edge.name}, {amounts.length(far)} from {corner}"
    notch = min(edge.notches, key=lambda one: round(abs(one.station - station), 6), default=None)
    if notch is None or abs(notch.station - station) > NEAR:
        return told
    off = abs(notch.station - station)
    if off < AT:
        return f"the notch on {edge.name} {amounts.length(far)} from {corner}"
    towards = edge.start if station < notch.station else edge.end
    return f"{told}; that is {amounts.length(off)} from the notch there, towards {towards}"
