"""One named fault for every way a check can fail, done to a skirt that trues, and the one finding it must give.

`amount` is what the fault was made to be, by construction and not by measuring: mm or degrees, with the sign that the
finding gives it. The skirts that must pass, `PASSING`, are right in ways that a careless check would take for wrong.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

from faulty_skirts import (
    GOOD,
    accepting,
    ambiguous_edge,
    band_end,
    bowed_fold,
    cut_in,
    eased,
    extra_pocket,
    headed,
    hem_leaving,
    joint_notch,
    kinked_hem,
    leaning,
    leg_longer,
    lengthened,
    line,
    lost_corner,
    mouth_open,
    moved_notches,
    notches,
    outline_short_of,
    reversed_dart,
    reversed_side,
    shaped,
    shortened_within,
    slanted,
    slipped_joint,
    spread,
    stepped_hem,
    straight_mouth,
    straps,
    with_grain,
    without,
)
from skirt_making import DART_ANGLE, Sheet, unit

from seamcheck.model import Pattern
from seamcheck.plan import Plan
from seamcheck.testing import PanelNotch


@dataclass(frozen=True)
class Fault:
    """What was done, how, and what must be found of it: once, and nothing else above a note."""

    check: str
    code: str
    done: str
    sheet: Callable[[], Sheet]
    severity: str
    amount: float | None = None
    seam: str | None = None
    piece: str | None = None
    edge: str | None = None
    says: tuple[str, ...] = ()

    def __str__(self) -> str:
        return f"{self.check}/{self.code}: {self.done}".replace(" ", "-")


@dataclass(frozen=True)
class Passing:
    """A skirt in which a check has something to judge and nothing to say."""

    check: str
    done: str
    sheet: Callable[[], Sheet]

    def __str__(self) -> str:
        return f"{self.check}: {self.done}".replace(" ", "-")


FAULTS = (
    Fault(
        "seam-length",
        "short",
        "a quarter inch folded out of the front above its hem",
        lambda: Sheet.of(lengthened(GOOD, -6.35)),
        "error",
        -6.35,
        seam="side",
        says=("front.side is 6.4 mm (1/4 in) too short to be sewn to back.side", "whole difference"),
    ),
    Fault(
        "seam-length",
        "short",
        "an inch folded out of the front between its notches",
        lambda: shortened_within(25.4),
        "error",
        -25.4,
        seam="side",
        says=("between the notch 100 mm", "the double notch"),
    ),
    Fault(
        "seam-length",
        "long",
        "the front let down by 3 mm",
        lambda: Sheet.of(lengthened(GOOD, 3.0)),
        "warning",
        3.0,
        seam="side",
        says=("back.side is 3.0 mm (1/8 in) too short to be sewn to front.side",),
    ),
    Fault(
        "seam-length",
        "long",
        "the front stretched evenly by 9 mm",
        lambda: spread(9.0),
        "error",
        9.0,
        seam="side",
        says=("It is spread over the seam: 3.0 mm",),
    ),
    Fault(
        "seam-length",
        "long",
        "the front stretched evenly by as little as shows",
        lambda: spread(1.2),
        "note",
        1.2,
        seam="side",
        says=("It is spread over the seam: 0.40 mm", "0.40 mm (under 1/16 in) between the double notch"),
    ),
    Fault(
        "seam-length",
        "long",
        "more ease than is planned",
        lambda: Sheet.of(lengthened(GOOD, 6.0)).seam_planned("side", ease=(0.0, 2.0)),
        "error",
        4.0,
        seam="side",
        says=("The sides differ by 6.0 mm (1/4 in); the plan allows from 0.00 mm (0 in) to 2.0 mm (1/16 in).",),
    ),
    Fault(
        "seam-length",
        "short",
        "less fulness than is planned",
        lambda: Sheet.of(GOOD).seam_planned("side", ratio=(1.01, 1.05)),
        "error",
        -0.01 * line("back", "side").length,
        seam="side",
    ),
    Fault(
        "seam-span",
        "short",
        "a stretch shortened inside a seam with ease",
        lambda: eased((5.0, 1.0), 6.0),
        "error",
        -4.0,
        seam="side",
        says=("front.side is 4.0 mm (3/16 in) shorter than back.side",),
    ),
    Fault(
        "seam-span",
        "long",
        "a stretch lengthened inside a seam that is stretched on",
        lambda: eased((-5.0, -1.0), -6.0),
        "error",
        4.0,
        seam="side",
        says=("back.side is 4.0 mm (3/16 in) shorter than front.side",),
    ),
    Fault(
        "notch-match",
        "station",
        "a notch moved 5 mm towards the hem",
        lambda: moved_notches(5.0),
        "error",
        5.0,
        seam="side",
        says=("5.0 mm (3/16 in) too near", "side-hem"),
    ),
    Fault(
        "notch-match",
        "station",
        "two notches moved 2.5 mm towards the waist",
        lambda: moved_notches(-2.5, -2.5),
        "warning",
        -2.5,
        seam="side",
        says=("2.5 mm (1/8 in) too near", "2 neighbouring notches"),
    ),
    Fault(
        "notch-match",
        "count",
        "a single notch drawn double",
        lambda: notches("front", GOOD.panel("front").notches[0], PanelNotch("side", 100.0, 2)),
        "warning",
        seam="side",
        says=("the notch of front.side is double, its mate on back.side is single",),
    ),
    Fault(
        "notch-match",
        "unmatched",
        "a notch forgotten",
        lambda: notches("front", GOOD.panel("front").notches[0], None),
        "warning",
        seam="side",
        edge="back.side",
        says=("The single notch of back.side, 100 mm (3 15/16 in) from", "has no mate"),
    ),
    Fault(
        "notch-match",
        "unmatched",
        "a notch too many",
        lambda: notches("front", *GOOD.panel("front").notches, PanelNotch("side", 330.0)),
        "warning",
        seam="side",
        edge="front.side",
    ),
    Fault(
        "notch-place",
        "slanted",
        "a notch that leans by 15 degrees",
        lambda: slanted(15.0),
        "warning",
        15.0,
        piece="front",
        edge="front.hem",
        says=("leans by 15.0° from square", "shifts the place by 1.3 mm (1/16 in)"),
    ),
    Fault(
        "notch-place",
        "corner",
        "a notch 4 mm from the corner of the hem",
        lambda: notches("front", *GOOD.panel("front").notches, PanelNotch("hem", 4.0)),
        "warning",
        4.0 - 12.7,
        piece="front",
        edge="front.hem",
        says=("only 4.0 mm (3/16 in) from the corner side-hem",),
    ),
    Fault(
        "notch-place",
        "corner",
        "both edges of a corner notched",
        lambda: notches(
            "band-back", *GOOD.panel("band-back").notches, PanelNotch("upper", 165.0), PanelNotch("centre", 8.0)
        ),
        "warning",
        5.0 - 12.7,
        piece="band-back",
        says=("Both edges of that corner are notched (band-back.upper and band-back.centre)",),
    ),
    Fault(
        "notch-place",
        "deep",
        "a notch cut 12 mm into an allowance of 10",
        lambda: cut_in(12.0),
        "warning",
        2.0,
        piece="front",
        edge="front.hem",
        says=("reaches 2.0 mm (1/16 in) past the sew line",),
    ),
    Fault(
        "notch-place",
        "alike",
        "notches 5 mm short of lying alike from both ends",
        lambda: straps(PanelNotch("long", 100.0), PanelNotch("long", 195.0)),
        "note",
        12.7 - 5.0,
        seam="long",
        piece="strap",
        says=("strap also goes in turned end for end; its notches then miss by 5.0 mm",),
    ),
    Fault(
        "corner-blend",
        "hollow",
        "a hem that rises to the side by 8 degrees",
        lambda: hem_leaving(8.0),
        "error",
        8.0,
        piece="front",
        edge="front.hem",
        says=("the angles add to 188.0° instead of 180.0°", "off by 3.6 mm (1/8 in) one inch from the corner"),
    ),
    Fault(
        "corner-blend",
        "pointed",
        "a hem that falls to the side by 5 degrees",
        lambda: hem_leaving(-5.0),
        "warning",
        -5.0,
        piece="back",
        edge="back.hem",
    ),
    Fault(
        "corner-blend",
        "hollow",
        "a band whose end is not square where the cloth closes",
        lambda: band_end(4.0),
        "warning",
        4.0,
        piece="band-back",
        says=("cannot lie flat", "half"),
    ),
    Fault(
        "corner-blend",
        "jog",
        "the joint of the band slipped by 4 mm",
        lambda: slipped_joint(4.0),
        "error",
        -4.0,
        seam="waist",
    ),
    Fault(
        "edge-blend",
        "kink",
        "a hem that breaks outwards by 8 degrees",
        lambda: kinked_hem(8.0),
        "error",
        8.0,
        piece="front",
        edge="front.hem",
        says=("a kink of 8.0°, 70.0 mm (2 3/4 in) from side-hem: a point",),
    ),
    Fault(
        "edge-blend",
        "kink",
        "a hem that breaks inwards by 5 degrees",
        lambda: kinked_hem(-5.0),
        "warning",
        -5.0,
        edge="front.hem",
        says=("a hollow",),
    ),
    Fault(
        "edge-blend",
        "step",
        "a hem overlapped and ruled over",
        lambda: stepped_hem(4.0),
        "error",
        4.0,
        piece="front",
        edge="front.hem",
    ),
    Fault("grain-present", "missing", "no arrow on the front", lambda: with_grain("front"), "error", piece="front"),
    Fault(
        "grain-present",
        "short",
        "an arrow of 120 mm on a front of 400",
        lambda: with_grain("front", (100 + 300j, 100 + 180j)),
        "note",
        piece="front",
        says=("120 mm (4 3/4 in) long on a piece of 400 mm",),
    ),
    Fault(
        "grain-straight",
        "bent",
        "an arrow that a hinge broke by 3 degrees",
        lambda: with_grain("front", (100 + 380j, 100 + 200j, 100 + 200j + 140 * unit(-93))),
        "error",
        -3.0,
        piece="front",
    ),
    Fault(
        "grain-straight",
        "several",
        "two arrows",
        lambda: with_grain("front", (100 + 380j, 100 + 60j), (140 + 380j, 140 + 60j)),
        "warning",
        piece="front",
        says=("has 2 grain arrows (90.0°, 90.0°)",),
    ),
    Fault(
        "grain-inside",
        "leaves",
        "an arrow that runs out over the hem",
        lambda: with_grain("front", (100 + 440j, 100 + 60j)),
        "warning",
        piece="front",
    ),
    Fault(
        "dart-legs",
        "unequal",
        "one mouth corner moved out by 4 mm",
        lambda: leg_longer(4.0),
        "error",
        -4.0,
        piece="back",
        says=("the dart leg from dart-in to dart-tip is 4.0 mm (3/16 in) shorter than the one from dart-out",),
    ),
    Fault(
        "dart-mouth",
        "pointed",
        "a waist that rises to the dart by 8 degrees",
        lambda: mouth_open(-8.0),
        "error",
        -8.0,
        piece="back",
    ),
    Fault(
        "dart-mouth",
        "hollow",
        "a waist that falls to the dart by 6 degrees",
        lambda: mouth_open(6.0),
        "warning",
        6.0,
        piece="back",
    ),
    Fault(
        "dart-mouth",
        "hollow",
        "the roof of the dart forgotten",
        straight_mouth,
        "error",
        DART_ANGLE,
        piece="back",
    ),
    Fault(
        "fold-straight",
        "bowed",
        "a fold that bows by 4 mm over 400",
        lambda: bowed_fold(4.0),
        "error",
        4.0,
        piece="front",
        edge="front.fold",
    ),
    Fault(
        "outline-closed",
        "open",
        "an outline open by 30 mm",
        lambda: outline_short_of(30.0),
        "error",
        piece="front",
        says=("are 30.0 mm (1 3/16 in) apart",),
    ),
    Fault(
        "outline-closed",
        "gap",
        "an outline that misses itself by 0.8 mm",
        lambda: outline_short_of(0.8),
        "note",
        0.8,
        piece="front",
    ),
    Fault(
        "plan-complete",
        "edge-unplanned",
        "a hem that the plan forgot",
        lambda: Sheet.of(GOOD).piece_planned("band-front", unsewn=()),
        "warning",
        edge="band-front.upper",
    ),
    Fault(
        "plan-complete", "piece-unplanned", "a pocket that the plan forgot", extra_pocket, "warning", piece="pocket"
    ),
    Fault(
        "plan-complete",
        "piece-missing",
        "a piece that is not in the file",
        lambda: without("band-back"),
        "warning",
        piece="band-back",
        says=("the file has back, band-front and front",),
    ),
    Fault("plan-complete", "corner-unsure", "a corner far off the piece", lost_corner, "error", piece="front"),
    Fault(
        "plan-complete",
        "edge-unsure",
        "an edge whose way cannot be told",
        ambiguous_edge,
        "error",
        edge="front.slant",
        says=("name a corner in between",),
    ),
    Fault(
        "plan-complete",
        "accepted-unused",
        "a finding accepted that is no more",
        lambda: accepting(Sheet.of(GOOD), check="seam-length", seam="side", why="eased with the iron"),
        "warning",
        says=("The plan accepts seam-length at seam side",),
    ),
    Fault(
        "plan-complete",
        "accepted-without-why",
        "a finding accepted for no reason",
        lambda: accepting(Sheet.of(lengthened(GOOD, 3.0)), check="seam-length", seam="side"),
        "warning",
    ),
)


PASSING = (
    Passing("seam-length", "ease that is planned", lambda: Sheet.of(lengthened(GOOD, 6.0)).seam_planned("side", ease=(0.0, 6.0))),
    Passing("seam-length", "half a tolerance", lambda: Sheet.of(lengthened(GOOD, 0.8))),
    Passing("seam-length", "a wider band of its own", lambda: Sheet.of(lengthened(GOOD, 3.0)).seam_planned("side", tolerance=6.0)),
    Passing("seam-length", "an edge written the other way round", lambda: reversed_side()),
    Passing("seam-span", "ease spread over all stretches", lambda: eased((2.0, 4.0), 6.0)),
    Passing("seam-span", "ease in one stretch", lambda: eased((0.0, 6.0), 6.0)),
    Passing("notch-match", "the skirt as it is", lambda: Sheet.of(GOOD)),
    Passing("notch-match", "a notch on the band for the side seam", lambda: joint_notch()),
    Passing("notch-place", "a notch that leans by 4 degrees", lambda: slanted(4.0)),
    Passing("notch-place", "a notch cut as deep as the allowance", lambda: cut_in(10.0)),
    Passing("notch-place", "a notch 10 mm from a corner", lambda: notches("front", *GOOD.panel("front").notches, PanelNotch("hem", 10.0))),
    Passing("notch-place", "notches alike from both ends on straps that are alike", lambda: straps(PanelNotch("long", 100.0), PanelNotch("long", 200.0))),
    Passing("notch-place", "notches that tell the ends apart", lambda: straps(PanelNotch("long", 100.0), PanelNotch("long", 185.0))),
    Passing("notch-place", "a double notch that tells the ends apart", lambda: straps(PanelNotch("long", 100.0), PanelNotch("long", 195.0, 2))),
    Passing("corner-blend", "the skirt as it is", lambda: Sheet.of(GOOD)),
    Passing("corner-blend", "a hem that is meant to be pointed", lambda: shaped()),
    Passing("corner-blend", "angles that lean and still add up", lambda: leaning()),
    Passing("edge-blend", "the skirt as it is", lambda: Sheet.of(GOOD)),
    Passing("edge-blend", "a kink of half a tolerance", lambda: kinked_hem(1.75)),
    Passing("grain-present", "the skirt as it is", lambda: Sheet.of(GOOD)),
    Passing("grain-straight", "a bend of less than half a degree", lambda: with_grain("front", (100 + 380j, 100 + 200j, 100 + 200j + 140 * unit(-90.45)))),
    Passing("grain-straight", "an arrow with a head", lambda: headed()),
    Passing("grain-inside", "an arrow from edge to edge", lambda: with_grain("front", (100 + 420j, 100 + 20j))),
    Passing("dart-legs", "the skirt as it is", lambda: Sheet.of(GOOD)),
    Passing("dart-mouth", "the skirt as it is", lambda: Sheet.of(GOOD)),
    Passing("dart-mouth", "a mouth named the other way round", lambda: reversed_dart()),
    Passing("fold-straight", "the skirt as it is", lambda: Sheet.of(GOOD)),
    Passing("outline-closed", "an outline that misses itself by 0.4 mm", lambda: outline_short_of(0.4)),
    Passing("plan-complete", "the skirt as it is", lambda: Sheet.of(GOOD)),
    Passing("plan-complete", "a finding accepted with its reason", lambda: accepting(Sheet.of(lengthened(GOOD, 3.0)), check="seam-length", seam="side", why="eased with the iron")),
)  # fmt: skip


@cache
def done(case: Fault | Passing | None) -> tuple[Pattern, Plan]:
    """The pattern and the plan of a case, or of the skirt as it is, read once for all tests."""
    sheet = case.sheet() if case else Sheet.of(GOOD)
    assert sheet.plan is not None
    return sheet.pattern(), sheet.plan
