"""Fits of both the front and the back of a leg, cut alike at one level: how the legs stand, how wide, how high and how long they are."""

from __future__ import annotations

from typing import TYPE_CHECKING

from seamcheck.fits.fit import Fit, Sign
from seamcheck.fits.trousers import places, sketches
from seamcheck.fits.trousers.back import HALF, QUARTER
from seamcheck.fits.trousers.questions import CLOTH, CROTCH, FOLDS, KNEES, LENGTH, PLACE, SITTING
from seamcheck.pattern.recipe import Hinge, Parallel, Taper

if TYPE_CHECKING:
    from seamcheck.fits.piece import FitPiece
    from seamcheck.pattern.recipe import Step

BELOW_KNEE = 0.94  # of the height of the knee: a cut so far above the hem stays clear of the knee notches
CALF = 0.5  # of it: where a leg is made longer or shorter


def _hinged_at_knee(piece: FitPiece, opens: str, hinge: str, amount: float) -> tuple[Step, ...]:
    return (
        Hinge(
            piece=piece.piece.name,
            opens=places.above_hem(piece, opens, BELOW_KNEE),
            hinge=places.above_hem(piece, hinge, BELOW_KNEE),
            amount=amount,
            stays=piece.edge("hem").name,
        ),
    )


def _knock_knees(piece: FitPiece, amount: float) -> tuple[Step, ...]:
    return _hinged_at_knee(piece, "inseam", "outseam", amount)


def _bow_legs(piece: FitPiece, amount: float) -> tuple[Step, ...]:
    return _hinged_at_knee(piece, "outseam", "inseam", amount)


_AT_KNEE = (
    "The grain is broken at the knee: rule it anew through the middle of knee and hem, from the leg below, which stays.",
    "Front and back are cut at the same level by the same amount; else one seam is longer than its mate by it.",
)
KNOCK_KNEES = Fit(
    name="knock-knees",
    title="Knock knees",
    role="back",
    also=("front",),
    seen=(
        "Tight folds run from the inside of the knee, slanting down and outward; above them loose cloth stands out at the outside.",
        "The crease swings inward at the knee, and the hem rides up at the inseam.",
        "With the legs brought together the knees meet before the ankles.",
    ),
    alike=(
        ("bow-legs", "there the ankles meet before the knees, and the tight folds begin at the outside"),
        ("prominent-calf", "its folds lie above the knee, at the back alone"),
    ),
    first=QUARTER,
    most=19.05,
    amount="what is opened at the inseam",
    done=(
        "Cut straight across just below the knee, from the inseam to a hinge on the outseam, and spread the inseam.",
    ),
    given_back=("Nothing. The outseams keep their length, and both inseams gain the amount alike.",),
    followed=_AT_KNEE,
    signs=(
        Sign(PLACE, "knee", 4.0),
        Sign(FOLDS, "slanting-down", 1.0),
        Sign(KNEES, "knees", 4.0, "the knees meet first"),
        Sign(KNEES, "ankles", -4.0, "where the ankles meet first the legs are bowed", decides=True),
        Sign(KNEES, "both", -2.0, "where both meet at once the legs are straight"),
    ),
    source="more cloth inside the knee and less outside: G. Hertzer, Garment Cutting in the Twentieth Century, p. 11; the cut with a "
    "hinge, its amounts and the folds: common practice, no source",
    steps=_knock_knees,
    sketch=sketches.KNOCK,
)
BOW_LEGS = Fit(
    name="bow-legs",
    title="Bow legs",
    role="back",
    also=("front",),
    seen=(
        "Tight folds run from the outside of the knee, slanting down and inward; above them loose cloth stands out at the inside.",
        "The crease swings outward at the knee, and the hem rides up at the outseam.",
        "With the legs brought together the ankles meet and the knees stay apart.",
    ),
    alike=(("knock-knees", "there the knees meet before the ankles, and the tight folds begin at the inside"),),
    first=QUARTER,
    most=19.05,
    amount="what is opened at the outseam",
    done=(
        "Cut straight across just below the knee, from the outseam to a hinge on the inseam, and spread the outseam.",
    ),
    given_back=("Nothing. The inseams keep their length, and both outseams gain the amount alike.",),
    followed=_AT_KNEE,
    signs=(
        Sign(PLACE, "knee", 4.0),
        Sign(KNEES, "ankles", 4.0, "the ankles meet first"),
        Sign(KNEES, "knees", -4.0, "where the knees meet first they are knock knees", decides=True),
        Sign(KNEES, "both", -2.0, "where both meet at once the legs are straight"),
    ),
    source="more cloth outside the knee and less inside: G. Hertzer, Garment Cutting in the Twentieth Century, p. 11; the cut with a "
    "hinge, its amounts and the folds: common practice, no source",
    steps=_bow_legs,
    sketch=sketches.BOW,
)


def _full_thigh(piece: FitPiece, amount: float) -> tuple[Step, ...]:
    outseam = piece.edge("outseam")
    return (
        Taper(
            piece=piece.piece.name,
            edge=outseam.name,
            start=places.below_waist(piece, 0.65),
            peak=places.below_waist(piece, 1.15),
            end=piece.along("outseam", round(places.knee_height(piece)), "hem"),
            amount=amount,
        ),
    )


FULL_THIGH = Fit(
    name="full-thigh",
    title="Full thigh",
    role="back",
    also=("front",),
    seen=(
        "Folds that lie level round the thigh, before and behind, below the crotch.",
        "They are tight; the leg of the trousers catches on the thigh in stepping up and does not slide down again.",
        "Hip and knee have room.",
    ),
    alike=(
        ("low-seat", "its folds are at the back alone, right under the seat"),
        ("front-crotch", "its folds fan out from the crotch point, at the front alone"),
    ),
    first=QUARTER,
    most=HALF,
    amount="what front and back each gain at the outseam; the thigh gains twice as much",
    minus="takes as much in, where the thigh of the trousers is too wide",
    done=(
        "Set out the outseam of front and back at the fullest of the thigh, running out to nothing at the hip and at the knee.",
    ),
    given_back=("Nothing. The outseam gains a fraction of a mm, on front and back alike.",),
    followed=("A pocket in the side seam below the hip is drawn anew along the new line.",),
    warnings=(
        "Where the inside of the thigh is what is full, add to the ends of both crotch seams instead: deep-torso and front-crotch.",
    ),
    signs=(
        Sign(PLACE, "thigh", 4.0),
        Sign(PLACE, "under-seat", 0.5),
        Sign(FOLDS, "level", 2.0),
        Sign(CLOTH, "tight", 2.0),
        Sign(CLOTH, "loose", 0.5, "where it is loose the thigh of the trousers is too wide", minus=True),
        Sign(SITTING, "stays", 1.0),
        Sign(CROTCH, "right", 1.0),
    ),
    source="common practice, no source",
    steps=_full_thigh,
    sketch=sketches.THIGH,
)


def _crotch_depth(piece: FitPiece, amount: float) -> tuple[Step, ...]:
    return (
        Parallel(
            piece=piece.piece.name,
            cut=places.across_both(piece, 0.5),
            amount=amount,
            by_grain=True,
            stays=piece.edge("hem").name,
        ),
    )


CROTCH_DEPTH = Fit(
    name="crotch-depth",
    title="Crotch depth",
    role="back",
    also=("front",),
    seen=(
        "The crotch cuts in before and behind alike; short tight folds run from it up towards the hips.",
        "Sitting pulls the waist down all round.",
        "Or the other way: the crotch hangs below the body, and the waist can be pulled up too far.",
    ),
    alike=(
        ("full-seat", "there only the back waist is pulled down, and the folds radiate from the seat"),
        ("full-tummy", "there only the front waist is pulled down"),
        ("front-crotch", "there the folds fan out at the front alone, and the waist stays"),
    ),
    first=HALF,
    most=25.4,
    amount="what the rise gains, on front and back",
    minus="takes out as much: for a crotch that hangs below the body",
    done=(
        "Cut front and back straight across between waist and crotch, both at the same level, and part them by the amount, along "
        "the grain.",
    ),
    given_back=("Nothing. Both outseams and both rises gain the amount alike, and the inseams keep their length.",),
    followed=(
        "Fly, zip and pockets that the cut runs through gain the amount; the hip notches go along on front and back alike.",
        "Where the seam leans, it is left with a jog: blend it.",
    ),
    warnings=(
        "Measure the crotch depth sitting first: from the waist down to the seat of the chair, at the side, with half an inch to an "
        "inch of ease.",
    ),
    signs=(
        Sign(PLACE, "crotch", 4.0),
        Sign(PLACE, "front-crotch", 0.5),
        Sign(CROTCH, "high", 3.0),
        Sign(CROTCH, "low", 2.5, "where it hangs low, take out instead of adding", minus=True),
        Sign(CROTCH, "right", -3.0, "the crotch lies where it should", decides=True),
        Sign(SITTING, "all-down", 3.0),
        Sign(CLOTH, "tight", 1.0),
        Sign(CLOTH, "loose", 0.5),
        Sign(FOLDS, "slanting-up", 0.5),
    ),
    source="the same on front and back, at the same level: sewing-couture.com, Altering the crotch pattern; ease of half an inch to an "
    "inch: New Mexico State University Extension, Guide C-209; the amounts to begin with: common practice, no source",
    steps=_crotch_depth,
    sketch=sketches.DEPTH,
)


def _leg_length(piece: FitPiece, amount: float) -> tuple[Step, ...]:
    return (
        Parallel(
            piece=piece.piece.name,
            cut=(places.above_hem(piece, "inseam", CALF), places.above_hem(piece, "outseam", CALF)),
            amount=amount,
            by_grain=True,
            stays=piece.edge("waist").name,
        ),
    )


LEG_LENGTH = Fit(
    name="leg-length",
    title="Leg length",
    role="back",
    also=("front",),
    seen=("The hem ends too high or too low, and nothing else is wrong.",),
    alike=(
        (
            "crotch-depth",
            "there the crotch lies too high or too low, and takes the hem with it: put that right first",
        ),
    ),
    first=HALF,
    most=76.2,
    amount="what both legs gain in length",
    minus="takes out as much: for a hem that ends too low",
    done=(
        "Cut front and back straight across, half-way between knee and hem and both at the same line, and part them by the amount, "
        "along the grain.",
    ),
    given_back=("Nothing. All four leg seams gain the amount alike.",),
    followed=(
        "Use the same line on front and back. The knee stays where it is; the leg tapers anew between cut and hem.",
    ),
    warnings=("Where the knee of the trousers lies too high or too low, cut above the knee instead.",),
    signs=(
        Sign(PLACE, "hem", 4.0),
        Sign(LENGTH, "short", 3.0),
        Sign(LENGTH, "long", 2.5, "where it ends too low, take out instead of adding", minus=True),
        Sign(LENGTH, "right", -3.0, "the hem ends where it should", decides=True),
        Sign(FOLDS, "none", 1.0),
        Sign(CROTCH, "right", 1.0),
    ),
    source="one line at the knee or below it: ithacamaven.substack.com, Changing vertical distances on the pattern; a front cut 1 1/8 in "
    "short by another line: stacysews.com; the amounts: common practice, no source",
    steps=_leg_length,
    sketch=sketches.LEG,
)

FITS = (KNOCK_KNEES, BOW_LEGS, FULL_THIGH, CROTCH_DEPTH, LEG_LENGTH)
