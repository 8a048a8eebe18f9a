"""Fits of the back of trousers that are seen at and under the seat, and down the leg."""

from __future__ import annotations

from typing import TYPE_CHECKING

from seamcheck.fits.fit import Fit, Sign
from seamcheck.fits.trousers import places, sketches
from seamcheck.fits.trousers.questions import CLOTH, FOLDS, LIFT, PLACE, SIDE, SITTING
from seamcheck.pattern.recipe import AlongCut, AtCorner, Extend, GiveBack, Hinge, Relief, Scoop

if TYPE_CHECKING:
    from seamcheck.fits.piece import FitPiece
    from seamcheck.pattern.recipe import Spot, Step

EIGHTH, QUARTER, HALF = 3.175, 6.35, 12.7  # mm


def _prominent_calf(piece: FitPiece, amount: float) -> tuple[Step, ...]:
    crotch = piece.along("crotch", round(0.32 * piece.length("crotch")), "inseam")
    return (
        Hinge(
            piece=piece.piece.name,
            opens=places.above_hem(piece, "outseam", 0.72),
            hinge=places.above_hem(piece, "inseam", 0.91),
            amount=-amount,
            reliefs=(Relief(AlongCut(0.5), crotch),),
            stays=piece.edge("hem").name,
            give_back=(GiveBack(piece.edge("outseam").name, piece.corner("outseam", "waist")),),
        ),
    )


PROMINENT_CALF = Fit(
    name="prominent-calf",
    title="Prominent calf",
    role="back",
    seen=(
        "Folds slant down the back of the leg, between seat and knee, from the inseam out and down to the outseam.",
        "The cloth there is loose, but it cannot fall: the leg of the trousers rests on the calf and is held back by it.",
        "Pinch up a strip of cloth across the back of the leg, low down about the knee and deepest at the outseam: the folds go.",
    ),
    alike=(
        (
            "flat-seat",
            "its folds lie right under the seat and slant up and outward; a strip pinched up at the knee leaves them",
        ),
        ("low-seat", "its folds lie level right under the seat, and are tight"),
        (
            "full-seat",
            "its folds radiate from the seat, and are tight; the cause of these here sits lower than the folds",
        ),
    ),
    first=QUARTER,
    most=HALF,
    amount="what is overlapped at the outseam",
    done=(
        "Cut along the slant of the folds, from the outseam below the knee up to a hinge on the inseam, and overlap at the outseam.",
        "Cut from the middle of that cut up to a hinge on the crotch seam; it opens, so that the paper lies flat.",
    ),
    given_back=("The outseam loses the amount; it is added at its waist end, so that it still meets the front.",),
    followed=(
        "The part above the cut turns: rule the grain anew through the part below, which stays.",
        "The waist keeps its length and is blended into the new side corner; the band keeps its own.",
    ),
    warnings=("Where the leg is narrow over the calf, this alone does not widen it: look at the width there first.",),
    signs=(
        Sign(PLACE, "back-of-leg", 4.0),
        Sign(PLACE, "under-seat", 0.5),
        Sign(FOLDS, "slanting-down", 3.0),
        Sign(LIFT, "goes", 3.0, "a strip pinched up about the knee clears folds that the calf makes"),
        Sign(
            LIFT,
            "stays",
            -4.0,
            "folds that stay when a strip is pinched up about the knee are not the calf's",
            decides=True,
        ),
        Sign(CLOTH, "loose", 1.0),
        Sign(SITTING, "stays", 0.5),
    ),
    source="common practice, no source, the move and its amounts alike; for room over the calf by slashing down the crease instead: "
    "patsypoomakes.blogspot.com, Carries revisited",
    steps=_prominent_calf,
    sketch=sketches.CALF,
)


def _into_inseam(piece: FitPiece) -> Spot:
    return piece.along("inseam", round(places.knee_height(piece)), "hem")


def extended(piece: FitPiece, amount: float) -> tuple[Step, ...]:
    """The end of the crotch seam led on by an amount, or cut back by one below nought, and the inseam blended to the knee."""
    return (
        Extend(
            piece=piece.piece.name,
            corner=piece.corner("crotch", "inseam"),
            along=piece.edge("crotch").name,
            amount=amount,
            blend=_into_inseam(piece),
        ),
    )


def _flat_seat(piece: FitPiece, amount: float) -> tuple[Step, ...]:
    return extended(piece, -amount)


FLAT_SEAT = Fit(
    name="flat-seat",
    title="Flat seat",
    role="back",
    seen=(
        "Folds right under the seat that slant up and outward, from the inseam towards the side.",
        "They are loose: there is more cloth than the seat fills, and it can be pinched and laid over.",
        "From the side the body runs straight down below the waist, and the cloth hangs off the seat.",
    ),
    alike=(
        ("low-seat", "its folds lie level and are tight; where a fold can be pinched it is none"),
        (
            "deep-torso",
            "its folds lie level in the middle and only their ends turn; the cloth is tight between front and back",
        ),
        ("full-seat", "its folds radiate and are tight in all directions"),
        ("prominent-calf", "its folds slant the other way, down and outward, and lie further down the leg"),
    ),
    first=QUARTER,
    most=HALF,
    amount="what is taken off the end of the crotch seam",
    done=(
        "Take the amount off the end of the back crotch seam, and redraw the inseam from there, running out to nothing at the knee.",
    ),
    given_back=(
        "Nothing. The inseam changes by a fraction of a mm at most; walk it, so that it still meets the front.",
    ),
    followed=("The thigh loses the amount at its top: walk the inseam against the front from the hem up.",),
    warnings=(
        "It takes in a wide thigh as well: where the thigh is right already, stop when it becomes tight.",
        "The back crotch seam becomes shorter; see that it still goes round the body in sitting.",
    ),
    signs=(
        Sign(PLACE, "under-seat", 4.0),
        Sign(PLACE, "back-of-leg", 0.5),
        Sign(FOLDS, "slanting-up", 3.0),
        Sign(CLOTH, "loose", 3.0),
        Sign(CLOTH, "tight", -4.0, "tight folds are no flat seat, which leaves too much cloth", decides=True),
        Sign(SIDE, "flat", 2.0),
        Sign(SITTING, "stays", 0.5),
        Sign(LIFT, "stays", 1.0),
    ),
    source="half an inch off the back inseam at the crotch, to nothing at the knee: roomforsewing.blogspot.com, Pants, really; the "
    "folds: common practice, no source",
    steps=_flat_seat,
    sketch=sketches.FLAT,
)


def _low_seat(piece: FitPiece, amount: float) -> tuple[Step, ...]:
    point, whole = places.crotch_point(piece), not piece.has("centre-back")
    start: Spot = (
        piece.along("crotch", round(0.52 * piece.length("crotch")), "inseam")
        if whole
        else AtCorner(piece.far_corner("crotch", "inseam"))
    )
    return (Scoop(piece=piece.piece.name, edge=piece.edge("crotch").name, start=start, end=point, amount=amount),)


LOW_SEAT = Fit(
    name="low-seat",
    title="Low seat",
    role="back",
    seen=(
        "Folds right under the seat that lie level, straight across the top of the leg.",
        "They are tight: the seat of the body hangs lower than the seat of the trousers, and pushes the cloth out there.",
        "Sitting down feels tight under the seat; the waist stays about where it is.",
    ),
    alike=(
        ("deep-torso", "the ends of its folds turn up or down; a deep body may need the scoop as well"),
        ("flat-seat", "its folds slant and are loose"),
        ("full-seat", "its folds radiate from the middle of the seat, and sitting pulls the back waist down"),
    ),
    first=QUARTER,
    most=HALF,
    amount="how much deeper the crotch curve is at its deepest",
    done=("Scoop the back crotch curve deeper, from its straight part back to the very same point of the inseam.",),
    given_back=("Nothing. Both ends of the curve stay, so inseam and centre back keep their lengths.",),
    followed=(
        "The crotch seam becomes longer; it is sewn to its own twin, so both sides stay alike.",
        "The corner at the inseam must stay square: the curve runs on into the front crotch.",
    ),
    warnings=(
        "A deeper scoop takes width from the seat at that level. Try it in cheap cloth first: the seam can be sewn deeper there and let "
        "out again, until you cut.",
    ),
    signs=(
        Sign(PLACE, "under-seat", 4.0),
        Sign(PLACE, "thigh", 0.5),
        Sign(PLACE, "seat", 0.5),
        Sign(FOLDS, "level", 3.0),
        Sign(CLOTH, "tight", 2.0),
        Sign(
            CLOTH, "loose", -3.0, "loose level folds are not pushed out by the seat: it is no low seat", decides=True
        ),
        Sign(SIDE, "low", 2.0),
        Sign(SITTING, "stays", 1.0),
        Sign(LIFT, "stays", 0.5),
    ),
    source="a scoop is in use, and disputed: sdbevpantsed.wordpress.com, Scooping the crotch; a quarter to half an inch: from memory; the "
    "folds: common practice, no source",
    steps=_low_seat,
    sketch=sketches.LOW,
)

DEEP_TORSO = Fit(
    name="deep-torso",
    title="Deep torso",
    role="back",
    seen=(
        "Folds under the seat that lie level in the middle, and whose ends turn up or down.",
        "They are tight: the body is deeper from front to back than it is wide, and the crotch seam is too short between the legs.",
        "From the side the body is deep; from the front it is narrow at the hip.",
    ),
    alike=(
        (
            "low-seat",
            "its folds are level to their very ends; where the scoop alone leaves the turned ends, this is needed as well",
        ),
        ("full-seat", "its folds radiate from the middle of the seat, and sitting pulls the back waist down"),
        ("flat-seat", "its folds are loose; this adds where that takes off"),
        ("front-crotch", "the same want of depth, but the folds fan out at the front"),
    ),
    first=QUARTER,
    most=19.05,
    amount="what is added to the end of the crotch seam",
    done=("Add the amount to the end of the back crotch seam, and blend the inseam from there, down to the knee.",),
    given_back=(
        "Nothing. The inseam changes by a fraction of a mm at most; walk it, so that it still meets the front.",
    ),
    followed=("The thigh gains the amount at its top: walk the inseam against the front from the hem up.",),
    warnings=("It may need the scoop of a low seat as well: make one change, look, and then the other.",),
    signs=(
        Sign(PLACE, "under-seat", 4.0),
        Sign(PLACE, "seat", 0.5),
        Sign(FOLDS, "level-turned", 3.0),
        Sign(FOLDS, "level", 0.5),
        Sign(CLOTH, "tight", 2.0),
        Sign(CLOTH, "loose", -3.0, "loose cloth asks for no more of it", decides=True),
        Sign(SIDE, "deep", 2.5),
        Sign(SITTING, "stays", 0.5),
        Sign(LIFT, "stays", 0.5),
    ),
    source="width added at the crotch point and blended to the knee: sunshinepatternco.com, Ultimate pants fit guide, and "
    "sewing-couture.com, Altering the crotch pattern; the folds and the amounts: common practice, no source",
    steps=extended,
    sketch=sketches.DEEP,
)


def _full_seat(piece: FitPiece, amount: float) -> tuple[Step, ...]:
    centre, side = places.across(piece, 0.55)
    return (Hinge(piece=piece.piece.name, opens=centre, hinge=side, amount=amount, stays=piece.edge("hem").name),)


FULL_SEAT = Fit(
    name="full-seat",
    title="Full seat",
    role="back",
    seen=(
        "Folds that radiate from the middle of the seat, up to the waist, out to the sides and down towards the legs.",
        "They are tight in all directions: the seat of the body needs more cloth than it has.",
        "Sitting pulls the back waist down; in standing the side seams may be drawn backward.",
    ),
    alike=(
        ("low-seat", "its folds lie level and only under the seat; the waist stays where it is in sitting"),
        ("deep-torso", "its folds lie level under the seat with turned ends; the waist stays where it is in sitting"),
        ("flat-seat", "its folds are loose: where a fold can be pinched, there is cloth enough"),
        ("crotch-depth", "too short a rise pulls the waist down all round, and cuts in at the front too"),
    ),
    first=HALF,
    most=38.1,
    amount="what is opened at the centre back",
    done=(
        "Cut straight across from the centre back, at the fullest of the seat and below the darts, to a hinge on the outseam, and "
        "spread the centre back.",
        "Redraw the centre back in one line over the gap.",
    ),
    given_back=("Nothing. The outseam keeps its length, since the hinge lies on its sew line.",),
    followed=(
        "All above the cut turns: waist, darts, and the grain there. The grain is ruled anew through the leg.",
        "The centre back seam gains the amount, and so does a lining.",
    ),
    warnings=("The outseam is left with a bend at the hinge: blend it, and walk it against the front.",),
    signs=(
        Sign(PLACE, "seat", 4.0),
        Sign(PLACE, "crotch", 0.5),
        Sign(PLACE, "under-seat", 2.0),
        Sign(FOLDS, "radiating", 3.0),
        Sign(CLOTH, "tight", 2.0),
        Sign(CLOTH, "loose", -3.0, "a seat that is too full for its cloth leaves none to pinch", decides=True),
        Sign(SITTING, "back-down", 2.0),
        Sign(SIDE, "round", 2.0),
        Sign(LIFT, "stays", 0.5),
    ),
    source="a quarter to half an inch at the centre back waist, nothing at the side: E. Tyroler, Sewing Pants for Women; the cut across "
    "the hip and up to 1 1/2 in: from memory; the folds: common practice, no source",
    steps=_full_seat,
    sketch=sketches.FULL,
)

FITS = (PROMINENT_CALF, FLAT_SEAT, LOW_SEAT, DEEP_TORSO, FULL_SEAT)
