"""The curve that noisy chords sample: its direction, its length and its noise, held to the curves that were sampled."""

import math

import numpy as np
import pytest
from edge_making import edge
from pattern_making import arc_from
from scipy import linalg

from seamcheck.geometry import smoothing
from seamcheck.geometry.curve import Curve
from seamcheck.geometry.end_directions import along_at, directions_at
from seamcheck.geometry.smoothing import LEAST_NOISE, direction_at, noise_of, smoothed_length
from seamcheck.geometry.traced_length import traced

KINDS = ("crotch", "armhole", "cap", "hip", "neckline", "waist", "inseam", "hem")


def sampled(curve, chord, noise, number, uneven=0.25):
    """Vertices unevenly along a curve, each beside its place by Gaussian noise, the ends too."""
    chance = np.random.default_rng(number)
    count = max(round(curve.length / chord), 6)
    stations = curve.length * (np.arange(count + 1) + np.pad(chance.uniform(-uneven, uneven, count - 1), 1)) / count
    beside = chance.standard_normal(count + 1) + 1j * chance.standard_normal(count + 1)
    return curve.points(stations) + noise * beside


def edges(each=3):
    return [edge(kind, number) for kind in KINDS for number in range(each)]


def degrees_off(found, true):
    return math.degrees(np.angle(found / true))


@pytest.mark.parametrize("chord", [1, 2, 3, 5])
def test_without_noise_a_line_shows_none(chord):
    assert {noise_of(sampled(curve, chord, 0.0, k)) for k, curve in enumerate(edges())} == {LEAST_NOISE}


@pytest.mark.parametrize("chord", [0.5, 1, 2, 3, 5])
@pytest.mark.parametrize("noise", [0.02, 0.1, 0.2])
def test_a_line_tells_its_noise(chord, noise):
    found = [noise_of(sampled(curve, chord, noise, k)) for k, curve in enumerate(edges())]
    assert np.median(found) == pytest.approx(noise, rel=0.15)


@pytest.mark.parametrize("chord", [1, 2, 3, 5])
def test_without_noise_the_direction_at_an_end_is_that_of_the_curve(chord):
    """Also of a neck that turns 14 degrees in its last 12 mm, in chords of 5 mm, of which the first three tell nothing."""
    for k, curve in enumerate(edges()):
        found = direction_at(sampled(curve, chord, 0.0, k), LEAST_NOISE)
        assert abs(degrees_off(found.heading, curve.tangent(0.0))) < 0.25
        assert found.error < 0.35


@pytest.mark.parametrize("chord", [1, 2, 3, 5])
@pytest.mark.parametrize("noise", [0.05, 0.1, 0.2])
def test_a_direction_is_as_sure_as_it_says(chord, noise):
    off = []
    for k, curve in enumerate(edges(6)):
        vertices = sampled(curve, chord, noise, k)
        found = direction_at(vertices, noise_of(vertices))
        off.append(degrees_off(found.heading, curve.tangent(0.0)) / found.error)
    assert 0.5 < np.sqrt(np.mean(np.square(off))) < 1.2
    assert np.abs(off).max() < 5


def test_the_direction_within_a_line_is_surer_than_at_its_end():
    within, errors, at_end = [], [], []
    for k, curve in enumerate(edges()):
        vertices = sampled(curve, 2.0, 0.1, k)
        line = Curve.polyline(vertices)
        middle = curve.length / 2
        found = along_at(line, line.nearest(curve.point(middle)).station)
        within.append(abs(degrees_off(found.heading, curve.tangent(middle))))
        errors.append(found.error)
        at_end.append(direction_at(vertices, noise_of(vertices)).error)
    assert np.median(within) < 0.3
    assert np.median(errors) < np.median(at_end) / 2


@pytest.mark.parametrize("chord", [1, 2.5, 4])
def test_an_edge_of_a_metre_in_noise_of_a_fifth_of_a_millimetre_keeps_its_length(chord):
    """In chords of 2.5 mm they are 6 mm longer than it."""
    curve = Curve.join([Curve.line(0j, 400 + 0j), arc_from(400 + 0j, 0, 900, 625)])
    assert curve.length == pytest.approx(1025)
    ends = []
    for number in range(8):
        vertices = sampled(curve, chord, 0.2, number)
        found = traced(Curve.polyline(vertices))
        assert found.noise == pytest.approx(0.2, rel=0.25)
        # What the noise of both ends does along the line is no fault of the length.
        along = (vertices[-1] - curve.end) / curve.tangent(curve.length, side=-1) - (vertices[0] - curve.start)
        ends.append(found.length - curve.length - along.real)
        assert np.abs(np.diff(vertices)).sum() - curve.length > 1
    assert np.abs(ends).max() < 0.5


@pytest.mark.parametrize("chord", [1, 3])
def test_a_line_without_noise_and_a_drawn_curve_are_as_long_as_they_are_drawn(chord):
    for k, curve in enumerate(edges(1)):
        line = Curve.polyline(sampled(curve, chord, 0.0, k))
        assert traced(line)[:2] == (pytest.approx(line.length, abs=1e-9), 0.0)
        assert traced(curve)[:2] == (pytest.approx(curve.length, abs=1e-9), 0.0)


def test_teeth_are_no_noise():
    zigzag = [complex(5 * k, 4 * (k % 2)) for k in range(60)]
    line = Curve.polyline(zigzag)
    assert traced(line)[:2] == (pytest.approx(line.length), 0.0)


def test_a_corner_within_a_line_is_not_cut():
    """Noise beside two straight lines that meet at a right angle: the way round the corner stays."""
    corner = Curve.polyline([0j, 300 + 0j, 300 + 300j])
    off = [traced(Curve.polyline(sampled(corner, 2.0, 0.1, number, uneven=0.0))).length - 600 for number in range(6)]
    assert np.abs(off).max() < 0.6


@pytest.mark.parametrize("noise", [0.002, 0.1])
def test_the_curve_is_that_of_least_squares(noise):
    """Held to the normal equations, written out and solved by scipy's banded solver."""
    vertices = sampled(edge("armhole", 1), 3.0, noise, 5)[:30]
    along, beside = smoothing._unrolled(vertices)
    third, spread = smoothing._curvature_changes(along[None])
    found = smoothing._fitted(along[None], beside[None], np.full((1, 30), noise), np.arange(4)[None])
    for k, rate in enumerate(smoothing.WANDERING):
        matrix = np.eye(30) / noise**2 + third[0].T @ (third[0] / (rate**2 * spread[0])[:, None])
        bands = np.array([np.pad(np.diag(matrix, d), (d, 0)) for d in (3, 2, 1, 0)])
        wanted = linalg.solveh_banded(bands, beside / noise**2)
        assert found.places[0, k] == pytest.approx(wanted, abs=1e-6)
        covariance = np.linalg.inv(matrix)[:4, :4]
        assert found.covariance[0, k] == pytest.approx(covariance, rel=1e-4, abs=1e-9)
    assert found.weights.sum() == pytest.approx(1)


def test_the_likelihood_is_that_of_what_may_differ():
    """The differences of a line have the covariance that the model gives them: scipy's density of them weighs the rates alike."""
    from scipy.stats import multivariate_normal

    vertices = sampled(edge("cap", 2), 3.0, 0.05, 4)[:24]
    along, beside = smoothing._unrolled(vertices)
    third, spread = smoothing._curvature_changes(along[None])
    found = smoothing._fitted(along[None], beside[None], np.full((1, 24), 0.05), np.arange(4)[None])
    told = []
    for rate in smoothing.WANDERING:
        covariance = 0.05**2 * third[0] @ third[0].T + np.diag(rate**2 * spread[0])
        told.append(multivariate_normal.logpdf(third[0] @ beside, cov=covariance))
    weights = np.exp(np.array(told) - max(told))
    assert found.weights[0] == pytest.approx(weights / weights.sum(), abs=1e-6)


def test_a_line_that_bends_evenly_comes_back():
    for radius in (20, 60, -200):
        vertices = sampled(arc_from(3 + 4j, 25, radius, 50), 2.0, 0.0, 1)
        assert abs(degrees_off(direction_at(vertices, 0.2).heading, np.exp(1j * math.radians(25)))) < 0.02
        assert smoothed_length(vertices, 0.2) == pytest.approx(np.abs(np.diff(vertices)).sum(), abs=1e-3)


@pytest.mark.parametrize("beside", [1.5e-6, 1e-9, 0.0])
def test_a_vertex_that_falls_on_another_changes_nothing(beside):
    """As where a new line is let in next to a vertex: the chord between the two goes anywhere, and its error was no number."""
    vertices = sampled(arc_from(3 + 4j, 25, 900, 120), 2.0, 0.002, 1)
    doubled = np.insert(vertices, 16, vertices[15] + beside * np.exp(0.3j))
    one, other = (direction_at(row, 0.002, 31.0) for row in (vertices, doubled))
    assert other.heading == pytest.approx(one.heading, abs=1e-6)
    assert 0 < one.error < 0.1
    assert other.error == pytest.approx(one.error, rel=1e-3)
    assert smoothed_length(doubled, 0.002) == pytest.approx(smoothed_length(vertices, 0.002), abs=1e-5)


def test_a_line_that_bends_ever_more_is_no_rounded_corner():
    """The crotch of a front in chords of 5 mm, which turns 15 degrees in its last 8 mm before a right angle."""
    bend = Curve.cubic(-60 + 40j, -50 + 5j, -25 + 0j, 0j)
    leg = Curve.line(0j, -150j)
    true = degrees_off(leg.tangent(0.0), bend.tangent(bend.length, side=-1))
    coming = Curve.polyline(np.append(sampled(bend, 5.0, 0.0, 3)[:-1], 0j))
    going = Curve.polyline(np.append(0j, sampled(leg, 5.0, 0.0, 4)[1:]))
    (found,) = directions_at([(coming, going)])
    assert degrees_off(found.after, found.before) == pytest.approx(true, abs=0.3)
