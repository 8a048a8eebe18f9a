"""A fault that grows is graded no milder: notches that slip past others, and folds by one number."""

from dataclasses import replace

import pytest
from faulty_skirts import GOOD, bowed_fold, moved_notches

from seamcheck.checks.base import Severity
from seamcheck.testing import PanelNotch

ORDER = [Severity.NOTE, Severity.WARNING, Severity.ERROR]
SIDE = GOOD.panel("back").edge("side").line.length


def worst(sheet, check: str) -> int:
    """The rank of the worst that a check finds, -1 for nothing."""
    return max((ORDER.index(one.severity) for one in sheet.judged().findings if one.check == check), default=-1)


def beside_another(gap: float, slip: float):
    """A notch of the front's side that slips towards another one, `gap` mm behind it; the back has both in their places."""
    from skirt_making import Sheet

    waist, upper, lower = GOOD.panel("front").notches
    moved = replace(upper, station=upper.station + slip)
    front = (waist, moved, lower, PanelNotch("side", upper.station + gap))
    back = (*GOOD.panel("back").notches, PanelNotch("side", SIDE - upper.station - gap))
    return Sheet.of(GOOD.with_panel("front", notches=front).with_panel("back", notches=back))


@pytest.mark.parametrize("gap", [14.0, 16.0, 18.0, 20.0, 25.0, 40.0])
def test_a_notch_that_slips_onto_another_is_no_milder(gap):
    ranks = [worst(beside_another(gap, slip), "notch-match") for slip in (0.0, 0.5, 1.5, 3.0, 6.35, 12.7, 19.05)]
    assert ranks == sorted(ranks)
    assert (ranks[0], ranks[-1]) == (-1, 2)


def test_a_notch_that_slips_far_is_no_milder():
    ranks = [
        worst(moved_notches(slip), "notch-match") for slip in (0.0, 1.5, 3.0, 6.35, 12.7, 25.4, 39.0, 41.0, 60.0)
    ]
    assert ranks == sorted(ranks)


@pytest.mark.parametrize(("bow", "severity"), [(0.35, None), (0.7, "note"), (1.5, "warning"), (1.7, "error")])
def test_a_fold_is_judged_by_the_number_that_is_told(bow, severity):
    """0.8 mm, though the fold is 400 mm long."""
    found = [one.severity.value for one in bowed_fold(bow).judged().findings if one.check == "fold-straight"]
    assert found == ([severity] if severity else [])
