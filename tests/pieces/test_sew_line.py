import cmath
import math
from itertools import pairwise

import numpy as np
import pytest

from seamcheck.geometry.curve import Affine, Curve
from seamcheck.pieces.sew_line import AllowanceStretch, NoSewLineError, SewLine, sew_line, turn_up_hems

# Cut lines run clockwise as seen; without another word y points down.


def ring(*lines):
    """Lines one after the other, each a curve or a row of points, and the stations at which they start."""
    curves = [line if isinstance(line, Curve) else Curve.polyline(line) for line in lines]
    starts = np.cumsum([0.0, *(curve.length for curve in curves[:-1])])
    return Curve.join(curves), starts.tolist()


def stretches(starts, allowances):
    if isinstance(allowances, int | float):
        allowances = [allowances] * len(starts)
    return [AllowanceStretch(a, b, mm) for a, b, mm in zip(starts, [*starts[1:], starts[0]], allowances, strict=True)]


def polygon(points, allowances, *, y_down=True):
    cut, starts = ring(*pairwise([*points, points[0]]))
    return sew_line(cut, stretches(starts, allowances), y_down=y_down)


def corners(sew: SewLine):
    return [sew.outline.point(station) for station in sew.corners]


def near(points, expected, within=1e-9):
    assert len(points) == len(expected)
    assert max(abs(a - b) for a, b in zip(points, expected, strict=True)) <= within, points


RECTANGLE = [0, 200, 200 + 300j, 300j]
ELL = [0, 200, 200 + 100j, 100 + 100j, 100 + 300j, 300j]


# --- corners ----------------------------------------------------------------------------------------------


def test_a_rectangle_shrinks_all_round():
    sew = polygon(RECTANGLE, 10)
    near(corners(sew), [10 + 10j, 190 + 10j, 190 + 290j, 10 + 290j])
    assert sew.corners == pytest.approx((0, 180, 460, 640))
    assert sew.swallowed == ()
    assert sew.outline.is_closed
    assert all(part.is_straight() for part in sew.outline.split(*sew.corners[1:]))


def test_with_y_up_the_piece_lies_on_the_other_side():
    sew = polygon([point.conjugate() for point in map(complex, RECTANGLE)], 10, y_down=False)
    near(corners(sew), [10 - 10j, 190 - 10j, 190 - 290j, 10 - 290j])


def test_every_edge_has_its_own_allowance():
    sew = polygon(RECTANGLE, [10, 15, 40, 0])
    near(corners(sew), [10j, 185 + 10j, 185 + 260j, 260j])


def test_a_hollow_corner_is_drawn_on_from_both_sides():
    near(corners(polygon(ELL, 10)), [10 + 10j, 190 + 10j, 190 + 90j, 90 + 90j, 90 + 290j, 10 + 290j])
    sew = polygon(ELL, [10, 10, 20, 5, 40, 0])
    near(corners(sew), [10j, 190 + 10j, 190 + 80j, 95 + 80j, 95 + 260j, 260j])


def test_on_a_slanting_corner_the_wider_allowance_may_be_drawn_on():
    # The waist falls by 60 degrees into the side: allowance 5 meets 25 beyond where the 25 line starts.
    turn = cmath.exp(1j * math.pi / 3)
    points = [0, 300, 300 + 400 * turn, 400j]
    sew = polygon(points, [5, 25, 0, 0])
    # Both lines by hand: y = 5, and the side moved square to itself.
    x = 300 + 25 * (turn * 1j).real + (5 - 25 * (turn * 1j).imag) / math.tan(math.pi / 3)
    near([sew.outline.point(sew.corners[1])], [complex(x, 5)])


def test_corners_can_be_in_any_place_of_the_closed_line():
    cut, starts = ring(*pairwise([*RECTANGLE, RECTANGLE[0]]))
    turned = cut.with_start(250.0)
    here = sorted((start - 250.0) % cut.length for start in starts)
    sew = sew_line(turned, stretches(here, 10), y_down=True)
    near(corners(sew), [190 + 290j, 10 + 290j, 10 + 10j, 190 + 10j])


# --- the length law ---------------------------------------------------------------------------------------
# A parallel at distance a is shorter by a times the angle it turns towards it: Steiner's formula (J. Steiner, 1840;
# do Carmo, Differential Geometry of Curves and Surfaces, 1976, exercises on parallel curves; number from memory: 1-7, 6).


def test_a_smooth_closed_line_loses_the_allowance_times_a_full_turn():
    egg = Curve.join([Curve.arc(0, 120, 200, start=90, sweep=180), Curve.arc(0, 160, 200, start=270, sweep=180)])
    for allowance in (6.35, 10.0, 15.875):
        for starts in ([0.0], [0.0, 137.0, 500.0], [333.0]):
            sew = sew_line(egg, stretches(starts, allowance), y_down=True)
            assert sew.outline.length == pytest.approx(egg.length - allowance * 2 * math.pi, abs=1e-4)
            assert sew.swallowed == ()


@pytest.mark.parametrize("bulge", [60.0, -60.0])
@pytest.mark.parametrize("y_down", [True, False])
def test_a_smooth_edge_loses_or_gains_the_allowance_times_its_turning(bulge, y_down):
    # The side ends square to waist and hem, so that nothing is trimmed off it at the corners.
    side = Curve.cubic(300, 300 + 150j, 300 + bulge + 250j, 300 + bulge + 400j)
    turned = Affine.rotation(20, about=300).apply
    bow = Curve.cubic(300, *(turned(point) for point in side.segments[0, 1:3]), complex(300 + bulge, 400))
    out, back = bow.tangent(0), bow.tangent(bow.length)
    waist = Curve.line(300 + 250 * 1j * out, 300)
    hem = Curve.line(bow.end, bow.end + 250 * 1j * back)
    lines = [waist, bow, hem, Curve.line(hem.end, waist.start)]
    if not y_down:
        lines = [line.transformed(Affine.scaling(1, -1)) for line in lines]
    cut, starts = ring(*lines)
    sew = sew_line(cut, stretches(starts, [0, 12.7, 0, 0]), y_down=y_down)
    turning = math.radians(bow.turning())
    assert abs(turning) > 0.2
    edge = sew.outline.between(sew.corners[1], sew.corners[2])
    assert edge.length == pytest.approx(bow.length - 12.7 * turning, abs=1e-4)


# --- corners on smooth lines ------------------------------------------------------------------------------


def test_a_named_corner_on_a_smooth_line_moves_square_to_it():
    cut = Curve.arc(0, 100, start=180, sweep=360)
    sew = sew_line(cut, stretches([0.0, 50.0, 200.0], 10), y_down=True)
    for station, corner in zip((0.0, 50.0, 200.0), corners(sew), strict=True):
        assert abs(corner - 0.9 * cut.point(station)) < 1e-6
    assert sew.swallowed == ()


def test_a_change_of_allowance_on_a_smooth_line_is_a_step_of_the_wider_edge():
    points = [0, 100, 200, 200 + 300j, 300j]
    for allowances, corner, place in (
        ([10, 15, 10, 10, 10], 100 + 10j, 100.0),
        ([15, 10, 10, 10, 10], 100 + 10j, 100.0),
    ):
        sew = polygon(points, allowances)
        near([sew.outline.point(sew.corners[1])], [corner])
        assert sew.corners[2] == pytest.approx(180 + 5)
        [(at, why)] = sew.swallowed
        assert at == pytest.approx(place)
        assert "steps across by 5.0 mm, which is counted to the edge with 15 mm" in why


# --- darts in the cut line --------------------------------------------------------------------------------


def test_the_legs_of_a_dart_stay_when_they_have_no_allowance():
    points = [0, 90, 100 + 120j, 110, 200, 200 + 300j, 300j]
    sew = polygon(points, [10, 0, 0, 10, 10, 10, 10])
    found = corners(sew)
    near(found[1:4], [90 + 10 / 12 + 10j, 100 + 120j, 110 - 10 / 12 + 10j])
    assert sew.swallowed == ()


def test_the_legs_of_a_dart_move_apart_with_an_allowance():
    points = [0, 90, 100 + 120j, 110, 200, 200 + 300j, 300j]
    sew = polygon(points, 10)
    tip = 100 + 1j * (120 + 10 / math.sin(math.atan(10 / 120)))
    near([corners(sew)[2]], [tip])


# --- what is swallowed ------------------------------------------------------------------------------------


def test_a_short_edge_vanishes_and_its_neighbours_meet():
    points = [0, 195, 200 + 5j, 200 + 300j, 300j]  # a corner cut off by 7 mm: 8.3 mm are taken from it
    sew = polygon(points, 10)
    near(corners(sew), [10 + 10j, 190 + 10j, 190 + 10j, 190 + 290j, 10 + 290j])
    [(at, why)] = sew.swallowed
    assert at == pytest.approx(195 + math.sqrt(50) / 2)
    assert why == "an edge of 7.1 mm is swallowed by the allowances and its neighbours meet instead"


def test_of_edges_that_vanish_the_first_to_do_so_goes_first():
    # By hand: x <= 160 and y >= 10 cut off the two short edges, whatever becomes of one beside the other.
    points = [0, 180, 195 + 5j, 200 + 20j, 200 + 300j, 300j]
    near(corners(polygon(points, [10, 10, 10, 40, 10, 10]))[1:4], [160 + 10j] * 3)


def test_a_tab_that_is_narrower_than_its_allowances_vanishes():
    points = [0, 90, 90 - 30j, 105 - 30j, 105, 200, 200 + 300j, 300j]
    sew = polygon(points, 10)
    assert len(sew.swallowed) >= 3
    assert sew.outline.signed_area() == pytest.approx(180 * 280, abs=1e-6)
    assert sew.outline.length == pytest.approx(2 * (180 + 280), abs=1e-6)


def test_a_narrow_waist_is_reported_where_the_sew_line_crosses_itself():
    points = [0, 200, 200 + 100j, 108 + 150j, 200 + 200j, 200 + 300j, 300j, 200j, 92 + 150j, 100j]
    sew = polygon(points, 10)
    assert any("narrower than its allowances" in why for _, why in sew.swallowed)


@pytest.mark.parametrize(
    "points",
    [[0, 200, 200 + 19j, 19j], [0, 30, 15 + 26j], [0, 15, 15 + 15j, 15j], [0, 100, 200 + 1j, 200 + 18j, 18j]],
)
def test_nothing_may_be_left(points):
    with pytest.raises(NoSewLineError, match="leave nothing of the piece"):
        polygon(points, 10)


@pytest.mark.parametrize("radius", [9.5, 10.0])
@pytest.mark.parametrize("start", [0.0, 71.0])
def test_nothing_may_be_left_of_a_round_piece(radius, start):
    for starts in ([0.0], [0.0, 30.0, 50.0]):
        with pytest.raises(NoSewLineError):
            sew_line(Curve.arc(0, radius, start=start), stretches(starts, 10), y_down=True)


def test_a_bend_that_is_tighter_than_the_allowance_is_cut_short_where_the_lines_cross():
    # A band with a rounded end of radius 5: its sides are trimmed where they cross, as if the end were pointed.
    line = [Curve.line(0, 195), Curve.arc(195 + 5j, 5, start=270, sweep=90), Curve.line(200 + 5j, 200 + 300j)]
    rest = [Curve.line(200 + 300j, 300j), Curve.line(300j, 0)]
    cut = Curve.join([*line, *rest])
    long = Curve.join(line).length
    sew = sew_line(cut, stretches([0.0, long, long + 200], 10), y_down=True)
    near(corners(sew), [10 + 10j, 190 + 290j, 10 + 290j], 1e-6)
    assert sew.outline.length == pytest.approx(2 * (180 + 280), abs=1e-4)
    [(at, why)] = sew.swallowed
    assert 195 <= at <= 195 + 5 * math.pi / 2
    assert "bends more tightly than its allowance of 10 mm" in why


def test_a_tight_bend_of_many_chords_is_cut_short_likewise():
    bend = Curve.arc(190 + 10j, 10, start=270, sweep=90)
    chords = Curve.polyline(bend.points(np.linspace(0, bend.length, 12)))
    line = [Curve.line(0, bend.start), chords, Curve.line(bend.end, 200 + 300j)]
    cut = Curve.join([*line, Curve.line(200 + 300j, 300j), Curve.line(300j, 0)])
    long = Curve.join(line).length
    sew = sew_line(cut, stretches([0.0, long, long + 200], 20), y_down=True)
    near(corners(sew), [20 + 20j, 180 + 280j, 20 + 280j], 1e-6)
    assert sew.outline.signed_area() == pytest.approx(160 * 260, abs=1e-3)
    assert len(sew.swallowed) == 1


def test_an_egg_of_one_edge_is_cut_short_at_its_sharp_end():
    # Two circles of radius 60 and 6 and their outer tangents; those of radius 50 and "-4" cross on the axis.
    slope = math.asin((60 - 6) / 240)
    up = math.degrees(slope)
    blunt = Curve.arc(0, 60, start=90 - up, sweep=180 + 2 * up)
    sharp = Curve.arc(240, 6, start=270 + up, sweep=180 - 2 * up)
    egg = Curve.join([blunt, Curve.line(blunt.end, sharp.start), sharp, Curve.line(sharp.end, blunt.start)])
    for start in (0.0, 100.0, blunt.length + 100, blunt.length + Curve.line(blunt.end, sharp.start).length + 5):
        sew = sew_line(egg, [AllowanceStretch(start, start, 10.0)], y_down=True)
        assert sew.outline.is_closed
        assert sew.outline.bounds()[2] == pytest.approx(50 / math.sin(slope), abs=1e-4)
        assert sew.outline.length == pytest.approx(50 * (math.pi + 2 * slope) + 2 * 50 / math.tan(slope), abs=1e-3)
        assert len(sew.swallowed) == 1


# --- hems that are turned up ------------------------------------------------------------------------------


def leg(flare, chord=None, y_down=True, slip=0.0):
    """A leg piece: the sew lines of its sides run to the fold, and the hem allowance mirrors them beyond it.

    With `slip` the sides turn that much below the fold.
    """
    hem, deep = 40.0, 600.0
    left, right = Curve.line(complex(20 - flare, deep), 20), Curve.line(180, complex(180 + flare, deep))

    def out(side):
        return side.offset(-10)

    def meet(line, y):
        heading = line.tangent(0)
        return line.start + heading * (y - line.start.imag) / heading.imag

    a, b = out(right), out(left)
    fold_right, fold_left = meet(a, deep), meet(b, deep)
    down = hem / (a.tangent(0).imag) * a.tangent(0)
    low_right = fold_right + complex(-down.real, down.imag)
    low_left = complex(200 - low_right.real, low_right.imag)
    fold_right, fold_left = meet(a, deep + slip), meet(b, deep + slip)
    points = [meet(b, -10), meet(a, -10), fold_right, low_right, low_left, fold_left]
    points = [point.conjugate() for point in points] if not y_down else points
    lines = [Curve.line(p, q) for p, q in pairwise([*points, points[0]])]
    if chord:
        lines = [
            Curve.polyline(line.points(np.linspace(0, line.length, math.ceil(line.length / chord) + 1)))
            for line in lines
        ]
    cut = Curve.join(lines)
    at = np.cumsum([0.0, *(line.length for line in lines)]).tolist()
    return cut, {"waist": at[0], "side": at[1], "fold": at[2], "hem": at[3], "inseam": at[4], "fold too": at[5]}


@pytest.mark.parametrize("flare", [-60.0, -20.0, 25.0, 90.0])
@pytest.mark.parametrize("marked", [True, False])
@pytest.mark.parametrize("y_down", [True, False])
def test_the_sides_of_a_turned_up_hem_end_at_its_fold(flare, marked, y_down):
    cut, at = leg(flare, y_down=y_down)
    named = [at["waist"], at["side"], at["hem"], at["inseam"]]
    given = stretches(named, [10, 10, 40, 10])
    if marked:  # the corners at the fold were found as corners
        given = stretches(list(at.values()), [10, 10, 10, 40, 10, 10])
    above = turn_up_hems(cut, given, named, y_down=y_down)
    assert [stretch.turned_up for stretch in above] == (
        [False, False, True, False, True, False] if marked else [False] * 4
    )
    sew = sew_line(cut, above, y_down=y_down)
    expected = [20, 180, 180 + flare + 600j, 20 - flare + 600j]
    if marked:
        expected = [20, 180, *[180 + flare + 600j] * 2, *[20 - flare + 600j] * 2]
    near(corners(sew), [point if y_down else complex(point).conjugate() for point in map(complex, expected)], 1e-6)
    assert sew.swallowed == ()


@pytest.mark.parametrize("turned", [0.0, 60.0])
@pytest.mark.parametrize("other_way", [True, False])
def test_a_straight_centre_needs_no_vertex_at_the_fold_if_it_is_square_to_it(turned, other_way):
    """Half a skirt: its side flares, its centre runs straight over the fold line; a slanting one mirrors nothing."""
    cut, at = leg(30.0)
    side = [cut.point(at[name]) for name in ("side", "fold", "hem")]
    low = complex(turned, side[2].imag)
    points = [complex(0, -10), *side, low]
    if other_way:  # the centre is on the right
        points = [-point.conjugate() for point in reversed(points)]
    cut, at = ring(*pairwise([*points, points[0]]))
    named = [station for k, station in enumerate(at) if k != 2]
    widths = [40 if k == (0 if other_way else 3) else 10 for k in range(5)]
    found = turn_up_hems(cut, stretches(at, widths), named, y_down=True)
    assert any(stretch.turned_up for stretch in found) == (not turned)


def test_a_digitised_leg_ends_at_its_fold_likewise():
    cut, at = leg(-45.0, chord=7.0)
    named = [at["waist"], at["side"], at["hem"], at["inseam"]]
    given = stretches(named, [10, 10, 40, 10])
    sew = sew_line(cut, turn_up_hems(cut, given, named, y_down=True), y_down=True)
    near(corners(sew), [20, 180, 135 + 600j, 65 + 600j], 1e-6)


def test_a_hand_drawn_hem_need_not_turn_exactly_at_the_fold():
    cut, at = leg(90.0, slip=1.5)
    named = [at["waist"], at["side"], at["hem"], at["inseam"]]
    given = stretches(named, [10, 10, 40, 10])
    fold = [270 + 600j, -70 + 600j]
    near(corners(sew_line(cut, turn_up_hems(cut, given, named, y_down=True), y_down=True))[2:], fold, 1e-6)
    marked = stretches(list(at.values()), [10, 10, 10, 40, 10, 10])
    sew = sew_line(cut, turn_up_hems(cut, marked, named, y_down=True), y_down=True)
    near([corners(sew)[3], corners(sew)[5]], fold, 1e-6)
    # A turn further away is a corner like any other.
    cut, at = leg(90.0, slip=2.5)
    marked = stretches(list(at.values()), [10, 10, 10, 40, 10, 10])
    assert turn_up_hems(cut, marked, [at["waist"], at["side"], at["hem"], at["inseam"]], y_down=True) == tuple(marked)


def test_a_corner_above_the_hem_that_mirrors_nothing_is_left_alone():
    points = [0, 200, 200 + 300j, 170 + 340j, 30 + 340j, 300j]  # corners of 40 mm cut off the lower end
    cut, starts = ring(*pairwise([*points, points[0]]))
    given = stretches(starts, [10, 10, 10, 40, 10, 10])
    named = [starts[k] for k in (0, 1, 3, 4)]
    assert turn_up_hems(cut, given, named, y_down=True) == tuple(given)
    # Nor is a fold that the plan names taken off.
    cut, at = leg(25.0)
    given = stretches(list(at.values()), [10, 10, 10, 40, 10, 10])
    assert turn_up_hems(cut, given, list(at.values()), y_down=True) == tuple(given)
