"""Alterations carried out in every form and size: read back, compared, undone; rehearsed as facts; named fits quiet everywhere."""

import cmath
import json
import math
import shutil

import jsonschema
import pytest
from patterns import DEMO, FORMS, PANEL_CUT, SETTINGS, panel_files, registry

from seamcheck import compare
from seamcheck.altering.rehearse import rehearsed
from seamcheck.altering.run import alter_file
from seamcheck.altering.undo import PatchError, patch, undone
from seamcheck.altering.writing import recipe_beside, undo, write_altered
from seamcheck.config.recipe_file import read_recipe
from seamcheck.engine.read import Request, read
from seamcheck.engine.report_format import RenderOptions
from seamcheck.errors import SeamcheckError
from seamcheck.pattern.recipe import (
    AlongCut,
    AlongEdge,
    AtCorner,
    AtNotch,
    DartMove,
    Extend,
    FitStep,
    GiveBack,
    Hinge,
    Parallel,
    Recipe,
    Relief,
    Scoop,
    Wedge,
)
from seamcheck.report.altering.forms import RENDERERS
from seamcheck.report.schemas import schema

CALF = Hinge(
    piece="back",
    opens=AlongEdge("outseam", 290.0, "side-hem"),
    hinge=AlongEdge("inseam", 383.0, "crotch-point"),
    amount=-6.35,
    stays="hem",
    reliefs=(Relief(AlongCut(0.5), AlongEdge("crotch", 100.0, "crotch-point")),),
    give_back=(GiveBack("outseam", "side-waist"),),
)
SEAT = Hinge(
    piece="back",
    opens=AlongEdge("crotch", 150.0, "cb-waist"),
    hinge=AlongEdge("outseam", 216.0, "side-waist"),
    amount=12.7,
)
OPTIONS = RenderOptions(width=100, colour=False)
FITS = [fit.name for fit in registry().fits]


def altered(form, *steps, leave=False, sizes=()):
    return alter_file(str(FORMS[form]), Recipe(steps=steps), Request(sizes=sizes), registry(), SETTINGS, leave=leave)


def written(made, folder, form, **asked):
    target = folder / f"new{FORMS[form].suffix}"
    result, beside = write_altered(made, str(target), Request(**asked), registry(), SETTINGS, force=False)
    return target, result, beside


@pytest.mark.parametrize("form", FORMS)
def test_what_is_written_reads_back_as_it_was_meant_and_can_be_undone(form, tmp_path):
    made = altered(form, CALF, SEAT)
    target, result, beside = written(made, tmp_path, form)
    assert [one.check for one in result.findings if one.accepted is None and one.severity != "note"] == []
    assert [path.rpartition("/")[2] for path in beside] == ["new.alter.toml", "new.seams.toml"]
    pattern, plan = read(str(target), Request(), registry(), SETTINGS)
    assert plan is not None
    for size in made.sizes:
        meant, found = size.after.pieces["back"], pattern.piece("back", size.size)
        assert {edge.name: edge.length for edge in found.edges} == pytest.approx(
            {edge.name: edge.length for edge in meant.edges}, abs=0.02
        )
        assert [len(edge.notches) for edge in found.edges] == [len(edge.notches) for edge in meant.edges]
    earlier, name, recipe = undo(str(target))
    assert earlier == FORMS[form].read_bytes()
    assert name == FORMS[form].name
    assert recipe.steps == made.recipe.steps == read_recipe(recipe_beside(target)).steps


@pytest.mark.parametrize("form", FORMS)
def test_left_as_taped_compare_gives_back_cut_hinge_and_amount(form, tmp_path):
    made = altered(form, SEAT, leave=True, sizes=("40",))
    target, _, _ = written(made, tmp_path, form, sizes=("40",))
    comparison = compare(FORMS[form], target)
    change = comparison.piece("back", "40")
    (cut,) = change.cuts
    loose = 0.15 if form == "digitised" else 0.05
    turn = made.sizes[0].steps[0].turned.turns[0]
    assert abs(abs(cut.turn) - abs(turn)) < 0.05
    opened = next(one for one in cut.breaks if one is not cut.hinge)
    assert opened.amount == pytest.approx(12.7, abs=loose)
    assert cut.hinge.before.edge == "outseam"
    hinge = made.sizes[0].steps[0].turned.cut.end
    assert abs(cut.centre - hinge) < 10 * loose


@pytest.mark.parametrize("fit", ["full-seat", "sway-back", "gaping-waistband"])
def test_left_in_a_nest_its_kinks_are_corners_of_every_size(fit, tmp_path):
    made = altered("apparel", FitStep(piece="", fit=fit), leave=True)
    target, _, _ = written(made, tmp_path, "apparel")
    comparison = compare(FORMS["apparel"], target)
    for size in made.sizes:
        cuts = comparison.piece(size.steps[0].step.piece, size.size).cuts
        assert len(cuts) == len(size.steps)
        amounts = [one.amount for cut in cuts for one in cut.breaks if one is not cut.hinge]
        assert amounts == pytest.approx([step.step.amount for step in size.steps], abs=0.005)
        for step in size.steps[:1]:  # where the others turn, the ones before have gone already
            centre = min(cuts, key=lambda cut: abs(cut.centre - step.turned.cut.end))
            assert abs(centre.turn) == pytest.approx(abs(step.turned.turns[0]), abs=0.001)
            assert abs(centre.centre - step.turned.cut.end) < 0.01


def test_a_corner_led_on_in_a_nest_is_as_square_as_it_was_drawn(tmp_path):
    made = altered("apparel", FitStep(piece="", fit="front-crotch"), leave=True)
    target, _, _ = written(made, tmp_path, "apparel")
    pattern, _ = read(str(target), Request(), registry(), SETTINGS)
    for size in made.sizes:
        corners = [
            piece.corner("crotch-point") for piece in (pattern.piece("front", size.size), size.before.pieces["front"])
        ]
        assert corners[0].angle == pytest.approx(corners[1].angle, abs=0.5)


def test_a_nest_is_altered_at_the_same_share_in_every_size():
    made = altered("apparel", SEAT)
    assert [size.size for size in made.sizes] == ["36", "38", "40", "42", "44"]
    shares = set()
    for size in made.sizes:
        spot = size.steps[0].step.hinge
        length = size.before.pieces["back"].edge("outseam").length
        shares.add(round(spot.amount if spot.share else spot.amount / length, 9))
        gained = size.after.pieces["back"].edge("crotch").length - size.before.pieces["back"].edge("crotch").length
        assert gained == pytest.approx(12.7, abs=0.01)
    assert len(shares) == 1
    assert "What each size gained in the end" in RENDERERS["text"](rehearsed(made), OPTIONS, ())


@pytest.mark.parametrize("form", ["curves", "digitised", "cad"])
def test_a_dart_closed_into_another_edge_takes_its_plan_along(form, tmp_path):
    made = altered(form, DartMove(piece="back", dart="dart-tip", into=AlongEdge("outseam", 90.0, "side-waist")))
    target, result, _ = written(made, tmp_path, form)
    assert [one.check for one in result.findings if one.severity != "note"] == []
    pattern, plan = read(str(target), Request(), registry(), SETTINGS)
    assert plan.piece("back").edges["outseam"] == ("side-waist", "dart-in", "dart-tip", "dart-out", "side-hem")
    assert len(pattern.piece("back").edge("outseam").breaks) == 1
    assert undo(str(target))[0] == FORMS[form].read_bytes()


def test_in_apparel_dxf_a_dart_stays_on_its_edge(tmp_path):
    made = altered("apparel", DartMove(piece="back", dart="dart-tip", into=AlongEdge("outseam", 90.0, "side-waist")))
    with pytest.raises(SeamcheckError, match="alter the pattern as a CAD drawing or an SVG"):
        written(made, tmp_path, "apparel")


def test_a_step_can_be_for_some_sizes_alone():
    from dataclasses import replace

    made = altered("apparel", replace(SEAT, sizes=("38", "42")))
    assert [size.size for size in made.sizes if size.steps] == ["38", "42"]
    assert all(size.after.pieces["back"] is size.before.pieces["back"] for size in made.sizes if not size.steps)


def test_steps_are_made_on_what_those_before_have_left():
    scoop = Scoop(
        piece="back",
        edge="crotch",
        start=AlongEdge("crotch", 160.0, "cb-waist"),
        end=AtCorner("crotch-point"),
        amount=5.0,
    )
    one = altered("curves", SEAT, scoop, leave=True).sizes[0]
    assert one.steps[1].before is one.steps[0].after
    assert one.after.pieces["back"].edge("crotch").length > one.steps[0].after.pieces["back"].edge("crotch").length


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("fit", FITS)
def test_a_named_fit_trues_in_every_form_and_size(fit, form):
    made = altered(form, FitStep(piece="", fit=fit))
    facts = rehearsed(made)
    assert [(one.check, one.code) for size in facts.sizes for one in size.left if one.severity != "note"] == []
    assert [one.code for size in facts.sizes for one in size.warnings if one.code == "more-than-most"] == []


def test_the_rehearsal_says_what_comes_of_it():
    made = altered("curves", CALF)
    (size,) = rehearsed(made).sizes
    (step,) = size.steps
    assert step.angle == pytest.approx(1.4, abs=0.05)
    assert [given.amount for given in step.done.given] == [pytest.approx(6.35, abs=1e-6)]
    lengths = {one.edge: (round(one.left - one.before, 2), round(one.after - one.before, 2)) for one in size.lengths}
    assert lengths == {}  # given back before anything is told
    told = RENDERERS["text"](rehearsed(made), OPTIONS, ())
    for words in (
        "rehearsed: nothing is written; all seams true",
        "back: cut from outseam, 290 mm (11 7/16 in) from side-hem, to a hinge at inseam",
        "there it opens, so that the paper lies flat",
        "Given back: outseam is drawn 6.4 mm (1/4 in) longer at side-waist",
    ):
        assert words in " ".join(told.split())


def test_left_as_taped_it_says_what_the_mates_would_need():
    facts = rehearsed(altered("curves", CALF, leave=True))
    (size,) = facts.sizes
    (need,) = size.seams
    assert (need.seam, need.mates) == ("outseam", ("front.outseam",))
    assert need.need == pytest.approx(-6.35, abs=1e-6)
    told = " ".join(RENDERERS["text"](facts, OPTIONS, ()).split())
    assert "front.outseam would have to be 6.4 mm (1/4 in) shorter to be sewn to it" in told
    assert "the grain arrow of back is bent" in told


WARNINGS = {
    "more-than-most": FitStep(piece="back", fit="full-seat", amount=60.0),
    "near-notch": Hinge(piece="back", opens=AlongEdge("crotch", 150.0, "cb-waist"), hinge=AlongEdge("outseam", 155.0, "side-waist"), amount=6.0),
    "turns-much": Hinge(piece="back", opens=AlongEdge("crotch", 150.0, "cb-waist"), hinge=AlongEdge("outseam", 216.0, "side-waist"), amount=45.0),
    "thigh-tighter": Extend(piece="back", corner="crotch-point", along="crotch", amount=-25.0),
    "crotch-off-square": Wedge(piece="back", edge="inseam", start=AtNotch("inseam", 1), corner="crotch-point", amount=-25.0),
    "relief-laps": Hinge(
        piece="back", opens=AlongEdge("outseam", 290.0, "side-hem"), hinge=AlongEdge("inseam", 383.0, "crotch-point"), amount=6.35, stays="hem",
        reliefs=(Relief(AlongCut(0.5), AlongEdge("crotch", 100.0, "crotch-point")),),
    ),
}  # fmt: skip


@pytest.mark.parametrize("code", WARNINGS)
def test_what_is_beyond_sense_is_told(code):
    facts = rehearsed(altered("curves", WARNINGS[code], leave=True))
    found = [one.code for one in facts.sizes[0].warnings]
    assert code in found
    assert "Beyond sense:" in RENDERERS["text"](facts, OPTIONS, ())


def test_what_is_within_sense_is_not_warned_of():
    for fit in FITS:
        facts = rehearsed(altered("curves", FitStep(piece="", fit=fit)))
        assert [one.code for one in facts.sizes[0].warnings] == [], fit


def test_json_keeps_to_its_schema():
    for step in (CALF, DartMove(piece="back", dart="dart-tip", deeper=6.0)):
        for leave in (False, True):
            told = json.loads(RENDERERS["json"](rehearsed(altered("curves", step, leave=leave)), OPTIONS, ()))
            jsonschema.validate(told, schema("alter"))


def test_the_picture_shows_the_cut():
    drawn = RENDERERS["svg"](rehearsed(altered("curves", CALF)), OPTIONS, ())
    assert drawn.count('class="slash"') == 1
    assert "where it is cut" in drawn


@pytest.mark.parametrize("leave", [False, True])
def test_what_lies_within_a_piece_is_written_where_it_goes(leave, tmp_path):
    path = panel_files(tmp_path)
    made = alter_file(str(path), Recipe(steps=(PANEL_CUT,)), Request(), registry(), SETTINGS, leave=leave)
    target = tmp_path / "new.svg"
    write_altered(made, str(target), Request(), registry(), SETTINGS, force=False)
    meant = made.sizes[0].after.pieces["panel"]
    found = read(str(target), Request(), registry(), SETTINGS)[0].pieces[0]
    assert found.drill_holes == pytest.approx(meant.drill_holes, abs=1e-4)
    assert sorted(line.curve.length for line in found.inside) == pytest.approx(
        sorted(line.curve.length for line in meant.inside), abs=1e-4
    )
    assert found.darts[0].points == pytest.approx(meant.darts[0].points, abs=1e-3)
    assert abs(found.drill_holes[0] - (340 + 220j)) > 1.0
    assert undo(str(target))[0] == path.read_bytes()


POCKET = Hinge(
    piece="pocket",
    opens=AlongEdge("opening", 103.7, "top-left"),
    hinge=AlongEdge("topstitched", 222.8, "top-right"),
    amount=-7.24,
)
# Cuts that run aslant to an edge, so that its line is set off sideways; an arrow that a narrow band no longer holds.
ASLANT = {
    "overlapped": POCKET,
    "parted": Parallel(
        piece="front",
        cut=(AlongEdge("hem", 156.5, "inseam-hem"), AlongEdge("inseam", 432.8, "crotch-point")),
        amount=-3.61,
    ),
    "band": Wedge(piece="band-front", edge="lower", start=AtCorner("side-lower"), corner="cf-lower", amount=-7.74),
}


@pytest.mark.parametrize("form", ["curves", "digitised", "cad"])
@pytest.mark.parametrize("name", ASLANT)
def test_a_line_that_was_set_off_sideways_is_blended_as_far_as_it_needs(name, form, tmp_path):
    made = altered(form, ASLANT[name])
    assert [one.check for one in made.trued.left if one.severity != "note"] == []
    _, result, _ = written(made, tmp_path, form)
    assert [one.check for one in result.findings if one.severity != "note"] == []


@pytest.mark.parametrize("form", ["curves", "digitised", "cad"])
def test_an_overlap_of_lines_that_lie_side_by_side_is_told_by_its_amount(form, tmp_path):
    made = altered(form, POCKET, leave=True)
    target, _, _ = written(made, tmp_path, form)
    (cut,) = compare(FORMS[form], target).piece("pocket", made.base).cuts
    (opened,) = (one for one in cut.breaks if one is not cut.hinge)
    assert opened.amount == pytest.approx(-7.24, abs=0.15 if form == "digitised" else 0.05)


def test_no_corner_is_laid_under_the_paper():
    step = Hinge(
        piece="facing-back",
        opens=AlongEdge("upper", 65.5, "fold-upper"),
        hinge=AlongEdge("lower", 137.8, "fold-lower"),
        amount=-10.73,
    )
    with pytest.raises(SeamcheckError, match="fold-upper would lie under the paper"):
        altered("curves", step)


def test_an_arrow_lies_to_the_fold_again_that_a_part_took_along(tmp_path):
    path = panel_files(tmp_path)
    plan = path.with_suffix(".seams.toml")
    text = (
        plan.read_text().replace('line = "sew"', 'line = "sew"\ncut = "fold"\nfold = "left"').replace('"left", ', "")
    )
    plan.write_text(text)
    step = Hinge(
        piece="panel",
        opens=AlongEdge("top", 60.0, "top-left"),
        hinge=AlongEdge("bottom", 80.0, "bottom-left"),
        amount=8.0,
        stays="right",
    )
    made = alter_file(str(path), Recipe(steps=(step,)), Request(), registry(), SETTINGS)
    (size,) = made.sizes
    arrows = [state.pieces["panel"].grainlines[0].angle for state in (size.before, size.altered, size.after)]
    fold = size.after.pieces["panel"].edge("left")
    leans = cmath.phase(fold.point(fold.length) - fold.point(0.0))
    assert arrows[1] == pytest.approx(arrows[0])
    assert (arrows[2] - math.degrees(-leans)) % 180.0 == pytest.approx(0.0, abs=1e-6) or (
        arrows[2] - math.degrees(leans)
    ) % 180.0 == pytest.approx(0.0, abs=1e-6)
    assert abs(arrows[2] - arrows[0]) > 1.0


def test_a_long_line_that_is_redrawn_up_to_a_notch_alone_is_written(tmp_path):
    path = panel_files(tmp_path)
    step = Extend(piece="panel", corner="top-right", along="top", amount=10.0, blend=AtNotch("right", 1))
    made = alter_file(str(path), Recipe(steps=(step,)), Request(), registry(), SETTINGS, leave=True)
    target = tmp_path / "new.svg"
    write_altered(made, str(target), Request(), registry(), SETTINGS, force=False)
    found = read(str(target), Request(), registry(), SETTINGS)[0].pieces[0]
    # The old corner lies on the new top edge, and so do three quarters of the right one: it is redrawn all the same.
    assert found.corner("top-right").at == pytest.approx(410 + 100j, abs=1e-3)
    assert found.edge("top").length == pytest.approx(290.0, abs=1e-3)


def test_a_file_that_was_changed_since_is_not_undone(tmp_path):
    target, _, _ = written(altered("curves", SEAT), tmp_path, "curves")
    target.write_bytes(target.read_bytes() + b"<!-- by hand -->\n")
    with pytest.raises(SeamcheckError, match="was changed since it was altered"):
        undo(str(target))
    with pytest.raises(SeamcheckError, match="no recipe lies beside it"):
        undo(str(FORMS["curves"]))


@pytest.mark.parametrize("earlier", [b"", b"one", b"a\nb\nc\nd\ne\nf\n" * 40, b"x" * 1000])
def test_a_patch_makes_the_earlier_of_the_later(earlier):
    for later in (b"", b"quite another", earlier + b"more\n", b"a\nb\nc\nd\ne\nnew\nf\n" * 40):
        assert undone(later, patch(later, earlier)) == earlier


@pytest.mark.parametrize("letters", ["", "none", "VPaz}Zf0"])
def test_what_is_no_patch_is_told(letters):
    with pytest.raises(PatchError):
        undone(b"later", letters)


def test_the_plan_beside_has_the_corners_where_they_are(tmp_path):
    target, _, beside = written(altered("curves", SEAT), tmp_path, "curves")
    lines = (tmp_path / "new.seams.toml").read_text().splitlines()
    old = (DEMO / "ferryhand.seams.toml").read_text().splitlines()
    moved = [one for one, other in zip(lines, old, strict=True) if one != other]
    assert {line.partition(" =")[0] for line in moved} == {
        "cb-waist",
        "dart-in",
        "dart-tip",
        "dart-out",
        "side-waist",
    }
    assert target.exists()
    assert len(beside) == 2


def test_an_alteration_goes_on_where_the_last_one_ended(tmp_path):
    target, _, _ = written(altered("curves", SEAT), tmp_path, "curves")
    again = alter_file(str(target), Recipe(steps=(CALF,)), Request(), registry(), SETTINGS)
    second = tmp_path / "second.svg"
    result, _ = write_altered(again, str(second), Request(), registry(), SETTINGS, force=False)
    assert [one for one in result.findings if one.severity != "note"] == []
    shutil.rmtree(tmp_path / "none", ignore_errors=True)
    assert undo(str(second))[0] == target.read_bytes()


@pytest.mark.parametrize(
    ("step", "told"),
    [
        (FitStep(piece="back", fit="full-seet"), 'there is no fit "full-seet"; the nearest fit is "full-seat"'),
        (FitStep(piece="bakc", fit="full-seat"), 'there is no piece "bakc"; the nearest piece is "back"'),
        (FitStep(piece="pocket", fit="full-seat"), "no edge of pocket is called its"),
        (FitStep(piece="back", fit="full-seat", amount=-6.0), "by less than nothing makes no sense"),
        (Scoop(piece="back", edge="croch", start=AtCorner("cb-waist"), end=AtCorner("crotch-point"), amount=4.0), 'no edge "croch"; the nearest edge is "crotch"'),
    ],
)  # fmt: skip
def test_what_cannot_be_done_is_one_sentence(step, told):
    with pytest.raises(SeamcheckError, match=told) as caught:
        altered("curves", step)
    assert "\n" not in str(caught.value)


def test_without_a_plan_nothing_has_a_name(tmp_path):
    shutil.copy(FORMS["curves"], tmp_path / "bare.svg")
    with pytest.raises(SeamcheckError, match="there is no seam plan"):
        alter_file(str(tmp_path / "bare.svg"), Recipe(steps=(SEAT,)), Request(), registry(), SETTINGS)
