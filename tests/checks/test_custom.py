"""What looks wrong and is custom stays quiet, and what is wrong by custom is said in the words of the trade."""

import math

import pytest
from faulty_skirts import longer_band, sewn_boxes
from pattern_making import line_mark, pattern, planned
from skirt_making import CHECKS, SHOP

from seamcheck.checks.allowances import ALLOWANCE_EVEN, ALLOWANCE_MATES
from seamcheck.checks.base import Severity
from seamcheck.checks.seams import NOTCH_MATCH, SEAM_LENGTH, SEAM_SPAN
from seamcheck.engine.judge import judge
from seamcheck.geometry.curve import Affine, Curve
from seamcheck.pattern.drawing import Role
from seamcheck.testing import PanelNotch

RADIUS, SWEEP, ALLOWANCE = 240.0, 60.0, 10.0

PAIR = """
[pieces.bulging]
in-file = "Bulging"
line = "sew"
[pieces.bulging.corners]
a = [{a.real}, {a.imag}]
b = [{b.real}, {b.imag}]
far = [{far.real}, {far.imag}]
[pieces.bulging.edges]
mouth = ["a", "b"]
[pieces.hollow]
in-file = "Hollow"
line = "sew"
[pieces.hollow.corners]
c = [{c.real}, {c.imag}]
d = [{d.real}, {d.imag}]
far = [{away.real}, {away.imag}]
[pieces.hollow.edges]
mouth = ["c", "d"]
[[seams]]
name = "mouth"
sew = ["bulging.mouth", "hollow.mouth"]
"""


def test_cut_edges_of_a_round_and_a_hollow_mate_differ_and_the_seam_is_true():
    """Grainline Studio, Concave and convex curves: the cut edges differ by twice the allowance times the turn, here 21 mm;
    and the corners of the two papers do not coincide (Craftsy, How to match seams)."""
    arc = Curve.arc(0j, RADIUS, start=-SWEEP / 2, sweep=SWEEP)
    bulging = Curve.join([arc, Curve.polyline([arc.end, arc.end - 150, arc.start - 90, arc.start])])
    beside = arc.transformed(Affine.translation(400 + 0j))
    hollow = Curve.join(
        [
            beside.reversed(),
            Curve.polyline([beside.start, beside.start + 90, beside.end + 150, beside.end]),
        ]
    )
    marks = []
    for name, sew in (("Bulging", bulging), ("Hollow", hollow)):
        cut = sew.offset(-ALLOWANCE if sew.signed_area() > 0 else ALLOWANCE)
        marks += [
            line_mark(sew, Role.SEW, label=name, groups=(name,)),
            line_mark(cut, Role.CUT, label=f"{name} cut", groups=(name,)),
        ]
    plan = PAIR.format(a=arc.start, b=arc.end, far=arc.end - 150, c=beside.start, d=beside.end, away=beside.end + 150)
    result = judge(pattern(marks, plan), planned(plan), [SEAM_LENGTH, ALLOWANCE_EVEN, ALLOWANCE_MATES], SHOP)
    (seam,) = result.seams
    outer, inner = (math.radians(SWEEP) * (RADIUS + by) for by in (ALLOWANCE, -ALLOWANCE))
    assert outer - inner == pytest.approx(2 * ALLOWANCE * math.radians(SWEEP))
    assert seam.difference == pytest.approx(0.0, abs=1e-3)
    assert seam.first.length == pytest.approx(math.radians(SWEEP) * RADIUS, abs=1e-3)
    assert (result.findings, result.failures, result.skipped) == ((), (), ())


def test_lengths_matter_and_not_shape():
    """A Tailor Made It (2024): front and back side seams of trousers are of different shape and of one length."""
    arc = Curve.arc(0j, 1200.0, start=-10, sweep=20)
    straight = Curve.line(2000 + 0j, 2000 + 1j * arc.length)
    round_one = Curve.join([arc, Curve.polyline([arc.end, arc.end - 150, arc.start - 90, arc.start])])
    ruled = Curve.join(
        [straight, Curve.polyline([straight.end, straight.end - 150, straight.start - 90, straight.start])]
    )
    marks = [line_mark(round_one, label="Bulging"), line_mark(ruled, label="Hollow")]
    plan = PAIR.format(
        a=arc.start, b=arc.end, far=arc.end - 150, c=straight.start, d=straight.end, away=straight.end - 150
    )
    result = judge(pattern(marks, plan), planned(plan), [SEAM_LENGTH, SEAM_SPAN, NOTCH_MATCH], SHOP)
    assert (result.findings, result.failures) == ((), ())
    assert result.seams[0].difference == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize(
    ("names", "edge", "lengths", "said"),
    [
        (("sleeve", "front"), "armhole", (396.0, 400.0), "The cap is shorter than the armhole, and ease belongs on the cap."),
        (("back", "front"), "shoulder", (396.0, 400.0), "The front shoulder is longer than the back one"),
        (("front", "waistband"), "waist", (396.0, 400.0), "The band is longer than the waist, and ease belongs on the waist."),
        (("front", "back"), "inseam", (311.1, 400.0), "The back inseam is longer than the front one"),
    ],
)  # fmt: skip
def test_ease_on_the_wrong_side_is_said_in_these_words(names, edge, lengths, said):
    """A cap is never shorter than its armhole: emmakespatterns.com, Sleeve cap ease; the longer edge covers the fuller
    area: Fashion Incubator, Lazy pattern making; 3 1/2 in in one leg: happyhomemakerredux.wordpress.com (2013)."""
    (finding,) = sewn_boxes(names, edge, ("a", "b"), lengths, ((), ())).judged().findings
    assert (finding.check, finding.severity) == ("seam-length", Severity.ERROR)
    assert said in finding.message


def test_a_waist_whose_band_was_forgotten_says_so():
    (finding,) = longer_band(6.35).seam_planned("waist", ease=None).judged().findings
    assert finding.seam == "waist"
    assert "The band is longer than the waist" in finding.message


def test_two_notches_that_changed_places_are_found():
    """Notches stand in one order on both sides."""
    # Were they as far from either end, they would all meet with the seam written from its other end.
    first = (PanelNotch("side", 100.0), PanelNotch("side", 180.0, 2))
    second = (PanelNotch("side", 100.0, 2), PanelNotch("side", 180.0))
    sheet = sewn_boxes(("front", "back"), "side", ("a", "b"), (300.0, 300.0), (first, second))
    found = [(one.check, one.code) for one in sheet.judged().findings]
    assert found == [("notch-match", "count")] * 2


def test_an_alteration_above_the_notches_is_placed_above_them():
    """All later notches are off by one amount, and all later stretches agree: by geometry of the cut."""
    first = tuple(PanelNotch("side", at - 9.525) for at in (150.0, 220.0, 310.0))
    second = tuple(PanelNotch("side", at) for at in (150.0, 220.0, 310.0))
    sheet = sewn_boxes(("front", "back"), "side", ("a", "b"), (400.0 - 9.525, 400.0), (first, second))
    (finding,) = sheet.judged().findings
    assert finding.check == "seam-length"
    assert "The whole difference lies between a and the notch 150 mm from a" in finding.message
    assert "altered by 3/8 in, a usual amount by hand" in finding.why


def test_no_check_finds_fault_with_a_planned_ratio():
    sheet = sewn_boxes(("frill", "skirt"), "top", ("a", "b"), (800.0, 400.0), ((), ()), ratio=(1.9, 2.1))
    assert sheet.judged(CHECKS).findings == ()
