"""The curve type against other libraries and printed tables.

Each check names its source. Length is held to 1e-9 of itself or 1e-7 mm, whichever is larger.
"""

import math
from itertools import pairwise

import mpmath
import numpy as np
import pytest
import shapely
from fontTools.pens.areaPen import AreaPen
from fontTools.pens.boundsPen import BoundsPen
from fontTools.pens.perimeterPen import PerimeterPen
from scipy.integrate import quad
from scipy.interpolate import BSpline, CubicSpline
from scipy.optimize import minimize_scalar
from svgelements import Path

from seamcheck.geometry.curve import Affine, Curve, lengths


def allowed(length):
    return np.maximum(1e-9 * np.asarray(length, dtype=float), 1e-7)


def cubic(segment, t):
    """A point by the definition, sum of Bernstein polynomials; independent of the code under test."""
    a, b, c, d = segment
    s = 1 - t
    return a * s**3 + 3 * b * s * s * t + 3 * c * s * t * t + d * t**3


def velocity(segment, t):
    a, b, c, d = segment
    s = 1 - t
    return 3 * ((b - a) * s * s + 2 * (c - b) * s * t + (d - c) * t * t)


def random_segments(count, seed):
    rng = np.random.default_rng(seed)
    size = 10 ** rng.uniform(-1, 3.5, (count, 1))
    place = rng.uniform(-2000, 2000, (count, 1)) + 1j * rng.uniform(-2000, 2000, (count, 1))
    return place + size * (rng.normal(size=(count, 4)) + 1j * rng.normal(size=(count, 4)))


# --- length -----------------------------------------------------------------------------------------------


def test_random_lengths_against_scipy_quad():
    # Source: scipy.integrate.quad (QUADPACK) on the speed of 1,200 random cubics.
    segments = random_segments(1200, seed=20)
    with np.errstate(all="ignore"):
        expected = np.array(
            [
                quad(lambda t, s=s: abs(velocity(s, t)), 0, 1, epsabs=0, epsrel=1e-11, limit=400)[0]
                for s in segments.tolist()
            ]
        )
    assert (np.abs(lengths(segments) - expected) <= allowed(expected)).all()


def nasty_segments():
    """Cusps, near-cusps, coincident handles, overshoots, loops, and sizes from 1e-6 to 1e6 mm."""
    shapes = {
        "cusp": [-1 + 1j, 1 - 1j, -1 - 1j, 1 + 1j],
        "cusp off the middle": cusp_at(0.3),
        "cusp near the end": cusp_at(0.999),
        "loop": [0, 2 + 1j, -1 + 1j, 1],
        "tiny loop": [0, 1.34 + 1j, -0.34 + 1j, 1],
        "retracted start": [0, 0, 1 + 1j, 2],
        "retracted end": [0, 1 + 1j, 2, 2],
        "both retracted": [0, 0, 1 + 1j, 1 + 1j],
        "nearly retracted": [0, 1e-9 + 1e-9j, 1 + 1j, 2],
        "three together": [0, 0, 0, 1 + 2j],
        "handles crossed": [0, 3 + 3j, -2 + 3j, 1],
        "overshoot": [0, 1 + 2j, -1 - 2j, 0.5 + 1j],
        "overshoot one way": [0, 2, 2, 1],
        "there and back": [0, 1 + 1j, 1 + 1j, 0],
        "far handles": [0, 1000 + 1j, -1000 + 1j, 1],
        "one far handle": [0, 1e4, 1 + 1j, 1],
        "nearly straight": [0, 1 + 1e-9j, 2 - 1e-9j, 3],
        "closed drop": [0, 1 + 1j, -1 + 1j, 0],
        "inflection": [0, 1, 1 + 1j, 2 + 1j],
    }
    for power in (2, 4, 6, 8, 10, 12):
        bent = np.array(shapes["cusp"], dtype=complex)
        bent[1] += 10.0**-power
        shapes[f"cusp missed by 1e-{power}"] = bent
        shapes[f"overshoot bent by 1e-{power}"] = [0, 10 + 10.0**-power * 1j, -10, 1]
    result = {}
    for name, shape in shapes.items():
        for size in (1.0, 137.0, 1e-6, 1e6):
            if size in (1.0, 137.0) or name in ("cusp", "loop", "retracted start", "overshoot"):
                result[f"{name} x {size:g}"] = np.array(shape, dtype=complex) * size
    return result


def cusp_at(t):
    """A cubic whose derivative c * (u - t) * (u - 1 - 2j) vanishes at t."""
    other = 1 + 2j
    constant, linear, square = t * other, -(t + other), 1
    first = constant
    middle = first + linear / 2
    last = square + linear + constant
    return np.cumsum([0, first, middle, last]) / 3


def exact_length(segment):
    """Arc length by mpmath at 22 digits, cut where the derivative comes near zero."""
    with mpmath.workdps(22):
        a, b, c, d = (mpmath.mpc(z.real, z.imag) for z in segment.tolist())
        constant, linear, square = 3 * (b - a), 6 * (c - 2 * b + a), 3 * (d - 3 * c + 3 * b - a)
        roots = []
        if square != 0:
            root = mpmath.sqrt(linear * linear - 4 * square * constant)
            roots = [(-linear + root) / (2 * square), (-linear - root) / (2 * square)]
        elif linear != 0:
            roots = [-constant / linear]
        # Finer and finer towards a near-cusp, so that tanh-sinh quadrature sees smooth stretches only.
        cuts = {mpmath.mpf(0), mpmath.mpf(1)}
        for r in roots:
            near = {r.real + s * mpmath.mpf(10) ** -k for k in range(1, 14, 3) for s in (-1, 1)} | {r.real}
            cuts |= {t for t in near if 0 < t < 1} if abs(r.imag) < 0.1 else set()
        return float(mpmath.quad(lambda t: abs(constant + t * (linear + t * square)), sorted(cuts), maxdegree=6))


def test_nasty_lengths_against_mpmath():
    # Source: mpmath.quad (tanh-sinh) at 22 digits.
    nasty = nasty_segments()
    assert len(nasty) >= 50
    expected = np.array([exact_length(s) for s in nasty.values()])
    error = np.abs(lengths(np.array(list(nasty.values()))) - expected)
    assert [name for name, bad in zip(nasty, error > allowed(expected), strict=True) if bad] == []


@pytest.mark.parametrize(
    ("m", "table"),
    [
        # Source: Abramowitz & Stegun, Handbook of Mathematical Functions (1964), table 17.1: the complete
        # elliptic integral of the second kind E(m), here to nine decimals.
        (0.0, 1.570796327),
        (0.10, 1.530757637),
        (0.50, 1.350643881),
        (0.90, 1.104774733),
        (0.99, 1.015993546),
    ],
)
def test_ellipse_perimeters_against_the_handbook(m, table):
    minor = math.sqrt(1 - m)
    for size in (1, 25):
        ellipse = Curve.arc(3 + 4j, size, size * minor, rotation=33)
        assert ellipse.length == pytest.approx(4 * size * table, abs=4 * size * 1e-9 + 1e-6)
        assert ellipse.signed_area() == pytest.approx(math.pi * size * size * minor, abs=1e-5)


def test_ellipse_perimeter_printed_for_whole_numbers():
    # Source: mpmath.ellipe, complete elliptic integral of the second kind.
    for a, b in ((120, 45), (10, 9), (300, 1)):
        expected = 4 * a * float(mpmath.ellipe(1 - mpmath.mpf(b) ** 2 / mpmath.mpf(a) ** 2))
        assert Curve.arc(0, a, b).length == pytest.approx(expected, abs=2e-6)


def test_perimeter_and_area_against_fonttools_pens():
    # Source: fontTools PerimeterPen (its own recursion, tolerance 1e-7 here), AreaPen and BoundsPen.
    for seed in range(20):
        points = np.random.default_rng(seed).uniform(-300, 300, (4, 2))
        curve = Curve.cubic(*(complex(x, y) for x, y in points))
        perimeter, area, bounds = PerimeterPen(tolerance=1e-7), AreaPen(), BoundsPen(None)
        for pen in (perimeter, area, bounds):
            pen.moveTo(tuple(points[0]))
            pen.curveTo(*map(tuple, points[1:]))
            pen.closePath()
        assert curve.length + curve.chord == pytest.approx(perimeter.value, abs=1e-4)
        assert curve.signed_area() == pytest.approx(area.value, rel=1e-9, abs=1e-6)
        assert curve.bounds() == pytest.approx(bounds.bounds, abs=1e-9)


def test_path_geometry_against_svgelements():
    # Source: svgelements 1.9.6, arcs and cubics as it reads them from path data.
    path = Path("M 10,20 C 60,-30 110,90 160,40 A 40,25 30 0 1 200,100 Q 150,160 100,120 Z")
    cubics, arc, quadratic, close = path[1], path[2], path[3], path[4]
    curve = Curve.join(
        [
            Curve.cubic(*map(complex, (cubics.start, cubics.control1, cubics.control2, cubics.end))),
            Curve.arc(
                complex(arc.center),
                arc.rx,
                arc.ry,
                rotation=math.degrees(arc.get_rotation()),
                start=math.degrees(arc.get_start_t()),
                sweep=math.degrees(arc.sweep),
            ),
            Curve.quadratic(*map(complex, (quadratic.start, quadratic.control, quadratic.end))),
            Curve.line(complex(close.start), complex(close.end)),
        ]
    )
    total = sum(part.length(error=1e-9) for part in path[1:])
    assert curve.length == pytest.approx(total, abs=1e-5)
    assert curve.bounds() == pytest.approx(path.bbox(), abs=1e-5)


# --- splines ----------------------------------------------------------------------------------------------


def spline_error(curve, evaluate, low, high):
    """The greatest distance of a spline evaluated elsewhere from the curve, at 300 places."""
    return max(curve.nearest(complex(evaluate(u))).distance for u in np.linspace(low, high, 300))


@pytest.mark.parametrize("degree", [1, 2, 3])
@pytest.mark.parametrize("kind", ["clamped", "unclamped", "uneven", "double knot"])
def test_polynomial_splines_against_scipy(degree, kind):
    # Source: scipy.interpolate.BSpline.
    rng = np.random.default_rng(7)
    count = 9
    control = rng.uniform(0, 100, count) + 1j * rng.uniform(0, 100, count)
    inner = np.arange(1, count - degree, dtype=float)
    if kind == "uneven":
        inner = np.cumsum(rng.uniform(0.1, 3, len(inner)))
    if kind == "double knot" and degree > 1:
        inner[2] = inner[3]
    last = inner[-1] + 1
    knots = np.concatenate([np.zeros(degree + 1), inner, np.full(degree + 1, last)])
    if kind == "unclamped":
        knots = np.arange(count + degree + 1, dtype=float)
    spline = BSpline(knots, control, degree)
    curve = Curve.bspline(control, knots, degree)
    low, high = knots[degree], knots[count]
    assert curve.start == pytest.approx(complex(spline(low)), abs=1e-10)
    assert curve.end == pytest.approx(complex(spline(high)), abs=1e-10)
    spans = np.unique(knots[(knots >= low) & (knots <= high)])
    assert len(curve.segments) == len(spans) - 1
    for k, (a, b) in enumerate(pairwise(spans)):
        for share in (0.1, 0.5, 0.77):
            here = cubic(curve.segments[k], share)
            assert here == pytest.approx(complex(spline(a + share * (b - a))), abs=1e-10)


def test_periodic_spline_closes():
    # Source: scipy.interpolate.BSpline; the first control points are repeated at the end.
    ring = 50 * np.exp(2j * np.pi * np.arange(8) / 8)
    control = np.concatenate([ring, ring[:3]])
    knots = np.arange(len(control) + 4, dtype=float)
    curve = Curve.bspline(control, knots)
    spline = BSpline(knots, control, 3)
    assert curve.is_closed
    assert abs(curve.joint_turns()).max() < 1e-9
    expected = sum(quad(lambda u: abs(spline.derivative()(u)), a, a + 1)[0] for a in knots[3:11])
    assert curve.length == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("degree", [4, 5, 7])
def test_higher_degrees_against_scipy(degree):
    # Source: scipy.interpolate.BSpline and quad on its derivative; the limit is 1e-4 mm.
    rng = np.random.default_rng(degree)
    count = degree + 5
    control = rng.uniform(0, 200, count) + 1j * rng.uniform(0, 200, count)
    knots = np.concatenate([np.zeros(degree + 1), [1, 2, 3, 4], np.full(degree + 1, 5)])
    spline, curve = BSpline(knots, control, degree), Curve.bspline(control, knots, degree)
    assert spline_error(curve, spline, 0, 5) < 1e-4
    slope = spline.derivative()
    expected = sum(quad(lambda u: abs(slope(u)), a, a + 1, limit=200)[0] for a in range(5))
    assert curve.length == pytest.approx(expected, abs=1e-4)
    assert np.abs(curve.joint_turns()).max() < 1e-3


def test_rational_splines_against_scipy():
    # Source: scipy.interpolate.BSpline on homogeneous coordinates.
    rng = np.random.default_rng(3)
    control = rng.uniform(0, 100, 8) + 1j * rng.uniform(0, 100, 8)
    weights = rng.uniform(0.3, 4, 8)
    knots = np.array([0, 0, 0, 0, 1, 2, 2.5, 4, 5, 5, 5, 5])
    above, below = BSpline(knots, control * weights, 3), BSpline(knots, weights, 3)
    curve = Curve.bspline(control, knots, 3, weights)
    assert spline_error(curve, lambda u: above(u) / below(u), 0, 5) < 1e-4
    same = Curve.bspline(control, knots, 3, np.full(8, 2.5))
    assert same == Curve.bspline(control, knots, 3)


def test_rational_circle_is_a_circle():
    # Source: L. Piegl & W. Tiller, The NURBS Book (1997), section 7.5: nine points, weights 1 and sqrt(1/2).
    square = 80 * np.array([1, 1 + 1j, 1j, -1 + 1j, -1, -1 - 1j, -1j, 1 - 1j, 1])
    knots = [0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 4]
    circle = Curve.bspline(square, knots, 2, [1, math.sqrt(0.5)] * 4 + [1])
    radii = np.abs(circle.points(np.linspace(0, circle.length, 500)))
    assert np.abs(radii - 80).max() < 1e-4
    assert circle.length == pytest.approx(160 * math.pi, abs=1e-4)


@pytest.mark.parametrize(("ends", "count"), [("not-a-knot", 4), ("not-a-knot", 12), ("natural", 3), ("natural", 9)])
def test_interpolating_spline_against_scipy(ends, count):
    # Source: scipy.interpolate.CubicSpline in chord length.
    rng = np.random.default_rng(count)
    points = np.cumsum(rng.uniform(1, 30, count) + 1j * rng.normal(0, 10, count))
    chords = np.concatenate([[0], np.cumsum(np.abs(np.diff(points)))])
    spline = CubicSpline(chords, points, bc_type=ends)
    curve = Curve.through(points, ends)
    for k, (a, b) in enumerate(pairwise(chords)):
        for share in (0.0, 0.2, 0.5, 0.9):
            here = cubic(curve.segments[k], share)
            assert here == pytest.approx(complex(spline(a + share * (b - a))), abs=1e-9)


# --- nearest, area, offset --------------------------------------------------------------------------------


def test_nearest_against_scipy_minimize():
    # Source: scipy.optimize.minimize_scalar on every one of 40 stretches of each segment.
    rng = np.random.default_rng(11)
    for segment in random_segments(25, seed=4):
        curve = Curve([segment])
        x0, y0, x1, y1 = curve.bounds()
        point = complex(rng.uniform(x0, x1), rng.uniform(y0, y1))
        grid = np.abs(cubic(segment, np.linspace(0, 1, 2001)) - point)
        best = grid.min()
        for k in np.argsort(grid)[:3]:
            found = minimize_scalar(
                lambda t, s=segment, p=point: abs(cubic(s, t) - p),
                bounds=(max(0, (k - 1) / 2000), min(1, (k + 1) / 2000)),
                method="bounded",
                options={"xatol": 1e-12},
            )
            best = min(best, found.fun)
        size = np.abs(segment - point).max()
        assert curve.nearest(point).distance == pytest.approx(best, abs=1e-9 * size)


def test_nearest_on_a_chain_against_shapely():
    # Source: shapely distance and line_locate_point on a polyline, which is exact there.
    rng = np.random.default_rng(5)
    points = np.cumsum(rng.normal(size=400) + 1j * rng.normal(size=400)) * 5
    curve = Curve.polyline(points)
    line = shapely.LineString(np.stack([points.real, points.imag], axis=1))
    for _ in range(40):
        point = complex(*rng.normal(0, 80, 2))
        near = curve.nearest(point)
        assert near.distance == pytest.approx(line.distance(shapely.Point(point.real, point.imag)), abs=1e-9)
        there = line.interpolate(near.station)
        assert complex(there.x, there.y) == pytest.approx(near.point, abs=1e-8)


def ring(rough=0.25, seed=0):
    """A smooth closed curve round the origin, about 100 mm wide."""
    rng = np.random.default_rng(seed)
    around = np.arange(24)
    radius = 60 * (1 + rough * np.sin(around * np.pi / 6 + seed) * rng.uniform(0.5, 1))
    control = radius * np.exp(2j * np.pi * around / 24)
    control = np.concatenate([control, control[:3]])
    return Curve.bspline(control, np.arange(len(control) + 4.0))


def polygon_of(curve, tolerance=1e-4):
    z = curve.polygon(tolerance)
    return shapely.Polygon(np.stack([z.real, z.imag], axis=1))


@pytest.mark.parametrize("seed", range(4))
def test_area_and_inside_against_shapely(seed):
    # Source: shapely area and covers on a fine polygon.
    curve = ring(seed=seed)
    polygon = polygon_of(curve)
    assert polygon.is_valid
    assert curve.signed_area() == pytest.approx(polygon.area, rel=1e-5)
    rng = np.random.default_rng(seed)
    for x, y in rng.uniform(-80, 80, (60, 2)):
        if polygon.boundary.distance(shapely.Point(x, y)) > 1e-3:
            assert curve.contains(complex(x, y)) == polygon.covers(shapely.Point(x, y))


@pytest.mark.parametrize("distance", [10.0, -10.0, 3.0])
@pytest.mark.parametrize("seed", range(3))
def test_smooth_offsets_against_shapely_and_the_length_formula(seed, distance):
    # Sources: shapely buffer of a fine polygon; length of a parallel = L - distance * turning (Steiner).
    curve = ring(rough=0.1, seed=seed)
    parallel = curve.offset(distance)
    assert parallel.is_closed
    assert parallel.length == pytest.approx(
        curve.length - distance * math.radians(curve.turning() + curve.joint_turns()[-1]), abs=2e-3
    )
    buffered = polygon_of(curve).buffer(-distance, quad_segs=400)
    assert parallel.signed_area() == pytest.approx(buffered.area, rel=2e-5)
    for z in parallel.points(np.linspace(0, parallel.length, 200)):
        assert curve.nearest(z).distance == pytest.approx(abs(distance), abs=1e-4)


@pytest.mark.parametrize("distance", [8.0, -8.0])
def test_offset_with_corners_against_shapely(distance):
    # Source: shapely buffer with mitred joins; it may simplify its input by a hundredth of the distance,
    # which moves a mitred tip by a few hundredths of a millimetre.
    curve = Curve.join(
        [
            Curve.line(0, 100),
            Curve.cubic(100, 120 + 40j, 120 + 80j, 90 + 120j),
            Curve.line(90 + 120j, 40 + 90j),
            Curve.line(40 + 90j, 20 + 140j),
            Curve.cubic(20 + 140j, -10 + 110j, -20 + 60j, 0),
        ]
    )
    parallel = curve.offset(distance)
    assert parallel.is_closed
    expected = polygon_of(curve).buffer(-distance, join_style="mitre", mitre_limit=50)
    assert parallel.signed_area() == pytest.approx(expected.area, rel=1e-5)
    assert polygon_of(parallel).hausdorff_distance(expected) < 0.05


def test_offset_of_a_digitised_outline_against_shapely():
    # Source: shapely buffer with mitred joins; vertices rounded to 0.01 mm as a digitiser writes them.
    angles = np.linspace(0, 2 * np.pi, 721)[:-1]
    points = np.round((70 + 8 * np.cos(3 * angles)) * np.exp(1j * angles), 2)
    curve = Curve.polyline([*points, points[0]])
    for distance in (10.0, -10.0):
        expected = polygon_of(curve).buffer(-distance, join_style="mitre", mitre_limit=50)
        parallel = curve.offset(distance)
        assert parallel.signed_area() == pytest.approx(expected.area, rel=1e-6)


def test_rigid_copies_measure_the_same_far_away():
    # Source: Euclid; a copy moved ten metres and turned measures the same.
    segments = random_segments(200, seed=9)
    moved = Affine.translation(10_000 - 7_000j) @ Affine.rotation(37.0)
    assert lengths(moved.apply(segments)) == pytest.approx(lengths(segments), rel=1e-9, abs=1e-7)


def test_crossings_against_shapely():
    # Source: shapely intersection of two polylines, and is_simple, which are exact there.
    rng = np.random.default_rng(21)
    for _ in range(30):
        one, two = (np.cumsum(rng.normal(size=30) + 1j * rng.normal(size=30)) for _ in range(2))
        lines = [shapely.LineString(np.stack([z.real, z.imag], axis=1)) for z in (one, two)]
        expected = shapely.get_coordinates(lines[0].intersection(lines[1]))
        found = np.sort_complex(
            [Curve.polyline(one).point(a) for a, _ in Curve.polyline(one).crossings(Curve.polyline(two))]
        )
        assert len(found) == len(expected)
        if len(found):
            assert found == pytest.approx(np.sort_complex(expected[:, 0] + 1j * expected[:, 1]), abs=1e-7)
        assert lines[0].is_simple == (Curve.polyline(one).self_crossings() == ())
