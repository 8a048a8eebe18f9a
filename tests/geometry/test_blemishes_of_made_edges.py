"""A slice of tests/benchmarks/bench_edge_blend.py: edges as on garments, whole and faulty, drawn, digitised and unsteady."""

import pytest
from edge_making import KINDS, digitised, edge, faulty

from seamcheck.geometry.kinks import Flat, Kink, Step, blemishes

TOLD = 1.75  # degrees, half of the tolerance
TOLD_STEP = 0.8  # mm


def told(curve):
    """What is large enough to be told: kinks and flat spots in degrees, steps in mm, with their places."""
    found = []
    for one in blemishes(curve):
        if isinstance(one, Step):
            found += [("step", one.jog, curve.point(one.station))] if one.jog > TOLD_STEP else []
        else:
            turn = one.turn if isinstance(one, Kink) else max(one.turns, key=abs)
            found += [("flat" if isinstance(one, Flat) else "kink", turn, curve.point(one.station))] * (
                abs(turn) > TOLD
            )
    return found


@pytest.mark.parametrize("noise", [0.0, 0.1, 0.3])
@pytest.mark.parametrize("chord", [1.0, 2.0, 5.0])
@pytest.mark.parametrize("shape", KINDS)
def test_a_whole_edge_is_quiet(shape, chord, noise):
    assert told(digitised(edge(shape, 1), chord, noise, 1)) == []


@pytest.mark.parametrize("turn", [1.0, -3.5, 10.0])
@pytest.mark.parametrize("shape", KINDS)
def test_a_kink_of_a_true_curve_is_exact(shape, turn):
    bent, fault = faulty(edge(shape, 2), "kink", turn, 2)
    (found,) = blemishes(bent)
    assert found.turn == pytest.approx(fault.size, abs=1e-6)
    assert found.station == pytest.approx(fault.start, abs=1e-6)


@pytest.mark.parametrize("turn", [3.5, 7.0])
@pytest.mark.parametrize("chord", [1.0, 2.0])
@pytest.mark.parametrize("shape", KINDS)
def test_a_kink_of_a_digitised_edge_is_found(shape, chord, turn):
    bent, fault = faulty(edge(shape, 3), "kink", turn, 3)
    ((kind, found, at),) = told(digitised(bent, chord, 0.0, 3))
    assert kind == "kink"
    assert found == pytest.approx(fault.size, abs=0.25 * turn)
    assert abs(at - bent.point(fault.start)) < 2 * chord


@pytest.mark.parametrize("shape", ["hem", "straight", "hip", "inseam"])
def test_a_kink_of_ten_degrees_is_found_under_a_hand_that_wanders_by_a_third_of_a_millimetre(shape):
    bent, fault = faulty(edge(shape, 4), "kink", 10.0, 4)
    ((_, found, at),) = told(digitised(bent, 2.0, 0.3, 4))
    assert found == pytest.approx(fault.size, abs=3.0)
    assert abs(at - bent.point(fault.start)) < 8


@pytest.mark.parametrize("chord", [None, 1.0, 2.0])
@pytest.mark.parametrize("shape", KINDS)
def test_a_step_is_found(shape, chord):
    bent, fault = faulty(edge(shape, 5), "step", 2.2, 5)
    found = told(bent if chord is None else digitised(bent, chord, 0.0, 5))
    assert [kind for kind, *_ in found] == ["step"]
    assert found[0][1] == pytest.approx(2.2, abs=0.5)
    assert abs(found[0][2] - bent.point(fault.start)) < 10
