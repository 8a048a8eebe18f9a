"""One named fault for every way a check can fail, done to a skirt that trues, and the one finding it must give.

`amount` is what the fault was made to be, by construction and not by measuring: mm or degrees, with the sign that the
finding gives it. The skirts that must pass, `PASSING`, are right in ways that a careless check would take for wrong.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from functools import cache

import piece_faults
import pytest
from cases import Fault, Passing
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
    inseam,
    joint_notch,
    kinked_hem,
    leaning,
    leg_longer,
    lengthened,
    line,
    longer_band,
    lost_corner,
    mouth_open,
    moved_notches,
    notches,
    outline_short_of,
    reversed_dart,
    reversed_side,
    ruled_hem,
    sewn_boxes,
    shaped,
    shortened_within,
    side_notches,
    slanted,
    slipped_joint,
    spread,
    stepped_hem,
    straight_mouth,
    straps,
    turned_front,
    with_grain,
    with_hem_notch,
    with_patch,
    without,
)
from folded_panels import InsideDart, InsidePleat, folded_panel
from skirt_making import CHECKS, DART_ANGLE, SHOP, Sheet, unit
from skirt_nest import SMALL, SkirtNest, slanting, unnotched, wide

from seamcheck.checks.base import Check, Context, Observation, Skip
from seamcheck.comparison import Comparison
from seamcheck.engine import judge as judging_engine
from seamcheck.engine.causes import explain
from seamcheck.engine.judge import judge
from seamcheck.engine.observe import Ran
from seamcheck.engine.result import FileResult
from seamcheck.pattern.model import Pattern
from seamcheck.pattern.plan import Plan
from seamcheck.testing import PanelNotch

FAULTS: tuple[Fault, ...] = (
    Fault(
        "seam-length",
        "short",
        "a quarter inch folded out of the front above its hem",
        lambda: Sheet.of(lengthened(GOOD, -6.35)),
        "error",
        -6.35,
        seam="side",
        says=(
            "front.side is 6.4 mm (1/4 in) too short to be sewn to back.side",
            "whole difference",
            "1/4 in is a usual amount to alter by hand: likely one of the two was altered by it and the other not.",
        ),
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
        "a front copied 1 % too large along its side",
        lambda: sewn_boxes(
            ("front", "back"),
            "side",
            ("side-waist", "side-hem"),
            (404.0, 400.0),
            tuple(tuple(PanelNotch("side", k * at) for at in (100.0, 180.0, 290.0)) for k in (1.01, 1.0)),
        ),
        "error",
        4.0,
        seam="side",
        says=(
            "It grows evenly along the seam, by 1.0 % of its length: likely one of the two was drawn, printed or copied",
        ),
    ),
    Fault(
        "seam-length",
        "long",
        "a strap that is 3 mm longer than its facing, as the turn of the cloth takes",
        lambda: straps(PanelNotch("long", 100.0), PanelNotch("long", 185.0), facing=297.0),
        "note",
        3.0,
        seam="long",
        says=("The outer piece may be eased in by up to 3.2 mm (1/8 in)",),
    ),
    Fault(
        "seam-length",
        "long",
        "a strap that is 4 mm longer than its facing",
        lambda: straps(PanelNotch("long", 100.0), PanelNotch("long", 185.0), facing=296.0),
        "error",
        4.0,
        seam="long",
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
        "seam-span",
        "long",
        "ease that the plan puts elsewhere",
        lambda: inseam((100.0, 250.0), (100.0, 250.0), 4.0, ease_between=(100.0, 250.0), tolerance=4.0),
        "note",
        4.0,
        seam="inseam",
        says=("The plan puts the ease of this seam elsewhere",),
    ),
    Fault(
        "ease",
        "wrong-side",
        "an inseam whose back is longer, and that below the knee",
        lambda: inseam((200.0,), (200.0,), -4.0, ease=(-6.0, 6.0)),
        "error",
        4.0,
        seam="inseam",
        says=("the back inseam is longer than the front one, and ease belongs on the front inseam",),
    ),
    Fault(
        "ease",
        "wrong-side",
        "a band that is longer than the waist",
        lambda: longer_band(3.0),
        "warning",
        3.0,
        seam="waist",
        says=("the band is longer than the waist, and ease belongs on the waist",),
    ),
    Fault(
        "ease",
        "outside",
        "an inseam that is eased below the knee",
        lambda: inseam((200.0,), (200.0,), 4.0),
        "error",
        4.0,
        seam="inseam",
        says=("the sides differ by 4.0 mm (3/16 in), but the ease belongs above the last notch",),
    ),
    Fault(
        "ease",
        "too-much",
        "6 mm of ease over 40 mm",
        lambda: inseam((200.0, 246.0), (200.0, 240.0), 6.0),
        "warning",
        seam="inseam",
        says=("6.0 mm (1/4 in) is to be eased into 40.0 mm (1 9/16 in), which is 15 %",),
    ),
    Fault(
        "seam-length",
        "long",
        "an inseam whose front is longer, and no word of it in the plan",
        lambda: inseam((200.0,), (200.0,), 3.0, ease=None),
        "warning",
        3.0,
        seam="inseam",
        says=("The front inseam may be eased in by up to 12.7 mm (1/2 in)",),
    ),
    Fault(
        "seam-length",
        "short",
        "an inseam whose back is longer than its front",
        lambda: inseam((200.0,), (200.0,), -3.0),
        "warning",
        -3.0,
        seam="inseam",
        says=("The back inseam is longer than the front one, and ease belongs on the front inseam.",),
    ),
    Fault(
        "notch-match",
        "station",
        "a notch moved 5 mm towards the hem",
        lambda: moved_notches(5.0),
        "error",
        5.0,
        seam="side",
        says=("5.0 mm (3/16 in) too near", "side-hem", "likely this one notch was misplaced"),
    ),
    Fault(
        "notch-match",
        "station",
        "two notches moved 2.5 mm towards the waist",
        lambda: moved_notches(-2.5, -2.5),
        "warning",
        -2.5,
        seam="side",
        says=(
            "2.5 mm (1/8 in) too near",
            "2 neighbouring notches",
            "Likely one side was altered between side-waist and the notch 100 mm from side-waist, and as much given back between",
        ),
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
        says=(
            "the angles add to 188.0° instead of 180.0°",
            "off by 3.6 mm (1/8 in) one inch from the corner",
            "Likely front.side-hem was changed: it has 98.0°, while back.side-hem is still square.",
            "runs on smoothly, on front alone; keep the corner",
        ),
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
    Fault(
        "edge-blend",
        "flat",
        "a hem slashed, spread and bridged with a ruler",
        lambda: ruled_hem(5.0),
        "warning",
        5.0,
        piece="front",
        edge="front.hem",
        says=("ruled for 20.0 mm (13/16 in) between two kinks of 5.0° and 5.0°: a point",),
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
        "dart-mouth",
        "roof",
        "a roof that was cut off 3 mm below its peak",
        lambda: folded_panel(InsideDart(100, peak_off=-3.0)),
        "warning",
        -3.0,
        piece="panel",
        edge="panel.waist",
        says=(
            "Folded towards side-waist, the cloth in the dart at panel.in-1 and panel.out-1 ends short of the seam by 3.0",
        ),
    ),
    Fault(
        "dart-place",
        "near-seam",
        "a dart that ends 6 mm from a seam",
        lambda: folded_panel(InsideDart(6), sewn_side=True),
        "warning",
        6.0 - 12.7,
        piece="panel",
        edge="panel.side",
        says=("the dart point tip-1 ends 6.0 mm (1/4 in) from the seam panel.side",),
    ),
    Fault(
        "dart-place",
        "crossing",
        "two darts that lean into one another",
        lambda: folded_panel(InsideDart(100, aside=30), InsideDart(140, aside=-30)),
        "error",
        piece="panel",
    ),
    Fault(
        "dart-place",
        "order",
        "the longer of two darts at the side",
        lambda: folded_panel(InsideDart(100, length=110), InsideDart(180, length=85)),
        "note",
        piece="panel",
        says=("the dart at tip-1, nearer the side, is 25.0 mm (1 in) longer than the one at tip-2",),
    ),
    Fault(
        "pleat",
        "parallel",
        "a pleat whose fold lines close by 1.5 degrees",
        lambda: folded_panel(InsidePleat(100, lean=1.5)),
        "warning",
        1.5,
        piece="panel",
        says=("the pleat is 30.0 mm (1 3/16 in) at the edge and closes to 27.4 mm",),
    ),
    Fault(
        "pleat",
        "pointed",
        "a waist that rises to the pleat by 6 degrees",
        lambda: folded_panel(InsidePleat(100, turned=6.0)),
        "warning",
        -6.0,
        piece="panel",
    ),
    Fault(
        "pleat",
        "hollow",
        "a waist that falls to the pleat by 8 degrees",
        lambda: folded_panel(InsidePleat(100, turned=-8.0)),
        "error",
        8.0,
        piece="panel",
    ),
    Fault(
        "pleat",
        "roof",
        "a pleat whose edge was hollowed by 4 mm",
        lambda: folded_panel(InsidePleat(100, peak_off=-4.0)),
        "error",
        -4.0,
        piece="panel",
        edge="panel.waist",
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
        "size-run",
        "out",
        "a pocket 6.35 mm wider in one size",
        lambda: SkirtNest(changes={("42", "pocket"): wide(6.35)}),
        "error",
        # Its bottom is 140 mm in the base and grows by 2.8 mm; steps of 2.8 + 6.477 and 2.8 - 6.477 add to 5.6.
        2.8 + 6.35 * 1.02 - 2 / 3 * 5.6,
        piece="pocket",
        edge="pocket.bottom",
        says=("pocket is out of the run in size 42", "6.5 mm (1/4 in) longer than 40 and 44 let expect"),
    ),
    Fault(
        "size-run",
        "jump",
        "a pocket whose grade jumps at one size",
        lambda: SkirtNest(of_panel={"pocket": (0.0, 0.01, 0.02, 0.12, 0.22)}),
        "warning",
        # Its sides are 160 mm: a step of 1.6 and one of 16 mm, where at least a third of both would be even.
        1.6 - (1.6 + 16.0) / 3,
        piece="pocket",
        says=("The increments of pocket.", "jump at size 40", "by 16.0 mm (5/8 in) from 40 to 42"),
    ),
    Fault(
        "size-run",
        "corner",
        "a pocket's corner drawn 5 degrees narrower in one size",
        lambda: SkirtNest(changes={("42", "pocket"): slanting(5.0)}),
        "error",
        -5.0,
        piece="pocket",
        says=("corner pocket.top-right is 5.0° narrower in size 42 than 40 and 44 let expect",),
    ),
    Fault(
        "size-run",
        "notches",
        "a notch forgotten in one size",
        lambda: SkirtNest(changes={("42", "pocket"): unnotched}),
        "warning",
        edge="pocket.bottom",
        says=("no notch in size 42 and 1 notch in most sizes",),
    ),
    Fault(
        "size-run",
        "copied",
        "the back of one size copied into the size beside it",
        lambda: SkirtNest(SMALL, of_panel={"back": (-0.006, -0.003, 0.0, 0.006, 0.006)}),
        "warning",
        piece="back",
        says=("in size 42 just as in size 44", "see side"),
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
        "notch-drift",
        "outlier",
        "a notch of the hem copied 5 mm off",
        lambda: with_hem_notch(65.0).against(with_hem_notch(60.0)),
        "error",
        5.0,
        piece="front",
        edge="front.hem",
        says=("front.hem: the notch that was 60.0 mm (2 3/8 in) from side-hem is now 65.0 mm",),
    ),
    Fault(
        "notch-drift",
        "lost",
        "a notch of the hem not copied",
        lambda: Sheet.of(GOOD).against(with_hem_notch(60.0)),
        "warning",
        piece="front",
        edge="front.hem",
        says=("is gone",),
    ),
    Fault(
        "notch-drift",
        "step",
        "a patch let out at one side and taken in at the other",
        lambda: with_patch(-5.0, 94.0, 40.0).against(with_patch(0.0, 100.0, 40.0)),
        "error",
        5.0,
        piece="patch",
        edge="patch.bottom",
        says=("took it along",),
    ),
    Fault(
        "notch-drift",
        "linear",
        "a patch printed too wide",
        lambda: with_patch(0.0, 100.0, 10.0, 50.0, scale=1.06).against(with_patch(0.0, 100.0, 10.0, 50.0)),
        "warning",
        3.0,
        piece="patch",
        edge="patch.bottom",
        says=("in proportion",),
    ),
    Fault(
        "grain-turned",
        "turned",
        "an arrow drawn anew 3 degrees askew",
        lambda: with_patch(0.0, 100.0, 40.0, lean=3.0).against(with_patch(0.0, 100.0, 40.0)),
        "error",
        -3.0,
        piece="patch",
        says=("turned by 3.0° clockwise",),
    ),
    Fault(
        "plan-complete",
        "accepted-unknown",
        "a finding accepted on a seam that there is none of",
        lambda: accepting(Sheet.of(GOOD), check="seam-length", seam="sied", why="eased with the iron"),
        "warning",
        says=('there is no seam "sied"', 'the nearest seam is "side"'),
    ),
    Fault(
        "plan-complete",
        "accepted-without-why",
        "a finding accepted for no reason",
        lambda: accepting(Sheet.of(lengthened(GOOD, 3.0)), check="seam-length", seam="side"),
        "warning",
    ),
    *piece_faults.FAULTS,
)


PASSING: tuple[Passing, ...] = (
    Passing("seam-length", "ease that is planned", lambda: Sheet.of(lengthened(GOOD, 6.0)).seam_planned("side", ease=(0.0, 6.0))),
    Passing("seam-length", "half a tolerance", lambda: Sheet.of(lengthened(GOOD, 0.8))),
    Passing("seam-length", "a wider band of its own", lambda: Sheet.of(lengthened(GOOD, 3.0)).seam_planned("side", tolerance=6.0)),
    Passing("seam-length", "an edge written the other way round", lambda: reversed_side()),
    Passing("seam-span", "ease spread over all stretches", lambda: eased((2.0, 4.0), 6.0)),
    Passing("seam-span", "ease in one stretch", lambda: eased((0.0, 6.0), 6.0)),
    Passing("seam-span", "ease where the plan puts it", lambda: inseam((100.0, 254.0), (100.0, 250.0), 4.0, ease_between=(100.0, 250.0))),
    Passing("ease", "an inseam that is eased above the knee", lambda: inseam((203.0,), (200.0,), 3.0)),
    Passing("ease", "a waist that is longer than its band", lambda: longer_band(-3.0)),
    Passing("ease", "an inseam with as much ease as cloth takes", lambda: inseam((200.0, 286.0), (200.0, 280.0), 6.0)),
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
    Passing("edge-blend", "a ruled stretch with half a tolerance at either end", lambda: ruled_hem(1.75)),
    Passing("grain-present", "the skirt as it is", lambda: Sheet.of(GOOD)),
    Passing("grain-straight", "a bend of less than half a degree", lambda: with_grain("front", (100 + 380j, 100 + 200j, 100 + 200j + 140 * unit(-90.45)))),
    Passing("grain-straight", "an arrow with a head", lambda: headed()),
    Passing("grain-inside", "an arrow from edge to edge", lambda: with_grain("front", (100 + 420j, 100 + 20j))),
    Passing("dart-legs", "the skirt as it is", lambda: Sheet.of(GOOD)),
    Passing("dart-mouth", "the skirt as it is", lambda: Sheet.of(GOOD)),
    Passing("dart-mouth", "a mouth named the other way round", lambda: reversed_dart()),
    Passing("dart-mouth", "a wide dart drawn inside, with its roof", lambda: folded_panel(InsideDart(100, angle=24.0))),
    Passing("dart-mouth", "a leaning dart with its roof", lambda: folded_panel(InsideDart(100, aside=15.0))),
    Passing("dart-mouth", "a roof 0.7 mm short", lambda: folded_panel(InsideDart(100, peak_off=-0.7))),
    Passing("dart-place", "two darts, the shorter at the side", lambda: folded_panel(InsideDart(100, length=80), InsideDart(180, length=95))),
    Passing("dart-place", "a dart that ends 10 mm from a seam", lambda: folded_panel(InsideDart(10), sewn_side=True)),
    Passing("pleat", "a pleat that is folded true", lambda: folded_panel(InsidePleat(100))),
    Passing("pleat", "a pleat without drawn fold lines", lambda: folded_panel(InsidePleat(100, drawn=False))),
    Passing("pleat", "two pleats and a dart", lambda: folded_panel(InsidePleat(60), InsidePleat(120), InsideDart(200))),
    Passing("fold-straight", "the skirt as it is", lambda: Sheet.of(GOOD)),
    Passing("outline-closed", "an outline that misses itself by 0.4 mm", lambda: outline_short_of(0.4)),
    Passing("size-run", "a nest that grows evenly", lambda: SkirtNest()),
    Passing("size-run", "a pocket that two sizes share", lambda: SkirtNest(of_panel={"pocket": (0.0, 0.0, 0.02, 0.04, 0.06)})),
    Passing("size-run", "a pocket that grows every other size", lambda: SkirtNest(of_panel={"pocket": (0.0, 0.0, 0.1, 0.1, 0.2)})),
    Passing("size-run", "steps of twice those before", lambda: SkirtNest(of_panel={"pocket": (0.0, 0.02, 0.04, 0.08, 0.12)})),
    Passing("notch-drift", "notches moved alike on both sides", lambda: side_notches(10.0).against(Sheet.of(GOOD))),
    Passing("notch-drift", "a notch put back after its part was taken along", lambda: with_patch(0.0, 105.0, 40.0).against(with_patch(0.0, 100.0, 40.0))),
    Passing("grain-turned", "an arrow that bends by less than half a degree", lambda: with_grain("front", (100 + 380j, 100 + 200j, 100 + 200j + 140 * unit(-90.45))).against(Sheet.of(GOOD))),
    Passing("grain-turned", "the front turned on its sheet", lambda: turned_front(30.0).against(Sheet.of(GOOD))),
    Passing("grain-turned", "an arrow that points the other way", lambda: with_grain("front", (100 + 60j, 100 + 380j)).against(Sheet.of(GOOD))),
    Passing("plan-complete", "the skirt as it is", lambda: Sheet.of(GOOD)),
    Passing("plan-complete", "a finding accepted with its reason", lambda: accepting(Sheet.of(lengthened(GOOD, 3.0)), check="seam-length", seam="side", why="eased with the iron")),
    *piece_faults.PASSING,
)  # fmt: skip


@cache
def done(case: Fault | Passing | None) -> tuple[Pattern, Plan, Comparison | None]:
    """The pattern and the plan of a case, or of the skirt as it is, and what was altered: read once for all tests."""
    sheet = case.sheet() if case else Sheet.of(GOOD)
    assert sheet.plan is not None
    return sheet.pattern(), sheet.plan, sheet.comparison() if isinstance(sheet, Sheet) else None


SAID: list[tuple[Check, Observation | Skip]] = []
SILENT: set[str] = set()


def _noted(check: Check) -> Check:
    """The check, which leaves its name in SILENT where it tells nothing."""

    def run(context: Context) -> Iterator[Observation | Skip]:
        nothing = True
        for item in check.run(context):
            nothing = False
            yield item
        if nothing:
            SILENT.add(check.name)

    return replace(check, run=run)


NOTED = tuple(map(_noted, CHECKS))


@cache
def judged(case: Fault | Passing | None) -> FileResult:
    """The result of a case, or of the skirt as it is: judged once for all tests."""
    pattern, plan, before = done(case)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(judging_engine, "explain", _explained)
        return judge(pattern, plan, NOTED, SHOP, before=before)


def _explained(context: Context, ran: Iterable[Ran]) -> list[Ran]:
    """What the engine makes of all that was observed; it is left in SAID."""
    explained = list(explain(context, ran))
    SAID.extend((one.check, item) for one in explained for item in (*one.observations, *one.skips))
    return explained


@cache
def said() -> list[tuple[Check, Observation | Skip]]:
    """All that the checks observe, and leave aside, in all the skirts of the table."""
    for case in (None, *FAULTS, *PASSING):
        judged(case)
    return SAID


@cache
def observed() -> dict[tuple[str, str], list[Observation]]:
    """All that they observe, by check and code."""
    seen: dict[tuple[str, str], list[Observation]] = {}
    for check, item in said():
        if isinstance(item, Observation):
            seen.setdefault((check.name, item.code), []).append(item)
    return seen


def silent() -> set[str]:
    """The checks that yield nothing at all for some size of some skirt of the table."""
    said()
    return SILENT
