import cmath
import math

import pytest
from pattern_making import arc_from, box, chords, corners, line_mark, loop, rounded, shape

from seamcheck.geometry.curve import Affine, Curve
from seamcheck.pieces.outline import detect_corners


def found(curve, **more):
    return [rounded(curve.point(station), 6) for station in detect_corners(curve, **more)]


def fillet(points, radius):
    """A polygon with round corners, clockwise with y down, and the middle of each round."""
    lines, middles = [], []
    count = len(points)
    cuts = []
    for k, corner in enumerate(points):
        to = (points[k - 1] - corner) / abs(points[k - 1] - corner)
        on = (points[(k + 1) % count] - corner) / abs(points[(k + 1) % count] - corner)
        half = abs(cmath.phase(on / to)) / 2
        reach = radius / math.tan(half)
        bisector = (to + on) / abs(to + on)
        centre = corner + bisector * radius / math.sin(half)
        cuts.append((corner + to * reach, corner + on * reach, centre))
        middles.append(centre - bisector * radius)
    for k, (coming, going, centre) in enumerate(cuts):
        lines.append(Curve.line(cuts[k - 1][1], coming))
        sweep = math.degrees(cmath.phase((going - centre) / (coming - centre)))
        start = math.degrees(cmath.phase(coming - centre))
        lines.append(Curve.arc(centre, radius, start=start, sweep=sweep))
    snapped = []
    for line in lines:  # arcs are right to 1e-6 mm only
        segments = line.segments.copy()
        if snapped:
            segments[0, 0] = snapped[-1].end
        snapped.append(Curve(segments))
    last = snapped[-1].segments.copy()
    last[-1, 3] = snapped[0].start
    return Curve.join([*snapped[:-1], Curve(last)]), middles


def test_sharp_corners_are_found_where_they_are():
    points = [0j, 200 + 10j, 180 + 300j, 20 + 290j]
    assert found(loop(*points)) == points


@pytest.mark.parametrize("degrees", [0, 17, 45, 133])
def test_turning_a_piece_moves_its_corners_only(degrees):
    turn = Affine.rotation(degrees)
    curve = box().transformed(turn)
    assert found(curve) == [rounded(complex(turn.apply(p))) for p in (0j, 200 + 0j, 200 + 300j, 300j)]


def test_a_vertex_that_does_not_turn_is_no_corner():
    assert found(loop(0j, 80 + 0j, 200 + 0j, 200 + 300j, 300j)) == [0j, 200 + 0j, 200 + 300j, 300j]


@pytest.mark.parametrize("radius", [1, 3])
def test_a_corner_blended_by_hand_is_one_corner_in_its_middle(radius):
    curve, middles = fillet([0j, 200 + 0j, 200 + 300j, 300j], radius)
    got = found(curve)
    assert len(got) == 4
    for middle in middles:
        assert min(abs(point - middle) for point in got) < 0.01


def test_a_blunt_corner_blended_by_hand_is_found():
    # A side seam leans 30 degrees away from the hem's normal, rounded off by 3 mm.
    curve, middles = fillet([0j, 200 + 0j, 350 + 260j, 260j], 3)
    got = found(curve)
    assert len(got) == 4
    for middle in middles:
        assert min(abs(point - middle) for point in got) < 0.05


@pytest.mark.parametrize("radius", [12, 20, 40, 100])
@pytest.mark.parametrize("step", [None, 0.5, 2])
def test_a_round_without_corners_has_none(radius, step):
    ring = Curve.arc(0j, radius)
    assert found(ring if step is None else chords(ring, step)) == []


@pytest.mark.parametrize("step", [1, 2])
def test_a_digitised_outline_has_its_corners_and_no_others(step):
    # A crotch-like hook of radius 12 between two straight edges, all drawn in chords.
    hook = arc_from(100 + 0j, 0, 12, 12 * math.pi / 2)
    parts = [Curve.line(0j, 100 + 0j), hook, Curve.line(hook.end, hook.end + 150j), Curve.line(hook.end + 150j, 0j)]
    outline = Curve.join([chords(part, step) for part in parts])
    got = found(outline)
    assert len(got) == 2
    assert {rounded(point, 3) for point in got} == {0j, rounded(hook.end + 150j, 3)}


def test_a_small_corner_between_ruled_lines_is_one():
    # A yoke line that breaks by 5.7 degrees (1 in 10), as a ruler draws it.
    assert found(loop(0j, 100 + 0j, 200 + 10j, 200 + 200j, 200j)) == [0j, 100 + 0j, 200 + 10j, 200 + 200j, 200j]


def test_a_turn_below_five_degrees_between_ruled_lines_is_none():
    assert 100 + 0j not in found(loop(0j, 100 + 0j, 200 + 8j, 200 + 200j, 200j))


def test_a_small_turn_between_chords_is_none():
    # The same 5.7 degrees between lines of 6 mm is how a digitiser draws a curve.
    steps = [complex(6 * k, 0) for k in range(12)]
    bent = [steps[-1] + 6 * k * cmath.exp(1j * math.radians(5.7)) for k in range(1, 12)]
    outline = loop(*steps, *bent, complex(120, 200), 200j)
    assert steps[-1] not in found(outline)


@pytest.mark.parametrize("turn", [10, 18])
def test_a_kink_in_a_curve_is_no_corner(turn):
    bow = Curve.cubic(0j, 30 - 10j, 70 - 10j, 100 + 0j)
    onward = bow.transformed(Affine.translation(-bow.start)).transformed(
        Affine.rotation(turn + math.degrees(cmath.phase(bow.tangent(bow.length) / bow.tangent(0))))
    )
    onward = onward.transformed(Affine.translation(bow.end))
    rest = Curve.polyline([onward.end, 300j, 0j])
    got = found(Curve.join([bow, onward, rest]))
    assert got == [0j, rounded(onward.end), 300j]


def test_a_turn_of_more_than_25_degrees_is_a_corner():
    assert 100 + 0j in found(loop(0j, 100 + 0j, 200 + 60j, 200 + 200j, 200j))


@pytest.mark.parametrize("width", [5, 8, 12])
def test_a_narrow_strip_has_four_corners(width):
    # A belt loop: its ends are shorter than the reach on both sides of a corner together.
    assert found(box(width, 120)) == [0j, width + 0j, width + 120j, 120j]


def test_the_reach_shrinks_on_a_small_mark():
    assert len(found(box(20, 20))) == 4
    assert len(found(box(6, 6))) == 4


def test_corners_the_file_marks_win():
    marked = (0j, 100 + 0j, 200 + 0j, 200 + 300j, 300j)
    got = shape([line_mark(box(), turn_points=marked)])
    assert set(corners(got)) == set(marked)


def test_a_file_that_marks_fewer_corners_is_believed():
    got = shape([line_mark(box(), turn_points=(0j, 200 + 0j))])
    assert set(corners(got)) == {0j, 200 + 0j}


def test_marked_corners_off_the_line_are_left_out_and_doubles_counted_once():
    got = shape([line_mark(box(), turn_points=(0j, 200 + 0j, 200.00005 + 0j, 100 + 5j))])
    assert set(corners(got)) == {0j, 200 + 0j}


def test_corners_do_not_hang_on_where_the_outline_begins():
    curve = box()
    for station in (0.0, 1e-7, 55.0, 200.0, 999.999):
        got = shape([line_mark(curve.with_start(station))])
        assert corners(got) == [0j, 200 + 0j, 200 + 300j, 300j]
        assert got.corners[0] == 0.0


def test_two_corners_close_together_are_two():
    # A fly extension 12 mm wide has two corners of its own.
    points = [0j, 200 + 0j, 200 + 100j, 212 + 100j, 212 + 200j, 200 + 200j, 200 + 300j, 300j]
    assert found(loop(*points)) == points


@pytest.mark.parametrize("degrees", range(0, 90, 7))
@pytest.mark.parametrize("cut", [5.0, 6.5, 7.9])
def test_a_corner_cut_at_45_degrees_is_two_corners_on_a_piece_and_on_its_mirror_twin(cut, degrees):
    # Coordinates of two decimals make one of the 45 degrees a hair less, wherever the piece lies on the sheet.
    leg = cut / math.sqrt(2)
    points = [0j, 200 + 0j, complex(200, 300 - leg), complex(200 - leg, 300), 300j]
    turned = [rounded(point * cmath.exp(1j * math.radians(degrees)), 2) for point in points]
    assert len(found(loop(*turned))) == 5
    assert len(found(loop(*(-point.conjugate() for point in reversed(turned))))) == 5


def test_of_two_bends_too_near_for_two_corners_the_one_on_the_longer_line_is_kept_on_both_twins():
    points, heading = [0j, 200 + 0j, 200 + 300j], 90
    for step in (5.5, 40.0):  # 30 degrees at either end of 5.5 mm
        heading += 30
        points.append(points[-1] + step * cmath.exp(1j * math.radians(heading)))
    points.append(complex(0, points[-1].imag))
    here = found(loop(*points))
    twin = found(loop(*(-point.conjugate() for point in reversed(points))))
    assert rounded(points[2], 6) in here
    assert sorted((-p.real, p.imag) for p in twin) == sorted((p.real, p.imag) for p in here)
