"""Slash and hinge, slash and spread: against the drafting scripts, the geometry of hand moves, and an independent rigid motion.

The formulas are trade geometry: a turn is the amount over the distance to the hinge; a hinge on the sew line leaves its edge as long
as it was; a parallel spread by w sets an edge that leans by t off sideways by w tan t.
"""

import math
import sys
from pathlib import Path

import numpy as np
import pytest
import shapely
from patterns import PANEL_CUT, demo, panel
from shapely import affinity
from shapely.ops import split

sys.path.insert(0, str(Path(__file__).parents[2] / "fixtures"))

from drafting.alterations import full_seat, piece_of, prominent_calf, sway_back
from drafting.sheet import FERRYHAND_SHEET

from seamcheck.altering.cutting import CannotCutError
from seamcheck.altering.turning import hinged, parted
from seamcheck.pattern.recipe import AlongCut, AlongEdge, AtCorner, AtNotch, Hinge, Parallel, Relief
from seamcheck.pattern.spots import NoSpotError

BACK = piece_of("back")


def at_height(edge: str, x: float, height: float, corner: str) -> AlongEdge:
    return AlongEdge(edge, BACK.station(edge, complex(x, height)), corner)


HALF_LEG = 120.0
SIDE = BACK.corners["side-waist"].real
DRAFTED = {
    "sway-back": (
        sway_back,
        Hinge(
            piece="back",
            opens=AlongEdge("crotch", 112.0, "cb-waist"),
            hinge=at_height("outseam", SIDE, 870.0, "side-waist"),
            amount=-12.7,
        ),
    ),
    "full-seat": (
        full_seat,
        Hinge(
            piece="back",
            opens=AlongEdge("crotch", 150.0, "cb-waist"),
            hinge=at_height("outseam", SIDE, 830.0, "side-waist"),
            amount=12.7,
        ),
    ),
    "prominent-calf": (
        prominent_calf,
        Hinge(
            piece="back",
            opens=at_height("outseam", HALF_LEG, 320.0, "side-waist"),
            hinge=at_height("inseam", -HALF_LEG, 400.0, "crotch-point"),
            amount=-6.35,
            stays="hem",
            reliefs=(Relief(AlongCut(0.5), AlongEdge("crotch", 100.0, "crotch-point")),),
        ),
    ),
}


@pytest.mark.parametrize("name", DRAFTED)
def test_it_turns_as_the_drafting_scripts_turn(name):
    drafted, step = DRAFTED[name]
    made = hinged(demo(), step)
    truth = drafted()
    if name == "prominent-calf":
        # There the relief starts beside the middle of the cut: the draft turns about the crotch, whatever is cut on the way.
        assert made.turns[1] == pytest.approx(truth.turns[1], abs=0.02)
        assert made.turns[0] == pytest.approx(truth.turns[0], abs=0.02)
    else:
        assert made.turns[0] == pytest.approx(truth.turns[0], abs=1e-4)


@pytest.mark.parametrize("name", ["sway-back", "full-seat"])
def test_every_corner_lies_where_the_drafting_scripts_put_it(name):
    drafted, step = DRAFTED[name]
    made, truth = hinged(demo(), step).state.pieces["back"], drafted().piece
    sheet = FERRYHAND_SHEET.hanging("back")
    for corner, at in truth.corners.items():
        assert abs(complex(sheet.apply(at)) - made.corner(corner).at) < 1e-3


@pytest.mark.parametrize("amount", [-12.7, -6.35, -1.0, 1.0, 6.35, 12.7])
def test_the_open_edge_changes_by_the_amount_and_the_hinged_one_not_at_all(amount):
    before = demo().pieces["back"]
    step = Hinge(
        piece="back",
        opens=AlongEdge("crotch", 140.0, "cb-waist"),
        hinge=AlongEdge("outseam", 200.0, "side-waist"),
        amount=amount,
    )
    after = hinged(demo(), step).state.pieces["back"]
    changes = {edge.name: after.edge(edge.name).length - edge.length for edge in before.edges}
    assert changes == pytest.approx({"waist": 0, "outseam": 0, "hem": 0, "inseam": 0, "crotch": amount}, abs=1e-8)


@pytest.mark.parametrize(
    ("w", "r", "degrees"), [(6.35, 250.0, 1.5), (12.7, 250.0, 2.9), (12.7, 300.0, 2.4), (25.4, 300.0, 4.9)]
)
def test_the_turn_is_the_amount_over_the_distance_to_the_hinge(w, r, degrees):
    # 1/4 in over 250 mm is 1.5 degrees, 1/2 in 2.9; 1/2 in over 300 mm 2.4, 1 in 4.9: geometry of the hand moves.
    state = panel()
    if r == 300.0:
        step = Hinge(
            piece="panel",
            opens=AlongEdge("left", 120, "top-left"),
            hinge=AlongEdge("right", 120, "top-right"),
            amount=w,
        )
    else:
        # From the left edge down to the bottom one, the hypotenuse of a triangle of 150 and 200 mm.
        step = Hinge(
            piece="panel",
            opens=AlongEdge("left", 200, "bottom-left"),
            hinge=AlongEdge("bottom", 150, "bottom-left"),
            amount=w,
        )
    made = hinged(state, step)
    assert made.cut.length == pytest.approx(r)
    assert abs(made.turns[0]) == pytest.approx(degrees, abs=0.06)
    assert abs(made.turns[0]) == pytest.approx(
        math.degrees(2 * math.asin(w / 2 / r)), abs=1e-7
    )  # the stub is a chord


def parts_of(outline: shapely.Polygon, cut: shapely.LineString) -> list[shapely.Polygon]:
    return list(split(outline, affinity.scale(cut, 1.0001, 1.0001)).geoms)


def polygon(curve) -> shapely.Polygon:
    points = curve.polygon(0.0005)
    return shapely.Polygon([(p.real, p.imag) for p in points])


@pytest.mark.parametrize("amount", [9.0, -9.0])
def test_shapely_turns_the_same_part_to_the_same_place(amount):
    state = panel(20.0)
    step = Hinge(
        piece="panel",
        opens=AlongEdge("left", 150, "top-left"),
        hinge=AlongEdge("right", 170, "top-right"),
        amount=amount,
        stays="bottom",
    )
    made = hinged(state, step)
    before, after = state.pieces["panel"].outline, made.state.pieces["panel"].outline
    ends = [(p.real, p.imag) for p in (made.cut.start, made.cut.end)]
    upper, lower = sorted(parts_of(polygon(before), shapely.LineString(ends)), key=lambda one: one.centroid.y)
    # In the file's axes y runs down, so a turn anticlockwise as seen is negative there.
    moved = affinity.rotate(upper, -made.turns[0], origin=ends[1])
    taped = shapely.union_all([moved, lower])
    if amount > 0:
        far = affinity.rotate(shapely.Point(ends[0]), -made.turns[0], origin=ends[1])
        taped = shapely.union_all([taped, shapely.Polygon([ends[0], ends[1], (far.x, far.y)])])
    # Where an overlap leaves a jog the line leads straight over it: a sliver beside what shapely has.
    assert taped.symmetric_difference(polygon(after)).area < (1.0 if amount > 0 else 4.0)


def fitted_turn(before: list[complex], after: list[complex]) -> tuple[float, float]:
    """The rotation in degrees that lays points on others at the least squares, and what is left; by a singular value decomposition."""
    a, b = (np.array([[p.real, p.imag] for p in points]) for points in (before, after))
    a, b = a - a.mean(axis=0), b - b.mean(axis=0)
    u, _, vt = np.linalg.svd(a.T @ b)
    rotation = (u @ vt).T
    return math.degrees(math.atan2(rotation[1, 0], rotation[0, 0])), float(np.abs(a @ rotation.T - b).max())


def test_all_that_lies_on_the_moved_part_goes_with_it_as_one():
    state = panel()
    made = hinged(state, PANEL_CUT)
    old, new = state.pieces["panel"], made.state.pieces["panel"]
    marks = [
        (one.corner("top-left").at, one.corner("top-right").at, *one.darts[0].points, one.drill_holes[0], one.edge("right").notches[0].at,
         one.inside[1].curve.start, one.inside[1].curve.end, *one.edge("right").notches[0].ticks[0], one.grainlines[0].points[-1])
        for one in (old, new)
    ]  # fmt: skip
    turn, off = fitted_turn(*map(list, marks))
    assert off < 1e-9
    assert -turn == pytest.approx(made.turns[0], abs=1e-9)
    still = [
        (
            one.corner("bottom-left").at,
            one.corner("bottom-right").at,
            one.edge("left").notches[0].at,
            one.grainlines[0].points[0],
        )
        for one in (old, new)
    ]
    assert still[0] == pytest.approx(still[1], abs=1e-9)


def test_a_line_within_that_is_cut_is_bent_at_the_cut():
    state = panel()
    step = Hinge(
        piece="panel",
        opens=AlongEdge("left", 120, "top-left"),
        hinge=AlongEdge("right", 120, "top-right"),
        amount=8.0,
        stays="bottom",
    )
    made = hinged(state, step).state.pieces["panel"]
    pocket = made.inside[1].curve
    assert pocket.end == pytest.approx(370 + 260j)
    assert abs(pocket.start - (300 + 180j)) > 1.0
    assert len(made.grainlines[0].points) == 3
    grain = made.grainlines[0].points
    assert grain[0] == pytest.approx(250 + 480j)


def test_a_relief_cut_lays_the_open_end_on_the_line_of_its_edge():
    _, step = DRAFTED["prominent-calf"]
    before = demo().pieces["back"]
    after = hinged(demo(), step).state.pieces["back"]
    assert after.edge("outseam").length - before.edge("outseam").length == pytest.approx(-6.35, abs=1e-8)
    # The leg below the cut is straight and upright on the outseam: all of it still is, with no jog.
    line = [
        after.edge("outseam").point(s)
        for s in np.linspace(after.edge("outseam").length - 310, after.edge("outseam").length, 50)
    ]
    assert max(abs(p.real - line[-1].real) for p in line) < 1e-6


@pytest.mark.parametrize("lean", [5.0, 15.0])
@pytest.mark.parametrize("w", [12.7, -12.7])
def test_a_parallel_move_sets_a_leaning_edge_off_sideways_by_w_tan_t(lean, w):
    # 1/2 in on an edge that leans 5 degrees is 1.1 mm, on one that leans 15 degrees 3.4 mm: geometry of the hand moves.
    state = panel(400.0 * math.tan(math.radians(lean)))
    step = Parallel(
        piece="panel",
        cut=(AlongEdge("left", 50, "bottom-left"), AlongEdge("right", 50, "bottom-right")),
        amount=w,
        by_grain=True,
        stays="bottom",
    )
    made = parted(state, step)
    old, new = state.pieces["panel"], made.state.pieces["panel"]
    at = old.corner("top-left").at
    shifted = new.corner("top-left").at
    assert shifted - at == pytest.approx(-1j * w)  # up, along the grain
    # The old line led on, at the level where the corner is now, against where it is.
    slope = (old.corner("bottom-left").at - at) / (old.corner("bottom-left").at - at).imag
    on_line = at + slope * (shifted.imag - at.imag)
    assert abs(shifted.real - on_line.real) == pytest.approx(abs(w) * math.tan(math.radians(lean)), rel=1e-4)
    assert {5.0: 1.1, 15.0: 3.4}[lean] == pytest.approx(abs(shifted.real - on_line.real), abs=0.05)
    assert new.edge("right").length - old.edge("right").length == pytest.approx(w, abs=1e-9)


def test_nothing_turns_in_a_parallel_move():
    step = Parallel(piece="back", cut=(AtNotch("inseam", 1), AtNotch("outseam", 2)), amount=10.0)
    made = parted(demo(), step)
    assert made.turns == (0.0,)
    old, new = demo().pieces["back"], made.state.pieces["back"]
    assert new.edge("waist").length == pytest.approx(old.edge("waist").length, abs=1e-9)
    assert {edge: new.edge(edge).length - old.edge(edge).length for edge in ("inseam", "outseam")} == pytest.approx(
        {"inseam": 10.0, "outseam": 10.0}, abs=0.02
    )


def test_an_arrow_that_is_parted_along_itself_is_still_one_line():
    step = Parallel(
        piece="panel",
        cut=(AlongEdge("left", 120, "top-left"), AlongEdge("right", 120, "top-right")),
        amount=10.0,
        by_grain=True,
        stays="bottom",
    )
    (grain,) = parted(panel(), step).state.pieces["panel"].grainlines
    (was,) = panel().pieces["panel"].grainlines
    assert len(grain.points) == 2
    assert grain.length == pytest.approx(was.length + 10.0)


@pytest.mark.parametrize(
    ("step", "told"),
    [
        (Hinge(piece="back", opens=AtCorner("cb-waist"), hinge=AlongEdge("outseam", 100, "side-waist"), amount=5.0), "a cut opens on an edge"),
        (Hinge(piece="back", opens=AlongEdge("waist", 20, "cb-waist"), hinge=AlongEdge("waist", 20, "side-waist"), amount=5.0), "outside the piece"),
        (Hinge(piece="back", opens=AlongEdge("crotch", 60, "cb-waist"), hinge=AlongEdge("outseam", 60, "side-waist"), amount=5.0), "leaves the piece"),
        (Hinge(piece="back", opens=AlongEdge("crotch", 140, "cb-waist"), hinge=AlongEdge("crotch", 140.2, "cb-waist"), amount=5.0), "at one place"),
        (Hinge(piece="back", opens=AlongEdge("crotch", 140, "cb-waist"), hinge=AlongEdge("outseam", 200, "side-waist"), amount=400.0), "more than the cut is long"),
        (Hinge(piece="back", opens=AlongEdge("crotch", 140, "cb-waist"), hinge=AlongEdge("outseam", 200, "side-waist"), amount=5.0, stays="crotch"), "does not lie on one side of the cut"),
        (
            Hinge(
                piece="back", opens=AlongEdge("crotch", 140, "cb-waist"), hinge=AlongEdge("outseam", 200, "side-waist"), amount=5.0,
                reliefs=(Relief(AlongCut(0.5), AlongEdge("hem", 50, "side-hem")),),
            ),
            "has to end on an edge of the part that moves",
        ),
    ],
)  # fmt: skip
def test_what_paper_does_not_allow_is_told(step, told):
    with pytest.raises((CannotCutError, NoSpotError), match=told):
        hinged(demo(), step)
