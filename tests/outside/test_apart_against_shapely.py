"""How far lines lie from one another, held to shapely for straight lines and to scipy for curves."""

import numpy as np
import pytest
from pattern_making import arc_from
from scipy.optimize import minimize_scalar
from shapely import get_parts
from shapely.geometry import LineString, Point, Polygon

from seamcheck.geometry.curve import Affine, Curve
from seamcheck.geometry.distances import distances, extremes, farthest, farthest_outside

WAVE = Curve.join(
    [Curve.cubic(0j, 60 + 90j, 110 - 120j, 180 + 10j), Curve.cubic(180 + 10j, 220 + 80j, 260 + 80j, 300 + 0j)]
)
CORNERS = [0j, 120 + 5j, 150 + 90j, 90 + 60j, 20 + 130j]


def pairs(points):
    return [(point.real, point.imag) for point in points]


def test_the_distance_of_points_from_straight_lines_is_that_of_shapely():
    rng = np.random.default_rng(7)
    points = rng.uniform(-80, 240, 300) + 1j * rng.uniform(-80, 240, 300)
    line = LineString(pairs(CORNERS))
    expected = [line.distance(Point(point.real, point.imag)) for point in points]
    assert distances(Curve.polyline(CORNERS), points) == pytest.approx(expected, abs=1e-9)


def test_the_distance_of_points_from_curves_is_that_of_a_search():
    rng = np.random.default_rng(8)
    points = rng.uniform(-50, 350, 20) + 1j * rng.uniform(-100, 120, 20)
    for point, found in zip(points, distances(WAVE, points), strict=True):
        stations = np.linspace(0, WAVE.length, 400)
        near = stations[np.abs(WAVE.points(stations) - point).argmin()]
        reach = WAVE.length / 400
        best = minimize_scalar(
            lambda s, at=point: abs(WAVE.point(min(max(s, 0.0), WAVE.length)) - at),
            bounds=(near - reach, near + reach),
            method="bounded",
            options={"xatol": 1e-10},
        )
        assert found == pytest.approx(min(best.fun, abs(point), abs(point - WAVE.end)), abs=1e-6)


def test_the_greatest_distance_of_two_outlines_is_that_of_shapely():
    """The directed distance of polygons is reached at a vertex or between two, so both directions are compared."""
    other = [point * 1.1 - 6 + 3j for point in CORNERS]
    one, two = Curve.polyline([*CORNERS, CORNERS[0]]), Curve.polyline([*other, other[0]])
    mine = max(farthest(one, two)[0], farthest(two, one)[0])
    expected = LineString(pairs([*CORNERS, CORNERS[0]])).hausdorff_distance(LineString(pairs([*other, other[0]])))
    assert mine == pytest.approx(expected, abs=1e-3)
    assert mine >= expected - 1e-9  # shapely looks at vertices alone


@pytest.mark.parametrize("allowance", [6.0, 10.0, 15.875])
def test_a_parallel_is_everywhere_as_far(allowance):
    arc = arc_from(0j, 20, 150, 220)
    found = extremes(arc, arc.offset(allowance))
    assert (found.low, found.high) == pytest.approx((allowance, allowance), abs=1e-4)


def test_two_circles_part_by_the_difference_of_their_radii_and_middles():
    """By geometry: from r - d to r + d about a middle that is d away."""
    inner, outer = Curve.arc(3 + 0j, 40.0), Curve.arc(0j, 50.0)
    found = extremes(inner, outer)
    assert (found.low, found.high) == pytest.approx((7.0, 13.0), abs=1e-5)
    assert inner.point(found.low_at) == pytest.approx(43 + 0j, abs=0.2)


def test_how_far_a_line_leaves_a_piece_is_that_of_shapely():
    piece = Curve.polyline([*CORNERS, CORNERS[0]])
    line = [40 + 40j, 135 + 30j, 190 + 70j, 100 + 50j]
    outside = LineString(pairs(line)).difference(Polygon(pairs(CORNERS)))
    expected = max(Polygon(pairs(CORNERS)).distance(Point(at)) for part in get_parts(outside) for at in part.coords)
    assert farthest_outside(Curve.polyline(line), piece)[0] == pytest.approx(expected, abs=1e-6)


def test_a_line_along_the_edge_is_not_outside():
    piece = Curve.polyline([*CORNERS, CORNERS[0]]).transformed(Affine.rotation(33))
    edge = Curve.line(CORNERS[0], CORNERS[1]).transformed(Affine.rotation(33))
    assert farthest_outside(edge, piece)[0] < 1e-9
