import math
import pickle

import numpy as np
import pytest

from seamcheck.geometry.curve import Curve, OffsetSwallowed

SQUARE = Curve.polyline([0, 100, 100 + 100j, 100j, 0])


def same(curve, points):
    assert curve.polygon(1e-3) == pytest.approx(np.array(points, dtype=complex), abs=1e-9)


def test_positive_is_to_the_left():
    same(Curve.line(0, 10).offset(2), [2j, 10 + 2j])
    same(Curve.line(0, 10).offset(-2), [-2j, 10 - 2j])
    assert SQUARE.offset(0) == SQUARE


def test_corners_are_mitred_outside_and_trimmed_inside():
    corner = Curve.polyline([0, 100, 100 + 100j])
    same(corner.offset(10), [10j, 90 + 10j, 90 + 100j])
    same(corner.offset(-10), [-10j, 110 - 10j, 110 + 100j])


def test_a_closed_curve_stays_closed_and_keeps_its_first_corner():
    inside, outside = SQUARE.offset(10), SQUARE.offset(-10)
    assert inside.start == inside.end == pytest.approx(10 + 10j)
    assert outside.start == outside.end == pytest.approx(-10 - 10j)
    assert inside.length == pytest.approx(320)
    assert outside.length == pytest.approx(480)
    assert inside.signed_area() == pytest.approx(6400)
    assert SQUARE.with_start(50).offset(10).start == pytest.approx(50 + 10j)


@pytest.mark.parametrize("distance", [12.0, -12.0])
def test_an_edge_changes_by_distance_times_turning(distance):
    edge = Curve.join([Curve.cubic(0, 40 + 5j, 80 + 20j, 100 + 60j), Curve.line(100 + 60j, 140 + 140j)])
    assert abs(edge.joint_turns()[0]) < 1e-9
    expected = edge.length - distance * math.radians(edge.turning())
    assert edge.offset(distance).length == pytest.approx(expected, abs=1e-4)


def test_a_curved_corner_is_trimmed_where_the_parallels_cross():
    edge = Curve.join([Curve.cubic(0, 30 + 10j, 60 - 5j, 100), Curve.cubic(100, 90 + 30j, 110 + 60j, 100 + 100j)])
    parallel = edge.offset(10)
    for z in parallel.points(np.linspace(0, parallel.length, 101)):
        assert edge.nearest(z).distance == pytest.approx(10, abs=2e-4)
    sharpest = np.abs(parallel.joint_turns()).max()
    assert sharpest > 45
    outer = edge.offset(-10)
    half = math.radians(edge.joint_turns()[0]) / 2
    bisector = -1j * edge.tangent(edge.joint_stations[1], -1) * complex(math.cos(half), math.sin(half))
    tip = 100 + bisector * 10 / math.cos(half)
    assert outer.nearest(tip).distance < 1e-9


def test_a_corner_eats_whole_segments_of_a_digitised_line():
    there, up = np.arange(0, 50, 2.0), 50 + 1j * np.arange(0, 50, 2.0)
    expected = [*(there[:20] + 10j), 40 + 10j, *(up[6:] - 10)]
    same(Curve.polyline([*there, *up]).offset(10), expected)


def test_a_corner_between_a_curve_and_short_lines():
    arc = Curve.arc(-60j, 60, start=150, sweep=-60)
    lines = Curve.polyline(np.arange(0, 60, 3.0) * 1j)
    edge = Curve.join([arc, lines])
    parallel = edge.offset(8)
    assert parallel.end == pytest.approx(-8 + 57j)
    crossing = -8 + 1j * (math.sqrt(68**2 - 8**2) - 60)
    assert parallel.nearest(crossing).distance < 1e-4
    expected = math.radians(60) * 68 - 68 * math.asin(8 / 68) + 57 - crossing.imag
    assert parallel.length == pytest.approx(expected, abs=1e-3)


def test_a_corner_between_a_curve_and_a_digitised_bend():
    arc = Curve.arc(-60j, 60, start=150, sweep=-60)
    smooth = Curve.arc(-80, 80, sweep=40)
    bend = Curve.polyline(80 * np.exp(1j * np.radians(np.linspace(0, 40, 41))) - 80)
    expected = Curve.join([arc, smooth]).offset(8)
    parallel = Curve.join([arc, bend]).offset(8)
    # The last chord points half a degree aside, and so does the end of its parallel.
    assert parallel.length == pytest.approx(expected.length, abs=0.02 + 8 * math.sin(math.radians(0.5)))
    for z in parallel.points(np.linspace(0, parallel.length - 0.1, 60)):
        assert expected.nearest(z).distance < 0.02


def test_a_digitisers_unsteady_hand_is_forgiven():
    clean = 60 * np.exp(1j * np.linspace(0, np.pi / 2, 200))
    shaky = np.insert(np.round(clean, 2), 80, np.round(clean[80], 2) - 0.02 - 0.03j)
    for distance in (10, -10):
        parallel = Curve.polyline(shaky).offset(distance)
        assert parallel.length == pytest.approx((60 - distance) * math.pi / 2, abs=abs(distance) * 0.3)
        radii = np.abs(parallel.points(np.linspace(0, parallel.length, 50)))
        assert radii == pytest.approx(np.full(50, 60.0 - distance), abs=3)


@pytest.mark.parametrize("distance", [10, -10])
def test_retracted_handles(distance):
    edge = Curve.cubic(0, 0, 60 + 20j, 100 + 60j)
    parallel = edge.offset(distance)
    expected = edge.length - distance * math.radians(edge.turning())
    assert parallel.length == pytest.approx(expected, abs=0.02)
    for z in parallel.points(np.linspace(0.1, parallel.length, 60)):
        assert edge.nearest(z).distance == pytest.approx(10, abs=2e-4)


def test_a_small_fillet_becomes_a_corner():
    edge = Curve.join(
        [
            Curve.line(0, 50),
            Curve.arc(50 + 0.5j, 0.5, start=-90, sweep=90),
            Curve.line(50.5 + 0.5j, 50.5 + 50j),
        ]
    )
    parallel = edge.offset(10)
    assert parallel.length == pytest.approx(80.5, abs=1e-4)
    assert edge.offset(-10).length == pytest.approx(edge.length + 10 * math.pi / 2, abs=1e-4)


def fillet(radius):
    return Curve.join(
        [
            Curve.line(0, 50),
            Curve.arc(50 + 1j * radius, radius, start=-90, sweep=90),
            Curve.line(complex(50 + radius, radius), complex(50 + radius, 60)),
        ]
    )


def digitised(radius):
    bend = 50 + 1j * radius + radius * np.exp(1j * np.linspace(-np.pi / 2, 0, 30))
    return Curve.polyline([*np.arange(0, 50, 2), *bend, complex(50 + radius, 60)])


@pytest.mark.parametrize("bend", [fillet, digitised])
def test_a_bend_tighter_than_the_distance_is_swallowed(bend):
    edge = bend(5.0)
    with pytest.raises(OffsetSwallowed, match="turns too tightly") as caught:
        edge.offset(10)
    assert 40 < caught.value.station < 65
    assert isinstance(caught.value, ValueError)
    assert edge.offset(-10).length == pytest.approx(edge.length + 10 * math.pi / 2, abs=0.02)
    assert edge.offset(4).length == pytest.approx(edge.length - 4 * math.pi / 2, abs=0.02)


def test_what_else_has_no_parallel():
    for curve in (
        Curve.polyline([0, 50, 20]),  # doubles back at a joint
        Curve.cubic(0, 100, 100, 20),  # doubles back inside a segment
        Curve.cubic(-10 + 10j, 10 - 10j, -10 - 10j, 10 + 10j),  # a cusp
        Curve.polyline([3 + 4j]),  # a point
        Curve.arc(0, 5, sweep=90),  # just as tight as the distance
    ):
        with pytest.raises(OffsetSwallowed):
            curve.offset(5)
    with pytest.raises(OffsetSwallowed):
        Curve.polyline([0, 30, 30 + 3j, 3j]).offset(5)  # the short end is eaten from both sides


def test_the_station_survives_pickling_and_closing_corners():
    outline = Curve.join([fillet(5.0), Curve.line(55 + 60j, 60j), Curve.line(60j, 0)])
    with pytest.raises(OffsetSwallowed) as caught:
        outline.offset(10)
    assert 50 < caught.value.station < 58
    again = pickle.loads(pickle.dumps(caught.value))
    assert (again.station, str(again)) == (caught.value.station, str(caught.value))


def test_segments_without_length_make_no_difference():
    plain = Curve.polyline([0, 100, 100 + 100j]).offset(10)
    doubled = Curve.polyline([0, 0, 100, 100, 100, 100 + 100j, 100 + 100j]).offset(10)
    same(doubled, plain.polygon())


@pytest.mark.parametrize("before_its_end", [1e-4, 1e-6, 1e-8, 1e-10])
def test_a_stretch_that_bends_too_tightly_up_to_a_joint_or_nearly(before_its_end):
    bent = Curve.cubic(0, 0.2, 0.4 + 0.05j, 0.7 + 0.16j)  # its curvature falls all along
    on = bent.tangent(bent.length)
    edge = Curve.join([Curve.cubic(-60 - 4j, -40, -20, 0), bent, Curve.line(bent.end, bent.end + 60 * on)])
    radius = 1 / (1.001 * bent.curvature(bent.length))  # of the bend that is still too tight
    distance = radius * (1 - before_its_end)
    parallel = edge.offset(distance)
    gaps = [edge.nearest(z).distance for z in parallel.points(np.linspace(0, parallel.length, 80))]
    assert gaps == pytest.approx([distance] * 80, abs=1.1e-4)


@pytest.mark.parametrize("distance", [6, -6])
def test_what_rounding_bends_has_no_bend_of_its_own(distance):
    # Cut at a station that misses a joint by less than can be measured.
    joint = 650.2432791274769 + 180.99999970558926j
    handles = 650.2432792625507 + 180.99999980372615j, 650.2432793976247 + 180.99999990186316j
    grain = Curve.cubic(joint, *handles, 650.2432795326986 + 181.00000000000006j)
    on = grain.tangent(0)
    before = Curve.cubic(joint - 70 * on, joint - 50 * on - 2j, joint - 20 * on, joint)
    edge = Curve.join([before, grain, Curve.line(grain.end, grain.end + 60 * on)])
    without = Curve.join([before, Curve.line(joint, joint + 60 * on)])
    assert edge.offset(distance).polygon() == pytest.approx(without.offset(distance).polygon(), abs=1e-5)


def test_coordinates_rounded_to_hundredths_do_not_matter():
    wave = Curve.through(np.linspace(0, 500, 40) + 40j * np.sin(np.linspace(0, 6, 40)))
    rounded = Curve(np.round(wave.segments, 2))
    for distance in (10, -10):
        assert rounded.offset(distance).length == pytest.approx(wave.offset(distance).length, abs=0.3)


@pytest.mark.parametrize("seed", range(6))
def test_random_wavy_edges_have_true_parallels_or_none(seed):
    rng = np.random.default_rng(seed)
    edge = Curve.through(np.cumsum(rng.uniform(30, 60, 8)) + 1j * rng.normal(0, 12, 8))
    curvatures = np.array([edge.curvature(s) for s in np.linspace(0, edge.length, 300)])
    for distance in (6.0, -6.0, 15.0, -15.0):
        bends = curvatures * distance
        if bends.max() > 1.1:
            with pytest.raises(OffsetSwallowed) as caught:
                edge.offset(distance)
            assert edge.curvature(caught.value.station) * distance > 0.99
            continue
        if bends.max() > 0.95:
            continue
        parallel = edge.offset(distance)
        gaps = [edge.nearest(z).distance for z in parallel.points(np.linspace(0, parallel.length, 80))]
        assert gaps == pytest.approx([abs(distance)] * 80, abs=1.1e-4)
