"""Lines redrawn together to exact lengths."""

import pytest

from seamcheck.geometry.curve import Curve
from seamcheck.truing.frame import Knot, RedrawnStretch, Wanted, draw

SIDE = Curve.line(0, 100j)
WAIST = Curve.cubic(100j, 30 + 103j, 60 + 106j, 80 + 110j)
KNOTS = [Knot(0, 0j), Knot(100, 100j, free=True), Knot(180, 80 + 110j)]
STRETCHES = [RedrawnStretch(curve=SIDE, first=0, last=1), RedrawnStretch(curve=WAIST, first=1, last=2)]


def test_both_lengths_are_met_and_the_corner_keeps_its_angle():
    drawn = draw(KNOTS, STRETCHES, [Wanted((0,), 106.35), Wanted((1,), WAIST.length)])
    side, waist = drawn.curves
    assert side.length == pytest.approx(106.35, abs=1e-8)
    assert waist.length == pytest.approx(WAIST.length, abs=1e-8)
    before = WAIST.tangent(0.0) / SIDE.tangent(100.0, -1)
    assert abs(waist.tangent(0.0) / side.tangent(side.length, -1) - before) < 1e-9
    assert abs(side.tangent(0.0) - 1j) < 1e-9
    assert abs(waist.tangent(waist.length, -1) - WAIST.tangent(WAIST.length, -1)) < 1e-9


def test_a_length_that_no_corner_can_give_is_refused():
    held = [Knot(0, 0j), Knot(100, 100j)]
    ruled = [RedrawnStretch(curve=SIDE, first=0, last=1, ruled=True)]
    assert draw(held, ruled, [Wanted((0,), 106.0)]) is None


def test_a_curve_between_held_ends_swells_to_its_length():
    drawn = draw(
        [Knot(0, 100j), Knot(80, 80 + 110j)],
        [RedrawnStretch(curve=WAIST, first=0, last=1)],
        [Wanted((0,), WAIST.length + 0.05)],
    )
    (line,) = drawn.curves
    assert line.length == pytest.approx(WAIST.length + 0.05, abs=1e-8)
    assert abs(line.tangent(0.0) - WAIST.tangent(0.0)) < 1e-9


def test_a_ruled_line_stays_straight():
    stretches = [RedrawnStretch(curve=SIDE, first=0, last=1, ruled=True), STRETCHES[1]]
    drawn = draw(KNOTS, stretches, [Wanted((0,), 104.0), Wanted((1,), WAIST.length)])
    assert drawn.curves[0].is_straight(1e-12)
    assert drawn.curves[0].length == pytest.approx(104.0, abs=1e-8)
