"""Scoop, extend, taper, wedge and darts: lengths, corners and directions, against the geometry of hand moves.

An extension by e of a corner whose other edge is square to it makes that edge about e squared over 2 L longer where it is ruled; where
it is blended, its directions kept at both ends, the line is a cubic and that is 6/5 of it. Off square by b it is about e sin b.
"""

import math

import numpy as np
import pytest
import shapely
from patterns import demo, panel
from shapely import affinity
from shapely.ops import split

from seamcheck.altering.closing import reopened
from seamcheck.altering.cutting import CannotCutError
from seamcheck.altering.darts import darted
from seamcheck.altering.reshaping import extended, scooped, tapered, wedged
from seamcheck.pattern.recipe import AlongEdge, AtCorner, AtNotch, DartMove, Extend, Scoop, Taper, Wedge
from seamcheck.pattern.spots import NoSpotError


def changes(before, after, name):
    old, new = before.pieces[name], after.pieces[name]
    return {edge.name: new.edge(edge.name).length - edge.length for edge in old.edges}


@pytest.mark.parametrize("depth", [3.0, 6.35, 10.0, -4.0])
def test_a_scoop_is_as_deep_as_asked_half_way_and_stays_at_both_ends(depth):
    step = Scoop(
        piece="back",
        edge="crotch",
        start=AlongEdge("crotch", 110, "cb-waist"),
        end=AtCorner("crotch-point"),
        amount=depth,
    )
    before, after = demo(), scooped(demo(), step)
    old, new = before.pieces["back"], after.pieces["back"]
    run = old.edge("crotch").runs[0]
    middle = run.point((110 + run.length) / 2)
    near = new.edge("crotch").runs[0].nearest(middle)
    assert near.distance == pytest.approx(abs(depth), abs=1e-8)
    assert old.outline.contains(near.point) == (depth > 0)
    assert {name for name, by in changes(before, after, "back").items() if abs(by) > 1e-9} == {"crotch"}
    assert (new.edge("crotch").length > old.edge("crotch").length) == (depth > 0)
    assert new.corner("crotch-point").at == pytest.approx(old.corner("crotch-point").at)
    assert new.corner("crotch-point").angle == pytest.approx(old.corner("crotch-point").angle, abs=0.05)


@pytest.mark.parametrize("e", [6.35, 12.7, -6.35])
def test_an_extension_of_a_square_corner_hardly_changes_the_edge_that_is_blended(e):
    step = Extend(piece="panel", corner="top-left", along="top", amount=e, blend=AtCorner("bottom-left"))
    found = changes(panel(), extended(panel(), step), "panel")
    assert found["top"] == pytest.approx(e, abs=1e-9)
    assert found["left"] == pytest.approx(6 / 5 * e * e / 2 / 400.0, rel=2e-3)


def test_half_an_inch_on_350_mm_is_a_quarter_of_a_millimetre():
    # 1/2 in on 350 mm: 0.23 mm where the line is ruled.
    step = Extend(
        piece="panel", corner="top-left", along="top", amount=12.7, blend=AlongEdge("left", 350, "top-left")
    )
    found = changes(panel(), extended(panel(), step), "panel")
    assert found["left"] / (6 / 5) == pytest.approx(0.23, abs=0.005)


@pytest.mark.parametrize("lean", [30.0, -30.0])
def test_off_square_an_extension_changes_it_by_e_sin_b(lean):
    e, slant = 12.7, math.atan(lean / 400.0)
    step = Extend(piece="panel", corner="top-left", along="top", amount=e, blend=AtCorner("bottom-left"))
    found = changes(panel(lean), extended(panel(lean), step), "panel")
    assert found["left"] == pytest.approx(-e * math.sin(slant), abs=0.3)


def test_a_corner_cut_back_keeps_its_angle():
    step = Extend(piece="back", corner="crotch-point", along="crotch", amount=-10.0, blend=AtNotch("inseam", 1))
    before, after = demo(), extended(demo(), step)
    found = changes(before, after, "back")
    assert found["crotch"] == pytest.approx(-10.0, abs=1e-9)
    assert abs(found["inseam"]) < 1.0
    assert after.pieces["back"].corner("crotch-point").angle == pytest.approx(90.0, abs=0.1)
    knee = before.pieces["back"].edge("inseam").notches[0].at
    assert after.pieces["back"].edge("inseam").notches[0].at == pytest.approx(knee)


def test_a_corner_can_move_square_out_of_an_edge():
    step = Extend(piece="back", corner="crotch-point", along="inseam", amount=6.0, square=True)
    before, after = demo().pieces["back"], extended(demo(), step).pieces["back"]
    moved = after.corner("crotch-point").at - before.corner("crotch-point").at
    inseam = before.edge("inseam").runs[0]
    tangent = inseam.tangent(0.0)
    assert abs(moved) == pytest.approx(6.0)
    assert (moved * tangent.conjugate()).real == pytest.approx(0.0, abs=0.02)
    assert not before.outline.contains(after.corner("crotch-point").at)


@pytest.mark.parametrize("w", [8.0, -8.0])
def test_a_taper_grows_from_nothing_to_all_of_it_at_the_corner(w):
    step = Taper(
        piece="panel",
        edge="left",
        start=AlongEdge("left", 250, "bottom-left"),
        peak=AtCorner("bottom-left"),
        amount=w,
    )
    before, after = panel(), tapered(panel(), step)
    found = changes(before, after, "panel")
    assert found["bottom"] == pytest.approx(w, abs=1e-9)
    new = after.pieces["panel"]
    assert new.corner("bottom-left").at == pytest.approx(100 - w + 500j)
    assert new.corner("bottom-left").angle == pytest.approx(90.0, abs=0.1)
    left = new.edge("left")
    assert left.point(149.0).real == pytest.approx(100.0, abs=1e-6)


def test_a_taper_can_run_out_again_or_stay():
    piece = {
        "piece": "panel",
        "edge": "right",
        "start": AlongEdge("right", 40, "top-right"),
        "peak": AlongEdge("right", 220, "top-right"),
        "amount": 6.0,
    }
    out = tapered(panel(), Taper(**piece, end=AlongEdge("right", 360, "top-right"))).pieces["panel"].outline
    stays = tapered(panel(), Taper(**piece)).pieces["panel"]
    assert out.bounds()[2] == pytest.approx(406.0, abs=1e-6)
    assert out.nearest(400 + 470j).distance < 1e-9
    assert stays.corner("bottom-right").at == pytest.approx(406 + 500j)


@pytest.mark.parametrize("w", [9.0, -9.0])
def test_a_wedge_turns_an_edge_as_it_is_about_its_other_end(w):
    step = Wedge(piece="panel", edge="top", start=AtCorner("top-right"), corner="top-left", amount=w)
    before, after = panel(), wedged(panel(), step)
    found = changes(before, after, "panel")
    assert found["left"] == pytest.approx(w, abs=1e-9)
    assert found["right"] == found["bottom"] == pytest.approx(0.0, abs=1e-9)
    # A ruled edge of 300 mm that rises by w over its length: w squared over 2 L.
    assert found["top"] == pytest.approx(w * w / 2 / 300.0, rel=0.01)
    assert after.pieces["panel"].darts[0].intake == pytest.approx(20.0, abs=1e-9)
    assert after.pieces["panel"].darts[0].legs[0].length == pytest.approx(
        panel().pieces["panel"].darts[0].legs[0].length, rel=0.02
    )


def test_the_legs_of_a_dart_stay_as_long_as_one_another():
    for step in (
        DartMove(piece="back", dart="dart-tip", deeper=6.0),
        DartMove(piece="back", dart="dart-in", deeper=-6.0),
        DartMove(piece="back", dart="dart-tip", longer=20.0),
        DartMove(piece="back", dart="dart-tip", moved=15.0, towards="side-waist"),
        DartMove(piece="back", dart="dart-tip", moved=15.0, towards="cb-waist"),
        DartMove(piece="panel", dart="dart-tip", deeper=6.0),
        DartMove(piece="panel", dart="dart-tip", longer=-20.0),
        DartMove(piece="panel", dart="dart-tip", moved=15.0, towards="top-left"),
    ):
        before = panel() if step.piece == "panel" else demo()
        after = darted(before, step)
        old, new = before.pieces[step.piece].darts[0], after.pieces[step.piece].darts[0]
        assert new.legs[0].length == pytest.approx(new.legs[1].length, abs=1e-6)
        assert new.intake - old.intake == pytest.approx(step.deeper, abs=0.05)
        edge = "top" if step.piece == "panel" else "waist"
        assert changes(before, after, step.piece)[edge] == pytest.approx(
            -step.deeper, abs=0.5 if step.moved else 1e-6
        )
        depths = [abs(dart.points[1] - (dart.points[0] + dart.points[2]) / 2) for dart in (old, new)]
        assert depths[1] - depths[0] == pytest.approx(step.longer, abs=0.4)
        if step.moved:
            assert abs(new.points[1] - old.points[1]) == pytest.approx(
                15.0, abs=1.0 if step.piece == "panel" else 12.0
            )


def test_a_moved_dart_lies_to_its_edge_as_it_lay():
    for towards in ("cb-waist", "side-waist"):
        step = DartMove(piece="back", dart="dart-tip", moved=15.0, towards=towards)
        before, after = demo().pieces["back"], darted(demo(), step).pieces["back"]
        for corner in before.darts[0].corners:
            assert after.corner(corner).angle == pytest.approx(before.corner(corner).angle, abs=0.1)


@pytest.mark.parametrize(
    ("into", "edge"),
    [
        (AlongEdge("outseam", 90.0, "side-waist"), "outseam"),
        (AlongEdge("crotch", 90.0, "cb-waist"), "crotch"),
        (AlongEdge("waist", 40.0, "side-waist"), "waist"),
    ],
)
def test_a_dart_is_closed_and_opened_elsewhere_and_no_sewn_line_changes(into, edge):
    before, after = demo(), reopened(demo(), DartMove(piece="back", dart="dart-tip", into=into, stays="hem"))
    assert changes(before, after, "back") == pytest.approx(
        dict.fromkeys(("waist", "outseam", "hem", "inseam", "crotch"), 0.0), abs=1e-6
    )
    old, new = before.pieces["back"].darts[0], after.pieces["back"].darts[0]
    assert new.points[1] == pytest.approx(old.points[1])
    assert new.legs[0].length == pytest.approx(new.legs[1].length, abs=1e-9)
    # The angle at the tip is what a dart takes up, wherever it opens.
    angles = [
        abs(np.angle((dart.points[0] - dart.points[1]) / (dart.points[2] - dart.points[1]))) for dart in (old, new)
    ]
    assert angles[1] == pytest.approx(angles[0], abs=1e-9)
    assert [one.name for one in after.pieces["back"].edges if one.breaks] == [edge]
    area = [abs(one.pieces["back"].outline.signed_area()) for one in (before, after)]
    polygons = [
        shapely.Polygon([(p.real, p.imag) for p in one.pieces["back"].outline.polygon(0.0005)])
        for one in (before, after)
    ]
    # The cloth is the same: what was cut out of it at the waist is cut out of it there, about as much.
    assert polygons[1].is_valid
    assert area[1] == pytest.approx(area[0], abs=1.0)


def shape_of(piece) -> shapely.Polygon:
    return shapely.Polygon([(p.real, p.imag) for p in piece.outline.polygon(0.0005)])


@pytest.mark.parametrize("stays", ["hem", ""])
@pytest.mark.parametrize(
    ("into", "with_waist"),
    [
        (AlongEdge("outseam", 90.0, "side-waist"), "side-waist"),
        (AlongEdge("outseam", 300.0, "side-waist"), "side-waist"),
    ],
)
def test_the_part_between_turns_as_another_library_turns_it(into, with_waist, stays):
    before = demo()
    old = before.pieces["back"]
    new = reopened(before, DartMove(piece="back", dart="dart-tip", into=into, stays=stays)).pieces["back"]
    dart, tip = old.darts[0], old.darts[0].points[1]
    spot = old.edge("outseam").point(into.amount)
    beyond = spot + 0.001 * (spot - tip)  # a little past the outline, so that it is surely cut through
    parts = list(
        split(
            shape_of(old), shapely.LineString([(beyond.real, beyond.imag), (tip.real, tip.imag), *middle_of(dart)])
        ).geoms
    )
    assert len(parts) == 2
    side = old.corner(with_waist).at
    moving, still = sorted(parts, key=lambda part: part.distance(shapely.Point(side.real, side.imag)))
    # The corner of the dart on the moved part comes to lie on the other one: the angle between the legs, about the tip.
    inner, outer = sorted((dart.points[0], dart.points[2]), key=lambda at: -abs(at - side))
    angle = np.degrees(np.angle((inner - tip) / (outer - tip)))
    turned = affinity.rotate(moving, angle, origin=(tip.real, tip.imag))
    taped = shapely.union_all([turned.buffer(1e-6), still.buffer(1e-6)])
    assert taped.symmetric_difference(shape_of(new)).area < 0.5
    assert moving.area + still.area == pytest.approx(shape_of(new).area, abs=0.5)
    # What lies on the part goes with it as one: its corner, and the corner of the mouth that came from the spot.
    there = affinity.rotate(shapely.Point(side.real, side.imag), angle, origin=(tip.real, tip.imag))
    assert new.corner(with_waist).at == pytest.approx(complex(there.x, there.y), abs=1e-6)
    opened = affinity.rotate(shapely.Point(spot.real, spot.imag), angle, origin=(tip.real, tip.imag))
    mouth = [new.darts[0].points[0], new.darts[0].points[2]]
    for at in (spot, complex(opened.x, opened.y)):
        assert min(abs(one - at) for one in mouth) < 1e-6
    assert new.darts[0].intake == pytest.approx(2 * abs(spot - tip) * abs(np.sin(np.radians(angle / 2))), abs=1e-6)


def middle_of(dart) -> list[tuple[float, float]]:
    """A point in the open mouth of a dart, to which a cut through its tip is led."""
    middle = (dart.points[0] + dart.points[2]) / 2
    return [(middle.real, middle.imag)]


@pytest.mark.parametrize(
    ("make", "step", "told"),
    [
        (scooped, Scoop(piece="back", edge="waist", start=AlongEdge("waist", 20, "cb-waist"), end=AlongEdge("waist", 20, "side-waist"), amount=4.0), "a dart or pleat opens on"),
        (extended, Extend(piece="back", corner="crotch-point", along="hem", amount=4.0), "does not end at crotch-point; there meet"),
        (extended, Extend(piece="back", corner="crotch-point", along="inseam", amount=-400.0), "notch of back.inseam would be cut away"),
        (extended, Extend(piece="back", corner="cb-waist", along="crotch", amount=-400.0), "too short to be cut back"),
        (tapered, Taper(piece="back", edge="outseam", start=AtNotch("outseam", 2), peak=AtCorner("side-hem"), end=AtNotch("outseam", 1), amount=4.0), "nothing can run out beyond it"),
        (tapered, Taper(piece="back", edge="outseam", start=AtNotch("outseam", 2), peak=AlongEdge("outseam", 100, "side-hem"), end=AtNotch("outseam", 1), amount=4.0), "does not lie between"),
        (tapered, Taper(piece="back", edge="outseam", start=AtNotch("inseam", 1), peak=AtCorner("side-hem"), amount=4.0), "does not lie on back.outseam"),
        (wedged, Wedge(piece="back", edge="waist", start=AtCorner("cb-waist"), corner="cb-waist", amount=4.0), "too near"),
        (wedged, Wedge(piece="back", edge="waist", start=AtCorner("side-waist"), corner="side-hem", amount=4.0), "runs from"),
        (darted, DartMove(piece="back", dart="dart-top", deeper=4.0), 'no dart "dart-top"; the nearest dart is "dart-tip"'),
        (reopened, DartMove(piece="back", dart="dart-tip", into=AtCorner("side-waist")), "a cut opens on an edge"),
        (reopened, DartMove(piece="back", dart="dart-tip", into=AlongEdge("waist", 96.0, "cb-waist")), "too near to where the dart opens"),
        (reopened, DartMove(piece="back", dart="dart-tip", into=AlongEdge("inseam", 300.0, "inseam-hem"), stays="inseam"), "does not lie on one side"),
        (darted, DartMove(piece="back", dart="dart-tip", deeper=-30.0), "cannot be made 30.0 mm less deep"),
        (darted, DartMove(piece="back", dart="dart-tip", longer=-130.0), "cannot be made 130.0 mm shorter"),
        (darted, DartMove(piece="back", dart="dart-tip", moved=300.0, towards="cb-waist"), "no room"),
        (darted, DartMove(piece="back", dart="dart-tip", moved=10.0, towards="side-hem"), "say towards which"),
        (darted, DartMove(piece="back", dart="dart-tip", moved=60.0, towards="cb-waist"), "a notch of waist lies where"),
    ],
)  # fmt: skip
def test_what_cannot_be_drawn_is_told(make, step, told):
    with pytest.raises((CannotCutError, NoSpotError), match=told):
        make(demo(), step)
