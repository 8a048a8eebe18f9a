import cmath
import math
import random
from itertools import pairwise

import networkx
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pattern_making import line_mark, loop, rounded

from seamcheck.geometry.curve import Curve
from seamcheck.geometry.loops import JOINING_TOLERANCES, _Knots, close_loops, open_chains

SQUARE = [0j, 100 + 0j, 100 + 80j, 80j]


def sides(points, gap=0.0):
    """The sides of a polygon as lines of their own, each ending `gap` mm short of its last point."""
    after = [*points[1:], points[0]]
    return [Curve.line(a, b - gap * (b - a) / abs(b - a)) for a, b in zip(points, after, strict=True)]


def vertices(curve):
    return {rounded(complex(p), 3) for p in curve.segments[:, 0]}


@pytest.mark.parametrize("seed", range(8))
def test_lines_in_any_order_and_direction_close(seed):
    rng = random.Random(seed)
    points = [0j, 90 + 5j, 130 + 60j, 100 + 140j, 40 + 150j, -10 + 70j]
    lines = [line if rng.random() < 0.5 else line.reversed() for line in sides(points)]
    rng.shuffle(lines)
    loops, left = close_loops(lines)
    assert left == []
    (found,) = loops
    assert vertices(found.curve) == set(points)
    assert found.gaps == ()
    assert sorted(found.members) == list(range(6))
    assert abs(found.curve.signed_area()) == pytest.approx(abs(loop(*points).signed_area()), rel=1e-12)


def test_the_result_does_not_hang_on_the_order_of_the_lines():
    lines = sides(SQUARE) + sides([200 + 0j, 300 + 0j, 250 + 90j])
    loops, _ = close_loops(lines)
    for seed in range(5):
        shuffled = lines[:]
        random.Random(seed).shuffle(shuffled)
        again, left = close_loops(shuffled)
        assert left == []
        assert sorted(abs(one.curve.signed_area()) for one in again) == pytest.approx(
            sorted(abs(one.curve.signed_area()) for one in loops)
        )
    assert close_loops(lines)[0][0].curve.segments.tolist() == loops[0].curve.segments.tolist()


@pytest.mark.parametrize("gap", [0.02, 0.9])
def test_small_gaps_are_bridged_and_told(gap):
    loops, left = close_loops(sides(SQUARE, gap))
    assert left == []
    (found,) = loops
    assert found.curve.is_closed
    assert [size for size, _ in found.gaps] == pytest.approx([gap] * 4)
    # Each end moves by half the gap, so the bridged place lies between the two ends.
    for _, at in found.gaps:
        assert min(abs(at - corner) for corner in SQUARE) == pytest.approx(gap / 2)


def test_a_wider_gap_stays_open():
    loops, left = close_loops(sides(SQUARE, 1.5))
    assert loops == []
    assert left == [0, 1, 2, 3]


def test_the_widest_bridged_gap_is_the_joining_tolerance():
    widest = JOINING_TOLERANCES[-1]
    assert close_loops(sides(SQUARE, widest - 0.01))[1] == []
    assert close_loops(sides(SQUARE, widest + 0.01))[0] == []


def test_one_gap_in_an_outline_leaves_one_chain():
    points = SQUARE
    lines = [*sides(points)[:3], Curve.line(80j, 5j)]
    loops, left = close_loops(lines)
    assert loops == []
    (chain,) = open_chains(lines, left)
    assert sorted(chain.members) == [0, 1, 2, 3]
    assert {chain.curve.start, chain.curve.end} == {0j, 5j}


def test_bridging_keeps_straight_lines_straight_and_handles_turned_as_they_were():
    curve = Curve.cubic(0.6 + 0j, 30 - 20j, 70 - 20j, 100 + 0j)
    lines = [curve, Curve.line(100 + 0j, 50 + 80j), Curve.line(50 + 80j, 0j)]
    (found,) = close_loops(lines)[0]
    turned = [segment for segment in found.curve.segments if abs(segment[1] - segment[0]) > 0]
    straights = [Curve([segment]).is_straight(1e-9) for segment in turned]
    assert sorted(straights) == [False, True, True]
    bent = next(segment for segment in found.curve.segments if not Curve([segment]).is_straight(1e-9))
    start, handle = (bent[0], bent[1]) if abs(bent[0]) < 1 else (bent[3], bent[2])
    before = (30 - 20j) - 0.6
    assert ((handle - start) / before).imag == pytest.approx(0.0, abs=1e-12)
    assert abs(start) == pytest.approx(0.3)


def test_ends_that_meet_as_drawn_are_not_pulled_to_a_stranger_nearby():
    # A second loop starts 0.5 mm from a corner of the first; both fit as they are drawn.
    other = [p + 100.5 for p in SQUARE]
    loops, left = close_loops(sides(SQUARE) + sides(other))
    assert left == []
    assert [found.gaps for found in loops] == [(), ()]
    assert [vertices(found.curve) for found in loops] == [set(SQUARE), set(other)]


def test_a_line_that_hangs_on_the_outline_is_left_over():
    inward, outward = Curve.line(100 + 0j, 60 + 30j), Curve.line(80j, -30 + 110j)
    lines = [*sides(SQUARE), inward, outward]
    loops, left = close_loops(lines)
    assert left == [4, 5]
    assert vertices(loops[0].curve) == set(SQUARE)


def test_two_loops_joined_by_a_bridge_are_two():
    other = [p + 300 for p in SQUARE]
    bridge = Curve.line(100 + 0j, 300 + 0j)
    loops, left = close_loops([*sides(SQUARE), bridge, *sides(other)])
    assert left == [4]
    assert sorted(min(p.real for p in vertices(found.curve)) for found in loops) == [0, 300]
    assert all(abs(found.curve.signed_area()) == pytest.approx(8000) for found in loops)


def test_a_bridge_of_several_lines_is_left_over_whole():
    other = [p + 300 for p in SQUARE]
    bridge = [Curve.line(100 + 0j, 200 + 20j), Curve.line(200 + 20j, 300 + 0j)]
    loops, left = close_loops([*sides(SQUARE), *bridge, *sides(other)])
    assert left == [4, 5]
    assert len(loops) == 2


def test_a_line_across_the_outline_is_left_inside():
    # A yoke line from corner to corner: the outside is the piece, the line stays with it.
    across = Curve.line(0j, 100 + 80j)
    loops, left = close_loops([*sides(SQUARE), across])
    assert left == [4]
    assert vertices(loops[0].curve) == set(SQUARE)
    assert abs(loops[0].curve.signed_area()) == pytest.approx(8000)


def test_a_line_across_that_bends_is_left_inside():
    across = [Curve.line(0j, 50 + 60j), Curve.line(50 + 60j, 100 + 80j)]
    loops, left = close_loops([*across, *sides(SQUARE)])
    assert left == [0, 1]
    assert abs(loops[0].curve.signed_area()) == pytest.approx(8000)


def test_a_doubled_line_is_taken_once():
    lines = [*sides(SQUARE), Curve.line(100 + 0j, 100 + 80j)]
    loops, left = close_loops(lines)
    (found,) = loops
    assert abs(found.curve.signed_area()) == pytest.approx(8000)
    assert len(found.members) == 4
    assert len(left) == 1


def test_a_line_drawn_twice_is_no_loop():
    loops, left = close_loops([Curve.line(0j, 100 + 0j), Curve.line(100 + 0j, 0j)])
    assert loops == []
    assert left == [0, 1]


def test_two_bows_between_the_same_points_are_a_loop():
    bows = [Curve.cubic(0j, 30 - 40j, 70 - 40j, 100 + 0j), Curve.cubic(0j, 30 + 40j, 70 + 40j, 100 + 0j)]
    loops, left = close_loops(bows)
    assert left == []
    assert abs(loops[0].curve.signed_area()) == pytest.approx(2 * abs(bows[0].signed_area()))


def test_a_single_line_back_to_its_start_is_a_loop():
    ring = Curve.arc(0j, 50, start=0, sweep=359.5)
    loops, left = close_loops([ring])
    assert left == []
    assert loops[0].gaps[0][0] == pytest.approx(abs(ring.end - ring.start))


def test_a_line_shorter_than_the_gap_does_not_close_on_itself():
    loops, left = close_loops([Curve.line(0j, 0.8 + 0j)])
    assert loops == []
    assert left == [0]


def test_lines_of_no_length_are_ignored():
    loops, left = close_loops([Curve.line(5 + 5j, 5 + 5j), *sides(SQUARE)])
    assert left == []
    assert len(loops) == 1


def test_chains_stop_where_three_lines_meet():
    lines = [Curve.line(0j, 50 + 0j), Curve.line(50 + 0j, 100 + 0j), Curve.line(50 + 0j, 50 + 50j)]
    chains = open_chains(lines, [0, 1, 2])
    assert [chain.members for chain in chains] == [(0,), (1,), (2,)]


def test_chains_follow_lines_of_either_direction():
    lines = [Curve.line(50 + 0j, 100 + 0j), Curve.line(50 + 0j, 0j), Curve.line(100 + 0j, 120 + 40j)]
    (chain,) = open_chains(lines, [0, 1, 2])
    assert chain.members == (1, 0, 2)
    assert (chain.curve.start, chain.curve.end) == (0j, 120 + 40j)
    assert chain.curve.length == pytest.approx(100 + abs(20 + 40j))


def test_a_loop_of_marks_keeps_its_curves():
    bow = Curve.cubic(0j, 30 - 40j, 70 - 40j, 100 + 0j)
    rest = [Curve.line(100 + 0j, 100 + 80j), Curve.line(0j, 80j), Curve.line(80j, 100 + 80j)]
    (found,) = close_loops([line_mark(curve).curve for curve in (bow, *rest)])[0]
    assert found.curve.length == pytest.approx(bow.length + 80 + 80 + 100, abs=1e-9)


@pytest.mark.parametrize("backwards", [False, True])
@pytest.mark.parametrize("which", range(4))
@pytest.mark.parametrize("first", [False, True])
def test_any_side_may_be_doubled(which, backwards, first):
    lines = sides(SQUARE)
    twice = lines[which].reversed() if backwards else lines[which]
    lines = [twice, *lines] if first else [*lines, twice]
    loops, left = close_loops(lines)
    assert [abs(found.curve.signed_area()) for found in loops] == pytest.approx([8000])
    assert len(left) == 1


def test_an_outline_drawn_twice_is_two_loops_that_lie_on_each_other():
    loops, left = close_loops([*sides(SQUARE), *(line.reversed() for line in sides(SQUARE))])
    assert left == []
    assert [abs(found.curve.signed_area()) for found in loops] == pytest.approx([8000, 8000])
    assert sorted(member for found in loops for member in found.members) == list(range(8))


def digitised(points, chord=2.0):
    """A polygon as one line of chords that begins and ends at its first point."""
    vertices = []
    for a, b in pairwise([*points, points[0]]):
        count = max(1, round(abs(b - a) / chord))
        vertices += [a + (b - a) * k / count for k in range(count)]
    return [*vertices, points[0]]


OPENINGS = {
    "ends short": (-0.5, 0.0),
    "ends beyond": (0.5, 0.0),
    "both short": (-0.4, 0.4),
    "one short, one beyond": (-0.4, -0.4),
}


@pytest.mark.parametrize("opening", OPENINGS)
@pytest.mark.parametrize("corner", [40j, 30j - 40, 30j + 25])  # square, obtuse, acute
def test_a_gap_at_a_digitised_corner_is_closed_along_the_lines(opening, corner):
    points = [0j, 60 + 0j, 60 + 70j, corner]
    vertices = digitised(points)
    ahead, behind = OPENINGS[opening]
    coming, going = (vertices[-1] - vertices[-2]), (vertices[1] - vertices[0])
    vertices[-1] += ahead * coming / abs(coming)
    vertices[0] += behind * going / abs(going)
    (found,) = close_loops([Curve.polyline(vertices)])[0]
    ((size, at),) = found.gaps
    assert size == pytest.approx(abs(vertices[-1] - vertices[0]))
    assert at == pytest.approx(0j, abs=1e-8)
    assert abs(found.curve.signed_area()) == pytest.approx(abs(loop(*points).signed_area()), rel=1e-12)
    turns = [turn for turn in abs(found.curve.joint_turns()) if turn > 0.01]
    assert len(turns) == 4  # none beside the corners


@pytest.mark.parametrize(("degrees", "led_on"), [(30.0, True), (27.0, False)])
def test_lines_are_led_on_to_where_they_cross_up_to_twice_the_gap_away(degrees, led_on):
    # Two ends that stop equally short of a corner lie 1 / (2 sin(a / 2)) of their gap from it: 1.93 at 30 degrees, 2.14 at 27.
    tip = cmath.rect(60.0, math.radians(degrees))
    vertices = digitised([0j, 60 + 0j, tip])
    vertices[0], vertices[-1] = vertices[0] + 0.9, vertices[-1] + 0.9 * tip / abs(tip)
    ((_, at),) = close_loops([Curve.polyline(vertices)])[0][0].gaps
    assert at == pytest.approx(0j if led_on else (vertices[0] + vertices[-1]) / 2, abs=1e-9)


def test_a_digitised_curve_that_runs_past_a_line_it_touches_keeps_its_direction():
    bow = Curve.arc(0j, 60, start=0, sweep=180)
    vertices = [*bow.points(np.linspace(0, bow.length, 95)).tolist(), -60 - 50j, 60 - 50j]
    short = vertices[0] - 0.5 * (vertices[1] - vertices[0]) / abs(vertices[1] - vertices[0])
    (found,) = close_loops([Curve.polyline([short, *vertices[1:]]), Curve.line(60 - 50j, 60 + 0j)])[0]
    ((_, at),) = found.gaps
    assert at.real == pytest.approx(60.0, abs=0.02)
    assert max(turn for turn in abs(found.curve.joint_turns()) if turn < 30) < 2.2  # a chord turns by 1.9


def test_ends_side_by_side_on_a_smooth_digitised_line_meet_in_their_middle():
    # What runs on past each other crosses nowhere near.
    vertices = digitised([0j, 60 + 0j, 60 + 70j, 70j])
    start = 10
    turned = [*vertices[start:-1], *vertices[:start], vertices[start] + 0.5j]
    (found,) = close_loops([Curve.polyline(turned)])[0]
    assert found.gaps == ((pytest.approx(0.5), pytest.approx(vertices[start] + 0.25j)),)


def test_a_chord_shorter_than_what_would_be_cut_back_is_not_turned_round():
    vertices = digitised([0j, 60 + 0j, 60 + 70j, 70j])
    vertices[-1] = -0.9j
    vertices.insert(-1, -0.3j)
    (found,) = close_loops([Curve.polyline(vertices)])[0]
    ((_, at),) = found.gaps
    assert at == pytest.approx(-0.45j, abs=1e-9)


@settings(max_examples=60)
@given(st.lists(st.tuples(*[st.integers(0, 3)] * 4), min_size=1, max_size=14), st.sampled_from([0.5, 1.0, 1.5]))
def test_ends_lie_together_as_if_each_was_held_against_each(corners, tolerance):
    curves = [Curve.line(complex(a, b), complex(c, d)) for a, b, c, d in corners if (a, b) != (c, d)]
    found = _Knots(curves, range(len(curves)), tolerance)
    ends = [(i, side) for i in range(len(curves)) for side in (0, 1)]
    at = {(i, side): curves[i].end if side else curves[i].start for i, side in ends}
    together = networkx.Graph()
    together.add_nodes_from(ends)
    for one in ends:
        for other in ends:
            short = one[0] == other[0] and curves[one[0]].length <= 4 * tolerance
            if abs(at[one] - at[other]) <= tolerance and not short:
                together.add_edge(one, other)
    groups = {frozenset(group) for group in networkx.connected_components(together)}
    assert {frozenset(group) for group in found.reached.values()} == groups
