import math
import pickle

import numpy as np
import pytest
from curve_strategies import curves, points
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from seamcheck.geometry.curve import Affine, Curve, Nearest, lengths

SQUARE = Curve.polyline([0, 100, 100 + 100j, 100j, 0])
CUSP = Curve.cubic(-1 + 1j, 1 - 1j, -1 - 1j, 1 + 1j)  # comes down to (0, -1/2) and turns back up


# --- making curves ----------------------------------------------------------------------------------------


def test_gaps_are_closed_or_refused():
    joined = Curve([[0, 1, 2, 3], [3 + 9e-7j, 4, 5, 6]])
    assert joined.segments[1, 0] == 3
    with pytest.raises(ValueError, match=r"2e-06 mm apart at \(3, 0\)"):
        Curve([[0, 1, 2, 3], [3 + 2e-6j, 4, 5, 6]])
    with pytest.raises(ValueError, match="do not follow"):
        Curve.join([Curve.line(0, 1), Curve.line(2, 3)])


@pytest.mark.parametrize("bad", [np.empty((0, 4)), [[0, 1, 2]], [0, 1, 2, 3]])
def test_shape_is_refused(bad):
    with pytest.raises(ValueError, match="four control points"):
        Curve(bad)


@pytest.mark.parametrize("bad", [math.nan, math.inf, complex(0, -math.inf)])
def test_coordinates_must_be_finite(bad):
    with pytest.raises(ValueError, match="finite"):
        Curve.line(0, bad)


def test_nothing_to_join_or_draw():
    with pytest.raises(ValueError, match="no curve"):
        Curve.join([])
    with pytest.raises(ValueError, match="at least one point"):
        Curve.polyline([])
    with pytest.raises(ValueError, match="two different points"):
        Curve.through([1, 1, 1])
    with pytest.raises(ValueError, match="radii"):
        Curve.arc(0, 0)
    with pytest.raises(ValueError, match="radii"):
        Curve.arc(0, 1, math.inf)
    with pytest.raises(ValueError, match="natural"):
        Curve.through([0, 1, 2], ends="loose")


def test_a_curve_never_changes():
    with pytest.raises(AttributeError, match="cannot be changed"):
        SQUARE.segments = np.zeros((1, 4))
    with pytest.raises(AttributeError, match="cannot be changed"):
        del SQUARE.segments
    with pytest.raises(ValueError, match="read-only"):
        SQUARE.segments[0, 0] = 1
    with pytest.raises(ValueError, match="read-only"):
        SQUARE.joint_stations[0] = 1
    source = np.array([[0, 1, 2, 3]], dtype=complex)
    curve = Curve(source)
    source[0, 0] = 7
    assert curve.start == 0


def test_equality_hash_and_pickle():
    again = Curve(SQUARE.segments.copy())
    assert again == SQUARE
    assert hash(again) == hash(SQUARE)
    assert Curve.line(0, 1) != Curve.line(0, 2)
    assert hash(Curve.line(0.0, 1)) == hash(Curve.line(-0.0, 1))
    assert SQUARE != "square"
    assert pickle.loads(pickle.dumps(SQUARE)) == SQUARE
    assert repr(Curve.line(0, 3 + 4j)) == "<Curve (0, 0) to (3, 4), 5 mm, segments: 1>"


def test_quadratic_is_exact():
    curve = Curve.quadratic(0, 10 + 20j, 30)
    t = 0.3
    expected = 2 * t * (1 - t) * (10 + 20j) + t * t * 30
    assert curve.point(curve.station_of(0, t)) == pytest.approx(expected, abs=1e-9)


def test_arc_stays_within_a_millionth():
    for radius in (0.5, 10, 250, 4000):
        arc = Curve.arc(5 + 3j, radius, start=20, sweep=-290)
        stations = np.linspace(0, arc.length, 999)
        assert np.abs(np.abs(arc.points(stations) - (5 + 3j)) - radius).max() < 1e-6
        assert arc.length == pytest.approx(math.radians(290) * radius, abs=1e-6)
        assert arc.turning() == pytest.approx(-290, abs=1e-6)
    assert Curve.arc(0, 100).is_closed


def test_elliptic_arc_follows_its_axes():
    arc = Curve.arc(1 + 2j, 30, 10, rotation=90, start=0, sweep=90)
    assert arc.start == pytest.approx(1 + 32j)
    assert arc.end == pytest.approx(-9 + 2j)
    middle = arc.segments.shape[0]
    z = arc.segments[middle // 2, 0] - (1 + 2j)
    assert (z.imag / 30) ** 2 + (z.real / 10) ** 2 == pytest.approx(1, abs=1e-7)


def test_spline_through_points():
    line = Curve.through([0, 10 + 10j])
    assert line.is_straight()
    three = Curve.through([0, 10 + 10j, 20])
    assert abs(three.curvature(0)) < 1e-9  # natural ends
    four = Curve.through([0, 10 + 10j, 10 + 10j, 20, 30 + 10j])  # a repeated point counts once
    assert len(four.segments) == 3
    for station, point in zip(four.joint_stations, [0, 10 + 10j, 20, 30 + 10j], strict=True):
        assert four.point(station) == pytest.approx(point, abs=1e-9)
    assert np.abs(four.joint_turns()).max() < 1e-9
    for station in four.joint_stations[1:-1]:
        assert four.curvature(station, -1) == pytest.approx(four.curvature(station, 1), rel=1e-9)


def test_bspline_input_is_checked():
    square = [0, 1, 1 + 1j, 1j]
    with pytest.raises(ValueError, match="needs 8 knots but has 7"):
        Curve.bspline(square, [0, 0, 0, 0, 1, 1, 1])
    with pytest.raises(ValueError, match="must not decrease"):
        Curve.bspline(square, [0, 0, 0, 0, 1, 1, 1, 0])
    with pytest.raises(ValueError, match="at least 4 control points"):
        Curve.bspline(square[:3], [0, 0, 0, 1, 1, 1])
    with pytest.raises(ValueError, match="positive weight"):
        Curve.bspline(square, [0, 0, 0, 0, 1, 1, 1, 1], weights=[1, 0, 1, 1])
    with pytest.raises(ValueError, match="coincide"):
        Curve.bspline(square, [1] * 8)


# --- length and stations ----------------------------------------------------------------------------------


def test_straight_lengths_are_exact():
    assert lengths([[0, 1 + 4 / 3j, 2, 3 + 4j], [0, 1, 2, 3]])[1] == 3.0
    assert Curve.line(0, 3 + 4j).length == 5.0
    assert Curve.polyline([0, 3 + 4j, 3 + 4j, 3]).length == 9.0
    assert Curve.line(1e6, 1e6 + 3e-3 + 4e-3j).length == pytest.approx(5e-3, abs=1e-9)


def test_overshooting_straight_cubics_count_the_way_back():
    # x = 3t - 3t^2 runs from 0 to 3/4 and back.
    assert Curve.cubic(0, 1 + 1j, 1 + 1j, 0).length == pytest.approx(1.5 * math.sqrt(2), abs=1e-14)
    # x = 30t - 90t^2 + 60t^3 goes to its greatest and least values, at (3 -+ sqrt 3) / 6, and back.
    t = (3 - math.sqrt(3)) / 6
    peak = 30 * t - 90 * t**2 + 60 * t**3
    assert Curve.cubic(0, 10, -10, 0).length == pytest.approx(4 * peak, abs=1e-13)


def test_no_segments_no_lengths():
    assert lengths(np.empty((0, 4))).shape == (0,)


def test_a_curve_without_length():
    point = Curve.polyline([3 + 4j])
    assert point.length == 0
    assert not point.is_closed
    assert point.tangent(0) == 1
    assert point.curvature(0) == 0
    assert point.turning() == 0
    assert point.bounds() == (3, 4, 3, 4)
    assert point.nearest(0) == Nearest(0.0, 3 + 4j, 5.0)
    assert point.joint_turns().shape == (0,)
    assert point.locate(1) == (0, 1.0)
    assert [p.length for p in point.split(0)] == [0, 0]
    assert point.is_straight()


@given(curves())
def test_reversed_length_is_equal(curve):
    assert curve.reversed().length == pytest.approx(curve.length, rel=1e-12, abs=1e-10)


@given(curves(), st.lists(st.floats(0, 1), max_size=4))
def test_split_lengths_add(curve, shares):
    pieces = curve.split(*[share * curve.length for share in shares])
    assert len(pieces) == len(shares) + 1
    assert sum(piece.length for piece in pieces) == pytest.approx(curve.length, rel=1e-10, abs=1e-9)
    edges = [0, *sorted(share * curve.length for share in shares), curve.length]
    for piece, a, b in zip(pieces, edges[:-1], edges[1:], strict=True):
        assert piece.length == pytest.approx(b - a, abs=1e-8)
    assert pieces[0].start == curve.start
    assert pieces[-1].end == curve.end
    assert Curve.join(pieces).length == pytest.approx(curve.length, rel=1e-10, abs=1e-9)


@pytest.mark.parametrize("share", [1e-150, 1e-160, 1e-170, 5e-324])
def test_a_split_next_to_nothing_after_a_start_at_rest(share):
    """A handle that is drawn in leaves the start at no speed: there a step by the speed is larger than a number can be."""
    curve = Curve.cubic(0, 0, -127.3 + 199.9j, 0)
    first, rest = curve.split(share * curve.length)
    assert 0.0 <= first.length < 1e-100
    assert rest.length == pytest.approx(curve.length, rel=1e-12)


@pytest.mark.parametrize("share", [2.2e-308, 1e-310, 5e-324])
def test_a_split_next_to_nothing_leaves_a_segment_smaller_than_can_be_divided_by(share):
    curve = Curve.cubic(0, -0.2 + 0.2j, 0.1 + 0.2j, -0.2 + 0.3j)
    first, rest = curve.split(share * curve.length)
    assert 0.0 <= first.length < 1e-300
    assert rest.length == pytest.approx(curve.length, rel=1e-12)


@given(curves(), st.floats(0, 360), points, st.booleans())
def test_rigid_maps_keep_length_and_area(curve, degrees, shift, mirrored):
    affine = Affine.translation(shift) @ Affine.rotation(degrees)
    if mirrored:
        affine = affine @ Affine.scaling(-1, 1)
    image = curve.transformed(affine)
    assert image.length == pytest.approx(curve.length, rel=1e-10, abs=1e-9)
    sign = -1 if mirrored else 1
    assert image.signed_area() == pytest.approx(sign * curve.signed_area(), rel=1e-9, abs=1e-6)


@given(curves(), st.floats(0, 1))
def test_station_to_parameter_and_back(curve, share):
    station = share * curve.length
    index, t = curve.locate(station)
    assert 0 <= index < len(curve.segments)
    assert 0 <= t <= 1
    assert curve.station_of(index, t) == pytest.approx(station, abs=1e-9)


@given(curves(), st.floats(0, 1), st.floats(0, 1))
def test_points_are_no_further_apart_than_their_stations(curve, a, b):
    a, b = sorted((a * curve.length, b * curve.length))
    assert abs(curve.point(b) - curve.point(a)) <= b - a + 1e-8
    if b > a or not curve.is_closed:
        assert curve.between(a, b).length == pytest.approx(b - a, abs=1e-8)


def test_stations_beyond_the_ends():
    line = Curve.line(0, 10)
    assert line.point(-1) == 0
    assert line.point(11) == 10
    assert SQUARE.point(-10) == pytest.approx(10j)
    assert SQUARE.point(410) == pytest.approx(10)
    assert SQUARE.locate(400) == (3, 1.0)
    with pytest.raises(IndexError, match="4 segments"):
        SQUARE.station_of(4, 0)


def test_stations_past_segments_without_length():
    curve = Curve.polyline([0, 0, 5, 5, 5, 10, 10])
    assert curve.joint_stations.tolist() == [0, 0, 5, 5, 5, 10, 10]
    assert curve.point(5) == 5
    assert curve.point(7) == pytest.approx(7)
    assert curve.locate(10) == (5, 1.0)


def test_close_to_a_cusp_the_way_back_is_found():
    for delta in (-1e-3, -1e-6, -1e-9, 0, 1e-9, 1e-6, 1e-3):
        station = CUSP.length / 2 + delta
        assert CUSP.station_of(*CUSP.locate(station)) == pytest.approx(station, abs=1e-12)


@pytest.mark.parametrize("share", [0.1, 0.4, 0.6, 0.9])
@pytest.mark.parametrize("before", [0, 1])
def test_a_part_that_is_left_with_one_of_several_panels_knows_its_own_places(share, before):
    # The lower edge of a pocket piece: bent so much that its length is added up in two panels.
    row = [
        1016.638213 + 1122.115597j,
        1016.638213 + 1178.365956j,
        885.654228 + 1132.115597j,
        829.403868 + 1132.115597j,
    ]
    line = [Curve.line(row[0] - 50j, row[0])] * before
    whole = Curve.join([*line, Curve.cubic(*row)])
    station = share * whole.length
    for part in (whole.between(station, whole.length), whole.between(0.0, station)):
        fresh = Curve(part.segments.copy())
        for along in (0.0, 10.0, part.length / 2, part.length):
            assert part.point(along) == pytest.approx(fresh.point(along), abs=1e-9)
    assert whole.between(station, whole.length).point(0.0) == pytest.approx(whole.point(station), abs=1e-9)


def test_between_runs_on_through_the_start_of_a_closed_curve():
    through = SQUARE.between(350, 50)
    assert through.length == pytest.approx(100)
    assert through.start == pytest.approx(50j)
    assert through.end == pytest.approx(50)
    assert SQUARE.between(0, 400).length == 400
    assert SQUARE.between(0, 0).length == 400
    assert SQUARE.between(400, 0).length == 400
    assert SQUARE.between(400, 100).length == pytest.approx(100)
    assert SQUARE.between(100, 100).length == pytest.approx(400)
    assert SQUARE.between(100, 200).segments.shape == (1, 4)  # no slivers at the joints
    with pytest.raises(ValueError, match="runs backwards"):
        Curve.line(0, 10).between(5, 2)
    assert Curve.line(0, 10).between(-5, 22).length == 10


def test_with_start():
    moved = SQUARE.with_start(150)
    assert moved.start == moved.end == pytest.approx(100 + 50j)
    assert moved.length == pytest.approx(400)
    assert SQUARE.with_start(100).segments.shape == (4, 4)
    with pytest.raises(ValueError, match="closed"):
        Curve.line(0, 10).with_start(5)


# --- direction --------------------------------------------------------------------------------------------


def test_tangents_on_both_sides_of_a_joint():
    assert SQUARE.tangent(100, -1) == 1
    assert SQUARE.tangent(100) == 1j
    assert SQUARE.tangent(100 - 1e-8) == 1j  # a station that was added up stands on the joint
    assert SQUARE.tangent(0) == 1
    assert SQUARE.tangent(0, -1) == -1j
    assert SQUARE.tangent(400, -1) == -1j
    assert SQUARE.tangent(400) == 1
    line = Curve.line(0, 1j)
    assert line.tangent(0, -1) == line.tangent(1, 1) == 1j


def test_tangent_at_a_retracted_handle():
    curve = Curve.cubic(0, 0, 10 + 10j, 20)
    assert curve.tangent(0) == pytest.approx((1 + 1j) / math.sqrt(2))
    assert Curve.cubic(0, 0, 10j, 10j).tangent(0) == 1j
    assert Curve.cubic(0, 7, 20, 20).tangent(100) == 1
    assert Curve.cubic(0, 0, 0, 5j).tangent(0) == 1j
    assert Curve.cubic(0, 5j, 5j, 5j).tangent(5, -1) == 1j
    assert curve.curvature(0) == -math.inf
    assert Curve.cubic(0, 0, 10, 20).curvature(0) == 0


def test_tangents_at_a_cusp():
    middle = CUSP.length / 2
    assert CUSP.point(middle) == pytest.approx(-0.5j, abs=1e-9)
    assert CUSP.tangent(middle, -1) == pytest.approx(-1j, abs=1e-9)
    assert CUSP.tangent(middle, +1) == pytest.approx(1j, abs=1e-9)
    assert CUSP.curvature(middle) == -math.inf
    assert CUSP.turning() == pytest.approx(-45 + 180 - 45)


def test_tangents_where_a_straight_cubic_turns_back():
    curve = Curve.cubic(0, 10, 10, 0)
    assert curve.tangent(curve.length / 2, -1) == 1
    assert curve.tangent(curve.length / 2, 1) == -1
    assert curve.turning() == 180
    assert Curve.cubic(0, 10, -10, 0).turning() == 0  # there and back again


def test_a_straight_cubic_that_only_stops_goes_on():
    curve = Curve.cubic(-1, 1, -1, 1)  # x = 8 (t - 1/2)^3
    assert curve.length == pytest.approx(2, abs=1e-15)
    assert curve.tangent(1, -1) == curve.tangent(1, 1) == 1
    assert curve.turning() == 0


def test_a_station_added_up_stands_on_the_joint():
    curve = Curve.join([Curve.line(-10, 0), Curve.cubic(0, 0, 10 + 10j, 20)])
    for station in (10 - 5e-8, 10 + 5e-8):
        assert curve.tangent(station, -1) == 1
        assert curve.tangent(station) == pytest.approx((1 + 1j) / math.sqrt(2), abs=1e-15)
        assert curve.curvature(station) == -math.inf


def test_tangents_in_a_chain_with_segments_without_length():
    curve = Curve.polyline([0, 0, 10, 10, 10, 10 + 10j, 10 + 10j])
    assert curve.tangent(0) == 1
    assert curve.tangent(0, -1) == 1
    assert curve.tangent(10, -1) == 1
    assert curve.tangent(10, 1) == 1j
    assert curve.tangent(20, 1) == 1j
    assert curve.joint_turns().tolist() == pytest.approx([0, 0, 0, 90, 0])
    assert curve.turning() == pytest.approx(90)
    ring = Curve.polyline([0, 0, 10, 10 + 10j, 10j, 0, 0])
    assert ring.joint_turns().sum() == pytest.approx(360)
    assert ring.turning() + ring.joint_turns()[-1] == pytest.approx(360)


def test_joint_turns_are_signed():
    assert SQUARE.joint_turns().tolist() == pytest.approx([90] * 4)
    assert SQUARE.reversed().joint_turns().tolist() == pytest.approx([-90] * 4)
    assert Curve.polyline([0, 10, 0]).joint_turns().tolist() == [180, 180]
    assert Curve.polyline([0, 10j, 5j]).joint_turns().tolist() == [180]
    assert SQUARE.turning() == pytest.approx(270)


def test_turning_inside_one_segment_beyond_half_a_turn():
    loop = Curve.cubic(0, 200 + 100j, -100 + 100j, 100)
    directions = np.unwrap(np.angle(loop.tangents(np.linspace(0, loop.length, 4001))))
    assert loop.turning() == pytest.approx(math.degrees(directions[-1] - directions[0]), abs=1e-6)
    assert loop.turning() > 180
    assert loop.reversed().turning() == pytest.approx(-loop.turning())


@given(curves())
def test_turning_agrees_with_the_end_directions(curve):
    assume(curve.length > 1e-3)
    start, end = curve.tangent(0), curve.tangent(curve.length, -1 if curve.is_closed else 1)
    difference = curve.turning() - math.degrees(np.angle(end / start))
    assert abs((difference + 180) % 360 - 180) < 1e-5


@given(curves(closed=True))
def test_a_closed_curve_turns_by_whole_rounds(curve):
    assume(curve.length > 1e-3)
    rounds = (curve.turning() + curve.joint_turns()[-1]) / 360
    assert rounds == pytest.approx(round(rounds), abs=1e-6)


def test_curvature_of_an_arc():
    arc = Curve.arc(0, 50, sweep=120)
    assert arc.curvature(30) == pytest.approx(1 / 50, rel=1e-3)
    assert arc.reversed().curvature(30) == pytest.approx(-1 / 50, rel=1e-3)
    quadratic = Curve.quadratic(0, 1, 1 + 1j)
    assert quadratic.curvature(0) == pytest.approx(0.5)


# --- area, bounds, points near the curve ------------------------------------------------------------------


def test_area_is_signed_and_closed_by_the_chord():
    assert SQUARE.signed_area() == pytest.approx(10000)
    assert SQUARE.reversed().signed_area() == pytest.approx(-10000)
    assert Curve.polyline([0, 10, 10 + 10j]).signed_area() == pytest.approx(50)
    assert Curve.quadratic(0, 5 + 10j, 10).signed_area() == pytest.approx(-100 / 3)
    far = SQUARE.transformed(Affine.translation(1e7 + 1e7j))
    assert far.signed_area() == pytest.approx(10000, rel=1e-9)


def test_bounds_are_those_of_the_curve():
    assert Curve.cubic(0, 4j, 6 + 4j, 6).bounds() == pytest.approx((0, 0, 6, 3))
    assert Curve.arc(3j, 7).bounds() == pytest.approx((-7, -4, 7, 10), abs=1e-6)


@given(curves())
def test_bounds_hold_all_points_and_are_reached(curve):
    x0, y0, x1, y1 = curve.bounds()
    z = curve.points(np.linspace(0, curve.length, 500))
    slack = 1e-9
    assert z.real.min() >= x0 - slack
    assert z.real.max() <= x1 + slack
    assert z.imag.min() >= y0 - slack
    assert z.imag.max() <= y1 + slack
    for corner in (complex(x0, y0), complex(x1, y1)):
        near = curve.nearest(corner)
        assert abs(near.point - corner) == pytest.approx(near.distance)
    assert x0 >= curve.segments.real.min() - slack


@given(curves(), points)
def test_nearest_is_no_further_than_any_point(curve, point):
    near = curve.nearest(point)
    dense = np.abs(curve.points(np.linspace(0, curve.length, 1000)) - point).min()
    assert near.distance <= dense + 1e-9
    assert near.distance >= dense - curve.length / 999 - 1e-9
    assert curve.point(near.station) == pytest.approx(near.point, abs=1e-8)


def test_nearest_at_the_ends_and_between_equals():
    line = Curve.line(0, 10)
    assert line.nearest(-3 + 4j) == Nearest(0.0, 0, 5.0)
    assert line.nearest(13 + 4j) == Nearest(10.0, 10, 5.0)
    assert line.nearest(4 + 2j).station == pytest.approx(4)
    circle = Curve.arc(0, 50)
    assert circle.nearest(0).distance == pytest.approx(50, abs=1e-6)
    assert SQUARE.nearest(50 + 50j).distance == pytest.approx(50)


def test_winding_and_contains():
    assert SQUARE.winding(50 + 50j) == 1
    assert SQUARE.reversed().winding(50 + 50j) == -1
    assert SQUARE.winding(150 + 50j) == 0
    assert SQUARE.contains(100 + 50j)  # on the line
    assert SQUARE.contains(0)
    assert not SQUARE.contains(-1e-6)
    twice = Curve.arc(0, 10, sweep=720)
    assert twice.winding(3) == 2
    half = Curve.arc(0, 10, sweep=180)  # closed by its chord
    assert half.contains(5j)
    assert not half.contains(-5j)
    assert Curve.polyline([0, 10, 10, 10 + 10j, 0]).contains(10)


@given(curves(closed=True), points)
def test_winding_is_even_odd_with_a_crossing_count(curve, point):
    point += 0.0123 + 0.0457j  # off the grid of the vertices
    polygon = curve.polygon(1e-3)
    assume(curve.nearest(point).distance > 0.1)
    z = np.append(polygon, polygon[0]) - point
    angles = np.angle(z[1:] / z[:-1])
    assert curve.winding(point) == round(angles.sum() / (2 * np.pi))


@settings(max_examples=40)
@given(curves())
def test_polygon_keeps_within_tolerance(curve):
    polygon = Curve.polyline(curve.polygon(0.05))
    for z in curve.points(np.linspace(0, curve.length, 25)):
        assert polygon.nearest(z).distance <= 0.05 + 1e-9
    assert polygon.start == curve.start
    assert polygon.end == curve.end


def test_is_straight():
    assert Curve.line(0, 10).is_straight()
    assert Curve.polyline([0, 3, 10]).is_straight()
    assert Curve.cubic(0, 1, 2, 10).is_straight()
    assert not Curve.cubic(0, 20, 20, 10).is_straight()  # overshoots
    assert not Curve.polyline([0, 10, 5]).is_straight()
    assert not Curve.polyline([0, 5 + 1e-3j, 10]).is_straight()
    assert Curve.polyline([0, 5 + 1e-3j, 10]).is_straight(0.01)


def test_a_polyline_of_thousands_is_one_array():
    circle = 100 * np.exp(2j * np.pi * np.arange(5001) / 5000)
    curve = Curve.polyline(circle)
    side = 200 * math.sin(math.pi / 5000)
    assert curve.length == pytest.approx(5000 * side, rel=1e-12)
    assert curve.signed_area() == pytest.approx(5000 * 5000 * math.sin(2 * math.pi / 5000), rel=1e-12)
    assert curve.joint_turns() == pytest.approx(np.full(5000, 360 / 5000))
    assert curve.nearest(0).distance == pytest.approx(100 * math.cos(math.pi / 5000))
    assert curve.contains(99.9)
    assert not curve.contains(100.1j)


# --- images -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "affine",
    [
        Affine.rotation(33.0, about=40 + 7j),
        Affine.translation(100 - 3j) @ Affine.scaling(-1.0, 1.0),
        Affine.scaling(0.37) @ Affine.rotation(-70.0),
        Affine.scaling(1.0, 0.5),
    ],
    ids=["turned", "mirrored", "smaller", "flattened"],
)
@pytest.mark.parametrize(
    "curve",
    [
        Curve.polyline([0, 30, 30 + 40j]),
        Curve.cubic(0, 100j, 100 - 100j, 100),
        Curve.join([Curve.cubic(0, 100 + 50j, 50j, 100), Curve.line(100, 160)]),  # the first has a cusp nearby
    ],
    ids=["straight", "bent", "sharply bent"],
)
def test_what_is_known_of_a_line_serves_for_its_image(curve, affine):
    assert curve.length  # from now on it is known
    image, anew = curve.transformed(affine), Curve(affine.apply(curve.segments))
    assert image == anew
    assert image.length == pytest.approx(anew.length, abs=1e-7)
    stations = anew.length * np.linspace(0.0, 1.0, 23)
    assert np.abs(image.points(stations) - anew.points(stations)).max() < 1e-7
    assert np.abs(image.joint_stations - anew.joint_stations).max() < 1e-7


@given(st.lists(st.complex_numbers(max_magnitude=1e4, allow_nan=False), min_size=2, max_size=30))
def test_a_polyline_knows_the_stations_that_its_segments_would_be_measured_to_have(points):
    line = Curve.polyline(points)
    assert line.vertices().tolist() == points
    assert line.joint_stations == pytest.approx(Curve(line.segments).joint_stations, rel=1e-9, abs=1e-7)
