"""Curves drawn with few vertices: what is one, and how near its spline comes to the curve that its vertices lie on."""

import cmath
import math

import numpy as np
import pytest
from pattern_making import loop

from seamcheck.geometry.curve import Curve
from seamcheck.geometry.sparse import closed_spline, smoothed, sparse_rows

NECK = np.array([[0 + 430j, 45 + 430j, 60 + 470j, 65 + 520j]])


def sampled(curve, apart):
    """Points of a curve about so many mm apart."""
    return [complex(p) for p in curve.points(np.linspace(0.0, curve.length, round(curve.length / apart) + 1))]


def with_neck(apart):
    return loop(0j, *sampled(Curve(NECK), apart), 200 + 520j, 200 + 0j)


def polygon(count, side):
    radius = side / 2 / math.sin(math.pi / count)
    return loop(*(cmath.rect(radius, 2 * math.pi * k / count) for k in range(count)))


@pytest.mark.parametrize("apart", [15, 20, 25])
def test_a_neck_of_few_vertices_is_as_long_and_runs_as_the_curve_they_lie_on(apart):
    curve, neck = with_neck(apart), Curve(NECK)
    (row,) = sparse_rows(curve)
    found = smoothed(curve, sparse_rows(curve))
    assert (found.curves, row[0]) == (1, 1)
    part = Curve(found.curve.segments[slice(*row)])
    chords = Curve(curve.segments[slice(*row)])
    assert part.length == pytest.approx(neck.length, abs=0.15)
    assert abs(part.length - neck.length) < abs(chords.length - neck.length) / 3
    off = math.degrees(cmath.phase(part.tangent(0.0, side=1) / neck.tangent(0.0, side=1)))
    assert abs(off) < next(end.uncertainty for end in found.ends if abs(end.at - 430j) < 1e-9)
    assert abs(off) < abs(math.degrees(cmath.phase(chords.tangent(0.0, side=1)))) / 2


@pytest.mark.parametrize(
    "outline",
    [
        polygon(5, 25),
        polygon(6, 20),
        polygon(8, 20),
        polygon(10, 25),
        loop(0j, 140 + 0j, 140 + 120j, 70 + 150j, 120j),  # a pocket with a point
        loop(0j, 60 + 0j, 60 + 20j, 45 + 30j, 15 + 30j, 20j),  # a tab
        loop(0j, 100 + 0j, 103 + 20j, 97 + 40j, 103 + 60j, 97 + 80j, 100 + 100j, 100j),  # to and fro
        loop(*(complex(20 * k, 0) for k in range(8)), 140 + 90j, 90j),  # a ruled line with vertices on it
        loop(0j, 60 + 0j, 120 + 4j, 180 + 12j, 240 + 24j, 300 + 40j, 300 + 200j, 200j),  # ruled lines of 60 mm
    ],
)
def test_what_is_meant_as_a_polygon_stays_one(outline):
    assert sparse_rows(outline) == []
    assert smoothed(outline, sparse_rows(outline)) is None


def test_chords_of_a_digitised_line_are_no_sparse_curve():
    assert sparse_rows(with_neck(5)) == []


def test_a_kink_that_is_out_of_evenness_ends_a_curve():
    turned = [0j]
    for k in range(12):
        turned.append(turned[-1] + 20 * cmath.exp(1j * math.radians(4 * k + (14 if k >= 6 else 0))))
    curve = loop(*turned, 300j + turned[-1].real, 300j)
    kink = curve.nearest(turned[6]).station
    found = smoothed(curve, sparse_rows(curve))
    assert found.curves == 2
    turns = dict(zip(found.curve.joint_stations[1:].round(3), found.curve.joint_turns(), strict=True))
    station = found.curve.nearest(turned[6]).station
    assert kink == pytest.approx(station, abs=1)
    assert max(turn for at, turn in turns.items() if abs(at - station) < 0.01) == pytest.approx(14, abs=1)


def test_a_sparse_curve_runs_on_into_the_ruled_line_beside_it():
    arc = Curve.arc(100 + 100j, 100, start=180, sweep=90)
    curve = loop(300j, *sampled(arc, 20), 300 + 0j, 300 + 300j)
    found = smoothed(curve, sparse_rows(curve))
    assert np.abs(found.curve.joint_turns()).max() == pytest.approx(90, abs=1e-6)
    assert sum(np.abs(found.curve.joint_turns()) > 1e-6) == 3
    assert found.ends == ()


def test_a_round_of_few_vertices_closes_smoothly_wherever_it_starts():
    ring = polygon(20, 20)
    radius = 10 / math.sin(math.pi / 20)
    for k in (0, 7):
        rolled = Curve(np.roll(ring.segments, k, axis=0))
        found = smoothed(rolled, sparse_rows(rolled))
        assert found.curve.length == pytest.approx(2 * math.pi * radius, rel=1e-4)
        assert np.abs(found.curve.joint_turns()).max() < 0.01


def test_a_row_over_the_end_of_the_outline_is_one_curve():
    curve = with_neck(20)
    here = smoothed(curve, sparse_rows(curve)).curve
    rolled = Curve(np.roll(curve.segments, -4, axis=0))
    there = smoothed(rolled, sparse_rows(rolled)).curve
    assert there.length == pytest.approx(here.length, abs=1e-9)


def test_a_closed_spline_goes_through_its_points():
    points = [cmath.rect(100, 2 * math.pi * k / 12) for k in range(12)]
    assert max(closed_spline(points).nearest(p).distance for p in points) < 1e-9
