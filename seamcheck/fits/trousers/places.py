"""Where a fit is made by default, from the proportions of the piece: whole mm, which a person finds with a tape.

rise   how much longer the outseam is than the inseam: the height of the seat, and the same on a front and its back
knee   the knee notches, or what is usual where there are none
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from typing import TYPE_CHECKING

from seamcheck.pattern.recipe import AlongEdge, AtCorner

if TYPE_CHECKING:
    from seamcheck.fits.piece import FitPiece

KNEE = 0.56  # of the inseam, from the hem: half of it and two inches more on a leg of usual length; common practice, no source
NEAR = 0.08  # of the inseam: a notch that near to there is the knee's
MARGIN = 25.0  # mm: a cut ends so far from the ends of an edge, which leaves room to blend it
CLEAR = 8.0  # mm: a cut passes below the tip of a dart by as much, so that the dart stays whole


def rise(piece: FitPiece) -> float:
    """The height of the seat in mm."""
    return piece.length("outseam") - piece.length("inseam")


def below_waist(piece: FitPiece, share: float) -> AlongEdge:
    """A spot on the outseam, at a share of the rise below the waist."""
    return piece.along("outseam", round(share * rise(piece)), "waist")


def across(piece: FitPiece, share: float) -> tuple[AlongEdge, AlongEdge]:
    """The ends of a level cut at a share of the rise below the waist, on the centre and on the outseam.

    It lies lower where it would run through a dart, or end beside the end of an edge.
    """
    return _level(piece, _clear_depth((piece,), share))


def across_both(piece: FitPiece, share: float) -> tuple[AlongEdge, AlongEdge]:
    """The same at one level on the front and the back of a leg, clear on both."""
    from seamcheck.fits.piece import LacksRoleError

    pieces = [piece]
    with suppress(LacksRoleError):
        pieces.append(piece.other("front" if piece.role == "back" else "back"))
    return _level(piece, _clear_depth(pieces, share))


def slanting(piece: FitPiece, at_centre: float, at_side: float) -> tuple[AlongEdge, AlongEdge]:
    """The ends of a cut so far below the waist, as shares of the rise along each edge; both lower where darts ask for it."""
    ends = [round(share * rise(piece)) for share in (at_centre, at_side)]
    for lower in range(max(0, round(rise(piece) - MARGIN) - max(ends))):
        centre, side = (
            piece.along(role, end + lower, "waist") for role, end in zip(("centre", "outseam"), ends, strict=True)
        )
        if _clears_darts(piece, piece.at(centre), piece.at(side)):
            return centre, side
    return piece.along("centre", ends[0], "waist"), piece.along("outseam", ends[1], "waist")


def above_hem(piece: FitPiece, role: str, share: float) -> AlongEdge:
    """A spot on outseam or inseam at a share of the height of the knee above the hem."""
    return piece.along(role, round(share * knee_height(piece)), "hem")


def knee_height(piece: FitPiece) -> float:
    """How far the knee is above the hem, along the inseam in mm."""
    inseam = piece.edge("inseam")
    from_start = inseam.start == piece.corner("inseam", "hem")
    usual = KNEE * inseam.length
    heights = [notch.station if from_start else inseam.length - notch.station for notch in inseam.notches]
    near = [height for height in heights if abs(height - usual) <= NEAR * inseam.length]
    return min(near, key=lambda height: round(abs(height - usual), 6), default=usual)


def crotch_point(piece: FitPiece) -> AtCorner:
    """Where crotch and inseam meet."""
    return AtCorner(piece.corner("crotch", "inseam"))


def _clear_depth(pieces: Sequence[FitPiece], share: float) -> int:
    """How far below the waist a level cut lies, along the outseam in mm: at a share of the first piece's rise, or as little lower as can be."""
    first = round(share * rise(pieces[0]))
    lowest = round(rise(pieces[0]) - MARGIN)
    return next((deep for deep in range(first, lowest) if all(_is_clear(piece, deep) for piece in pieces)), first)


def _is_clear(piece: FitPiece, deep: int) -> bool:
    centre, side = _level(piece, deep)
    edge = next(edge for edge in piece.piece.edges if edge.name == centre.edge)
    inside = MARGIN <= centre.amount <= edge.length - MARGIN
    return inside and _clears_darts(piece, piece.at(centre), piece.at(side))


def _level(piece: FitPiece, deep: int) -> tuple[AlongEdge, AlongEdge]:
    side = piece.along("outseam", deep, "waist")
    return _centre_level_with(piece, side), side


def _centre_level_with(piece: FitPiece, side: AlongEdge) -> AlongEdge:
    """The spot at the level of one on the outseam, on whichever edge of the centre is there."""
    from seamcheck.fits.piece import LacksRoleError

    try:
        return _whole(piece.level(side, "centre"))
    except LacksRoleError:
        return _whole(piece.level(side, "crotch"))


def _whole(spot: AlongEdge) -> AlongEdge:
    return AlongEdge(spot.edge, round(spot.amount), spot.corner)


def _clears_darts(piece: FitPiece, one: complex, other: complex) -> bool:
    """Whether the tip of every dart lies above the line between two points, and clear of it."""
    up = piece.up
    line = (other - one) * up.conjugate()  # its height is real, its way sideways imaginary
    for dart in piece.darts:
        tip = (dart.points[1] - one) * up.conjugate()
        if tip.real - line.real * tip.imag / line.imag < CLEAR:
            return False
    return True
