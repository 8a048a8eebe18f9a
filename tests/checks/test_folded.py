"""Darts and pleats are closed before a seam is walked, drawn into the outline or as lines inside, one or several."""

from dataclasses import replace

import pytest
from folded_panels import InsideDart, InsidePleat, folded_panel
from pattern_making import box, line_mark, piece

from seamcheck.checks.mouths import roof
from seamcheck.geometry.curve import Curve
from seamcheck.pattern.plan import EdgeUse


@pytest.mark.parametrize(
    "folded",
    [
        (InsideDart(100),),
        (InsideDart(60, length=75), InsideDart(130), InsideDart(220, length=120)),
        (InsidePleat(80),),
        (InsidePleat(60, depth=20), InsidePleat(110, depth=40), InsideDart(200)),
        (InsideDart(70, aside=12), InsidePleat(150, drawn=False)),
    ],
)
def test_a_waist_is_walked_with_everything_closed(folded):
    """Fold darts, tucks and pleats closed first: The Daily Sew, How to true a pattern (2018)."""
    sheet = folded_panel(*folded)
    result = sheet.judged()
    assert (result.findings, result.failures) == ((), ())
    (seam,) = [one for one in result.seams if one.name == "waist"]
    assert seam.first.length == pytest.approx(300.0, abs=1e-6)
    (panel,) = [one for one in sheet.pattern().pieces if one.name == "panel"]
    assert len(panel.edge("waist").breaks) == len(folded)
    assert [pleat.depth for pleat in panel.pleats] == pytest.approx(
        [one.depth for one in folded if isinstance(one, InsidePleat)]
    )


@pytest.mark.parametrize(
    "move", ["translate(40 30)", "translate(300 -80) rotate(50)", "translate(700 0) scale(-1 1)"]
)
def test_it_may_lie_any_way_round(move):
    sheet = folded_panel(InsidePleat(60), InsideDart(180, aside=10.0))
    group = sheet.group("panel")
    moved = sheet.svg.replace(group, group.replace("<g ", f'<g transform="{move}" ', 1))
    result = type(sheet)(moved, sheet.plan).judged()
    assert (result.findings, result.failures) == ((), ())


@pytest.mark.parametrize("centre", ["free", "sewn", "fold"])
@pytest.mark.parametrize("backwards", [False, True])
def test_a_pleat_may_take_up_the_end_of_a_waist(centre, backwards):
    """The waist begins or ends where the pleat is laid, and the centre is its second fold line."""
    sheet = folded_panel(InsidePleat(120), InsidePleat(300, depth=24), centre=centre)
    if backwards:
        panel, band = sheet.plan.pieces
        edges = {**panel.edges, "waist": panel.edges["waist"][::-1]}
        waist = replace(sheet.plan.seams[0], sides=((EdgeUse("panel", "waist", True),), sheet.plan.seams[0].sides[1]))
        sheet = sheet.planned(pieces=(replace(panel, edges=edges), band), seams=(waist, *sheet.plan.seams[1:]))
    result = sheet.judged()
    assert (result.findings, result.failures) == ((), ())
    (panel,) = [one for one in sheet.pattern().pieces if one.name == "panel"]
    waist = panel.edge("waist")
    ends = ("in-2", "side-waist") if backwards else ("side-waist", "in-2")
    assert ((waist.start, waist.end), waist.length, len(waist.breaks)) == (ends, pytest.approx(300.0), 1)
    assert panel.pleats[1].folds[1].start == panel.corner("centre-waist").at
    assert (panel.pleats[1].depth, panel.pleats[1].drawn) == (pytest.approx(24.0), True)


def roof_of(peak: complex, turned: float = 0.0):
    """The roof of a dart of 100 mm and 20 degrees, whose edge leaves the mouth squarely on one side."""
    sheet = folded_panel(InsideDart(100, length=100.0, angle=20.0, peak_off=peak.real, turned=turned))
    (panel,) = [one for one in sheet.pattern().pieces if one.name == "panel"]
    (dart,) = panel.darts
    found = roof(panel, (dart.corners[0], dart.corners[2]), dart.legs)
    assert found is not None
    return found


def test_the_peak_of_a_roof_lies_on_the_legs_square_and_the_fold():
    """By geometry: legs of 100 mm at 20 degrees, an edge square to them: the peak is 100 / cos 10 from the tip, 1.54 mm
    outside the legs' length, and 3.06 mm outside the straight mouth."""
    assert roof_of(0j).beyond == pytest.approx(0, abs=1e-6)
    assert roof_of(complex(-3.06)).beyond == pytest.approx(-3.06, abs=1e-6)


@pytest.mark.parametrize("off", [-5.0, -1.7, 0.4, 2.5])
def test_the_roof_is_measured_along_the_fold(off):
    assert roof_of(complex(off)).beyond == pytest.approx(off, abs=1e-6)


def test_a_roof_may_be_drawn_for_either_way_of_pressing():
    """Waist darts are pressed towards the centre: Sewing techniques: darts (docslib 10951758). What is drawn for one way is not
    held against the other."""
    found = roof_of(0j, turned=10.0)
    assert found.beyond == pytest.approx(0, abs=1e-6)
    assert found.toward == "in-1"


def test_bent_legs_have_no_roof_to_measure():
    sheet = folded_panel(InsideDart(100))
    (panel,) = [one for one in sheet.pattern().pieces if one.name == "panel"]
    (dart,) = panel.darts
    bent = Curve.polyline([dart.points[0], (dart.points[0] + dart.points[1]) / 2 + 5, dart.points[1]])
    assert roof(panel, (dart.corners[0], dart.corners[2]), (bent, dart.legs[1])).code == "bent-legs"


def test_two_pleats_that_touch_are_one_break():
    """A box pleat is two pleats laid towards one another; common practice, no source."""
    plan = """
    [pieces.panel]
    in-file = "*"
    [pieces.panel.corners]
    a = [0, 0]
    in = [80, 0]
    middle = [100, 0]
    out = [120, 0]
    b = [200, 0]
    c = [200, 300]
    [pieces.panel.edges]
    waist = ["a", "b"]
    [[pleats]]
    piece = "panel"
    corners = ["in", "middle"]
    [[pleats]]
    piece = "panel"
    corners = ["middle", "out"]
    """
    waist = piece([line_mark(box())], plan).edge("waist")
    assert (waist.breaks, waist.run_lengths) == ((("in", "out"),), pytest.approx((80.0, 80.0)))
