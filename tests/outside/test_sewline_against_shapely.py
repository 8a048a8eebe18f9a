"""The sew line against shapely (GEOS), whose buffer with mitred joins works on polygons, and against half-planes."""

import cmath
import math
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon

from seamcheck.geometry.curve import Affine, Curve
from seamcheck.pieces.sew_line import AllowanceStretch, NoSewLineError, sew_line

FLAT = 1e-4  # mm: how closely curves are flattened; with much shorter chords the mitres of GEOS have gone wrong
# No mitre is cut off. (With limits far beyond what the corners need, GEOS has been seen to lose area elsewhere.)
LIMIT = 100.0


def flat(curve):
    return Polygon([(z.real, z.imag) for z in curve.polygon(FLAT)])


def shrunk(cut, allowance):
    return flat(cut).buffer(-allowance, join_style="mitre", mitre_limit=LIMIT)


def offset(cut, starts, allowances, y_down=True):
    if isinstance(allowances, int | float):
        allowances = [allowances] * len(starts)
    ends = [*starts[1:], starts[0]]
    return sew_line(
        cut, [AllowanceStretch(*row) for row in zip(starts, ends, allowances, strict=True)], y_down=y_down
    )


def assert_same(sew, reference, within=0.01):
    mine = flat(sew.outline)
    assert mine.exterior.hausdorff_distance(reference.exterior) <= within
    assert abs(mine.area - reference.area) <= within * reference.length / 10


def joined(*lines):
    starts = np.cumsum([0.0, *(line.length for line in lines[:-1])])
    return Curve.join(lines), starts.tolist()


def closed_polyline(points):
    return joined(*(Curve.line(a, b) for a, b in pairwise([*points, points[0]])))


# --- outlines of garments ---------------------------------------------------------------------------------


def strap(shoulder):
    """A bodice whose shoulder is so long from neck to armhole, and narrower below than there."""
    tip = complex(shoulder, 12)
    armhole = Curve.cubic(tip, tip - 25 + 60j, tip - 30 + 140j, tip + 45 + 200j)
    side = Curve.line(armhole.end, complex(armhole.end.real + 5, 450))
    hem = Curve.line(side.end, -60 + 450j)
    centre = Curve.line(hem.end, -60 + 80j)
    neck = Curve.cubic(centre.end, -30 + 80j, -5 + 40j, 0j)
    return joined(Curve.line(0j, tip), armhole, side, hem, centre, neck)


@pytest.mark.parametrize("allowance", [10.0, 25.0, 29.0, 30.0, 32.0])
@pytest.mark.parametrize("shoulder", [45.0, 50.0, 58.0, 80.0])
def test_the_sides_of_a_strap_meet_on_the_cloth_where_its_end_is_swallowed(shoulder, allowance):
    cut, starts = strap(shoulder)
    sew = offset(cut, starts, allowance)
    left = shrunk(cut, allowance)
    parts = sorted(getattr(left, "geoms", [left]), key=lambda part: part.area)
    if (
        len(parts) == 1 or parts[-2].area < 50.0
    ):  # GEOS keeps what lies beyond the narrowest place as a part of its own
        assert_same(sew, parts[-1])


# A trouser front: waist, centre front with the crotch curve, inseam, hem, outseam.
FRONT = [
    Curve.cubic(59.4 + 58j, 132.3 + 74.2j, 210.9 + 72.6j, 285.4 + 68j),
    Curve.join(
        [Curve.line(285.4 + 68j, 294 + 208j), Curve.cubic(294 + 208j, 296.8 + 253.9j, 314.7 + 284.7j, 342 + 290j)]
    ),
    Curve.join([Curve.cubic(342 + 290j, 321 + 398j, 300 + 535j, 300 + 630j), Curve.line(300 + 630j, 300 + 1070j)]),
    Curve.line(300 + 1070j, 80 + 1070j),
    Curve.join(
        [
            Curve.line(80 + 1070j, 80 + 630j),
            Curve.cubic(80 + 630j, 80 + 480j, 38 + 378j, 38 + 208j),
            Curve.cubic(38 + 208j, 38 + 146j, 48.7 + 102.7j, 59.4 + 58j),
        ]
    ),
]


def band():
    outer, inner = Curve.arc(0, 300, start=200, sweep=60), Curve.arc(0, 260, start=260, sweep=-60)
    return [outer, Curve.line(outer.end, inner.start), inner, Curve.line(inner.end, outer.start)]


def digitised(lines, step):
    return [
        Curve.polyline(line.points(np.linspace(0, line.length, math.ceil(line.length / step) + 1))) for line in lines
    ]


OUTLINES = {
    "rectangle": closed_polyline([0, 200, 200 + 300j, 300j]),
    "hollow": closed_polyline([0, 200, 200 + 100j, 100 + 100j, 100 + 300j, 300j]),
    "notched": closed_polyline([0, 75, 100 + 80j, 125, 200, 200 + 300j, 300j]),
    "circle": (Curve.arc(0, 100), [0.0, 111.0, 400.0]),
    "one edge": (Curve.arc(0, 100, 60), [50.0]),
    "band": joined(*band()),
    "front": joined(*FRONT),
    "digitised front": joined(*digitised(FRONT, 3.0)),
    "digitised band": joined(*digitised(band(), 2.0)),
}


@pytest.mark.parametrize("name", OUTLINES)
@pytest.mark.parametrize("allowance", [6.35, 10.0, 15.875])
def test_equal_allowances(name, allowance):
    cut, starts = OUTLINES[name]
    sew = offset(cut, starts, allowance)
    assert_same(sew, shrunk(cut, allowance))
    assert sew.swallowed == ()


@pytest.mark.parametrize("name", OUTLINES)
def test_equal_allowances_with_y_up(name):
    cut, _ = OUTLINES[name]
    up, starts = cut.transformed(Affine.scaling(1, -1)), OUTLINES[name][1]
    assert_same(offset(up, starts, 10.0, y_down=False), shrunk(up, 10.0))


def test_unequal_allowances_lie_each_at_its_own_distance_from_its_own_edge():
    cut, starts = OUTLINES["front"]
    allowances = [10.0, 15.0, 12.0, 40.0, 20.0]
    sew = offset(cut, starts, allowances)
    assert sew.swallowed == ()
    ends = [*sew.corners[1:], sew.outline.length]
    for edge, allowance, start, end in zip(FRONT, allowances, sew.corners, ends, strict=True):
        line = shapely.LineString([(z.real, z.imag) for z in edge.polygon(FLAT)])
        length = sew.outline.between(start, end).length
        points = sew.outline.points(start + np.linspace(0, length, 60))
        points = shapely.points(points.real, points.imag)
        distances, feet = shapely.distance(line, points), shapely.line_locate_point(line, points)
        assert distances.min() > allowance - 3 * FLAT
        beside = (feet > 0) & (feet < line.length)  # the others lie where an end of the edge is drawn on
        assert np.abs(distances[beside] - allowance).max() < 3 * FLAT
        assert beside.sum() > 40


# --- any polygon ------------------------------------------------------------------------------------------

millimetres = st.one_of(st.sampled_from([0.0, 6.0, 10.0, 15.0, 40.0]), st.floats(0.5, 60))


@st.composite
def convex_polygons(draw):
    """Corners on an ellipse, with a turn of 16 degrees at least: less, and unequal allowances step."""
    size = draw(st.sampled_from([40.0, 80.0, 300.0]))
    angles = sorted(draw(st.lists(st.floats(0, 2 * math.pi), min_size=3, max_size=9)))
    points = [size * complex(math.cos(angle), 0.7 * math.sin(angle)) for angle in angles]
    sides = [b - a for a, b in pairwise([*points, points[0]])]
    assume(min(map(abs, sides)) > 1.0)
    turns = [math.degrees(cmath.phase(b / a)) for a, b in pairwise([*sides, sides[0]])]
    assume(min(turns) > 16)
    assume(max(turns) < 170)
    allowances = draw(st.lists(millimetres, min_size=len(points), max_size=len(points)))
    return points, allowances


def cut_by_half_planes(points, allowances):
    """What is left of a convex polygon when every side is moved inwards (Sutherland and Hodgman, 1974)."""
    kept = list(points)
    for a, b, allowance in zip(points, [*points[1:], points[0]], allowances, strict=True):
        inward = 1j * (b - a) / abs(b - a)
        depth = [((point - a) * inward.conjugate()).real - allowance for point in kept]
        clipped = []
        for k, point in enumerate(kept):
            d, before = depth[k], depth[k - 1]
            if (d > 0) != (before > 0):
                clipped.append(kept[k - 1] + (point - kept[k - 1]) * before / (before - d))
            if d > 0:
                clipped.append(point)
        kept = clipped
    return kept


@settings(max_examples=100)
@given(convex_polygons())
def test_any_convex_polygon_with_any_allowances_is_cut_as_by_half_planes(drawn):
    points, allowances = drawn
    cut, starts = closed_polyline(points)
    left = cut_by_half_planes(points, allowances)
    area = Polygon([(z.real, z.imag) for z in left]).area if len(left) > 2 else 0.0
    assume(area == 0.0 or area > 1e-3)
    if area == 0.0:
        with pytest.raises(NoSewLineError):
            offset(cut, starts, allowances)
        return
    sew = offset(cut, starts, allowances)
    mine = flat(sew.outline)
    reference = Polygon([(z.real, z.imag) for z in left])
    assert mine.exterior.hausdorff_distance(reference.exterior) < 1e-6
    assert all("swallowed" in why for _, why in sew.swallowed)


@st.composite
def star_polygons(draw):
    """Corners all round a middle, some of them hollow."""
    count = draw(st.integers(5, 10))
    angles = [2 * math.pi * (k + draw(st.floats(-0.3, 0.3))) / count for k in range(count)]
    return [draw(st.floats(80, 300)) * cmath.exp(1j * angle) for angle in angles], draw(st.floats(1, 20))


@settings(max_examples=100)
@given(star_polygons())
def test_any_polygon_with_equal_allowances_is_cut_as_shapely_cuts_it(drawn):
    points, allowance = drawn
    cut, starts = closed_polyline(points)
    reference = Polygon([(z.real, z.imag) for z in points]).buffer(-allowance, join_style="mitre", mitre_limit=LIMIT)
    sew = offset(cut, starts, allowance)
    if reference.geom_type != "Polygon":
        assert any("crosses itself" in why for _, why in sew.swallowed)
        return
    assert_same(sew, reference, within=1e-3)


@st.composite
def bowed_polygons(draw):
    """Star polygons whose sides bulge or are hollow, gently enough to have parallels."""
    points, allowance = draw(star_polygons())
    sides = []
    for a, b in pairwise([*points, points[0]]):
        bow = draw(st.floats(-0.1, 0.1)) * 1j * (b - a)
        sides.append(Curve.cubic(a, a + (b - a) / 3 + bow, a + 2 * (b - a) / 3 + bow, b))
    return sides, allowance


@settings(max_examples=40)
@given(bowed_polygons())
def test_any_curved_outline_is_followed_at_the_allowance_except_in_hollow_mitres(drawn):
    # Distances by shapely: nowhere less than the allowance, and more only where a corner is what lies nearest.
    sides, allowance = drawn
    cut, starts = joined(*sides)
    outline = flat(cut)
    assume(outline.is_valid)
    sew = offset(cut, starts, allowance)
    assume(sew.swallowed == ())
    points = sew.outline.points(np.linspace(0, sew.outline.length, 400))
    distances = shapely.distance(outline.exterior, shapely.points(points.real, points.imag))
    assert distances.min() > allowance - 3 * FLAT
    assert outline.contains(flat(sew.outline))
    further = distances > allowance + 3 * FLAT
    to_corners = np.abs(points[:, None] - np.array([side.start for side in sides])[None, :]).min(axis=1)
    assert np.abs(to_corners - distances)[further].max(initial=0.0) < 3 * FLAT
