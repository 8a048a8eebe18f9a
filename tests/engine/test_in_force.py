"""Which tolerance and severity hold, and where they come from."""

import dataclasses

import pytest
from house_checks import check, off

from seamcheck.amounts import Unit
from seamcheck.checks.base import Tolerance
from seamcheck.checks.edges import FOLD_STRAIGHT
from seamcheck.checks.seams import SEAM_LENGTH
from seamcheck.config.settings import Settings
from seamcheck.engine.grading import tolerance_of
from seamcheck.engine.judge import judge
from seamcheck.geometry.curve import Curve
from seamcheck.testing import good_draft


def rows(result, check):
    return {(row.codes, row.places): row for row in result.in_force if row.check == check}


def test_what_is_in_force_is_told_with_its_source():
    settings = Settings(
        path="shop.toml",
        tolerances={"our-check": 3.0, "our-check/turned": 2.0},
        severities={"our-check/bare": "error"},
    )
    draft = good_draft()
    result = judge(draft.pattern(), draft.plan, (check(),), settings)
    told = rows(result, "our-check")
    off_row, bare, turned = told[("off",), ()], told[("bare",), ()], told[("turned",), ()]
    assert (off_row.tolerance, off_row.unit, off_row.tolerance_from) == (3.0, "mm", "shop.toml")
    assert (off_row.severity, off_row.severity_from) == ("bands", "default")
    assert (bare.tolerance, bare.severity, bare.severity_from) == (None, "error", "shop.toml")
    assert (turned.tolerance, turned.unit, turned.tolerance_from) == (2.0, "degrees", "shop.toml")


def test_the_tolerances_of_a_plan_and_its_seams_are_told():
    draft = good_draft()
    (seam,) = draft.plan.seams
    plan = dataclasses.replace(draft.plan, path="own.seams.toml", tolerance=2.5, states_tolerance=True)
    told = rows(judge(draft.pattern(), plan, (SEAM_LENGTH,), Settings()), "seam-length")
    assert [(row.tolerance, row.tolerance_from) for row in told.values()] == [
        (1.6, "default"),
        (2.5, "own.seams.toml"),
    ]
    for own, widened in ((4.0, True), (1.0, False)):
        plan = dataclasses.replace(plan, seams=(dataclasses.replace(seam, tolerance=own),))
        told = rows(judge(draft.pattern(), plan, (SEAM_LENGTH,), Settings()), "seam-length")
        row = told[(), ("seam side",)]
        assert (row.tolerance, row.tolerance_from, row.usual, row.widened) == (own, "own.seams.toml", 1.6, widened)


def test_a_tolerance_that_a_check_sets_for_one_place_is_told_as_its_own_and_not_by_its_amount():
    draft = good_draft()
    plan = dataclasses.replace(draft.plan, path="own.seams.toml", tolerance=2.5, states_tolerance=True)
    one = check(off(1.0, tolerance=2.5), off(1.0, tolerance=Tolerance(4.0, Unit.LENGTH, "the day's weather")))
    told = rows(judge(draft.pattern(), plan, (one,), Settings()), "our-check")
    assert told[(), ("size 40",)].tolerance_from == "the check itself, by what it measures there"
    assert (told[(), ()].tolerance, told[(), ()].tolerance_from) == (4.0, "the day's weather")


def test_where_sizes_were_rounded_only_what_the_rounding_widened_is_told_so():
    """The side seam is widened to three steps of the rule table, while a fold keeps its own band, however long it is."""
    draft = good_draft()
    pattern = draft.pattern()
    pieces = tuple(dataclasses.replace(one, labels={**one.labels, "rounding": "1.0"}) for one in pattern.pieces)
    fold = Curve.line(0j, 400 + 0j)
    pieces = (dataclasses.replace(pieces[0], folds=(fold,)), *pieces[1:])
    result = judge(dataclasses.replace(pattern, pieces=pieces), draft.plan, (SEAM_LENGTH, FOLD_STRAIGHT), Settings())
    (seam,) = [row for row in result.in_force if row.check == "seam-length" and row.places]
    (bent,) = [row for row in result.in_force if row.check == "fold-straight"]
    assert (seam.tolerance, seam.tolerance_from) == (3.0, "rounded grade rules")
    assert (bent.tolerance, bent.tolerance_from, bent.places) == (0.8, "default", ())


def test_checks_that_are_like_another_follow_what_the_shop_sets_for_it():
    like = dataclasses.replace(check(), tolerance_like="seam-length")
    assert tolerance_of(like, like.code("off"), Settings(tolerances={"seam-length": 3.2})).value == 3.2
    own = Settings(tolerances={"seam-length": 3.2, "our-check": 1.0})
    assert tolerance_of(like, like.code("off"), own).value == 1.0


def test_a_tolerance_without_a_unit_is_refused():
    with pytest.raises(
        ValueError, match=r"check seam-length: there is a tolerance and no unit; give unit=Unit\.LENGTH"
    ):
        dataclasses.replace(SEAM_LENGTH, unit=None)
