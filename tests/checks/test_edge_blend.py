"""What edge-blend keeps quiet about: corners that the plan names, however unsteadily they are drawn."""

import cmath
import math

import numpy as np
import pytest
from edge_making import digitised
from pattern_making import line_mark, loop, pattern, planned
from skirt_making import SHOP

from seamcheck.checks.edges import EDGE_BLEND
from seamcheck.engine.judge import judge
from seamcheck.geometry.curve import Curve

# A piece whose upper edge dips by 11 degrees in its middle.
DIPPED = loop(0j, 100 + 10j, 200 + 0j, 200 + 300j, 300j)
PLAN = """
[pieces.front]
in-file = "Front"
unsewn = ["upper", "right", "lower", "left"]
[pieces.front.corners]
a = [0, 0]
{corner}b = [200, 0]
c = [200, 300]
d = [0, 300]
[pieces.front.edges]
upper = [{row}]
right = ["b", "c"]
lower = ["c", "d"]
left = ["d", "a"]
"""
NAMED = PLAN.format(corner="dip = [100, 10]\n", row='"a", "dip", "b"') + (
    '[[shaped]]\ncorner = "front.dip"\nwhy = "a dip for the belt"\n'
)
UNNAMED = PLAN.format(corner="", row='"a", "b"')


def found(plan, chord=None, noise=0.0):
    curve = DIPPED if chord is None else digitised(DIPPED, chord, noise, 7)
    if chord is not None:
        curve = loop(*curve.segments[:, 0].tolist())
    made = pattern([line_mark(curve, label="Front")], plan)
    return [one.code for one in judge(made, planned(plan), [EDGE_BLEND], SHOP).findings]


@pytest.mark.parametrize("form", [(None, 0.0), (2.0, 0.0), (2.0, 0.1), (2.0, 0.3), (5.0, 0.3)])
def test_a_corner_that_the_plan_names_is_meant(form):
    assert found(NAMED, *form) == []


@pytest.mark.parametrize("form", [(None, 0.0), (2.0, 0.0), (2.0, 0.1), (2.0, 0.3)])
def test_the_same_corner_without_a_name_is_a_kink(form):
    assert found(UNNAMED, *form) == ["kink"]


def test_a_turn_too_sharp_for_a_kink_is_said_to_be_left_aside():
    sharp = loop(0j, 100 + 80j, 200 + 0j, 200 + 300j, 300j)
    made = pattern([line_mark(sharp, label="Front")], UNNAMED)
    result = judge(made, planned(UNNAMED), [EDGE_BLEND], SHOP)
    assert result.findings == ()
    (skipped,) = [one for one in result.skipped if one.reason == "meant"]
    assert (skipped.piece, skipped.edge) == ("front", "upper")
    assert "it turns by 77°" in str(skipped.why)


# A hem that is drawn in two curves, with a corner that the plan names where they meet.
CURVED = """
[pieces.front]
in-file = "Front"
unsewn = ["near", "far", "right", "lower", "left"]
[pieces.front.corners]
a = [0, 0]
middle = [{at}]
b = [200, 0]
c = [200, 300]
d = [0, 300]
[pieces.front.edges]
near = ["a", "middle"]
far = ["middle", "b"]
right = ["b", "c"]
lower = ["c", "d"]
left = ["d", "a"]
"""
MIDDLE = 101.2345 + 11.3579j


def curved(degrees: float):
    """The piece whose upper edge turns by so many degrees where its two curves meet; positive makes a point."""
    out = cmath.rect(30.0, 0.01 - math.radians(degrees) / 2)
    into = cmath.rect(30.0, 0.01 + math.radians(degrees) / 2)
    upper = np.array(
        [
            [0j, 30 + 2j, MIDDLE - out, MIDDLE],
            [MIDDLE, MIDDLE + into, 170 + 2j, 200 + 0j],
        ]
    )
    return Curve.join([Curve(upper), Curve.polyline([200 + 0j, 200 + 300j, 300j, 0j])])


@pytest.mark.parametrize("digits", [1, 2, 3])
@pytest.mark.parametrize("degrees", [3.0, 5.0, -8.0, 12.0, -19.5])
def test_a_kink_at_a_named_corner_is_seen_however_its_place_was_rounded(digits, degrees):
    plan = CURVED.format(at=f"{MIDDLE.real:.{digits}f}, {MIDDLE.imag:.{digits}f}")
    made = pattern([line_mark(curved(degrees), label="Front")], plan)
    (kink,) = judge(made, planned(plan), [EDGE_BLEND], SHOP).findings
    assert kink.code == "corner"
    assert kink.measured == pytest.approx(degrees, abs=1e-6)


def test_a_named_corner_on_a_line_that_runs_on_is_quiet():
    plan = CURVED.format(at="101.2, 11.4")
    made = pattern([line_mark(curved(0.0), label="Front")], plan)
    assert judge(made, planned(plan), [EDGE_BLEND], SHOP).findings == ()


def test_a_kink_at_a_named_corner_may_be_meant():
    plan = CURVED.format(at="101.2, 11.4") + '[[shaped]]\ncorner = "front.middle"\nwhy = "a point"\n'
    made = pattern([line_mark(curved(8.0), label="Front")], plan)
    assert judge(made, planned(plan), [EDGE_BLEND], SHOP).findings == ()
