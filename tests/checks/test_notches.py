"""How notches lie: what is read of them, and what of it is found fault with."""

import math

import pytest
from pattern_making import arc_from, box, chords, line_mark, pattern, piece, planned
from skirt_making import SHOP

from seamcheck.checks.notches import NOTCH_PLACE
from seamcheck.engine.judge import judge
from seamcheck.geometry.curve import Curve
from seamcheck.pattern.drawing import PointMark, Role
from seamcheck.pattern.model import Pattern
from seamcheck.places import Place


def found(made: Pattern, plan: str | None = None) -> list:
    return list(judge(made, planned(plan), [NOTCH_PLACE], SHOP).findings)


@pytest.mark.parametrize("lean", [0.0, 12.0, -25.0])
@pytest.mark.parametrize("y_down", [True, False])
def test_a_point_with_a_direction_is_a_mark(lean, y_down):
    """As the apparel interchange writes it: a point on the outline, its depth and its direction."""
    inward = 90.0 if y_down else -90.0
    outline = box() if y_down else Curve.polyline([0j, 200 + 0j, 200 - 300j, -300j, 0j])
    point = PointMark(at=80 + 0j, place=Place("line 1"), role=Role.NOTCH, depth=4.0, angle=inward + lean)
    only = piece([line_mark(outline)], points=[point], y_down=y_down)
    ((notch,),) = [edge.notches for edge in only.edges if edge.notches]
    ((start, end),) = notch.ticks
    assert start == 80
    assert abs(end - start) == pytest.approx(4)
    leans = [finding.measured for finding in found(pattern([line_mark(outline)], points=[point], y_down=y_down))]
    assert [abs(one) for one in leans] == ([] if lean == 0 else [pytest.approx(abs(lean))])


def test_a_point_without_a_direction_is_not_judged_and_said_so():
    point = PointMark(at=80 + 0j, place=Place("line 1"), role=Role.NOTCH, depth=4.0)
    result = judge(pattern([line_mark(box())], points=[point]), None, [NOTCH_PLACE], SHOP)
    assert result.findings == ()
    (skipped,) = [one for one in result.skipped if "only the places of its notches" in one.message]
    assert skipped.reason == "notch-points"


def test_a_v_has_no_one_direction():
    v = line_mark([78 + 0j, 80 + 4j, 82 + 0j], Role.NOTCH)
    only = piece([line_mark(box()), v])
    assert [notch.ticks for edge in only.edges for notch in edge.notches] == [()]


def test_the_two_ticks_of_a_double_notch_are_judged_together():
    """Drawn fanning out, each leans as far one way as its twin does the other."""
    ticks = [line_mark([78 + 0j, 77 + 5j], Role.NOTCH), line_mark([82 + 0j, 83 + 5j], Role.NOTCH)]
    assert found(pattern([line_mark(box()), *ticks])) == []


@pytest.mark.parametrize("step", [1.0, 3.0, 5.0])
def test_a_notch_square_to_a_digitised_curve_does_not_lean(step):
    """By geometry a chord of 5 mm on a radius of 60 lies 2.4 degrees beside the curve at its ends."""
    arc = arc_from(0j, 0, 60, 150)
    closed = Curve.join([chords(arc, step), Curve.line(arc.end, 0j)])
    for station in (30.0, 76.3, 101.1):
        at, inward = arc.point(station), 1j * arc.tangent(station)
        assert found(pattern([line_mark(closed), line_mark([at, at + 5 * inward], Role.NOTCH)])) == []


def strip(difference: float, count: int = 1) -> tuple[list, str]:
    """A strip whose two long sides are sewn to two other pieces, its notches alike but for some mm."""
    marks = [line_mark(box(300, 80), label="strip")]
    plan = (
        "[pieces.strip]\n[pieces.strip.corners]\na = [0, 0]\nb = [300, 0]\nc = [300, 80]\nd = [0, 80]\n"
        '[pieces.strip.edges]\nupper = ["a", "b"]\nlower = ["d", "c"]\n'
    )
    marks += [line_mark([110 + 4 * k + 0j, 110 + 4 * k + 5j], Role.NOTCH) for k in range(count)]
    marks.append(line_mark([complex(190 - difference, 80), complex(190 - difference, 75)], Role.NOTCH))
    for name, y, station in (("top", 200, 110.0), ("bottom", 400, 190.0 - difference)):
        marks.append(line_mark(box(300, 100, complex(0, y)), label=name))
        marks.append(line_mark([complex(station, y), complex(station, y + 5)], Role.NOTCH))
        plan += (
            f"[pieces.{name}]\n[pieces.{name}.corners]\na = [0, {y}]\nb = [300, {y}]\nc = [300, {y + 100}]\n"
            f'd = [0, {y + 100}]\n[pieces.{name}.edges]\nedge = ["a", "b"]\n'
            f'[[seams]]\nname = "{name}"\nsew = ["strip.{"upper" if name == "top" else "lower"}", "{name}.edge"]\n'
        )
    return marks, plan


@pytest.mark.parametrize(("difference", "told"), [(0.0, False), (4.0, True), (10.0, False), (40.0, False)])
def test_a_strip_that_can_be_turned_round(difference, told):
    """Look-alike seams should differ by 1/2 in: Fashion Incubator, Notching challenge, part 2. Turned by half a turn the
    upper side comes to lie where the lower belongs; exactly alike, nobody would be harmed."""
    marks, plan = strip(difference)
    messages = [one.message for one in found(pattern(marks, plan), plan)]
    assert bool(messages) is told
    if told:
        assert "strip also goes in turned round so that lower lies where upper belongs" in messages[0]


def test_a_double_notch_tells_the_sides_apart():
    marks, plan = strip(4.0, count=2)
    assert found(pattern(marks, plan), plan) == []


def test_a_slanted_notch_shifts_its_place_by_the_tangent_of_its_lean():
    """By geometry: 6 mm at 15 degrees make 1.6 mm."""
    foot = 80 + 6 * math.tan(math.radians(15))
    (finding,) = found(pattern([line_mark(box()), line_mark([80 + 0j, foot + 6j], Role.NOTCH)]))
    assert "over its depth of 6.0 mm (1/4 in) that shifts the place by 1.6 mm" in finding.message
