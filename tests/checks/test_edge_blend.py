"""What edge-blend keeps quiet about: corners that the plan names, however unsteadily they are drawn."""

import pytest
from edge_making import digitised
from pattern_making import line_mark, loop, pattern, planned
from skirt_making import SHOP

from seamcheck.checks.edges import EDGE_BLEND
from seamcheck.engine.judge import judge

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
