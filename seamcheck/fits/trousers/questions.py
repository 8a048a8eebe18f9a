"""What is asked of one who looks at trousers on a body, and what may be answered: in plain words, one thing at a time."""

from __future__ import annotations

from seamcheck.fits.fit import Answer, Question
from seamcheck.fits.trousers import sketches as drawn

PLACE = Question(
    name="place",
    asks="Where does the cloth look wrong? Stand easily, shoes on, and look at a photograph from behind, from the front and from "
    "the side.",
    answers=(
        Answer("small-of-back", "in the small of the back, just under the waistband", drawn.POOLED),
        Answer("waistband", "at the waistband alone; below it all lies well", drawn.GAPING),
        Answer("under-seat", "right under the seat, at the top of the back of the leg", drawn.LEVEL),
        Answer("seat", "over the seat itself", drawn.RAYS_BEHIND),
        Answer("back-of-leg", "down the back of the leg, between seat and knee", drawn.DOWN_THE_LEG),
        Answer("tummy", "at the front over the tummy, or at the front waist", drawn.RAYS_BEFORE),
        Answer("front-crotch", "at the front, where the legs begin", drawn.WHISKERS),
        Answer("crotch", "at the crotch, before and behind alike: it cuts in or hangs low", drawn.CUTS_IN),
        Answer("thigh", "round the thigh, before and behind", drawn.ROUND_THE_THIGH),
        Answer(
            "knee", "at the knee and below: the leg of the trousers does not hang as the leg stands", drawn.KNEES_IN
        ),
        Answer("hem", "nowhere, but the hem is at a wrong height", drawn.HEM),
    ),
)
FOLDS = Question(
    name="folds",
    asks="How do the folds lie there?",
    answers=(
        Answer("level", "level, straight across from side to side", drawn.LEVEL),
        Answer("level-turned", "level in the middle, and their ends turn up or down", drawn.TURNED),
        Answer("slanting-up", "slanting, up and outward to the side", drawn.SLANTING_UP),
        Answer("slanting-down", "slanting, down and outward to the side", drawn.DOWN_THE_LEG),
        Answer("radiating", "like rays from one spot", drawn.RAYS_BEHIND),
        Answer("upright", "upright, hanging straight down", drawn.UPRIGHT),
        Answer("none", "there are none", None),
    ),
)
CLOTH = Question(
    name="cloth",
    asks="Take hold of the cloth there. Is there too little of it, or too much?",
    answers=(
        Answer("tight", "it is tight, the folds are pulled and nothing can be pinched", None),
        Answer("loose", "it is loose, a fold of it can be pinched and laid over", None),
    ),
)
SITTING = Question(
    name="sitting",
    asks="Sit down. What does the waist do?",
    answers=(
        Answer("back-down", "at the back it is pulled down", None),
        Answer("front-down", "at the front it is pulled down, or rolls over", None),
        Answer("all-down", "it is pulled down all round, and the crotch cuts in", None),
        Answer("stands-away", "at the back it stays up, and stands away from the body", None),
        Answer("stays", "nothing of that", None),
    ),
)
BAND = Question(
    name="band",
    asks="Stand again. Does the waist stand off the body at the back?",
    answers=(
        Answer("waist", "yes, the band and the trousers below it", None),
        Answer("alone", "the band alone, or only when sitting", None),
        Answer("close", "no, it lies close", None),
    ),
)
LIFT = Question(
    name="lift",
    asks="Let somebody pinch up a strip of cloth across the back of the leg, low down about the knee and deepest at the outseam. "
    "Do the folds above go?",
    answers=(
        Answer("goes", "yes, they go", None),
        Answer("stays", "no, they stay", None),
    ),
)
SIDE = Question(
    name="side",
    asks="Look at the body from the side. How is it there?",
    answers=(
        Answer("deep", "deep from front to back, and narrow from hip to hip", None),
        Answer("flat", "flat behind: below the waist it runs straight down", None),
        Answer("round", "round and full behind", None),
        Answer("low", "full low down, where the seat goes over into the leg", None),
        Answer("hollow", "hollow in the small of the back", None),
        Answer("tummy", "full in front, below the waist", None),
        Answer("even", "none of these", None),
    ),
)
KNEES = Question(
    name="knees",
    asks="Stand with your feet a little apart, and then bring the legs together. What meets first?",
    answers=(
        Answer("knees", "the knees; the ankles stay apart", None),
        Answer("ankles", "the ankles; the knees stay apart", None),
        Answer("both", "both at once", None),
    ),
)
CROTCH = Question(
    name="crotch",
    asks="How does the crotch of the trousers lie on the body, standing?",
    answers=(
        Answer("high", "it cuts in, and the waist would slip down if it could", None),
        Answer("low", "it hangs below the body", None),
        Answer("right", "as it should", None),
    ),
)
LENGTH = Question(
    name="length",
    asks="Where does the hem end?",
    answers=(
        Answer("short", "too high", None),
        Answer("long", "too low, so that the leg breaks on the shoe", None),
        Answer("right", "where it should", None),
    ),
)
QUESTIONS = (PLACE, FOLDS, CLOTH, SITTING, BAND, SIDE, LIFT, KNEES, CROTCH, LENGTH)
