import math
from itertools import pairwise

import pytest

from seamcheck.geometry.curve import Curve
from seamcheck.reading.svg.path import ShapeError, path


def stroke(data):
    (only,) = path(data, 1.0)
    return only


def test_every_command_absolute_and_relative():
    absolute = stroke("M1 2 L3 4 H6 V7 C 8 8 9 9 10 7 S 12 6 13 7 Q 14 8 15 7 T 17 7 Z")
    relative = stroke("m1 2 l2 2 h3 v3 c 2 1 3 2 4 0 s 2 -1 3 0 q 1 1 2 0 t 2 0 z")
    assert absolute.array == pytest.approx(relative.array, abs=1e-12)
    assert absolute.closed
    assert absolute.segments[4][1] == 2 * 10 + 2 * 7j - (9 + 9j)  # S reflects the last control point
    quadratic = 2 * (15 + 7j) - (14 + 8j)  # T does too
    assert absolute.segments[6][1] == pytest.approx(15 + 7j + (quadratic - 15 - 7j) * 2 / 3)


@pytest.mark.parametrize("before", ["L 5 5", "Q 3 9 5 5", ""])
def test_s_after_anything_but_a_cubic_starts_at_the_pen(before):
    last = stroke(f"M5 5 {before} S 8 8 9 9").segments[-1]
    assert last[1] == 5 + 5j


def test_t_after_anything_but_a_quadratic_is_straight():
    last = Curve(stroke("M0 0 C 1 5 2 5 3 0 T 6 0").array[-1:])
    assert last.is_straight()
    assert last.length == pytest.approx(3)


@pytest.mark.parametrize(
    ("compact", "spaced"),
    [
        ("M.5.5L-1-2", "M 0.5 0.5 L -1 -2"),
        ("M10.5.5 1 2", "M 10.5 0.5 L 1 2"),
        ("m0 0 1 1 1 1", "M 0 0 L 1 1 L 2 2"),
        ("M10. 5.", "M 10 5"),
        ("M1e2 2E-1L3+4", "M 100 0.2 L 3 4"),
        ("M0 0a5 5 0 0110 10", "M 0 0 A 5 5 0 0 1 10 10"),
        ("M0 0a5 5 0 11-3-4 5 5 0 00 1 1", "M 0 0 A 5 5 0 1 1 -3 -4 A 5 5 0 0 0 -2 -3"),
        ("\n M 0,0\t,1 , 1\n", "M 0 0 L 1 1"),
        ("M0,0\r\nL\f1,1", "M 0 0 L 1 1"),
    ],
)
def test_compact_spelling(compact, spaced):
    assert stroke(compact).array == pytest.approx(stroke(spaced).array, abs=1e-12)


def test_drawing_goes_on_after_a_close():
    first, second = path("M1 1 h4 v4 z l 3 3", 1.0)
    assert first.closed
    assert not second.closed
    assert (second.start, second.end) == (1 + 1j, 4 + 4j)


def test_relative_move_after_a_close_starts_from_the_start():
    assert path("M1 1 h4 v4 z m 2 0 h1", 1.0)[1].start == 3 + 1j


def test_arc_without_radius_is_a_line_and_without_way_is_nothing():
    assert stroke("M0 0 A 0 5 0 0 1 10 0").segments == stroke("M0 0 L 10 0").segments
    assert stroke("M0 0 A 5 5 0 0 1 0 0 h1").segments == stroke("M0 0 h1").segments


def test_arc_that_cannot_reach_grows():
    arc = Curve(stroke("M0 0 A 1 1 0 0 1 20 0").array)
    assert arc.length == pytest.approx(math.pi * 10, abs=1e-6)
    assert arc.bounds()[1] == pytest.approx(-10, abs=1e-6)  # sweep 1 turns clockwise as seen, so over the top


def test_negative_radii_count_as_positive():
    assert stroke("M0 0 A -5 -7 30 0 1 6 2").array == pytest.approx(stroke("M0 0 A 5 7 30 0 1 6 2").array)


@pytest.mark.parametrize("large", [0, 1])
@pytest.mark.parametrize("sweep", [0, 1])
@pytest.mark.parametrize("rotation", [0, 30, -75, 390])
def test_arc_lies_on_its_ellipse_and_takes_the_right_way(large, sweep, rotation):
    end = 13 + 4j
    arc = Curve(stroke(f"M0 0 A 20 8 {rotation} {large} {sweep} 13 4").array)
    assert (arc.start, arc.end) == (0, end)
    turn = complex(math.cos(math.radians(rotation)), math.sin(math.radians(rotation)))

    def on_unit_circle(z):
        local = z / turn
        return complex(local.real / 20, local.imag / 8)

    points = [on_unit_circle(arc.point(arc.length * share / 40)) for share in range(41)]
    # The centre is where all points are at distance 1: from three of them, by the circumcentre formula.
    a, b, c = points[0], points[20], points[40]
    centre = (a * a.conjugate() * (b - c) + b * b.conjugate() * (c - a) + c * c.conjugate() * (a - b)) / (
        a.conjugate() * (b - c) + b.conjugate() * (c - a) + c.conjugate() * (a - b)
    )
    assert [abs(point - centre) for point in points] == pytest.approx([1.0] * 41, abs=1e-6)
    turned = sum(math.degrees(math.asin(((p - centre).conjugate() * (q - centre)).imag)) for p, q in pairwise(points))
    assert (turned > 0) == bool(sweep)
    assert (abs(turned) > 180) == bool(large)


@pytest.mark.parametrize(
    ("data", "endless"),
    [
        ("L1 1", False),
        ("M0 0 L 1", False),
        ("M0 0 L nan 1", True),
        ("M0 0 L 1 -Infinity", True),
        ("M0 0 L 1e999 0", True),
    ],
)
def test_errors_tell_whether_a_number_was_not_finite(data, endless):
    with pytest.raises(ShapeError) as caught:
        path(data, 1.0)
    assert caught.value.endless == endless
