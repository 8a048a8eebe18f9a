"""A recipe as it is written: every move read and written back, and each mistake with its place and what to write."""

import re

import pytest

from seamcheck.config.recipe_file import format_recipe, parse_recipe, parse_step, written_length
from seamcheck.config.recipe_keys import EVERY, FIT, MOVES
from seamcheck.errors import RecipeError
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
    Taper,
    Wedge,
)

STEPS = (
    FitStep(piece="back", fit="prominent-calf", amount=6.35),
    FitStep(piece="", fit="full-seat", sizes=("38", "40")),
    Hinge(
        piece="back",
        opens=AlongEdge("outseam", 425.0, "side-hem"),
        hinge=AlongEdge("inseam", 383.0, "crotch-point"),
        amount=-6.35,
        reliefs=(Relief(AlongCut(0.5), AlongEdge("crotch", 150.0, "crotch-point")),),
        give_back=(GiveBack("outseam", "side-waist"),),
        stays="hem",
    ),
    Hinge(piece="band", opens=AtNotch("upper", 2), hinge=AlongEdge("lower", 0.4, "fold-lower", share=True), amount=4.0),
    Parallel(piece="back", cut=(AtNotch("inseam", 1), AtNotch("outseam", 2)), amount=12.0, by_grain=True),
    Scoop(piece="back", edge="crotch", start=AlongEdge("crotch", 110.0, "cb-waist"), end=AtCorner("crotch-point"), amount=6.35),
    Extend(piece="back", corner="crotch-point", along="crotch", amount=-10.0, blend=AtNotch("inseam", 1)),
    Extend(piece="back", corner="crotch-point", along="inseam", amount=5.0, square=True),
    Taper(piece="back", edge="outseam", start=AtNotch("outseam", 1), peak=AlongEdge("outseam", 300.0, "side-waist"), amount=8.0, end=AtCorner("side-hem")),
    DartMove(piece="back", dart="dart-tip", deeper=6.0, longer=-12.0, moved=9.0, towards="side-waist"),
    DartMove(piece="back", dart="dart-tip", into=AlongEdge("outseam", 90.0, "side-waist"), stays="hem"),
    Wedge(piece="back", edge="waist", start=AtCorner("side-waist"), corner="cb-waist", amount=-9.0,
          give_back=(GiveBack("waist", "side-waist"), GiveBack("crotch", "cb-waist"))),
)  # fmt: skip


def test_every_step_is_read_as_it_was_written():
    recipe = Recipe(steps=STEPS, name='Second "fitting"')
    assert parse_recipe(format_recipe(recipe)) == recipe
    assert {type(step) for step in STEPS} == {FitStep, Hinge, Parallel, Scoop, Extend, Taper, DartMove, Wedge}


@pytest.mark.parametrize("move", MOVES)
def test_what_explain_tells_of_a_move_is_read(move):
    pairs = {key: one.value for key, one in {**MOVES[move].keys, **EVERY}.items() if key not in ("overlap", "take")}
    step = parse_step(", ".join([f'move = "{move}"', *(f"{key} = {value}" for key, value in pairs.items())]))
    assert step.piece == "back"
    assert step.give_back == (GiveBack("outseam", "side-waist"),)


def test_what_explain_tells_of_a_fit_is_read():
    step = parse_step(", ".join(f"{key} = {one.value}" for key, one in FIT.keys.items()))
    assert step == FitStep(piece="back", fit="prominent-calf", amount=6.35, sizes=("38", "40"))


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("6.35 mm", 6.35),
        ("1/4 in", 6.35),
        ('1/4"', 6.35),
        ("1 1/2 in", 38.1),
        ("0.5 cm", 5.0),
        ("12", 12.0),
        ("-3 mm", -3.0),
        (".5 inch", 12.7),
        ("2 inches", 50.8),
        ("1/0 in", None),
        ("a quarter", None),
        ("1 2 in", None),
        ("", None),
        ("5 ft", None),
    ],
)
def test_amounts_as_people_write_them(text, mm):
    assert written_length(text) == (None if mm is None else pytest.approx(mm))


def test_a_relief_is_counted_from_the_end_that_is_written_first():
    way = 'move = "hinge", piece = "b", spread = 5, relief = [["0.25 of cut", "waist 20 mm from a"]], '
    one = parse_step(way + 'cut = ["left 10 mm from a", "right 10 mm from b"], hinge = "right"')
    other = parse_step(way + 'cut = ["left 10 mm from a", "right 10 mm from b"], hinge = "left"')
    assert (one.reliefs[0].start, other.reliefs[0].start) == (AlongCut(0.25), AlongCut(0.75))
    assert (one.opens, other.opens) == (AlongEdge("left", 10.0, "a"), AlongEdge("right", 10.0, "b"))


GOOD = 'format = 1\n[[steps]]\nmove = "hinge"\npiece = "back"\ncut = ["outseam 425 mm from side-hem", "inseam 383 mm from crotch-point"]\nhinge = "inseam"\noverlap = "1/4 in"\n'
MISTAKES = [
    ('format = 1\n[[steps]]', 'format = 2\n[[steps]]', "line 1: the recipe is in format 2"),
    ('move = "hinge"', 'move = "hinges"', 'line 3, column 9: there is no move "hinges"; the nearest move is "hinge"'),
    ('piece = "back"\n', "", '[[steps]] has no "piece"; add a line such as piece = "back"'),
    ('overlap = "1/4 in"', 'overlaps = "1/4 in"', 'line 7: unknown key "overlaps" in [[steps]]; the nearest known key is "overlap"'),
    ('overlap = "1/4 in"', 'overlap = "a bit"', 'line 7, column 12: "a bit" is no amount; write it as "6.35 mm" or "1/4 in"'),
    ('overlap = "1/4 in"', 'overlap = "0 mm"', "has to be more than nothing"),
    ('overlap = "1/4 in"', "overlap = true", "is true or false where a number belongs"),
    ('overlap = "1/4 in"', 'overlap = "5 mm"\nspread = "5 mm"', 'has both "spread" and "overlap"'),
    ('overlap = "1/4 in"\n', "", 'has neither "spread" nor "overlap"; write one of them'),
    ('overlap = "1/4 in"', "overlap = 9000", "longer than any piece is altered by"),
    ("outseam 425 mm from side-hem", "outseam 425 mm", 'line 5, column 9: "outseam 425 mm" is no place of a piece; write it as'),
    ("outseam 425 mm from side-hem", "outseam 1/0 mm from side-hem", "is no distance along an edge"),
    ("outseam 425 mm from side-hem", "outseam 140 % from side-hem", '"140 %" is no share of an edge'),
    (', "inseam 383 mm from crotch-point"]', "]", '"cut" has 1 places, and a cut has two ends'),
    ('hinge = "inseam"', 'hinge = "waist"', 'line 6, column 10: the hinge "waist" is no end of the cut; write "outseam" or "inseam"'),
    ('hinge = "inseam"', 'hinge = "inseam"\nrelief = ["0.5 of cut"]', '"relief" is not a list of cuts'),
    ('hinge = "inseam"', 'hinge = "inseam"\nrelief = [["waist", "crotch 20 mm from x"]]', "begins on the cut itself"),
    ('hinge = "inseam"', 'hinge = "inseam"\ngive-back = { edge = "outseam" }', '"end"'),
    ('move = "hinge"', 'move = "hinge"\nfit = "full-seat"', "a step is a fit or a move, and not both"),
    ('[[steps]]', '[[step]]', 'unknown key "step"; the nearest known key is "steps"'),
    (GOOD[11:], "", "the recipe has no steps"),
]  # fmt: skip


@pytest.mark.parametrize(("what", "instead", "told"), MISTAKES, ids=[told[:40] for *_, told in MISTAKES])
def test_a_mistake_is_told_with_its_place(what, instead, told):
    assert parse_recipe(GOOD).steps
    with pytest.raises(RecipeError) as caught:
        parse_recipe(GOOD.replace(what, instead, 1), "calf.alter.toml")
    sentence = str(caught.value)
    assert told in sentence
    assert sentence.startswith("calf.alter.toml")
    assert "\n" not in sentence
    assert not re.search(r"Traceback|KeyError", sentence)
