"""Fits of the front of trousers: over the tummy, and where the legs begin."""

from __future__ import annotations

from typing import TYPE_CHECKING

from seamcheck.fits.fit import Fit, Sign
from seamcheck.fits.trousers import places, sketches
from seamcheck.fits.trousers.back import HALF, QUARTER, extended
from seamcheck.fits.trousers.questions import CLOTH, CROTCH, FOLDS, PLACE, SIDE, SITTING
from seamcheck.pattern.recipe import Hinge

if TYPE_CHECKING:
    from seamcheck.fits.piece import FitPiece
    from seamcheck.pattern.recipe import Step


def _full_tummy(piece: FitPiece, amount: float) -> tuple[Step, ...]:
    centre, side = places.across(piece, 0.35)
    return (Hinge(piece=piece.piece.name, opens=centre, hinge=side, amount=amount, stays=piece.edge("hem").name),)


FULL_TUMMY = Fit(
    name="full-tummy",
    title="Full tummy",
    role="front",
    seen=(
        "Folds that radiate from the tummy, out to the hips and down towards the crotch.",
        "They are tight; the front waist is pulled down, or the band rolls over, above all in sitting.",
        "The side seams are drawn forward at the waist, and pockets in them gape.",
    ),
    alike=(
        ("front-crotch", "its folds fan out from the crotch point, and the front waist stays where it is"),
        ("crotch-depth", "too short a rise pulls the waist down all round, and cuts in behind too"),
        ("full-seat", "there it is the back waist that is pulled down, and the side seams are drawn backward"),
    ),
    first=QUARTER,
    most=25.4,
    amount="what is opened at the centre front",
    done=(
        "Cut straight across from the centre front, at the fullest of the tummy and below any dart, to a hinge on the outseam, and "
        "spread the centre front.",
        "Redraw the centre front in one line over the gap.",
    ),
    given_back=("Nothing. The outseam keeps its length, since the hinge lies on its sew line.",),
    followed=(
        "The centre front gains the amount: so do the fly, its shield and facing, and the zip, which may have to be longer.",
        "Pockets that the cut runs through are drawn anew; the centre front must meet the waist square again.",
    ),
    warnings=("It adds height and no width: where the waist is too tight as well, let out the side seams first.",),
    signs=(
        Sign(PLACE, "tummy", 4.0),
        Sign(PLACE, "crotch", 0.5),
        Sign(PLACE, "front-crotch", 0.5),
        Sign(FOLDS, "radiating", 2.5),
        Sign(CLOTH, "tight", 2.0),
        Sign(CLOTH, "loose", -3.0, "a tummy that is too full for its cloth leaves none to pinch", decides=True),
        Sign(SITTING, "front-down", 3.0),
        Sign(SIDE, "tummy", 2.0),
    ),
    source="a cut across the front, opened at the centre front, half an inch to an inch: from memory; a quarter to begin with and the "
    "folds: common practice, no source",
    steps=_full_tummy,
    sketch=sketches.TUMMY,
)

FRONT_CROTCH = Fit(
    name="front-crotch",
    title="Front crotch",
    role="front",
    seen=(
        "Folds that fan out from where the legs begin, up and out across the front, like whiskers.",
        "They are tight: the front crotch seam is too short between the legs.",
        "Spreading the legs or sitting draws them sharper; the waist stays where it is.",
    ),
    alike=(
        ("full-tummy", "its folds come from the tummy, and the front waist is pulled down"),
        ("crotch-depth", "there it cuts in before and behind alike, and the waist is pulled down all round"),
        ("full-thigh", "its folds lie level round the thigh, before and behind"),
        ("deep-torso", "the same want of depth, but the folds lie under the seat"),
    ),
    first=QUARTER,
    most=HALF,
    amount="what is added to the end of the front crotch seam",
    minus="takes as much off: for upright folds at the front that hang loose below the fly, where there is more cloth than body",
    done=("Add the amount to the end of the front crotch seam, and blend the inseam from there, down to the knee.",),
    given_back=(
        "Nothing. The inseam changes by a fraction of a mm at most; walk it, so that it still meets the back.",
    ),
    followed=("The front thigh gains the amount at its top: walk the inseam against the back from the hem up.",),
    warnings=("The corner at the inseam must stay square: the curve runs on into the back crotch.",),
    signs=(
        Sign(PLACE, "front-crotch", 4.0),
        Sign(PLACE, "thigh", 0.5),
        Sign(PLACE, "tummy", 0.5),
        Sign(FOLDS, "radiating", 3.0),
        Sign(FOLDS, "upright", 2.0, "upright folds there that hang loose ask for less cloth", minus=True),
        Sign(CLOTH, "tight", 2.0),
        Sign(CLOTH, "loose", 1.0, "where it is loose, take off instead of adding", minus=True),
        Sign(SITTING, "stays", 1.0),
        Sign(SIDE, "even", 0.5),
        Sign(CROTCH, "right", 0.5),
    ),
    source="width added or taken at the top of the front inseam and blended down the thigh: sunshinepatternco.com, Ultimate pants fit "
    "guide; the folds and the amounts: common practice, no source",
    steps=extended,
    sketch=sketches.FRONT_CROTCH,
)

FITS = (FULL_TUMMY, FRONT_CROTCH)
