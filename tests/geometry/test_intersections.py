"""Where lines cross one another, and themselves."""

import math

import numpy as np
import pytest
from curve_strategies import curves
from hypothesis import given, settings

from seamcheck.geometry import intersections
from seamcheck.geometry.curve import Curve


def test_two_curves_cross():
    ((first, second),) = Curve.line(-5, 5).crossings(Curve.line(-3j, 3j))
    assert (first, second) == pytest.approx((5, 3))
    assert Curve.line(0, 5).crossings(Curve.line(1j, 5 + 1j)) == ()
    circle, line = Curve.arc(0, 5), Curve.line(-10 + 3j, 10 + 3j)
    (first, right), (second, left) = circle.crossings(line)
    assert circle.point(first) == pytest.approx(4 + 3j, abs=1e-6)
    assert circle.point(second) == pytest.approx(-4 + 3j, abs=1e-6)
    assert (right, left) == pytest.approx((14, 6), abs=1e-6)


def test_a_crossing_at_a_joint_is_named_once():
    corner = Curve.polyline([0, 10, 10 + 10j])
    across = Curve.polyline([5 - 5j, 10, 15 + 5j])
    ((first, second),) = corner.crossings(across)
    assert (first, second) == pytest.approx((10, math.hypot(5, 5)))


def test_a_curve_crosses_itself():
    eight = Curve.polyline([0, 10 + 10j, 10, 10j, 0])
    side, diagonal = 10.0, math.hypot(10, 10)
    ((first, second),) = eight.self_crossings()
    assert (first, second) == pytest.approx((diagonal / 2, 1.5 * diagonal + side))
    assert Curve.polyline([0, 100, 100 + 100j, 100j, 0]).self_crossings() == ()
    assert Curve.arc(0, 50).self_crossings() == ()
    assert Curve.polyline([0, 10, 10, 10 + 10j]).self_crossings() == ()


def test_a_loop_inside_one_segment_is_found():
    loop = Curve.cubic(0, 200 + 100j, -100 + 100j, 100)
    ((first, second),) = loop.self_crossings()
    assert second - first > 10
    assert loop.point(first) == pytest.approx(loop.point(second), abs=1e-9)
    assert Curve.cubic(0, 30 + 60j, 70 + 60j, 100).self_crossings() == ()


@settings(max_examples=30)
@given(curves(), curves())
def test_crossings_lie_on_both(first, second):
    for a, b in first.crossings(second):
        assert first.point(a) == pytest.approx(second.point(b), abs=1e-7)


def test_neighbours_that_run_on_are_left_aside_and_nothing_else(monkeypatch):
    """Closed lines of wild and of tame cubics, some with a loop over a joint: the same crossings as when all pairs are tried."""
    random = np.random.default_rng(7)
    seen = 0
    for wild in (0.1, 0.5, 2.0, 6.0):
        for _ in range(12):
            count = int(random.integers(3, 9))
            corners = np.exp(2j * np.pi * np.arange(count) / count) * 100
            steps = np.roll(corners, -1) - corners
            handles = 30 * wild * (random.normal(size=(count, 2)) + 1j * random.normal(size=(count, 2)))
            ends = np.roll(corners, -1)
            row = [corners, corners + steps / 3 + handles[:, 0], ends - steps / 3 + handles[:, 1], ends]
            curve = Curve(np.stack(row, axis=1))
            found = curve.self_crossings()
            with monkeypatch.context() as all_pairs:
                all_pairs.setattr(intersections, "_run_on", lambda segments, i, j: np.zeros(len(i), dtype=bool))
                assert curve.self_crossings() == found
            seen += len(found)
    assert seen > 100
