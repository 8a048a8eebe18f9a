"""Slash and hinge, and slash and spread: parts of a piece that turn about points of its sew line, or move apart.

hinge    the moved part turns about one end of the cut until the edge at the other end is as much longer or shorter as is wanted
relief   a second cut opens at the first, hinged at its outer end, by just so much that the open end of the first comes to lie on
         the line of its edge, so that the paper lies flat and the edge has no jog
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from seamcheck.altering.carry import carried
from seamcheck.altering.cutting import CannotCutError, Cutting, Part, halves, with_reliefs
from seamcheck.altering.solving import NoSolutionError, root, roots
from seamcheck.geometry.curve import Affine, Curve
from seamcheck.geometry.long_line import LongLine
from seamcheck.pattern.model import Piece
from seamcheck.pattern.recipe import AlongCut, AtCorner, Hinge, Parallel, Spot
from seamcheck.pattern.spots import NoSpotError, found
from seamcheck.truing.state import State

NEAR_CORNER = 0.5  # mm: an edge cannot be opened nearer to its end than this
MOST_TURN = 45.0  # degrees
PROBE = 0.5  # mm beside a cut, to see which part lies there
LEVEL = 0.05  # sine of an angle that is none
FARTHEST = 300.0  # mm: a line that a part comes to lie on is led on so far


@dataclass(frozen=True, slots=True, kw_only=True)
class Turned:
    """What a cut did: its line on the piece before, its relief cuts there, and the turn of each part that moved, in degrees.

    `turns` are as the file is seen, anticlockwise positive; the first is that of the part at the hinge. `joints` are the places of
    the outline after it at which parts meet: a point each, or both ends of a line that bridges them.
    """

    state: State
    cut: Curve
    reliefs: tuple[Curve, ...]
    turns: tuple[float, ...]
    joints: tuple[tuple[complex, ...], ...]


def hinged(state: State, step: Hinge) -> Turned:
    """The pattern with one piece slashed and hinged, taped down and not blended; CannotCutError where that cannot be."""
    piece = state.pieces[step.piece]
    opens, hinge = place(piece, step.opens, opens=True), place(piece, step.hinge)
    ring = piece.outline
    line, parts = halves(ring, opens, hinge)
    still = which_stays(piece, parts, step.stays)
    moving = parts[1 - still]
    reliefs = [(relief_start(one.start, line), place(piece, one.hinge)) for one in step.reliefs]
    subparts, cuts = with_reliefs(ring, line, moving, reliefs)
    first = abs(ring.point(moving.start) - ring.point(hinge)) < 1e-6  # whether the moved stretch begins at the hinge
    centres = [ring.point(hinge), *(cut.end for cut in (cuts if first else cuts[::-1]))]
    cutting = Cutting(ring, (parts[still], *subparts), (line, *cuts))
    # The joint at which the edge opens is behind the last moved part, or before the first.
    joint = len(subparts) if first else 0

    def moved(turns: Sequence[float]) -> Cutting:
        chain = _chain(centres, turns)
        return cutting.moved([Affine(), *(chain if first else chain[::-1])])

    def gained(turns: Sequence[float]) -> float:
        return moved(turns).taped().gained(joint) - step.amount

    if abs(step.amount) > line.length:
        raise CannotCutError(f"{abs(step.amount):.0f} mm is more than the cut is long")
    rest = [0.0] * len(reliefs)
    reach = min(4.0 * math.degrees(abs(step.amount) / line.length), MOST_TURN)
    try:
        turns = [root(lambda turn: gained([turn, *rest]), 0.0, reach), *rest]
        if reliefs:
            aside = _aside(cutting, moved, opens, first=first)
            turns = list(roots(lambda some: np.array([gained(some.tolist()), aside(some.tolist())]), np.array(turns)))
    except (NoSolutionError, ValueError) as error:
        raise CannotCutError(f"the part cannot be turned so that the edge comes out {_way(step.amount)}") from error
    flip = -1.0 if piece.y_down else 1.0
    summed = [flip * float(turn) for turn in np.cumsum(turns)]
    return _turned(state, step.piece, moved(turns), line, cuts if first else cuts[::-1], tuple(summed))


def _way(amount: float) -> str:
    return f"{abs(amount):.1f} mm {'longer' if amount > 0 else 'shorter'}"


def _chain(centres: Sequence[complex], turns: Sequence[float]) -> list[Affine]:
    """The motions of parts that hang on one another, from the hinge on: each turns about a point of the one before, as that has gone."""
    motions: list[Affine] = []
    for centre, turn in zip(centres, turns, strict=True):
        last = motions[-1] if motions else Affine()
        motions.append(Affine.rotation(turn, about=complex(last.apply(centre))) @ last)
    return motions


def _aside(
    cutting: Cutting, moved: Callable[[Sequence[float]], Cutting], opens: float, *, first: bool
) -> Callable[[Sequence[float]], float]:
    """How far turns take the open end beside the line of its own edge, led on straight past the cut; in mm."""
    ring, still = cutting.outline, cutting.parts[0]
    edge = ring.between(still.start % ring.length, still.end % ring.length)
    line, at = LongLine(edge, FARTHEST).drawn_on, ring.point(opens)

    def aside(turns: Sequence[float]) -> float:
        end = complex(moved(turns).parts[-1 if first else 1].motion.apply(at))
        near = line.nearest(end)
        return float(((end - near.point) * (1j * line.tangent(near.station)).conjugate()).real)

    return aside


def parted(state: State, step: Parallel) -> Turned:
    """The pattern with one piece cut across and its parts moved apart or together, taped down and not blended."""
    piece = state.pieces[step.piece]
    a, b = place(piece, step.cut[0], opens=True), place(piece, step.cut[1], opens=True)
    ring = piece.outline
    line, parts = halves(ring, a, b)
    still = which_stays(piece, parts, step.stays)
    across = line.tangent(0.0) * 1j
    if step.by_grain:
        arrow = max(piece.grainlines, key=lambda one: one.length, default=None)
        if arrow is None or arrow.length <= 0:
            raise CannotCutError(f"{piece.name} has no grain arrow to go along")
        way = arrow.points[-1] - arrow.points[0]
        across = way / abs(way)
    beyond = line.tangent(0.0) * 1j
    beyond = beyond if parts[1 - still].border.contains(line.point(line.length / 2) + PROBE * beyond) else -beyond
    if abs((across * beyond.conjugate()).real) < LEVEL:
        raise CannotCutError("the cut runs along the grain arrow, so its parts cannot part along that")
    across = across if (across * beyond.conjugate()).real > 0 else -across
    move = Affine.translation(across * step.amount)
    motions = [Affine(), Affine()]
    motions[1 - still] = move
    cutting = Cutting(ring, parts, (line,)).moved(motions)
    return _turned(state, step.piece, cutting, line, (), (0.0,))


def _turned(
    state: State, name: str, cutting: Cutting, line: Curve, reliefs: tuple[Curve, ...], turns: tuple[float, ...]
) -> Turned:
    try:
        new = carried(state, name, cutting)
    except ValueError as error:
        raise CannotCutError(f"the parts cannot be taped down ({error})") from error
    return Turned(state=new, cut=line, reliefs=reliefs, turns=turns, joints=tuple(cutting.taped().joint_places))


def place(piece: Piece, spot: Spot, *, opens: bool = False) -> float:
    """The station of a spot on the outline of its piece; an edge that opens must do so away from its ends."""
    here = found(piece, spot)
    if here.edge is None:
        raise NoSpotError(f"{spot} lies within {piece.name}, and a cut runs from edge to edge")
    if here.edge.inside:
        raise NoSpotError(
            f"{piece.name}.{here.edge.name} is drawn within the piece, and a cut runs from edge to edge"
        )
    if opens and (isinstance(spot, AtCorner) or not NEAR_CORNER <= here.station <= here.edge.length - NEAR_CORNER):
        raise NoSpotError(f"{spot} is a corner of {piece.name}: a cut opens on an edge, away from its ends")
    return piece.outline.nearest(here.at).station


def relief_start(start: AlongCut, line: Curve) -> float:
    """Where on a cut a relief begins, in mm from the end that opens."""
    if not 0.0 < start.share < 1.0:
        raise NoSpotError(f'"{start}": a relief cut begins between the ends of the cut, from 0 to 1')
    return start.share * line.length


def which_stays(piece: Piece, parts: Sequence[Part], stays: str) -> int:
    """The number of the part that lies still: the one that holds an edge or corner, else the one that most of the grain arrow runs through."""
    if stays:
        return _holding(piece, parts, stays)
    grain = max(piece.grainlines, key=lambda one: one.length, default=None)
    if grain is not None and grain.length > 0:
        line = Curve.polyline(grain.points)
        shares = [
            sum(part.border.contains(line.point(line.length * (k + 0.5) / 32)) for k in range(32)) for part in parts
        ]
        if shares[0] != shares[1]:
            return int(shares[1] > shares[0])
    areas = [abs(part.border.signed_area()) for part in parts]
    return int(areas[1] > areas[0])


def _holding(piece: Piece, parts: Sequence[Part], stays: str) -> int:
    edges = {edge.name: edge for edge in piece.edges}
    if stays in edges:
        ends = [edges[stays].point(share * edges[stays].length) for share in (0.001, 0.5, 0.999)]
    else:
        ends = [found(piece, AtCorner(stays)).at]
    held = [all(_holds(piece, part, at) for at in ends) for part in parts]
    if held[0] == held[1]:
        raise CannotCutError(f"{stays} does not lie on one side of the cut alone, so it cannot be what stays")
    return int(held[1])


def _holds(piece: Piece, part: Part, at: complex) -> bool:
    total = piece.outline.length
    ahead = (piece.outline.nearest(at).station - part.start) % total
    return 1e-6 < ahead < (part.end - part.start) % total - 1e-6
