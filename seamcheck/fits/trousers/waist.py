"""Fits of the back waist of trousers: cloth that pools under it, and a band that stands away."""

from __future__ import annotations

from typing import TYPE_CHECKING

from seamcheck.fits.fit import Fit, Sign
from seamcheck.fits.trousers import places, sketches
from seamcheck.fits.trousers.back import EIGHTH, QUARTER
from seamcheck.fits.trousers.questions import BAND, CLOTH, FOLDS, PLACE, SIDE, SITTING
from seamcheck.pattern.recipe import AlongEdge, AtCorner, DartMove, Hinge, Taper

if TYPE_CHECKING:
    from seamcheck.fits.piece import FitPiece
    from seamcheck.pattern.recipe import Step


def _sway_back(piece: FitPiece, amount: float) -> tuple[Step, ...]:
    centre, side = places.slanting(piece, 0.6, 0.33)
    return (Hinge(piece=piece.piece.name, opens=centre, hinge=side, amount=-amount, stays=piece.edge("hem").name),)


SWAY_BACK = Fit(
    name="sway-back",
    title="Sway back",
    role="back",
    seen=(
        "Cloth pools in the small of the back: level folds that sag in the middle, just under the waistband.",
        "They are loose, and can be pinched up into one fold that is deepest at the centre back and runs out to nothing at the sides.",
        "The waist itself lies close, or nearly so.",
    ),
    alike=(
        ("sway-back-quick", "there the waist stands off as well: taking it in there clears both"),
        ("gaping-waistband", "there only the band stands off, and no cloth pools below it"),
        ("full-seat", "its folds under the waist are tight, and point to the seat"),
    ),
    first=QUARTER,
    most=19.05,
    amount="what is overlapped at the centre back",
    done=(
        "Cut from the centre back on a slant up to a hinge on the outseam, below the darts, and overlap at the centre back.",
        "Redraw the centre back in one line across the overlap.",
    ),
    given_back=(
        "Nothing. The outseam keeps its length, and the waist too. The centre back seam is shorter by the amount.",
    ),
    followed=(
        "All above the cut turns: waist, darts, and the grain there. The grain is ruled anew through the leg.",
        "The centre back must meet the waist square again.",
    ),
    warnings=("In sitting the back needs its length: sit down in the trial before you take more.",),
    signs=(
        Sign(PLACE, "small-of-back", 4.0),
        Sign(FOLDS, "level", 2.0),
        Sign(CLOTH, "loose", 2.0),
        Sign(
            CLOTH,
            "tight",
            -3.0,
            "tight folds there point to the seat or the tummy, not to a hollow back",
            decides=True,
        ),
        Sign(BAND, "close", 3.0, "the waist fits, so only the height at the centre back is to be taken"),
        Sign(SIDE, "hollow", 2.0),
        Sign(SITTING, "stays", 1.0),
    ),
    source="a wedge out of the centre back waist, nothing at the side: petitmainsauvage.blogspot.com, To answer a question; a quarter to "
    "half an inch to begin with: common practice, no source",
    steps=_sway_back,
    sketch=sketches.SWAY,
)


def _sway_back_quick(piece: FitPiece, amount: float) -> tuple[Step, ...]:
    from seamcheck.fits.piece import LacksRoleError

    if not piece.darts:
        raise LacksRoleError(
            f"{piece.piece.name} has no dart to share the amount with; choose sway-back, which needs none"
        )
    centre = piece.edge("centre").name
    part = amount / 3 / len(piece.darts)  # a third in the darts of each half
    return (
        *(DartMove(piece=piece.piece.name, dart=dart.corners[1], deeper=part) for dart in piece.darts),
        Taper(
            piece=piece.piece.name,
            edge=centre,
            start=piece.along("centre", round(0.6 * places.rise(piece)), "waist"),
            peak=AtCorner(piece.corner("centre", "waist")),
            amount=-amount / 6,
        ),
    )


SWAY_BACK_QUICK = Fit(
    name="sway-back-quick",
    title="Sway back, the quick way",
    role="back",
    seen=(
        "Cloth pools in the small of the back, as on a sway back: loose level folds just under the waistband.",
        "The waist stands off the body there, the band and the trousers below it.",
        "Pinch the waist together at the centre back: band and folds come to lie close.",
    ),
    alike=(
        ("sway-back", "there the waist lies close: taking it in would make it too tight"),
        ("gaping-waistband", "there only the band stands off; the waist of the trousers is right"),
    ),
    first=19.05,
    most=38.1,
    amount="what the whole back waist loses, left and right together",
    done=(
        "Take the amount out of the back waist in three equal parts: one in each back dart, made deeper, and one in the centre back "
        "seam, half of it on either side, running out to nothing at the seat.",
    ),
    given_back=("Nothing.",),
    followed=(
        "The band loses the amount too, at the back, and so does its facing.",
        "The legs of each dart must be equal again, and the waist run on over the closed dart.",
    ),
    warnings=("Above about two inches two darts are not enough: four share it better.",),
    signs=(
        Sign(PLACE, "small-of-back", 4.0),
        Sign(PLACE, "waistband", 1.0),
        Sign(FOLDS, "level", 1.5),
        Sign(CLOTH, "loose", 2.0),
        Sign(CLOTH, "tight", -3.0, "where it is tight nothing can be taken in", decides=True),
        Sign(BAND, "waist", 3.0, "the waist stands off as a whole, so there is width to take out of it"),
        Sign(SIDE, "hollow", 2.0),
        Sign(SITTING, "stands-away", 1.0),
    ),
    source="shared between two darts, four where more than two inches must go: naomifata.net, Perfect fit waist for jeans; three equal "
    "parts: common practice, no source",
    steps=_sway_back_quick,
    sketch=sketches.QUICK,
)

PLACES = (0.38, 0.68)  # of the half band, from the centre back: where a contoured band curves most


def _gaping_waistband(piece: FitPiece, amount: float) -> tuple[Step, ...]:
    name, upper, lower = piece.piece.name, piece.edge("upper"), piece.edge("lower")
    shares: tuple[float, ...] = PLACES
    middle = next((role for role in ("fold", "centre-back") if piece.has(role)), None)
    if middle is not None:
        starts = piece.corner("upper", middle), piece.corner("lower", middle)
        stays = piece.edge(middle).name
    else:  # all round in one: its back is the middle half
        starts, stays = (upper.start, _corner_beside(piece, upper.start)), ""
        shares = tuple(0.5 + way * share / 4 for way, share in ((-1, 0.68), (-1, 0.38), (1, 0.38), (1, 0.68)))
    return tuple(
        Hinge(
            piece=name,
            opens=AlongEdge(upper.name, share, starts[0], share=True),
            hinge=AlongEdge(lower.name, share, starts[1], share=True),
            amount=-amount,
            stays=stays,
        )
        for share in shares
    )


def _corner_beside(piece: FitPiece, corner: str) -> str:
    """The end of the lower edge at the same end of the band as a corner of the upper one."""
    lower, upper = piece.edge("lower"), piece.edge("upper")
    at = upper.point(0.0 if corner == upper.start else upper.length)
    ends = {lower.start: lower.point(0.0), lower.end: lower.point(lower.length)}
    return min(ends, key=lambda name: round(abs(ends[name] - at), 6))


GAPING_WAISTBAND = Fit(
    name="gaping-waistband",
    title="Gaping waistband",
    role="back waistband",
    seen=(
        "The band stands away from the body at the back when sitting, however tight the rest is.",
        "In standing it may lie close; below it no cloth pools, and the waist of the trousers fits.",
        "The upper edge of the band is too long for the body, which narrows there; its lower edge is right.",
    ),
    alike=(
        ("sway-back-quick", "there the trousers stand off with the band"),
        ("sway-back", "there cloth pools below the band, which itself lies close"),
        ("full-seat", "there the back waist is pulled down in sitting; the band does not stand away"),
    ),
    first=EIGHTH,
    most=QUARTER,
    amount="what is overlapped at each of the cuts",
    done=(
        "Cut the band from its upper edge to a hinge on its lower edge in two places, where it curves most, and overlap a little at "
        "each. In more places where more must go: less at each keeps the curve smooth.",
    ),
    given_back=("Nothing. The lower edge, which is sewn to the trousers, keeps its length.",),
    followed=("The facing of the band is cut and overlapped in the same places.",),
    warnings=("A straight band folded over has no upper edge to shorten: it must become a shaped band first.",),
    signs=(
        Sign(PLACE, "waistband", 4.0),
        Sign(PLACE, "small-of-back", 0.5),
        Sign(FOLDS, "none", 2.0),
        Sign(CLOTH, "loose", 0.5),
        Sign(BAND, "alone", 3.0, "the band alone stands off, so the band alone is altered"),
        Sign(SITTING, "stands-away", 3.0),
        Sign(SIDE, "hollow", 0.5),
    ),
    source="common practice, no source",
    steps=_gaping_waistband,
    sketch=sketches.BAND,
)

FITS = (SWAY_BACK, SWAY_BACK_QUICK, GAPING_WAISTBAND)
