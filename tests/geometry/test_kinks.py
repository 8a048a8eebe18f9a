import math

import pytest
from pattern_making import arc_from, chords, heading

from seamcheck.geometry.curve import Affine, Curve
from seamcheck.geometry.kinks import AT_END, FLAT_LENGTH, STEP_LENGTH, Flat, Kink, Step, blemishes


def follow(*parts):
    """Curves laid end to end: (curve, turn in degrees before it), each turned so that it leaves by that much."""
    laid: list[Curve] = []
    for curve, turn in parts:
        at, towards = (laid[-1].end, heading(laid[-1], laid[-1].length, -1)) if laid else (0j, 0.0)
        there = Affine.rotation(towards + turn - heading(curve, 0.0), curve.start)
        laid.append(curve.transformed(Affine.translation(at - curve.start) @ there))
    return laid


def drawn(*parts, step=None):
    laid = follow(*parts)
    return Curve.join(laid if step is None else [chords(curve, step) for curve in laid])


BOW = Curve.cubic(0j, 40 - 8j, 80 - 8j, 120 + 0j)
BENDING = Curve.cubic(0j, 30 + 0j, 70 - 20j, 90 - 60j)  # bends more and more


def kinks_and_steps(curve):
    found = blemishes(curve)
    assert not any(isinstance(one, Flat) for one in found)
    return [one for one in found if isinstance(one, Kink)], [one for one in found if isinstance(one, Step)]


def turns(curve):
    kinks, steps = kinks_and_steps(curve)
    assert steps == []
    return [kink.turn for kink in kinks]


# Kinks


@pytest.mark.parametrize("turn", [1, 2, 3.5, 7, 15, -1, -4, -15])
@pytest.mark.parametrize(
    "halves", [(BOW, BOW), (BENDING.reversed(), BOW), (BOW, BENDING), (Curve.line(0j, 80 + 0j), BOW)]
)
def test_a_kink_between_drawn_curves_is_measured_exactly(turn, halves):
    curve = drawn((halves[0], 0), (halves[1], turn))
    kinks, steps = kinks_and_steps(curve)
    assert steps == []
    assert [kink.turn for kink in kinks] == pytest.approx([turn], abs=1e-6)
    assert kinks[0].station == pytest.approx(halves[0].length)


@pytest.mark.parametrize("turn", [2, 3.5, 5, 10, 15, -2, -5, -15])
@pytest.mark.parametrize("step", [1, 2, 5])
@pytest.mark.parametrize("radius", [60, 150, 600])
def test_a_kink_between_digitised_arcs_is_found_to_half_a_degree(turn, step, radius):
    arc = arc_from(0j, 0, radius, 80)
    curve = drawn((arc, 0), (arc, turn), step=step)
    assert turns(curve) == pytest.approx([turn], abs=0.5)
    assert kinks_and_steps(curve)[0][0].station == pytest.approx(80, abs=0.5)


@pytest.mark.parametrize("turn", [2, 5, 10, -5])
@pytest.mark.parametrize("step", [1, 2, 5])
def test_a_kink_in_a_digitised_straight_line_is_found(turn, step):
    line = Curve.line(0j, 80 + 0j)
    assert turns(drawn((line, 0), (line, turn), step=step)) == pytest.approx([turn], abs=0.1)


@pytest.mark.parametrize("turn", [3.5, 6, 12, -6])
@pytest.mark.parametrize("step", [1, 2])
def test_a_kink_where_a_digitised_curve_bends_differently_on_both_sides(turn, step):
    found = turns(drawn((arc_from(0j, 0, 60, 80), 0), (arc_from(0j, 0, -90, 80), turn), step=step))
    assert found == pytest.approx([turn], abs=0.25 * abs(turn) + 0.5)


def test_two_kinks_far_apart_are_two():
    line = Curve.line(0j, 60 + 0j)
    assert turns(drawn((line, 0), (line, 5), (line, -5))) == pytest.approx([5, -5])


def test_a_kink_at_the_end_of_an_edge_is_the_corners():
    line = Curve.line(0j, 60 + 0j)
    near = Curve.line(0j, AT_END - 0.1 + 0j)
    assert turns(drawn((near, 0), (line, 8))) == []
    assert turns(drawn((line, 0), (near, 8))) == []
    assert turns(drawn((Curve.line(0j, AT_END + 0.1 + 0j), 0), (line, 8))) == pytest.approx([8])


def test_half_a_degree_is_drawing_noise():
    line = Curve.line(0j, 60 + 0j)
    assert turns(drawn((line, 0), (line, 0.49))) == []
    assert turns(drawn((line, 0), (line, 0.51))) == pytest.approx([0.51])


def test_walked_backwards_a_kink_turns_the_other_way():
    curve = drawn((BOW, 0), (BOW, 6))
    assert turns(curve.reversed()) == pytest.approx([-6])
    assert turns(curve.transformed(Affine.from_matrix(1, 0, 0, -1, 0, 0))) == pytest.approx([-6])


# Quiet on smooth lines


@pytest.mark.parametrize("step", [None, 1, 2, 3])
@pytest.mark.parametrize("radius", [12, 20, 60, 300])
def test_a_circle_has_no_kink(radius, step):
    arc = arc_from(0j, 0, radius, min(6 * radius, 300))
    assert kinks_and_steps(arc if step is None else chords(arc, step)) == ([], [])


@pytest.mark.parametrize("step", [None, 1, 2])
@pytest.mark.parametrize("radius", [20, 30, 60, 200, -20, -60])
def test_a_straight_line_that_runs_into_an_arc_has_no_kink(radius, step):
    # The curvature jumps, the direction does not: crease to knee, crotch to centre front.
    curve = drawn((Curve.line(0j, 120 + 0j), 0), (arc_from(0j, 0, radius, 50), 0), step=step)
    for kink in kinks_and_steps(curve)[0]:
        assert abs(kink.turn) <= 1.75  # below half the tolerance of 3.5 degrees, so nothing is said
    assert kinks_and_steps(curve)[1] == []


@pytest.mark.parametrize("step", [None, 1, 2])
@pytest.mark.parametrize("radii", [(200, 60), (60, 20), (100, -100), (40, -40)])
def test_an_arc_that_runs_into_another_has_no_kink(radii, step):
    curve = drawn(*((arc_from(0j, 0, radius, 60), 0) for radius in radii), step=step)
    kinks, steps = kinks_and_steps(curve)
    assert steps == []
    for kink in kinks:
        assert abs(kink.turn) <= 1.75


@pytest.mark.parametrize("step", [1, 2, 5])
def test_a_free_curve_in_chords_has_no_kink(step):
    crotch = Curve.cubic(0j, 90j, 20 + 150j, 100 + 160j)
    hip = Curve.cubic(0j, 4 + 60j, 30 + 120j, 30 + 200j)
    for curve in (crotch, hip, BENDING, BENDING.reversed()):
        assert kinks_and_steps(chords(curve, step)) == ([], [])


def test_a_curve_cut_in_two_at_any_place_has_no_kink():
    for station in (10.0, 40.0, 77.7):
        first, second = BENDING.split(station)
        assert kinks_and_steps(Curve.join([first, second])) == ([], [])


# Steps


@pytest.mark.parametrize("jog", [1.0, 2.0, 5.0])
@pytest.mark.parametrize("over", [6.0, 12.0, 19.0])
def test_a_line_that_jumps_sideways_has_a_step(jog, over):
    # A slash was overlapped and the gap ruled over.
    curve = Curve.polyline([0j, 80 + 0j, complex(80 + over, jog), complex(160 + over, jog)])
    kinks, (step,) = kinks_and_steps(curve)
    assert kinks == []
    assert step.jog == pytest.approx(jog)
    assert step.station == pytest.approx(80 + abs(complex(over, jog)) / 2)


def test_what_a_step_turns_on_the_whole_is_a_kink_too():
    line = Curve.line(0j, 80 + 0j)
    (kink,), (step,) = kinks_and_steps(drawn((line, 0), (Curve.line(0j, 10 + 0j), 20), (line, -14)))
    assert kink.turn == pytest.approx(6)
    assert kink.station == step.station == pytest.approx(85)


def test_a_long_slant_is_two_kinks():
    far = STEP_LENGTH + 1
    kinks, steps = kinks_and_steps(Curve.polyline([0j, 80 + 0j, complex(80 + far, 4), complex(180, 4)]))
    assert steps == []
    assert len(kinks) == 2
    assert kinks[0].turn == pytest.approx(-kinks[1].turn)


@pytest.mark.parametrize("step", [None, 1, 2])
def test_two_kinks_to_one_side_with_a_ruled_line_between_are_a_flat_spot(step):
    arc = arc_from(0j, 0, 150, 80)
    (flat,) = blemishes(drawn((arc, 0), (Curve.line(0j, 20 + 0j), 5), (arc, 5), step=step))
    assert isinstance(flat, Flat)
    assert flat.turns == pytest.approx((5, 5), abs=1e-6 if step is None else 0.5)
    assert flat.station == pytest.approx(90, abs=0.5)
    assert flat.length == pytest.approx(20, abs=1)
    assert flat.depth == pytest.approx(10 * math.tan(math.radians(2.5)), rel=1e-6 if step is None else 0.1)


def test_a_chord_across_an_arc_is_as_flat_as_the_arc_is_high():
    arc = arc_from(0j, 0, 150, 200)
    first, between, last = arc.split(80.0, 110.0)
    (flat,) = blemishes(Curve.join([first, Curve.line(between.start, between.end), last]))
    assert isinstance(flat, Flat)
    assert flat.depth == pytest.approx(150 * (1 - math.cos(math.radians(sum(flat.turns) / 2))), rel=1e-6)


def test_two_kinks_to_one_side_are_two_when_far_apart_or_the_line_between_is_bent():
    line, arc = Curve.line(0j, 80 + 0j), arc_from(0j, 0, 100, 30)
    for between in (Curve.line(0j, FLAT_LENGTH + 1 + 0j), arc):
        assert turns(drawn((line, 0), (between, 5), (line, 5))) == pytest.approx([5, 5])


def test_the_jog_of_a_parallel_tuck():
    # A tuck of w across an edge that leans by tau shifts the rest sideways by w * tan(tau).
    width, lean = 12.7, math.radians(15)
    slope = complex(math.sin(lean), math.cos(lean))
    upper, lower = 100 * slope, 200 * slope
    jog = width * math.tan(lean)
    below = lower - complex(0, width)
    # What is left of the upper part is joined by a ruled stub to the lower part, which came up by w.
    start = upper + slope * width / math.cos(lean) - complex(0, width)
    curve = Curve.polyline([0j, upper, start + slope * 6, below])
    _, (step,) = kinks_and_steps(curve)
    assert abs((start - upper).real) == pytest.approx(jog)
    assert step.jog == pytest.approx(jog * math.cos(lean), rel=0.03)


@pytest.mark.parametrize("step", [1, 1.7, 2, 3])
@pytest.mark.parametrize("before", [None, 300, 60, -60])
@pytest.mark.parametrize("after", [20, 60, 200, -40])
def test_a_joint_of_smooth_lines_between_two_vertices_has_no_kink(before, after, step):
    first = Curve.line(0j, 118.3 + 0j) if before is None else arc_from(0j, 0, before, 58.3)
    smooth = drawn((first, 0), (arc_from(0j, 0, after, 40), 0))
    kinks, steps = kinks_and_steps(chords(smooth, step))
    assert steps == []
    assert all(abs(kink.turn) < 1.0 for kink in kinks)


def test_a_short_line_of_jumps_is_judged_or_left_alone_but_never_fails():
    for count in range(5, 16):
        for jump in (0.5, 3.0, 20.0):
            vertices = [complex(2 * k, jump * (k % 3 == 1)) for k in range(count)]
            for one in blemishes(Curve.polyline(vertices)):
                assert 0 <= one.station <= Curve.polyline(vertices).length
