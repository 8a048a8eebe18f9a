"""Lines redrawn between new ends: directions exact, joints smooth, bent like a beam."""

import numpy as np
import pytest

from seamcheck.geometry.curve import Curve
from seamcheck.truing.lines import End, Rod, bending, redrawn, unbent

S_CURVE = Curve.cubic(0, 40 + 20j, 100 - 30j, 150 + 0j)


@pytest.mark.parametrize("bump", [0.0, 3.0])
def test_the_ends_and_their_directions_are_met_exactly(bump):
    new = redrawn(S_CURVE, End(5 + 1j, 0.05), End(150 + 8j, -0.03), bump)
    assert (new.start, new.end) == (5 + 1j, 150 + 8j)
    for station, side, turn in ((0.0, 1, 0.05), (None, -1, -0.03)):
        old_at = S_CURVE.length if station is None else 0.0
        new_at = new.length if station is None else 0.0
        turned = np.angle(new.tangent(new_at, side) / S_CURVE.tangent(old_at, side))
        assert turned == pytest.approx(turn, abs=1e-12)
    assert np.abs(new.joint_turns()).max() < 1e-9


def test_a_smooth_joint_of_handles_of_unlike_length_stays_smooth():
    joined = Curve.join(
        [Curve.cubic(0, 10, 30 + 5j, 50 + 10j), Curve.cubic(50 + 10j, 52 + 10.5j, 90 + 30j, 120 + 10j)]
    )
    assert abs(joined.joint_turns()[0]) < 1e-9
    new = redrawn(joined, End(0j, 0.2), End(125 + 4j, -0.1), 2.0)
    assert np.abs(new.joint_turns()).max() < 1e-9


def test_a_line_that_is_carried_as_a_whole_is_not_bent():
    turned = redrawn(S_CURVE, End(10j, 0.3), End(10j + 150 * np.exp(0.3j), 0.3))
    expected = S_CURVE.segments * np.exp(0.3j) + 10j
    assert np.abs(turned.segments - expected).max() < 1e-9


def test_chords_stay_chords():
    chords = Curve.polyline(S_CURVE.points(np.linspace(0, S_CURVE.length, 60)))
    new = redrawn(chords, End(0j, 0.05), End(150 + 8j, -0.03), 1.0)
    assert len(new.segments) == 59
    assert all(Curve([row]).is_straight(1e-9) for row in new.segments)


@pytest.mark.parametrize(("first", "last", "bump"), [(0.02, 0.01, 0.0), (0.0, -0.03, 0.0), (0.0, 0.0, 1.0)])
def test_what_a_change_bends_is_what_its_curvature_adds_up_to(first, last, bump):
    new = redrawn(Curve.line(0, 150), End(0j, first), End(150 + 0j, last), bump)
    stations = (np.arange(300) + 0.5) / 300 * new.length
    squares = [new.curvature(float(s)) ** 2 for s in stations]
    assert sum(part**2 for part in bending(150, first, last, bump)) == pytest.approx(
        np.mean(squares) * new.length, rel=0.01
    )


def test_a_kink_is_turned_out_and_the_rest_goes_along():
    bent = Curve.join([Curve.line(0, 100), Curve.line(100, 200 + 10j)])
    kink = float(bent.joint_turns()[0])
    straight = unbent(bent, [(100.0, kink)])
    assert straight.is_straight(1e-9)
    assert straight.length == pytest.approx(bent.length, abs=1e-9)


def test_a_rod_of_one_long_segment_is_cut_before_it_is_bent():
    assert len(Rod(S_CURVE).rows) >= 4


@pytest.mark.parametrize("turn", [0.0, 0.3])
def test_a_line_whose_ends_come_to_one_place_is_a_point_there(turn):
    rows = Rod(S_CURVE).bent(End(7 + 2j, turn), End(7 + 2j), 1.0)
    assert (rows == 7 + 2j).all()
    assert rows.shape[1] == 4
