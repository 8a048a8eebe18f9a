"""What the trade has written down, held against what is measured and said here.

Beside each fact stands who wrote it; "by geometry" marks what follows from plane geometry alone, "common practice, no
source" and "from memory" what nobody was found to have printed.
"""

import cmath
import math
from dataclasses import replace
from pathlib import Path

import pytest
from judging import opened
from pattern_making import arc_from, box, graph, line_mark, loop, pattern, planned, shape
from skirt_making import CHECKS, Sheet, grain, skirt, smooth, unit

from seamcheck.checks.base import Severity
from seamcheck.checks.edges import EDGE_BLEND
from seamcheck.checks.junctions import CORNER_BLEND, CORNER_TOLERANCE
from seamcheck.checks.seams import SEAM_LENGTH
from seamcheck.config.settings import Settings
from seamcheck.engine.grading import banded
from seamcheck.engine.judge import judge
from seamcheck.geometry.affine import Affine
from seamcheck.geometry.curve import Curve
from seamcheck.pattern.drawing import Role
from seamcheck.pattern.model import Grainline
from seamcheck.pattern.seam_graph import build_graph
from seamcheck.pattern.walk import walk_seams
from seamcheck.testing import Draft, Panel, PanelEdge, PanelNotch

INCH = 25.4
DEMO = Path(__file__).parents[2] / "fixtures" / "ferryhand" / "ferryhand.svg"


# Walking seams


@pytest.mark.parametrize("side", [1, -1])
def test_the_cut_edge_of_a_curve_differs_by_allowance_times_turning(side):
    """Measure the stitching line, never the cut edge: The Daily Sew, How to true a pattern (2018).

    By geometry: 5/8 in of allowance on 15 degrees of curve is 4.2 mm, more than the whole usual tolerance.
    """
    sewn = arc_from(0j, 0, 300, 300 * math.radians(15))
    cut = sewn.offset(side * 5 / 8 * INCH)
    assert abs(cut.length - sewn.length) == pytest.approx(5 / 8 * INCH * math.radians(15), abs=1e-3)
    assert abs(cut.length - sewn.length) == pytest.approx(4.2, abs=0.05)
    assert banded(cut.length - sewn.length, 1.6) is Severity.ERROR


@pytest.mark.parametrize(
    ("inches", "severity", "who"),
    [
        (0.03, None, "a professional on screen: Garmenta, Pattern school"),
        (1 / 16, Severity.NOTE, "a meticulous fitting teacher: Threads 200, 10 Patternwork Skills"),
        (1 / 8, Severity.WARNING, "workable for many sewers: Threads 200, 10 Patternwork Skills"),
        (
            1 / 4,
            Severity.ERROR,
            "a real fault of a princess seam: Fashion Incubator, How many notches are too many, part 2",
        ),
    ],
)
def test_written_tolerances_for_seams(inches, severity, who):
    assert SEAM_LENGTH.tolerance is not None
    assert banded(inches * INCH, SEAM_LENGTH.tolerance) is severity, who


def two_legs(front: float, back: float, ease: str = "") -> tuple:
    """Two plain pieces sewn along one long seam, as an inseam of a published pattern without notches."""
    marks, plan = [], ""
    for name, x, length in (("front", 0.0, front), ("back", 500.0, back)):
        marks.append(line_mark(box(200, length, complex(x, 0)), label=name))
        plan += (
            f"[pieces.{name}]\n[pieces.{name}.corners]\ntop = [{x + 200}, 0]\nhem = [{x + 200}, {length}]\n"
            f'a = [{x}, 0]\nb = [{x}, {length}]\n[pieces.{name}.edges]\ninseam = ["top", "hem"]\n'
        )
    plan += f'[[seams]]\nname = "inseam"\nsew = ["front.inseam", "back.inseam"]\n{ease}\n'
    return walk_seams(graph(marks, plan))


def test_an_inseam_that_nobody_felt_to_be_wrong_is_an_error():
    """A 6 mm mismatch in a printed pattern went unnoticed by an experienced writer: the seam was long and off the grain,
    and had no notch: ithacamaven.substack.com, Notches and seam lines."""
    (walk,) = two_legs(760, 754)
    assert walk.difference == pytest.approx(6)
    assert banded(walk.deviation, 1.6) is Severity.ERROR
    assert walk.matches == ()


@pytest.mark.parametrize("eased", [1 / 4, 3 / 8, 1 / 2])
def test_a_garment_waist_is_eased_into_its_band(eased):
    """1/4 to 1/2 in: clothingpatterns101.com, Sewing ease; New Mexico State University Extension, Guide C-234."""
    (walk,) = two_legs(360 + eased * INCH, 360, f"ease = [{INCH / 4}, {INCH / 2}]")
    assert walk.deviation == pytest.approx(0, abs=1e-9)
    (bare,) = two_legs(360 + eased * INCH, 360)
    assert banded(bare.deviation, 1.6) is Severity.ERROR


def test_ease_in_the_wrong_direction_is_found():
    """The longer edge must cover the fuller body: Fashion Incubator, Lazy pattern making."""
    (walk,) = two_legs(360, 360 + INCH / 4, f"ease = [0, {INCH / 2}]")
    assert walk.deviation == pytest.approx(-INCH / 4)


@pytest.mark.parametrize("fulness", [1.5, 2.0, 3.0])
def test_gathers_are_planned_as_a_ratio(fulness):
    """1.5 to 3 times the finished length: stitchcoach.blogspot.com (2017/01), Ruffles."""
    (walk,) = two_legs(fulness * 400, 400, "ratio = [1.5, 3.0]")
    assert walk.deviation == pytest.approx(0, abs=1e-9)
    (short,) = two_legs(1.4 * 400, 400, "ratio = [1.5, 3.0]")
    assert short.deviation == pytest.approx(-40)


def test_a_waist_is_measured_with_its_darts_closed():
    """Fold darts, tucks and pleats closed first: The Daily Sew, How to true a pattern (2018)."""
    sheet = Sheet.of(skirt())
    waist = next(seam for seam in sheet.judged().seams if seam.name == "waist")
    (back,) = [one for one in sheet.pattern().pieces if one.name == "back"]
    (dart,) = back.darts
    drawn = sum(run.length for run in back.edge("waist").runs)
    assert dart.intake > 18
    assert waist.difference == pytest.approx(0, abs=1e-6)
    assert back.edge("waist").length == pytest.approx(drawn)


# Truing and blending


@pytest.mark.parametrize(
    ("degrees", "mm"), [(1, 0.44), (2, 0.89), (3, 1.33), (5, 2.2), (8, 3.6), (10, 4.5), (15, 6.8)]
)
def test_what_an_angle_amounts_to_one_inch_from_the_corner(degrees, mm):
    """By geometry: 25.4 tan e. No source gives a tolerance for corner angles."""
    sheet = hem_off(degrees)
    found = [one for one in sheet.judged([CORNER_BLEND]).findings if one.code == "hollow"]
    if degrees < CORNER_TOLERANCE / 2:
        assert found == []
        return
    (finding,) = found
    assert finding.measured == pytest.approx(degrees, abs=0.01)
    assert f"{mm:.1f} mm" in finding.message or f"{mm:.2f} mm" in finding.message


def hem_off(degrees: float) -> Sheet:
    draft = skirt()
    hem = draft.panel("front").edge("hem").line
    return Sheet.of(draft.with_lines("front", hem=smooth(hem.start, unit(180 - degrees), hem.end, -1)))


def test_the_corner_tolerance_is_a_sixteenth_one_inch_from_the_corner():
    """By geometry."""
    assert math.degrees(math.atan(1 / 16)) == pytest.approx(CORNER_TOLERANCE, abs=0.1)


@pytest.mark.parametrize(("waists", "code"), [((-6, -6), "pointed"), ((6, 6), "hollow")])
def test_a_point_is_rounded_off_and_a_scoop_is_filled(waists, code):
    """Put front and back together at the shoulder: no jog, no point, no scoop; a point outward is rounded off, a scoop
    inward is filled: Conover, A Complete Course in Dressmaking, vol. 9 (1922), p. 22.

    Joined hems that run down to the seam stick out there; hems that run up to it leave a scoop.
    """
    draft = skirt()
    for name, lift in zip(("front", "back"), waists, strict=True):
        hem = draft.panel(name).edge("hem").line
        outer, inner = (hem.start, hem.end) if name == "front" else (hem.end, hem.start)
        away = -1 if name == "front" else 1
        leaving = complex(away * math.cos(math.radians(lift)), math.sin(math.radians(lift)))
        bent = smooth(outer, leaving, inner, away)
        draft = draft.with_lines(name, hem=bent if name == "front" else bent.reversed())
    # How far the joined hem lies above (+) or below a straight line through the seam, looked at from the middle.
    front = draft.panel("front").edge("hem").line
    assert (front.point(20).imag > front.start.imag) == (code == "hollow")
    (finding,) = Sheet.of(draft).judged([CORNER_BLEND]).findings
    assert finding.code == code
    assert abs(finding.measured or 0) == pytest.approx(12, abs=0.01)


def test_a_dart_without_its_roof_leaves_a_dip():
    """Fold the dart and cut the edge through the fold: docslib.org 10951758, Sewing techniques: darts. By geometry the
    edge that was ruled straight across dips by the whole angle of the dart."""
    half = math.degrees(math.atan(10 / 90))
    marks = loop(0j, 90 + 0j, 100 + 90j, 110 + 0j, 220 + 0j, 220 + 300j, 300j)
    text = (
        "[pieces.back]\n[pieces.back.corners]\ncw = [0, 0]\nin = [90, 0]\ntip = [100, 90]\nout = [110, 0]\n"
        'sw = [220, 0]\nsh = [220, 300]\nch = [0, 300]\n[pieces.back.edges]\nwaist = ["cw", "sw"]\n'
        '[[darts]]\npiece = "back"\ncorners = ["in", "tip", "out"]\n'
    )
    made = pattern([line_mark(marks, label="back")], text)
    (finding,) = [one for one in judge(made, planned(text), CHECKS, Settings()).findings if one.check == "dart-mouth"]
    assert finding.code == "hollow"
    assert finding.measured == pytest.approx(2 * half, abs=1e-6)


def test_legs_on_one_circle_round_the_tip_are_equal():
    """Both ends lie on the same circle round the tip: common practice, no source; legs equal on the stitching line:
    Fabrics-Store blog, Checking, blending and truing, part 1."""
    (back,) = [one for one in Sheet.of(skirt()).pattern().pieces if one.name == "back"]
    (dart,) = back.darts
    first, tip, last = dart.points
    assert abs(first - tip) == pytest.approx(abs(last - tip), abs=1e-6)
    assert dart.legs[0].length == pytest.approx(dart.legs[1].length, abs=1e-6)


# Grain and fold


@pytest.mark.parametrize(("mm", "degrees"), [(1.6, 0.15), (3.2, 0.31), (6.4, 0.61)])
def test_what_a_grain_arrow_off_by_a_little_turns(mm, degrees):
    """By geometry, over 600 mm."""
    arrow = Grainline((0j, complex(mm, 600)))
    assert 90 - arrow.angle == pytest.approx(degrees, abs=0.005)


def test_an_arrow_is_broken_by_a_slash():
    """A 1/2 in dart at the inseam below the knee moved the grain of the upper leg astonishingly:
    sdbevpantsed.wordpress.com, Happy Pant, Knee Dart. By geometry it turns by 1/2 in over the width, here 220 mm."""
    turn = math.degrees(INCH / 2 / 220)
    arrow = (100 + 380j, 100 + 220j, 100 + 220j + 160 * unit(-90 - turn))
    sheet = Sheet.of(skirt().with_panel("front", grain=None)).drawn("front", grain(*arrow))
    (finding,) = sheet.judged().findings
    assert (finding.check, finding.code, finding.severity) == ("grain-straight", "bent", Severity.ERROR)
    assert abs(finding.measured or 0) == pytest.approx(3.3, abs=0.05)


# Notches


def test_a_slanted_notch_counts_where_it_meets_the_stitching_line():
    """By geometry a notch 6 mm deep that leans by 15 degrees ends 1.6 mm from where it should; its station is where
    it meets the stitching line."""
    outline = box()
    lean = 6 * math.tan(math.radians(15))
    assert lean == pytest.approx(1.6, abs=0.01)
    found = shape([line_mark(outline), line_mark([200 + 100j, complex(206, 100 + lean)], Role.NOTCH)])
    assert found.notches[0].station == pytest.approx(300, abs=1e-6)
    across = shape(
        [line_mark(outline), line_mark([complex(197, 100 - lean / 2), complex(203, 100 + lean / 2)], Role.NOTCH)]
    )
    assert across.notches[0].station == pytest.approx(300, abs=1e-6)


def test_single_and_double_notches_are_told_apart():
    """Single for the front, double for the back: L. McConnell, Sleeves (Taylor & Francis); winnipegsews.com (2021)."""
    draft = skirt()
    front = draft.panel("front")
    notches = (*front.notches[:2], PanelNotch("side", 250.0, 1))
    (finding,) = Sheet.of(draft.with_panel("front", notches=notches)).judged().findings
    assert (finding.check, finding.code) == ("notch-match", "count")


def drifted(stations, length):
    draft = skirt()
    front = draft.panel("front")
    side, hem, fold = (front.edge(name).line for name in ("side", "hem", "fold"))
    down = 1j * (length - side.length)
    panel = replace(
        front.with_lines(
            side=Curve.join(
                [side.between(0, side.length - 60), Curve.line(side.point(side.length - 60), side.end + down)]
            ),
            hem=Curve.line(hem.start + down, hem.end + down),
            fold=Curve.line(fold.start + down, fold.end),
        ),
        notches=(front.notches[0], PanelNotch("side", stations[0]), PanelNotch("side", stations[1], 2)),
    )
    sheet = Sheet.of(replace(draft, panels=(panel, *draft.panels[1:])))
    pieces = {piece.name: piece for piece in sheet.pattern().pieces}
    (walk,) = [one for one in walk_seams(build_graph(pieces, sheet.plan)) if one.name == "side"]
    return sheet, walk


SIDE = skirt().panel("front").edge("side").line.length


def test_a_length_change_moves_every_later_notch_by_as_much():
    """By geometry: a step at the alteration is a real cut. Here 1/2 in was let in between the two notches."""
    sheet, walk = drifted((100.0, 250 + INCH / 2), SIDE + INCH / 2)
    assert [match.from_start for match in walk.matches] == pytest.approx([0, INCH / 2], abs=1e-6)
    (finding,) = sheet.judged().findings
    assert (finding.check, finding.measured) == ("seam-length", pytest.approx(INCH / 2, abs=1e-6))
    assert "1/2 in" in finding.message
    assert "The whole difference lies between" in finding.message


def test_notches_drift_evenly_when_a_piece_is_scaled():
    """By geometry: a drift in proportion to the station is scale or ease, not a cut."""
    scale = 1.02
    _, walk = drifted((100.0 * scale, 250 * scale), SIDE * scale)
    shares = [match.from_start / match.second.station for match in walk.matches]
    assert shares == pytest.approx([0.02, 0.02], abs=1e-6)
    assert [span.deviation / span.second for span in walk.spans] == pytest.approx([0.02] * 3, abs=1e-6)


def test_one_notch_alone_off_is_the_notch():
    """By geometry: a single outlier is a misplaced notch, not an alteration."""
    sheet, walk = drifted((105.0, 250.0), SIDE)
    assert [match.off for match in walk.matches] == pytest.approx([5, 0], abs=1e-6)
    assert [one.check for one in sheet.judged().findings] == ["notch-match"]


# Alterations on the flat pattern


def slashed(width: float, opened: float) -> Draft:
    """A rectangle sewn along both sides, slashed across from its left edge and spread round a hinge on the right.

    What lies above the slash turns round the hinge; the gap on the left is bridged by a straight stub.
    """
    top, low, right = 200.0, 500.0, complex(width, 250)
    turn = Affine.rotation(math.degrees(2 * math.asin(opened / 2 / width)), right)
    left = complex(0, 250)
    up_left, up_right = (complex(turn.apply(p)) for p in (complex(0, top - 100), complex(width, top - 100)))
    lines = (
        ("top", "tl", Curve.line(up_left, up_right)),
        ("right", "tr", Curve.polyline([up_right, right, complex(width, low)])),
        ("bottom", "br", Curve.line(complex(width, low), complex(0, low))),
        ("left", "bl", Curve.polyline([complex(0, low), left, complex(turn.apply(left)), up_left])),
    )
    return Draft(
        name="slash",
        panels=(Panel(name="leg", edges=tuple(PanelEdge(*line) for line in lines)),),
        plan=replace(skirt().plan, pieces=(), darts=(), seams=()),
    )


@pytest.mark.parametrize(
    ("inches", "width", "degrees"), [(1 / 4, 250, 1.5), (1 / 2, 250, 2.9), (1 / 2, 300, 2.4), (1, 300, 4.9)]
)
def test_a_slash_turns_what_is_beyond_it_and_kinks_the_hinged_edge(inches, width, degrees):
    """By geometry: the turn is the opening over the distance to the hinge; the opened edge grows by the opening, the
    hinged one keeps its length and has a kink of the turn."""
    draft = slashed(width, inches * INCH)
    edges = {edge.name: edge.line for edge in draft.panels[0].edges}
    assert edges["left"].length - edges["right"].length == pytest.approx(inches * INCH, abs=1e-9)
    assert edges["right"].length == pytest.approx(400)
    found = Sheet(draft.svg(), None).judged([EDGE_BLEND]).findings
    kinks = [one for one in found if one.edges == ("leg.e2",)]
    if degrees <= 1.75:
        assert kinks == []  # within half the tolerance
        return
    (kink,) = kinks
    assert abs(kink.measured or 0) == pytest.approx(degrees, abs=0.06)


def test_a_hinge_on_the_cut_edge_shifts_the_stitching_line():
    """By geometry: by allowance times turn, 5/8 in at 2.9 degrees being 0.8 mm."""
    turn = math.radians(math.degrees(INCH / 2 / 250))
    assert 5 / 8 * INCH * turn == pytest.approx(0.8, abs=0.01)
    hinge, sewn = 250 + 0j, 250 - 5 / 8 * INCH + 0j
    moved = complex(Affine.rotation(math.degrees(turn), hinge).apply(sewn))
    assert abs(moved - sewn) == pytest.approx(0.8, abs=0.01)


@pytest.mark.parametrize(("lean", "jog"), [(5, 1.1), (15, 3.4)])
def test_a_parallel_tuck_jogs_a_leaning_edge(lean, jog):
    """By geometry: a tuck of 1/2 in moves an edge sideways by 1/2 in times the tangent of its lean."""
    assert INCH / 2 * math.tan(math.radians(lean)) == pytest.approx(jog, abs=0.05)
    slope = complex(math.tan(math.radians(lean)), 1)
    upper, lower = 200 * slope, (200 + INCH / 2) * slope - 1j * INCH / 2
    assert (lower - upper).real == pytest.approx(jog, abs=0.05)
    # The paper is ruled over along 12 mm of the line below.
    edge = Curve.polyline([0j, upper, lower + 12 * slope, lower + 200 * slope])
    corners = {"top": 0j, "hem": edge.end, "b": complex(-150, edge.end.imag), "a": -150 + 0j}
    outline = Curve.join([edge, Curve.polyline([edge.end, corners["b"], corners["a"], 0j])])
    text = "[pieces.leg]\n[pieces.leg.corners]\n"
    text += "".join(f"{name} = [{at.real!r}, {at.imag!r}]\n" for name, at in corners.items())
    text += '[pieces.leg.edges]\nside = ["top", "hem"]\n'
    made = pattern([line_mark(outline, label="leg")], text)
    steps = judge(made, planned(text), [EDGE_BLEND], Settings()).findings
    across = jog * math.cos(math.radians(lean))
    if across <= 0.8:
        assert steps == []
        return
    (step,) = steps
    assert step.code == "step"
    assert step.measured == pytest.approx(across, rel=0.06)


def test_extending_a_crotch_point_hardly_lengthens_a_square_inseam():
    """By geometry: e squared over 2 L, 0.23 mm for 1/2 in on 350 mm; 2.2 mm when the corner is 10 degrees off square."""
    extended, length = INCH / 2, 350.0
    assert abs(complex(length, extended)) - length == pytest.approx(extended**2 / 2 / length, abs=1e-3)
    assert extended**2 / 2 / length == pytest.approx(0.23, abs=0.005)
    assert banded(extended**2 / 2 / length, 1.6) is None
    off_square = abs(length + extended * cmath.exp(1j * math.radians(80))) - length
    assert off_square == pytest.approx(extended * math.sin(math.radians(10)), abs=0.25)
    assert extended * math.sin(math.radians(10)) == pytest.approx(2.2, abs=0.01)
    assert banded(off_square, 1.6) is Severity.WARNING


def test_a_cross_slash_on_the_calf_splays_the_hem():
    """By geometry: the hem spreads by 2 L g / r: 3 mm opened at the crease, 110 mm to each seam, 400 mm to the hem."""
    opened, reach, below = 3.0, 110.0, 400.0
    turn = math.degrees(opened / reach)
    halves = [Affine.rotation(sign * turn, complex(-sign * reach, 0)) for sign in (1, -1)]
    ends = [complex(half.apply(complex(0, -below))) for half in halves]
    assert abs(ends[0] - ends[1]) == pytest.approx(2 * below * opened / reach, rel=0.01)
    assert 2 * below * opened / reach == pytest.approx(22, abs=0.3)


def test_a_degree_and_a_half_at_the_crotch_point_swings_the_seat():
    """1.5 degrees off at the corner swing the seat by 9 mm: ithacamaven.substack.com, The Art and Science of the
    Details; by geometry the lever is 344 mm."""
    assert 344 * math.tan(math.radians(1.5)) == pytest.approx(9, abs=0.01)
    # When both corners are off by that much, it is told.
    assert banded(2 * 1.5, CORNER_TOLERANCE) is Severity.NOTE


def test_a_rise_along_a_slope_changes_by_more_than_the_level():
    """By geometry: d / cos slope, 0.6 mm more for 1/2 in at 17 degrees."""
    assert INCH / 2 / math.cos(math.radians(17)) - INCH / 2 == pytest.approx(0.6, abs=0.03)


# The demo trousers keep what trousers keep


@pytest.fixture(scope="module")
def trousers():
    pattern, plan = opened(DEMO)
    return {piece.name: piece for piece in pattern.pieces}, plan


def test_front_and_back_outseams_are_equal(trousers):
    """atailormadeit.blogspot.com (2024/11)."""
    pieces, _ = trousers
    assert pieces["front"].edge("outseam").length == pytest.approx(pieces["back"].edge("outseam").length, abs=0.01)


def test_inseams_are_equal_from_knee_to_hem_and_the_front_is_a_little_longer_above(trousers):
    """Equal below the knee: atailormadeit.blogspot.com (2024/11); the back inseam a little shorter above it in fitted
    woven trousers: sergerpepper.com (2017/02), How to ease; up to 1/2 in: from memory."""
    pieces, plan = trousers
    (walk,) = [one for one in walk_seams(build_graph(pieces, plan)) if one.name == "inseam"]
    assert 0 <= walk.difference <= INCH / 2
    assert walk.spans[-1].difference == pytest.approx(0, abs=0.01)


def test_crotch_corners_are_square_on_both_pieces(trousers):
    """90 degrees each: ithacamaven.substack.com, The Art and Science of the Details."""
    pieces, _ = trousers
    for name in ("front", "back"):
        assert pieces[name].corner("crotch-point").angle == pytest.approx(90, abs=0.1)


def test_hems_are_square_and_the_front_is_narrower(trousers):
    """Square for 2 in above the hem: Wikibooks, Dressmaking/Pants; front narrower than back by about 1 in: Threads,
    tapering or widening pants (2008)."""
    pieces, _ = trousers
    for name in ("front", "back"):
        for corner in ("side-hem", "inseam-hem"):
            assert pieces[name].corner(corner).angle == pytest.approx(90, abs=1.5)
    assert 0 < pieces["back"].edge("hem").length - pieces["front"].edge("hem").length < 2 * INCH


def test_every_junction_of_the_demo_adds_up(trousers):
    """180 degrees across every seam, 90 on a fold: ithacamaven and common practice; closed cloth 360, by geometry."""
    pieces, plan = trousers
    junctions = build_graph(pieces, plan).junctions
    assert len(junctions) > 10
    assert {junction.expected for junction in junctions} <= {90.0, 180.0, 360.0}
    for junction in junctions:
        assert junction.angle == pytest.approx(junction.expected, abs=CORNER_TOLERANCE / 2)
