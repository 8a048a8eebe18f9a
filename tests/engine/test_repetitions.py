"""What repeats another finding: left out where that one is said, however many stand in a row or in a circle."""

from dataclasses import replace

import pytest

from seamcheck.amounts import Unit
from seamcheck.checks.base import Check, Code, Observation, Repetition, Severity, Skip
from seamcheck.checks.plans import PLAN_COMPLETE
from seamcheck.config.settings import Settings
from seamcheck.engine.judge import judge
from seamcheck.pattern.plan import AcceptedPlan
from seamcheck.testing import good_draft

DRAFT = good_draft()


def check(name, *seen, repeats=()):
    """A check that always sees the same."""
    return Check(
        name=name,
        family="ours",
        meaning="m",
        why="w",
        remedy="r",
        source="s",
        codes=(
            Code(name="off", meaning="m", message="It is off.", advice="Mend it."),
            Code(name="bare", meaning="m", message="It is bare.", advice="Mend it.", severity=Severity.NOTE),
        ),
        run=lambda context: seen,
        tolerance=2.0,
        unit=Unit.LENGTH,
        repeats=repeats,
    )


def off(repeated="", amount=9.0, **more):
    repeats = (Repetition(check=repeated, **more),) if repeated else ()
    return Observation(code="off", deviation=amount, seam="side", repeats=repeats)


def said(*checks, plan=DRAFT.plan, **settings):
    result = judge(DRAFT.pattern(), plan, checks, Settings(**settings))
    assert result.failures == ()
    return {one.check for one in result.findings if one.accepted is None}


def test_what_is_said_already_is_left_out_in_whichever_order_the_checks_run():
    one, other = check("one", off()), check("other", off("one"), repeats=("one",))
    assert said(one, other) == said(other, one) == {"one"}
    assert said(other) == {"other"}


@pytest.mark.parametrize(
    ("subject", "left"),
    [
        ({}, {"one"}),
        ({"seam": "side"}, {"one"}),
        ({"seam": "waist"}, {"one", "other"}),
        ({"codes": ("off",)}, {"one"}),
        ({"codes": ("bare",)}, {"one", "other"}),
        ({"piece": "front"}, {"one"}),
        ({"piece": "back"}, {"one", "other"}),
        ({"edge": "front.side"}, {"one"}),
        ({"edge": "front.hem"}, {"one", "other"}),
        ({"at": 1 + 2j}, {"one"}),
        ({"at": 2 + 1j}, {"one", "other"}),
    ],
)
def test_it_must_be_said_of_the_same_subject(subject, left):
    head = Observation(code="off", deviation=9.0, seam="side", pieces=("front",), edges=("front.side",), at=1 + 2j)
    assert said(check("one", head), check("other", off("one", **subject), repeats=("one",))) == left


def test_what_lies_within_its_band_says_nothing():
    assert said(check("one", off(amount=0.9)), check("other", off("one"), repeats=("one",))) == {"other"}


def test_what_is_said_counts_however_grave_the_shop_calls_it():
    checks = check("one", off()), check("other", off("one"), repeats=("one",))
    assert said(*checks, severities={"one": "note"}) == {"one"}
    assert said(*checks, severities={"one": "off"}) == {"other"}


def test_a_repetition_of_a_repetition_is_left_out_for_what_stands():
    row = check("a", off("b"), repeats=("b",)), check("b", off("c"), repeats=("c",)), check("c", off())
    assert said(*row) == said(*reversed(row)) == {"c"}
    assert said(*row, severities={"c": "off"}) == {"b"}


@pytest.mark.parametrize("names", ["ab", "abc", "abcd"])
def test_of_a_circle_one_stands(names):
    ring = [
        check(name, off(after), repeats=(after,)) for name, after in zip(names, names[1:] + names[0], strict=True)
    ]
    assert len(said(*ring)) == 1


def test_a_finding_that_would_repeat_itself_stands():
    assert said(check("a", off("a"), repeats=("a",))) == {"a"}


def test_a_skip_is_left_out_too_and_only_then():
    skip = Skip(why="not true", seam="side", repeats=(Repetition(check="one", seam="side"),))
    checks = check("one", off()), check("other", skip, repeats=("one",))
    assert judge(DRAFT.pattern(), DRAFT.plan, checks, Settings()).skipped == ()
    skipped = judge(DRAFT.pattern(), DRAFT.plan, checks, Settings(severities={"one": "off"})).skipped
    (kept,) = (one for one in skipped if one.reason != "turned-off")
    assert (kept.check, str(kept.why)) == ("other", "not true")


def test_the_reason_of_a_finding_that_the_plan_accepts_covers_what_repeats_it():
    plan = replace(DRAFT.plan, accepted=(AcceptedPlan(check="one", seam="side", why="stretched on"),))
    checks = check("one", off()), check("other", off("one"), repeats=("one",)), PLAN_COMPLETE
    assert said(*checks, plan=plan) == set()


def test_what_is_repeated_must_be_declared():
    """So that every pair is known without running anything."""
    undeclared = check("other", off("one", codes=("off", "bare")), repeats=("one/off",))
    result = judge(DRAFT.pattern(), DRAFT.plan, (check("one", off()), undeclared), Settings())
    (failure,) = result.failures
    assert "check other of plugin unknown crashed" in failure
    assert "it repeats one and does not name it under `repeats`" in failure
    declared = replace(undeclared, repeats=("one/off", "one/bare"))
    assert said(check("one", off()), declared) == {"one"}


def test_a_finding_of_another_size_is_another_finding():
    pattern = DRAFT.pattern()
    nest = replace(
        pattern,
        sizes=("40", "42"),
        pieces=(*pattern.pieces, *(replace(piece, size="42") for piece in pattern.pieces)),
    )
    one = replace(check("one"), run=lambda context: [off()] if context.size == "40" else [])
    found = judge(nest, DRAFT.plan, (one, check("other", off("one"), repeats=("one",))), Settings()).findings
    assert {(finding.check, finding.size) for finding in found} == {("one", "40"), ("other", "42")}
