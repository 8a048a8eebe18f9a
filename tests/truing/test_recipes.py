"""What a check tells to do is what `true` does: the same steps in the same order, and what is written by them is quiet."""

import re
from dataclasses import replace
from importlib import import_module
from pathlib import Path

import numpy as np
import pytest
from judging import judged, registry

from seamcheck.amounts import length
from seamcheck.config.settings import Settings
from seamcheck.engine.causes import causes_of
from seamcheck.engine.judge import check_file
from seamcheck.engine.read import Request
from seamcheck.truing import mended, recipes
from seamcheck.truing.propose import Wishes
from seamcheck.truing.recipes import with_recipes
from seamcheck.truing.run import true_file

DEMO = Path(__file__).parents[2] / "fixtures" / "ferryhand"
PLANS = {"-left.svg": "ferryhand", "-left-cad.dxf": "ferryhand-cad"}
ALTERATIONS = ("prominent-calf", "low-seat", "gaping-band", "sway-back-quick")
SETTINGS = Settings()


def plan_of(form: str) -> Path:
    return DEMO / f"{PLANS[form]}.seams.toml"


def trued(name: str, form: str, before: Path | None = None):
    path = str(DEMO / "altered" / f"{name}{form}")
    request = Request(plan=plan_of(form))
    (size,) = true_file(path, request, registry(), SETTINGS, Wishes(), str(before) if before else None).sizes
    return size


def alone(step) -> str:
    """A step without why it is done at that end, and without the notches that go along."""
    return str(step).partition(". Then move")[0].partition(". By custom")[0]


def sentence(what: str) -> str:
    return what[0].upper() + what[1:]


@pytest.mark.parametrize("form", PLANS)
@pytest.mark.parametrize("name", ALTERATIONS)
def test_the_steps_are_the_proposals_of_true(name, form):
    (cause,) = causes_of(judged(DEMO / "altered" / f"{name}{form}", plan=plan_of(form)))
    proposals = trued(name, form).proposals
    assert [alone(step) for step in cause.recipe.steps] == [sentence(one.alternatives[0].what) for one in proposals]
    first = proposals[0]
    assert cause.recipe.number == 1
    assert cause.recipe.pieces == first.alternatives[0].pieces
    offered = {way.letter: str(way.what) for way in cause.recipe.others}
    assert offered == {"bcdefghijk"[k]: one.what for k, one in enumerate(first.alternatives[1:])}


@pytest.mark.parametrize("name", ALTERATIONS)
def test_one_alteration_is_one_cause_and_every_sign_points_to_it(name):
    result = judged(DEMO / "altered" / f"{name}-left.svg", plan=plan_of("-left.svg"))
    (cause,) = causes_of(result)
    assert len(cause.findings) == len(result.findings) > 1
    head = cause.worst
    assert all(str(step) in head.advice for step in cause.recipe.steps)
    for finding in result.findings:
        if finding is not head:
            assert f"found by {head.check} at {head.seam}" in finding.advice


def test_a_slash_with_a_hinge_is_told_with_what_undoes_it():
    (cause,) = causes_of(judged(DEMO / "altered" / "prominent-calf-left.svg", plan=plan_of("-left.svg")))
    assert (cause.kind, cause.piece) == ("hinge-not-trued", "back")
    assert "until back.outseam is 6.4 mm (1/4 in) longer" in str(cause.recipe.undo)


def test_kinks_that_are_blended_together_are_named_with_their_places():
    (cause,) = causes_of(judged(DEMO / "altered" / "gaping-band-left.svg", plan=plan_of("-left.svg")))
    assert str(cause.recipe.steps[1]) == (
        "Blend band-back.upper over up to 60.0 mm (2 3/8 in) on either side of the kink 55.6 mm (2 3/16 in) from side-upper "
        "and the kink 66.4 mm (2 5/8 in) from fold-upper, its length kept"
    )


@pytest.mark.parametrize(
    ("name", "number", "side"), [("low-seat", 1, "outside"), ("deep-torso", 0, "outside"), ("flat-seat", 0, "inside")]
)
def test_a_line_that_is_turned_is_told_by_what_a_ruler_measures(name, number, side):
    """To which angle, and how far beside the old line the new one lies: within a blend the turn may take up less than a mm."""
    truing = trued(name, "-left.svg")
    before = truing.proposals[number - 1].alternatives[0].state if number else truing.before
    taken = truing.proposals[number].alternatives[0]
    old, new = (state.pieces["back"] for state in (before, taken.state))
    told = re.fullmatch(
        r"redraw back.crotch from crotch-point to an angle of (\S+)° there, (\S+)° (wider|narrower): "
        r"at most (\S+) mm \(.*\) (outside|inside) the old line",
        taken.what,
    )
    assert told[5] == side
    angles = old.corner("crotch-point").angle, new.corner("crotch-point").angle
    assert (float(told[1]), float(told[2])) == pytest.approx((angles[1], abs(angles[1] - angles[0])), abs=0.06)
    lines = [piece.edge("crotch").runs[-1] for piece in (old, new)]
    apart = max(lines[0].nearest(point).distance for point in lines[1].points(np.linspace(0.0, lines[1].length, 400)))
    assert float(told[4]) == pytest.approx(apart, abs=0.06)
    run = new.edge("crotch").runs[-1].reversed()
    assert old.outline.contains(run.start + 12.0 * run.tangent(0.0)) == (side == "inside")


def test_against_an_earlier_file_what_changed_is_known_and_not_likely():
    drafted = DEMO / "ferryhand.svg"
    result = judged(DEMO / "altered" / "prominent-calf-left.svg", plan=plan_of("-left.svg"), before=drafted)
    (cause,) = causes_of(result)
    assert str(cause.probably) == (
        "back was altered: against ferryhand.svg, back.outseam became 6.4 mm (1/4 in) shorter, and nothing on the other side did"
    )
    proposals = trued("prominent-calf", "-left.svg", drafted).proposals
    assert [alone(step) for step in cause.recipe.steps] == [sentence(one.alternatives[0].what) for one in proposals]
    assert {finding.check for finding in cause.findings} >= {"grain-turned", "grain-straight", "edge-blend"}


def test_in_other_sizes_the_same_is_done_by_their_own_amounts(tmp_path):
    """A nest that is off alike in all sizes is one cause: one size has the steps, the others say by how much."""
    plan = DEMO / "ferryhand-nest.seams.toml"
    longer = plan.read_text(encoding="utf-8").replace('name = "inseam"\n', 'name = "inseam"\nease = [6, 6]\n')
    assert longer != plan.read_text(encoding="utf-8")
    (tmp_path / "nest.seams.toml").write_text(longer, encoding="utf-8")
    (tmp_path / "nest.dxf").write_bytes((DEMO / "ferryhand-nest.dxf").read_bytes())
    result = check_file(str(tmp_path / "nest.dxf"), Request(), registry(), SETTINGS, with_recipes)
    (cause,) = [one for one in causes_of(result) if one.worst.seam == "inseam"]
    head = cause.worst
    others = [one for one in cause.head.findings if one is not head]
    assert len(others) == len(result.sizes) - 1 > 0
    for finding in others:
        assert finding.advice.startswith(f"Do in this size what is done in size {head.size}, by ")


def test_without_recipes_the_advice_of_the_checks_stands():
    path, plan = DEMO / "altered" / "low-seat-left.svg", plan_of("-left.svg")
    plain = check_file(str(path), Request(plan=plan), registry(), SETTINGS)
    assert all(one.recipe is None for one in plain.findings)
    told = check_file(str(path), Request(plan=plan), registry(), SETTINGS, with_recipes)
    assert [
        replace(one, remedy=two.remedy, recipe=two.recipe)
        for one, two in zip(plain.findings, told.findings, strict=True)
    ] == list(told.findings)


def test_what_was_not_tried_keeps_the_advice_of_its_check(monkeypatch):
    """With one correction allowed, the kinks that it leaves are put right as their check says."""
    monkeypatch.setattr(recipes, "MOST_STEPS", 1)
    path, plan = DEMO / "altered" / "gaping-band-left.svg", plan_of("-left.svg")
    plain = check_file(str(path), Request(plan=plan), registry(), SETTINGS)
    (cause,) = causes_of(check_file(str(path), Request(plan=plan), registry(), SETTINGS, with_recipes))
    first, *by_hand = cause.recipe.steps
    assert alone(first) == sentence(trued("gaping-band", "-left.svg").proposals[0].alternatives[0].what)
    kinks = {one.advice for one in plain.findings if one.check == "edge-blend"}
    assert {str(one) for one in by_hand} <= kinks
    assert by_hand


def test_why_a_slash_is_given_back_at_the_other_end_is_said():
    (calf,) = causes_of(judged(DEMO / "altered" / "prominent-calf-left.svg", plan=plan_of("-left.svg")))
    assert "By custom what a slash took is given back at that end" in str(calf.recipe.steps[0])
    (seat,) = causes_of(judged(DEMO / "altered" / "low-seat-left.svg", plan=plan_of("-left.svg")))
    assert not any("By custom" in str(step) for step in seat.recipe.steps)


def test_notches_that_must_go_along_are_told_with_where_they_are_then():
    """By hand: the waist end travels 6.35 mm, so that notches which keep their place in the cloth are that much farther from it."""
    drafted = judged(DEMO / "ferryhand.svg", plan=plan_of("-left.svg")).geometry
    front = next(piece for piece in drafted.pieces if piece.name == "front").edge("outseam")
    (cause,) = causes_of(judged(DEMO / "altered" / "prominent-calf-left.svg", plan=plan_of("-left.svg")))
    places = [length(notch.station) for notch in front.notches]
    assert (
        f"Then move 2 notches of back.outseam along the line, to {places[0]} and {places[1]} from side-waist"
        in str(cause.recipe.steps[0])
    )


def test_new_lines_are_kept_where_the_geometry_is():
    path, plan = DEMO / "altered" / "low-seat-left.svg", DEMO / "ferryhand.seams.toml"
    for geometry in (False, True):
        result = check_file(str(path), Request(plan=plan, geometry=geometry), registry(), SETTINGS, with_recipes)
        (recipe,) = [cause.recipe for cause in causes_of(result) if cause.recipe is not None]
        assert {piece for piece, _ in recipe.lines} == ({"back"} if geometry else set())


CALF = DEMO / "altered" / "prominent-calf-left.svg"


@pytest.mark.parametrize(
    ("piece", "end", "corner", "why"),
    [
        ("back", None, "side-waist", "By custom what a slash took is given back at that end"),
        ("back", "side-hem", "side-hem", "The plan has given back at that end what a slash took"),
        ("back", "side-waist", "side-waist", "The plan has given back at that end what a slash took"),
        # The front was not slashed: what its plan says of it tells nothing of the back.
        ("front", "side-hem", "side-waist", "By custom what a slash took is given back at that end"),
    ],
)
@pytest.mark.parametrize("against", [False, True])
def test_a_slash_is_given_back_where_the_plan_says_so(piece, end, corner, why, against, tmp_path):
    text = plan_of("-left.svg").read_text(encoding="utf-8")
    head = f"[pieces.{piece}]\n"
    assert head in text
    plan = tmp_path / "calf.seams.toml"
    named = "" if end is None else f'give-back = {{ outseam = "{end}" }}\n'
    plan.write_text(text.replace(head, head + named), encoding="utf-8")
    before = DEMO / "ferryhand.svg" if against else None
    result = judged(CALF, plan=plan, before=before)
    step = str(next(one for one in causes_of(result) if one.worst.seam == "outseam").recipe.steps[0])
    assert step.startswith(f"Lengthen back.outseam by 6.4 mm (1/4 in) at {corner}: ")
    if not against:
        assert why in step


def test_every_kind_that_is_mended_is_one_that_a_check_finds_and_has_its_maker():
    codes = {f"{check.name}/{code.name}" for check in registry().checks for code in check.codes}
    known = codes | {check.name for check in registry().checks}
    assert set(mended._MAKERS) <= known
    for module, name in mended._MAKERS.values():
        assert callable(getattr(import_module(f"seamcheck.truing.{module}"), name))


def test_where_no_line_mends_what_was_found_none_is_tried(monkeypatch):
    path, request = str(DEMO / "altered" / "prominent-calf-left.svg"), Request(plan=plan_of("-left.svg"))
    monkeypatch.setattr(recipes, "is_mended", lambda finding: False)
    monkeypatch.delattr("seamcheck.truing.propose.true_up")
    untried = check_file(path, request, registry(), SETTINGS, recipes=with_recipes)
    assert untried.findings
    assert untried == check_file(path, request, registry(), SETTINGS)
    monkeypatch.undo()
    assert check_file(path, request, registry(), SETTINGS, recipes=with_recipes) != untried
