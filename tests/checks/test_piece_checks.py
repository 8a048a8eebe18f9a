"""Single pieces held to what geometry says of them: hems, allowances, mirror images, folds, words and inside lines."""

import math
from dataclasses import replace

import pytest
from faulty_pieces import FLAP, flaps
from pattern_making import arc_from, box, line_mark, loop, pattern, planned
from skirt_making import SHOP, Sheet, skirt

from seamcheck.checks.allowances import ALLOWANCE_EVEN, HEM_TURN_UP
from seamcheck.checks.grain import GRAIN_FOLD
from seamcheck.checks.inside import MARKS_INSIDE
from seamcheck.checks.labels import LABELS
from seamcheck.checks.mirror_and_square import MIRROR_PAIR, SQUARE_END
from seamcheck.checks.outlines import OUTLINE_CROSSING, OUTLINE_DOUBLED
from seamcheck.config.settings import Settings
from seamcheck.engine.judge import judge
from seamcheck.geometry.curve import Affine, Curve
from seamcheck.pattern.drawing import Role, TextMark
from seamcheck.places import Place


def judged(check, lines, plan=None, settings=SHOP, **more):
    return judge(pattern(lines, plan, **more), planned(plan), [check], settings)


def codes(result):
    return [(one.code, one.severity.value) for one in result.findings]


# Hems

LEG = """
[pieces.leg]
in-file = "Leg"
unsewn = ["hem"]
[pieces.leg.corners]
a = [0, 0]
b = [200, 0]
c = [{right}, 400]
d = [{left}, 400]
[pieces.leg.edges]
hem = ["c", "d"]
"""


def leg(taper: float, depth: float, *, mirrored: bool, lean: float = 0.0):
    """A leg whose sides draw in by `taper` degrees each, cut line at 10 mm, with a hem turned up by `depth`; `lean` tilts it."""
    slope = math.tan(math.radians(taper))
    tilt = math.tan(math.radians(lean))
    left, right = 400 * (slope + tilt), 200 - 400 * (slope - tilt)
    sew = loop(0j, 200 + 0j, right + 400j, left + 400j)
    out = 10 / math.cos(math.radians(taper))
    inner = 1 if not mirrored else -1
    low_left, low_right = left + inner * depth * slope, right - inner * depth * slope
    if lean:
        low_left, low_right = left + depth * tilt, right + depth * tilt
    cut = loop(
        -out - 10 * slope - 10j,
        200 + out + 10 * slope - 10j,
        right + out + 400j,
        low_right + out + (400 + depth) * 1j,
        low_left - out + (400 + depth) * 1j,
        left - out + 400j,
    )
    lines = [
        line_mark(sew, Role.SEW, label="Leg", groups=("Leg",)),
        line_mark(cut, Role.CUT, label="Leg cut", groups=("Leg",)),
    ]
    return judged(HEM_TURN_UP, lines, LEG.format(left=left, right=right))


@pytest.mark.parametrize("depth", [25.0, 40.0])
@pytest.mark.parametrize("taper", [1.5, 3.0])
def test_a_hem_on_a_tapered_leg_falls_short_by_twice_its_depth_on_either_side(taper, depth):
    """Above the hem the leg is wider by depth x tan(taper) on a side, below it narrower by as much: geometry."""
    (finding,) = leg(taper, depth, mirrored=False).findings
    assert finding.code == "narrow"
    assert finding.measured == pytest.approx(-4 * depth * math.tan(math.radians(taper)), abs=0.02)
    assert finding.edges == ("leg.hem",)
    assert finding.at.imag == pytest.approx(400 + depth, abs=0.1)


@pytest.mark.parametrize("taper", [0.0, 1.5, 6.0, -6.0])
def test_a_hem_whose_sides_mirror_the_leg_fits(taper):
    """Fabrics-Store blog, checking, blending and truing, part 2."""
    assert leg(taper, 40.0, mirrored=True).findings == ()


def test_a_hem_that_leans_as_a_whole_does_not_fit_either():
    """Both sides lean the same way: as wide as the leg, and still beside it."""
    (finding,) = leg(0.0, 40.0, mirrored=False, lean=4.0).findings
    assert abs(finding.measured) == pytest.approx(2 * 40 * math.tan(math.radians(4)), abs=0.1)


def panel(corners, cut, plan):
    lines = [
        line_mark(loop(*corners.values()), Role.SEW, label="Panel", groups=("Panel",)),
        line_mark(loop(*cut), Role.CUT, label="Panel cut", groups=("Panel",)),
    ]
    drawn = "".join(f"{name} = [{at.real}, {at.imag}]\n" for name, at in corners.items())
    head, edges = plan.split("\n", 1)
    return judged(
        HEM_TURN_UP,
        lines,
        f'[pieces.panel]\nin-file = "Panel"\n{head}\n[pieces.panel.corners]\n{drawn}[pieces.panel.edges]\n{edges}',
    )


def test_a_vent_in_a_straight_side_is_folded_along_no_side_above():
    """The vent's facing is as long as the vent, and not as the whole panel: the side runs on above it, the hem below is mitred."""
    corners = {"a": 0j, "b": 200 + 0j, "slit": 200 + 300j, "c": 200 + 400j, "d": 400j}
    cut = (-10 - 10j, 210 - 10j, 210 + 300j, 225 + 300j, 225 + 425j, -10 + 425j)
    result = panel(
        corners, cut, 'unsewn = ["vent", "hem"]\nside = ["b", "slit"]\nvent = ["slit", "c"]\nhem = ["c", "d"]\n'
    )
    assert result.findings == ()
    assert [(one.edge, one.reason) for one in result.skipped] == [("vent", "no-side")]


def test_a_hem_beside_a_vent_is_still_held_against_its_other_side():
    corners = {"a": 0j, "b": 200 + 0j, "slit": 200 + 300j, "c": 200 + 400j, "d": 400j}
    cut = (-10 - 10j, 210 - 10j, 210 + 300j, 225 + 300j, 225 + 425j, 2 + 425j, -10 + 400j)
    result = panel(
        corners, cut, 'unsewn = ["vent", "hem"]\nside = ["b", "slit"]\nvent = ["slit", "c"]\nhem = ["c", "d"]\n'
    )
    (finding,) = result.findings
    assert (finding.edges, finding.code) == (("panel.hem",), "narrow")
    assert finding.measured == pytest.approx(-12.0, abs=0.1)


# Allowances


def two_lines(sew: Curve, cut: Curve, **more):
    return [
        line_mark(sew, Role.SEW, label="Side", groups=("Side",), **more),
        line_mark(cut, Role.CUT, label="Side cut", groups=("Side",), **more),
    ]


def test_an_allowance_round_curves_is_even():
    arc = arc_from(0j, 0, 120, 300)
    sew = Curve.join([arc, Curve.line(arc.end, 0j)])
    for allowance in (6.0, 10.0, 15.875):
        result = judged(ALLOWANCE_EVEN, two_lines(sew, sew.offset(-allowance)))
        assert result.findings == ()
        assert [one for one in result.skipped if one.piece] == []


def test_edges_without_an_allowance_beside_edges_with_one():
    """A fold has none, a seam 10 mm, a hem 40: neighbours need not agree (fashion-incubator.com, How to walk a pattern)."""
    cut = loop(-10j, 210 - 10j, 210 + 340j, 340j)
    assert judged(ALLOWANCE_EVEN, two_lines(box(), cut)).findings == ()


@pytest.mark.parametrize(("grows", "severity"), [(0.7, None), (1.5, "note"), (3.0, "warning"), (4.5, "error")])
def test_an_allowance_that_grows(grows, severity):
    """The right side is 300 long; away from its ends by 1.2 allowances, 12 mm either way, it grows by 92 % of the whole."""
    cut = loop(-10 - 10j, 210 - 10j, 210 + grows + 310j, -10 + 310j)
    found = judged(ALLOWANCE_EVEN, two_lines(box(), cut)).findings
    assert [one.severity.value for one in found] == ([severity] if severity else [])
    if found:
        middle = 10 + grows * 160 / 320
        assert found[0].measured == pytest.approx(grows * (300 - 2.4 * middle) / 320, abs=0.03)


@pytest.mark.parametrize(("bottom", "code"), [(76.0, "tapers"), (120.0, "tapers")])
def test_an_allowance_that_is_narrow_above_and_wide_below(bottom, code):
    """25 mm above and more below: what lies farther than an allowance usually does is told all the same."""
    cut = loop(-10 - 10j, 225 - 10j, 200 + bottom + 1210j, -10 + 1210j)
    (found,) = judged(ALLOWANCE_EVEN, two_lines(box(200, 1200), cut)).findings
    assert (found.code, found.severity.value) == (code, "note")
    slope = (bottom - 25) / 1220
    middle = (25 + slope * 610) / math.hypot(1, slope)
    # Square to the cut line, and from 1.2 of what lies in the middle on.
    ends = [(25 + slope * (10 + y)) / math.hypot(1, slope) for y in (1.2 * middle, 1200 - 1.2 * middle)]
    assert [found.facts[name] for name in ("low", "high")] == pytest.approx(ends, rel=0.01)


def test_an_allowance_that_steps_out_is_uneven():
    cut = loop(-10 - 10j, 225 - 10j, 225 + 600j, 276 + 640j, 276 + 1210j, -10 + 1210j)
    (found,) = judged(ALLOWANCE_EVEN, two_lines(box(200, 1200), cut)).findings
    assert (found.code, found.severity.value) == ("uneven", "error")
    assert found.measured == pytest.approx(51, abs=0.1)


@pytest.mark.parametrize(
    ("cut", "reason"),
    [
        (loop(-10 - 10j, 290 - 10j, 290 + 1210j, -10 + 1210j), "far-cut-line"),  # 90 mm beside one edge
        (loop(-10 - 70j, 210 - 70j, 210 + 1210j, -10 + 1210j), "short-edge"),  # 70 mm beyond one of 200 mm
    ],
)
def test_an_allowance_that_cannot_be_told_is_said_to_be_so(cut, reason):
    result = judged(ALLOWANCE_EVEN, two_lines(box(200, 1200), cut))
    assert result.findings == ()
    assert [one.reason for one in result.skipped if one.edge] == [reason]


def test_the_leg_of_a_dart_has_no_allowance():
    sew = loop(0j, 90 + 0j, 100 + 90j, 110 + 0j, 200 + 0j, 200 + 300j, 300j)
    cut = loop(-10 - 10j, 210 - 10j, 210 + 310j, -10 + 310j)
    result = judged(ALLOWANCE_EVEN, two_lines(sew, cut))
    assert result.findings == ()
    assert {one.reason for one in result.skipped if one.edge} == {"short-edge"}


# Left and right


@pytest.mark.parametrize("turn", [0, 33, 180, 271])
def test_mirror_images_may_lie_anyhow(turn):
    left = loop(*FLAP)
    right = loop(*FLAP).transformed(Affine.rotation(turn) @ Affine.from_matrix(-1, 0, 0, 1, 400, 20)).reversed()
    lines = [line_mark(left, Role.SEW, label="Flap left"), line_mark(right, Role.SEW, label="Flap right")]
    assert judged(MIRROR_PAIR, lines).findings == ()
    same = left.transformed(Affine.translation(300 + 50j) @ Affine.rotation(turn))
    lines = [line_mark(left, Role.SEW, label="Flap left"), line_mark(same, Role.SEW, label="Flap right")]
    assert codes(judged(MIRROR_PAIR, lines)) == [("same-hand", "warning")]


def test_a_piece_that_is_its_own_mirror_image_is_both_hands():
    lines = [
        line_mark(box(110, 170), Role.SEW, label="Left Pocket"),
        line_mark(box(110, 170, 300 + 0j), Role.SEW, label="Right Pocket"),
    ]
    assert judged(MIRROR_PAIR, lines).findings == ()


@pytest.mark.parametrize(
    ("left", "right"),
    [("Vorderteil links", "Vorderteil rechts"), ("Devant gauche", "Devant droit"), ("FrontLeft", "FrontRight"),
     ("Delantero izquierdo", "Delantero derecho"), ("Front L", "Front R"), ("Linker mouw", "Rechter mouw")],
)  # fmt: skip
def test_left_and_right_in_six_languages(left, right):
    other = loop(*(complex(400 - p.real, p.imag) for p in reversed((*FLAP[:2], FLAP[2] + 5, FLAP[3]))))
    lines = [line_mark(loop(*FLAP), Role.SEW, label=left), line_mark(other, Role.SEW, label=right)]
    (finding,) = judged(MIRROR_PAIR, lines).findings
    assert finding.measured == pytest.approx(5.0, abs=0.01)


def test_curved_sides_are_compared_too():
    """By geometry: a side that bulges by 5 mm more parts by 5 mm in its middle."""
    bulge = Curve.quadratic(100 + 0j, 130 + 50j, 100 + 100j)
    more = Curve.quadratic(100 + 0j, 140 + 50j, 100 + 100j)
    rest = Curve.polyline([100 + 100j, 100j, 0j, 100 + 0j])
    flip = Affine.from_matrix(-1, 0, 0, 1, 500, 0)
    left, right = Curve.join([bulge, rest]), Curve.join([more, rest]).transformed(flip).reversed()
    lines = [line_mark(left, Role.SEW, label="Left cup"), line_mark(right, Role.SEW, label="Right cup")]
    (finding,) = judged(MIRROR_PAIR, lines).findings
    assert finding.measured == pytest.approx(5.0, abs=0.01)


# Folds and grain


def folded(angle: float, *, y_down: bool = True):
    """A quarter with a fold drawn on its left side, whose top leaves it at some angle."""
    rise = 200 * math.tan(math.radians(angle - 90))
    sign = 1 if y_down else -1
    corners = [0j, 200 - rise * 1j * sign, 200 + 300j * sign, 300j * sign]
    return [line_mark(loop(*corners)), line_mark([300j * sign, 0j], Role.FOLD)]


@pytest.mark.parametrize("y_down", [True, False])
@pytest.mark.parametrize(("angle", "code"), [(90.0, None), (95.0, "a dip"), (84.0, "a bump")])
def test_a_fold_without_a_plan_is_judged_by_its_corners(angle, code, y_down):
    found = judged(SQUARE_END, folded(angle, y_down=y_down), y_down=y_down).findings
    assert [one.measured for one in found] == ([pytest.approx(angle - 90, abs=1e-6)] if code else [])
    assert all(code in one.message for one in found)


def test_a_round_neckline_leaves_its_fold_squarely():
    """A radius of 60 mm turns by nearly 6 degrees over 6 mm, evenly, and opens out to a round neckline."""
    neck = Curve.arc(0j, 60.0, start=0.0, sweep=90.0)
    outline = Curve.join([neck, Curve.polyline([60j, 200j, 200 + 200j, 200 + 0j, 60 + 0j])])
    lines = [line_mark(outline), line_mark([60j, 200j], Role.FOLD), line_mark([60 + 0j, 200 + 0j], Role.FOLD)]
    result = judged(SQUARE_END, lines)
    assert result.findings == ()
    assert result.skipped == ()


def test_a_fold_that_crosses_the_piece_may_lie_anyhow():
    lines = [line_mark(box()), line_mark([20j, 200 + 90j], Role.FOLD), line_mark([100 + 50j, 100 + 250j], Role.GRAIN)]
    for check in (SQUARE_END, GRAIN_FOLD):
        assert judged(check, lines).findings == ()


@pytest.mark.parametrize("name", ["crease", "Bügelfalte", "CREASE LINE"])
def test_a_crease_is_told_by_its_name(name):
    lines = [
        line_mark(box()),
        line_mark([100 + 20j, 100 + 280j], label=name),
        line_mark([80 + 250j, 80 + 50j + 200 * math.tan(math.radians(3))], Role.GRAIN),
    ]
    (finding,) = judged(GRAIN_FOLD, lines).findings
    assert (finding.code, finding.measured) == ("crease", pytest.approx(3.0, abs=1e-6))


# Outlines and what lies in them

EIGHT = loop(0j, 100 + 100j, 160 + 100j, 160 + 0j, 100 + 0j, 100j)


def test_a_figure_of_eight_is_as_bad_as_its_smaller_loop():
    """A triangle of 100 by 50 mm is as large as a circle 56.4 mm wide."""
    (finding,) = judged(OUTLINE_CROSSING, [line_mark(EIGHT, Role.SEW, label="Bow")]).findings
    assert finding.measured == pytest.approx(2 * math.sqrt(2500 / math.pi), abs=1e-6)
    assert finding.at == pytest.approx(50 + 50j)


def test_what_a_check_finds_is_no_note_as_well():
    made = pattern([line_mark(EIGHT, Role.SEW, label="Bow")])
    assert "outline-crosses-itself" in {note.code for note in made.notes}
    for checks, told in (([OUTLINE_CROSSING], False), ([MARKS_INSIDE], True)):
        notes = judge(made, None, checks, SHOP).notes
        assert ("outline-crosses-itself" in {note.code for note in notes}) == told


def test_a_whole_outline_drawn_twice():
    (finding,) = judged(OUTLINE_DOUBLED, [line_mark(box(), label="Front"), line_mark(box())]).findings
    assert finding.code == "twice"
    assert "1000 mm" in finding.message


def test_a_strap_laid_across_is_not_doubled_and_may_jut_out():
    strap = line_mark(box(220, 30, -10 + 100j))
    edge_to_edge = line_mark(box(200, 30, 150j), Role.INTERNAL)
    lines = [line_mark(box(), label="Front"), strap, edge_to_edge]
    for check in (OUTLINE_DOUBLED, MARKS_INSIDE):
        assert judged(check, lines).findings == ()


def test_a_sew_line_and_a_cut_line_that_cross_are_one_piece():
    """What was altered is one of the two: they go on being read together."""
    cut = loop(-10 - 10j, 210 - 10j, 210 + 294j, -10 + 294j)
    made = pattern(two_lines(box(), cut))
    assert [one.line for one in made.pieces] == ["sew"]
    (finding,) = judge(made, None, [OUTLINE_CROSSING], SHOP).findings
    assert (finding.code, finding.measured) == ("outside", pytest.approx(6.0, abs=1e-6))


# Words


@pytest.mark.parametrize(
    ("words", "count"),
    [("Cut 2", "2"), ("2x zuschneiden", "2"), ("Couper 2 fois", "2"), ("Cortar 2", "2"), ("Tagliare 2", "2"),
     ("2x knippen", "2"), ("1x im Stoffbruch", "1"), ("Couper 1 fois au pli", "1"), ("2 mal", "2")],
)  # fmt: skip
def test_the_cut_quantity_is_read_in_six_languages(words, count):
    made = pattern([line_mark(box())], texts=[TextMark(at=100 + 150j, text=words, place=Place("text"))])
    assert made.pieces[0].labels.get("quantity") == count


def test_a_shop_that_asks_for_labels_gets_them_asked_for_everywhere():
    lines = [line_mark(box(), label="Front")]
    assert judged(LABELS, lines).findings == ()
    asking = replace(Settings(), severities={"labels/size": "warning"})
    assert codes(judged(LABELS, lines, settings=asking)) == [("size", "warning")]


def test_a_piece_drawn_twice_is_named_once():
    lines = [line_mark(box(80, 40, complex(200 * k, 0))) for k in range(3)]
    lines.append(line_mark(box(80, 60, 600 + 0j)))
    texts = [
        TextMark(at=complex(40 + 200 * k, 20), text=text, place=Place("t")) for k, text in enumerate(["Tab", "Loop"])
    ]
    assert [one.pieces for one in judged(LABELS, lines, texts=texts).findings] == [("piece 4",)]


def test_what_is_cut_again_of_a_piece_is_no_wrong_number():
    """Cut 4 of a pair is shell and lining; cut 1 pair is two."""
    for words in ("Cut 4", "Cut 1 pair"):
        draft = skirt()
        texts = ("Ferryhand skirt", "Back", "Size 40", words)
        sheet = Sheet.of(draft.with_panel("back", texts=texts))
        assert [one.message for one in sheet.judged([LABELS]).findings] == []


def test_flaps_of_the_same_shape_are_quiet():
    assert flaps().judged().findings == ()
