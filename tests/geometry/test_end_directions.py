import cmath
import math

import numpy as np
import pytest
from pattern_making import arc_from, chords

from seamcheck.geometry.curve import Affine, Curve
from seamcheck.geometry.end_directions import (
    FEWEST,
    LONGEST_CHORD,
    arriving,
    at_corner,
    digitised_start,
    leaving,
    straight,
)


def degrees(direction: complex) -> float:
    return math.degrees(cmath.phase(direction))


def spiral(length: float, end_curvature: float, at: complex = 0j, heading: float = 0.0, step: float = 0.05) -> list:
    """Points of a line whose curvature grows evenly from 0, by the trapezoidal rule on a fine grid (an outside truth)."""
    s = np.arange(0.0, length + step / 2, step)
    directions = np.exp(1j * (math.radians(heading) + end_curvature * s**2 / (2 * length)))
    return list(at + np.concatenate([[0], np.cumsum((directions[1:] + directions[:-1]) / 2 * step)]))


@pytest.mark.parametrize("turn", [0, 31, 118, -77])
def test_a_drawn_curve_leaves_along_its_tangent(turn):
    curve = Curve.cubic(0j, 30 + 10j, 60 - 20j, 100 + 0j).transformed(Affine.rotation(turn))
    assert degrees(leaving(curve)) == pytest.approx(turn + degrees(30 + 10j), abs=1e-9)
    assert degrees(arriving(curve)) == pytest.approx(turn + degrees(40 + 20j), abs=1e-9)


def test_a_ruled_line_leaves_along_itself():
    assert leaving(Curve.line(0j, 30 + 40j)) == pytest.approx(0.6 + 0.8j)
    assert arriving(Curve.line(0j, 30 + 40j)) == pytest.approx(0.6 + 0.8j)


@pytest.mark.parametrize("radius", [20, 40, 80, 200, -20, -60])
@pytest.mark.parametrize("step", [1, 2, 3])
def test_a_digitised_circle_leaves_along_the_circle(radius, step):
    arc = arc_from(3 + 4j, 25, radius, 60)
    dots = chords(arc, step)
    # What is left is of third order: a chord is shorter than its arc.
    left_over = max(1e-6, 5 * math.degrees((step / radius) ** 2 / 24))
    assert degrees(leaving(dots)) == pytest.approx(25, abs=left_over)
    assert degrees(arriving(dots) * cmath.rect(1, -60 / radius)) == pytest.approx(25, abs=left_over)


def test_the_first_chord_alone_would_be_wrong():
    # What the fit is for: a 2 mm chord on a radius of 20 mm points 2.9 degrees beside the curve.
    dots = chords(arc_from(0j, 0, 20, 60), 2)
    first = degrees(dots.segments[0, 3] - dots.segments[0, 0])
    assert first == pytest.approx(math.degrees(2 / 40), abs=0.01)
    assert abs(degrees(leaving(dots))) < 0.03


@pytest.mark.parametrize("step", [1, 2, 3])
@pytest.mark.parametrize("radius", [30, 60, 200])
def test_a_spiral_that_starts_straight_is_read_to_a_few_tenths(radius, step):
    # Curvature that grows from nothing to 1/radius over 50 mm, as a crotch does.
    points = spiral(50, 1 / radius, heading=10)
    curve = Curve.polyline(points[:: round(step / 0.05)])
    assert degrees(leaving(curve)) == pytest.approx(10, abs=0.5)


def test_a_spiral_that_ends_round_is_read_to_a_few_tenths():
    points = spiral(50, 1 / 40)
    curve = Curve.polyline(points[::40])
    assert degrees(arriving(curve)) == pytest.approx(math.degrees(50 / 80), abs=0.5)


@pytest.mark.parametrize("noise", [0.01, 0.05])
def test_the_reading_of_a_digitiser_is_rounded_and_harms_little(noise):
    rng = np.random.default_rng(7)
    arc = arc_from(0j, 0, 60, 60)
    dots = np.array([arc.point(2.0 * k) for k in range(31)])
    dots = dots + noise * (rng.uniform(-1, 1, 31) + 1j * rng.uniform(-1, 1, 31))
    assert abs(degrees(leaving(Curve.polyline(dots)))) < 60 * noise


def test_evenly_straight_chords_are_straight():
    dots = Curve.polyline([complex(2 * k, 0) for k in range(20)])
    assert degrees(leaving(dots)) == pytest.approx(0, abs=1e-9)


def test_uneven_chords_do_no_harm():
    arc = arc_from(0j, -40, 50, 60)
    stations = np.concatenate([[0.0], np.cumsum(np.tile([1.0, 3.0, 2.0, 4.0], 6))])
    curve = Curve.polyline([arc.point(float(s)) for s in stations])
    assert degrees(leaving(curve)) == pytest.approx(-40, abs=0.02)


def test_few_short_chords_are_read_as_drawn():
    curve = Curve.polyline([0j, 2 + 0j, 4 + 0.5j])
    assert digitised_start(curve) is None
    assert leaving(curve) == pytest.approx(1 + 0j)


def test_a_long_first_line_is_ruled():
    curve = Curve.polyline([0j, LONGEST_CHORD + 0.1 + 0j, *(complex(10 + 2 * k, k * k / 10) for k in range(10))])
    assert digitised_start(curve) is None


def test_sparse_chords_are_still_a_digitised_curve():
    # At 5 mm only two chords lie within the reach; a curve takes four points, and the row goes on.
    dots = chords(arc_from(0j, 0, 80, 100), 5)
    vertices = digitised_start(dots)
    assert vertices is not None
    assert len(vertices) == 21 > FEWEST
    assert degrees(leaving(dots)) == pytest.approx(0, abs=0.02)


def test_which_segments_are_straight():
    segments = np.array(
        [[0, 1, 2, 3], [0, 1 + 1e-3j, 2, 3], [0, 0, 3, 3], [0, 1, 2 + 2j, 3 + 3j], [5, 5, 5, 5]], dtype=complex
    )
    assert straight(segments).tolist() == [True, False, True, False, True]


# At corners


def rounded_corner(radius, turn, *, bend=None, step=None):
    """Two edges of 60 mm that meet at the middle of a rounding; `bend` is their own radius. The turn is as it was sharp."""

    def edge(at, towards):
        """The edge that leaves a point in a direction, given in degrees."""
        if bend is None:
            return Curve.line(at, at + 60 * cmath.exp(1j * math.radians(towards)))
        return arc_from(at, towards, bend, 60)

    half = arc_from(0j, 0, radius, radius * math.radians(turn / 2))
    going = edge(half.end, turn / 2)
    whole = Curve.join([half, snap(going, half.end)])
    mirrored = whole.transformed(Affine.from_matrix(-1, 0, 0, 1, 0, 0)).reversed()
    if step is None:
        return mirrored, whole
    return chords(mirrored, step), chords(whole, step)


def snap(curve, start):
    segments = curve.segments.copy()
    segments[0, 0] = start
    return Curve(segments)


def turn_at(coming, going):
    before, after = at_corner(coming, going)
    return degrees(after / before)


@pytest.mark.parametrize("turn", [60, 90, 110])
@pytest.mark.parametrize("radius", [0.5, 1, 3, 5])
def test_a_rounded_corner_turns_as_the_sharp_one_did(radius, turn):
    coming, going = rounded_corner(radius, turn)
    assert degrees(leaving(going) / arriving(coming)) == pytest.approx(0, abs=1e-6)
    assert turn_at(coming, going) == pytest.approx(turn, abs=1e-5)


@pytest.mark.parametrize("step", [0.5, 1, 2])
@pytest.mark.parametrize("radius", [1, 3, 5])
def test_a_rounded_corner_of_a_digitised_line_too(radius, step):
    assert turn_at(*rounded_corner(radius, 90, step=step)) == pytest.approx(90, abs=0.5)


@pytest.mark.parametrize("bend", [100, 200, -200])
@pytest.mark.parametrize("step", [None, 1])
def test_curved_edges_are_carried_on_to_the_corner(bend, step):
    # Where the edges would leave the corner is a little before the rounding: what they bend over its length.
    radius, turn = 3.0, 90
    coming, going = rounded_corner(radius, turn, bend=bend, step=step)
    over = radius * math.radians(turn / 2)
    assert turn_at(coming, going) == pytest.approx(turn - 2 * math.degrees(over / bend), abs=0.3)


@pytest.mark.parametrize("turn", [3, 15, 40, 90, -90])
@pytest.mark.parametrize("step", [None, 1, 2])
def test_a_sharp_corner_turns_as_it_is_drawn(turn, step):
    coming, going = arc_from(0j, 0, 80, 60), None
    going = arc_from(coming.end, math.degrees(60 / 80) + turn, -120, 60)
    if step is not None:
        coming, going = chords(coming, step), chords(going, step)
    assert at_corner(coming, going) == (arriving(coming), leaving(going))
    assert turn_at(coming, going) == pytest.approx(turn, abs=0.1)


@pytest.mark.parametrize("radius", [12, 30, 200])
@pytest.mark.parametrize("step", [None, 1, 2])
def test_a_corner_on_a_smooth_line_does_not_turn(radius, step):
    ring = arc_from(0j, 0, radius, 70)
    parts = ring.split(35.0)
    coming, going = parts if step is None else [chords(part, step) for part in parts]
    assert turn_at(coming, going) == pytest.approx(0, abs=0.5)


@pytest.mark.parametrize("radius", [10, 12, 40])
def test_a_corner_where_a_straight_line_runs_into_an_arc_does_not_turn(radius):
    assert turn_at(Curve.line(-60 + 0j, 0j), arc_from(0j, 0, radius, 40)) == pytest.approx(0, abs=1e-6)


def test_short_edges_are_taken_as_they_are_drawn():
    coming, going = rounded_corner(3, 90)
    coming, going = coming.between(coming.length - 12, coming.length), going.between(0, 12)
    assert at_corner(coming, going) == (arriving(coming), leaving(going))


@pytest.mark.parametrize("sliver", [1e-10, 1e-8, 5e-8])
def test_a_sliver_has_no_direction_of_its_own(sliver):
    # A cut beside a joint leaves a segment of next to no length; the line leaves along the one behind it.
    bow = Curve.cubic(0j, 10 + 5j, 20 + 5j, 30 + 0j)
    speck = Curve.line(-sliver + 0j, 0j).transformed(Affine.rotation(140))
    for curve in (Curve.join([speck, bow]), Curve.join([Curve.line(-9 - 1j, speck.start), speck, bow])):
        joint = curve.length - bow.length
        assert degrees(curve.tangent(joint)) == pytest.approx(degrees(10 + 5j), abs=1e-4)
        assert degrees(curve.tangent(joint - sliver)) == pytest.approx(degrees(10 + 5j), abs=1e-4)
    back = Curve.join([bow, Curve.line(30 + 0j, 30 + sliver * 1j)])
    assert degrees(back.tangent(back.length, side=-1)) == pytest.approx(degrees(10 - 5j), abs=1e-4)


def test_a_circle_cut_at_a_joint_leaves_along_itself():
    ring = arc_from(0j, 0, 12, 70)
    before, after = ring.split(35.0)
    assert degrees(leaving(after)) == pytest.approx(math.degrees(35 / 12), abs=1e-4)
    assert degrees(arriving(before)) == pytest.approx(math.degrees(35 / 12), abs=1e-4)
