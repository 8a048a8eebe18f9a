import sys
from pathlib import Path
from subprocess import run

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seamcheck.config.plan_file import find_plan, format_plan, parse_plan, read_plan
from seamcheck.errors import PlanError
from seamcheck.pattern.plan import AcceptedPlan, DartPlan, EdgeUse, PiecePlan, Plan, SeamPlan, ShapedPlan

GOOD = """\
format = 1
name = "Ferryhand trousers"
units = "mm"
tolerance = 1.6

[pieces.front]
in-file = "Front*"
cut = "pair"
line = "sew"
allowance = 10
allowances = { hem = 40 }
unsewn = ["hem"]
[pieces.front.corners]
side-waist = [0.0, 0.0]
side-hem = [20.0, 1040.0]
in-hem = [220, 1040]
cf-waist = [230.5, 0]
[pieces.front.edges]
outseam = ["side-waist", "side-hem"]
inseam = ["in-hem", "cf-waist"]
waist = ["cf-waist", "side-waist"]
hem = ["side-hem", "in-hem"]

[pieces.back]
[pieces.back.corners]
side-waist = [0.0, 0.0]
side-hem = [20.0, 1040.0]
in-hem = [220, 1040]
cb-waist = [230.5, 0]
dart-in = [60, 0]
dart-tip = [70, 80]
dart-out = [80, 0]
[pieces.back.edges]
outseam = ["side-waist", "side-hem"]
inseam = ["in-hem", "cb-waist"]
waist = ["cb-waist", "dart-out", "dart-in", "side-waist"]

[pieces.band]
cut = "fold"
fold = "cb"
[pieces.band.corners]
a = [0, 0]
b = [0, 40]
[pieces.band.edges]
cb = ["a", "b"]
lower = ["b", "a"]

[[darts]]
piece = "back"
corners = ["dart-in", "dart-tip", "dart-out"]

[[seams]]
name = "outseam"
sew = ["front.outseam", "back.outseam"]
[[seams]]
name = "inseam"
sew = ["front.inseam", "back.inseam"]
ease = [0, 6]
[[seams]]
name = "waist"
sew = [["front.waist", "-back.waist"],
       "band.lower"]
ratio = [1.9, 2.1]
tolerance = 3.0

[[shaped]]
corner = "front.cf-waist"
angle = 140
why = "V neck"

[[accepted]]
check = "seam-length/short"
seam = "inseam"
why = "back inseam is stretched on with the iron"
[[accepted]]
check = "labels"
piece = "band"
edge = "lower"
size = 38
"""


def test_a_good_plan_is_read_whole():
    plan = parse_plan(GOOD, "f.seams.toml")
    assert (plan.path, plan.name, plan.units, plan.tolerance) == ("f.seams.toml", "Ferryhand trousers", "mm", 1.6)
    front, back, band = plan.pieces
    assert front == PiecePlan(
        name="front",
        in_file="Front*",
        cut="pair",
        line="sew",
        allowance=10.0,
        allowances={"hem": 40.0},
        unsewn=("hem",),
        corners={"side-waist": 0j, "side-hem": 20 + 1040j, "in-hem": 220 + 1040j, "cf-waist": 230.5 + 0j},
        edges={
            "outseam": ("side-waist", "side-hem"),
            "inseam": ("in-hem", "cf-waist"),
            "waist": ("cf-waist", "side-waist"),
            "hem": ("side-hem", "in-hem"),
        },
    )
    assert list(front.corners) == ["side-waist", "side-hem", "in-hem", "cf-waist"]
    assert (back.in_file, back.cut, back.fold, back.line, back.allowance) == ("back", "one", None, None, None)
    assert (band.cut, band.fold) == ("fold", "cb")
    assert plan.darts == (DartPlan(piece="back", corners=("dart-in", "dart-tip", "dart-out")),)
    assert plan.seams == (
        SeamPlan(name="outseam", sides=((EdgeUse("front", "outseam"),), (EdgeUse("back", "outseam"),))),
        SeamPlan(name="inseam", sides=((EdgeUse("front", "inseam"),), (EdgeUse("back", "inseam"),)), ease=(0.0, 6.0)),
        SeamPlan(
            name="waist",
            sides=((EdgeUse("front", "waist"), EdgeUse("back", "waist", True)), (EdgeUse("band", "lower"),)),
            ratio=(1.9, 2.1),
            tolerance=3.0,
        ),
    )
    assert plan.shaped == (ShapedPlan(corner=("front", "cf-waist"), angle=140.0, why="V neck"),)
    assert plan.accepted == (
        AcceptedPlan(
            check="seam-length", code="short", seam="inseam", why="back inseam is stretched on with the iron"
        ),
        AcceptedPlan(check="labels", piece="band", edge="band.lower", size="38"),
    )
    header = GOOD.splitlines().index('check = "labels"')
    assert str(plan.accepted[1].place) == f"line {header}"
    assert plan.piece("back") is back
    with pytest.raises(KeyError):
        plan.piece("pocket")


@pytest.mark.parametrize(("unit", "mm"), [("mm", 1.0), ("cm", 10.0), ("in", 25.4)])
def test_every_length_is_converted_once(unit, mm):
    plan = parse_plan(
        GOOD.replace('units = "mm"', f'units = "{unit}"').replace("ratio = [1.9, 2.1]", "ease = -0.5"), "p"
    )
    front = plan.pieces[0]
    assert plan.units == unit
    assert plan.tolerance == 1.6 * mm
    assert front.allowance == 10 * mm
    assert front.allowances["hem"] == 40 * mm
    assert front.corners["side-hem"] == (20 + 1040j) * mm
    assert plan.seams[1].ease == (0.0, 6 * mm)
    assert plan.seams[2].ease == (-0.5 * mm, -0.5 * mm)
    assert plan.seams[2].tolerance == 3 * mm
    assert plan.shaped[0].angle == 140.0


def test_the_default_tolerance_is_a_sixteenth_of_an_inch_whatever_the_units():
    plan = parse_plan('format = 1\nunits = "in"', "p")
    assert plan.tolerance == pytest.approx(25.4 / 16, abs=0.02)
    assert not plan.states_tolerance
    assert parse_plan(GOOD, "p").states_tolerance


WRONG = [
    # old, new, the text of the line the error must name, words of the sentence
    ("format = 1\n", "", None, ['there is no "format"', "format = 1"]),
    ("format = 1", "format = 2", "format = 2", ["format 2", "only format = 1"]),
    ("format = 1", 'format = "1"', 'format = "1"', ["is a text where a number belongs"]),
    ("format = 1", "format = true", "format = true", ["is true or false where a number belongs"]),
    ('units = "mm"', 'units = "m"', 'units = "m"', ['"mm" or "cm" or "in"']),
    ('units = "mm"', "units = 1", "units = 1", ["is a number where a text in quotes belongs"]),
    ("tolerance = 1.6", "tolerence = 1.6", "tolerence = 1.6", ['unknown key "tolerence"', '"tolerance"']),
    ("tolerance = 1.6", "tolerance = -1", "tolerance = -1", ["the tolerance is -1", "greater than 0"]),
    ("tolerance = 1.6", "tolerance = 0", "tolerance = 0", ["greater than 0"]),
    ("tolerance = 1.6", "tolerance = nan", "tolerance = nan", ["is nan, which is no measure"]),
    ("tolerance = 1.6", "tolerance = 1e7", "tolerance = 1e7", ["larger than any pattern"]),
    ("tolerance = 1.6", "tolerance = 1979-05-27", "tolerance = 1979-05-27", ["a date or time"]),
    ("tolerance = 3.0", "tolerance = -3", "tolerance = -3", ["the tolerance is -3"]),
    ('cut = "pair"', 'cut = "twice"', 'cut = "twice"', ['"twice"', '"pair", "one", "fold"']),
    ('cut = "pair"', "cut = 0", "cut = 0", ["1 or more"]),
    ('cut = "pair"', "cut = true", "cut = true", ["number of copies"]),
    ('cut = "pair"', 'cut = "fold"', 'cut = "fold"', ["which edge the fold is", "fold ="]),
    ('cut = "pair"', 'fold = "hen"', 'fold = "hen"', ['edge "hen"', 'nearest edge is "hem"']),
    ("[pieces.front]\n", "[pieces.front]\nalowance = 1\n", "alowance = 1", ["in [pieces.front]", '"allowance"']),
    ("[pieces.front]\n", '[pieces.front]\nin-file = " "\n#', 'in-file = " "', ['"in-file" is empty']),
    ('line = "sew"', 'line = "seam"', 'line = "seam"', ['"sew" or "cut"']),
    ("allowance = 10", "allowance = -10", "allowance = -10", ["below 0"]),
    ("{ hem = 40 }", "{ hen = 40 }", "allowances = { hen = 40 }", ['edge "hen"', '"hem"']),
    ("{ hem = 40 }", "{ hem = inf }", "allowances = { hem = inf }", ["inf, which is no measure"]),
    ("{ hem = 40 }", "40", "allowances = 40", ["is a number where a table belongs"]),
    ('unsewn = ["hem"]', 'unsewn = ["waste"]', 'unsewn = ["waste"]', ['"unsewn"', 'nearest edge is "waist"']),
    ('unsewn = ["hem"]', 'unsewn = "hem"', 'unsewn = "hem"', ["a text where a list of texts"]),
    ("side-hem = [20.0, 1040.0]", "side-hem = [20.0]", "side-hem = [20.0]", ["has 1 value ", "a point [x, y]"]),
    ("side-hem = [20.0, 1040.0]", 'side-hem = [20.0, "x"]', 'side-hem = [20.0, "x"]', ["a number belongs"]),
    ("side-hem = [20.0, 1040.0]", "side-hem = [-inf, 0]", "side-hem = [-inf, 0]", ["-inf, which is no measure"]),
    ("side-hem = [20.0, 1040.0]", "side-hem = 20", "side-hem = 20", ["is a number where a point [x, y] belongs"]),
    ('["side-waist", "side-hem"]', '["side-waste", "side-hem"]', None, ['"side-waste"', 'corner is "side-waist"']),
    ('hem = ["side-hem", "in-hem"]', 'hem = ["side-hem"]', 'hem = ["side-hem"]', ["only one corner"]),
    ('hem = ["side-hem", "in-hem"]', "hem = []", "hem = []", ["no corners"]),
    (
        'hem = ["side-hem", "in-hem"]',
        'hem = ["side-hem", "side-hem", "in-hem"]',
        'hem = ["side-hem", "side-hem", "in-hem"]',
        ["twice in a row"],
    ),
    ('"dart-tip", "dart-out"]\n\n[[seams]]', '"dart-tip"]\n\n[[seams]]', None, ["2 corners", "mouth, tip, mouth"]),
    (
        'corners = ["dart-in", "dart-tip", "dart-out"]',
        'corners = ["dart-in", "dart-tip", "dart-ot"]',
        'corners = ["dart-in", "dart-tip", "dart-ot"]',
        ['"dart-ot"', '"dart-out"'],
    ),
    ('piece = "back"', 'piece = "bakc"', 'piece = "bakc"', ['no piece "bakc"', 'nearest piece is "back"']),
    ('piece = "back"\n', "", "[[darts]]", ['[[darts]] has no "piece"']),
    ("[[darts]]", '[[pleats]]\npiece = "back"\ncorners = ["a"]\n[[darts]]', None, ["pleat names the corner"]),
    ("[[darts]]", '[[pleats]]\ncorners = ["a"]\n[[darts]]', None, ['[[pleats]] has no "piece"']),
    ('name = "outseam"\n', "", "[[seams]]", ['[[seams]] has no "name"']),
    ('name = "outseam"\n', 'name = ""\n', 'name = ""', ["empty name"]),
    ('name = "inseam"', 'name = "outseam"', None, ['a second seam is called "outseam"', "the first is on line"]),
    ('["front.outseam", "back.outseam"]', '["front.outsem", "back.outseam"]', None, ['"front.outseam"']),
    ('["front.outseam", "back.outseam"]', '["frnt.outseam", "back.outseam"]', None, ['"front.outseam"']),
    ('["front.outseam", "back.outseam"]', '["front", "back.outseam"]', None, ["no piece and edge"]),
    ('["front.outseam", "back.outseam"]', '["front.e1", "back.outseam"]', None, ['"front" does not have']),
    ('["front.outseam", "back.outseam"]', '["front.outseam"]', None, ["has 1 side where two"]),
    ('["front.outseam", "back.outseam"]', '"front.outseam"', None, ["has 1 side where two"]),
    ('["front.outseam", "back.outseam"]', '[[], "back.outseam"]', None, ["is empty"]),
    ('["front.outseam", "back.outseam"]', '[1, "back.outseam"]', None, ["no text in quotes"]),
    ("ease = [0, 6]", "eas = [0, 6]", "eas = [0, 6]", ["in [[seams]]", '"ease"']),
    ("ease = [0, 6]", "ease = [6, 0]", "ease = [6, 0]", ["runs from 6 down to 0", "write [0, 6]"]),
    ("ease = [0, 6]", "ease = [0, 6, 7]", "ease = [0, 6, 7]", ["has 3 values"]),
    ("ease = [0, 6]", 'ease = "0"', 'ease = "0"', ["a number belongs"]),
    ("ease = [0, 6]", "ease = [0, nan]", "ease = [0, nan]", ["nan, which is no measure"]),
    ("ease = [0, 6]", "ease-between = [85, 400]", "ease-between = [85, 400]", ["no stretch of a seam with ease"]),
    ("ease = [0, 6]", "ease = 6\nease-between = 85", "ease-between = 85", ["write two distances"]),
    ("ease = [0, 6]", "ease = 6\nease-between = [-5, 85]", "ease-between = [-5, 85]", ["write two distances"]),
    ("ratio = [1.9, 2.1]", "ratio = 0", "ratio = 0", ["greater than 0"]),
    ("ratio = [1.9, 2.1]", "ratio = 2\nease = 1", "ratio = 2", ["both ease and ratio"]),
    ('"band.lower"]', '"band.lover"]', '       "band.lover"]', ['"band.lower"']),
    ('corner = "front.cf-waist"', 'corner = "front.cf"', 'corner = "front.cf"', ['"front.cf-waist"']),
    ("angle = 140", "angle = 0", "angle = 0", ["above 0 and up to 360"]),
    ('check = "labels"\n', "", None, ['[[accepted]] has no "check"']),
    ('check = "labels"\n', 'check = ""\n', 'check = ""', ["is empty"]),
    ("size = 38", "size = 38.5", "size = 38.5", ["a text in quotes belongs"]),
    ("size = 38", "sise = 38", "sise = 38", ['"size"']),
    ("[pieces.band]\n", '[pieces."a.b"]\n[pieces.band]\n', '[pieces."a.b"]', ["cannot be used in a seam"]),
    ("lower = [", "-lower = [", '-lower = ["b", "a"]', ["cannot be used in a seam"]),
    ("[[darts]]", "[darts]", "[darts]", ["write [[darts]] above each"]),
    ("[pieces.band]\n", "[pieces]\nx = 1\n[pieces.band]\n", "x = 1", ["is a number where a table belongs"]),
    ("allowance = 10", "allowance == 10", "allowance == 10", ["not valid TOML"]),
]


@pytest.mark.parametrize(("old", "new", "line", "words"), WRONG, ids=[f"{one[0]}>{one[1]}" for one in WRONG])
def test_a_wrong_plan_is_one_sentence_with_its_line(old, new, line, words):
    assert old in GOOD
    text = GOOD.replace(old, new, 1)
    with pytest.raises(PlanError) as caught:
        parse_plan(text, "f.seams.toml")
    sentence = str(caught.value)
    assert "\n" not in sentence
    for word in words:
        assert word in sentence
    if line is not None:
        assert str(caught.value.place) == f"line {text.splitlines().index(line) + 1}"
        assert sentence.startswith(f"f.seams.toml, {caught.value.place}: ")


def test_the_line_of_an_error_in_a_later_table_of_the_same_kind():
    text = GOOD.replace('"back.inseam"', '"back.insaem"')
    with pytest.raises(PlanError) as caught:
        parse_plan(text, "p")
    row = text.splitlines().index('sew = ["front.inseam", "back.insaem"]') + 1
    assert str(caught.value.place) == f"line {row}"
    assert caught.value.remedy == 'the nearest edge is "back.inseam"'


def test_an_accepted_finding_without_a_reason_is_kept():
    plan = parse_plan('format = 1\n[[accepted]]\ncheck = "labels"\nwhy = " "\n', "p")
    assert plan.accepted == (AcceptedPlan(check="labels"),)


def test_copies_on_the_fold_and_fold_alone():
    plan = parse_plan(GOOD.replace('cut = "fold"', "cut = 2"), "p")
    assert (plan.pieces[2].cut, plan.pieces[2].fold) == (2, "cb")
    plan = parse_plan(GOOD.replace('cut = "fold"\n', ""), "p")
    assert plan.pieces[2].cut == "fold"


def test_files(tmp_path):
    pattern = tmp_path / "a.b.SVG"
    assert find_plan(pattern) is None
    plan_path = tmp_path / "a.b.seams.toml"
    plan_path.write_text(GOOD, encoding="utf-8")
    assert find_plan(str(pattern)) == plan_path
    assert read_plan(plan_path) == parse_plan(GOOD, "")
    assert read_plan(str(plan_path)).path == str(plan_path)
    with pytest.raises(PlanError, match=r"none\.seams\.toml: there is no seam plan of this name"):
        read_plan(tmp_path / "none.seams.toml")
    with pytest.raises(PlanError, match="folder"):
        read_plan(tmp_path)


@pytest.mark.parametrize("units", ["mm", "cm", "in"])
def test_a_plan_that_is_written_reads_back_the_same(units):
    plan = parse_plan(GOOD.replace('units = "mm"', f'units = "{units}"'), "p")
    text = format_plan(plan)
    assert parse_plan(text, "p") == plan
    assert format_plan(parse_plan(text, "p")) == text


NAMES = st.text(min_size=1, max_size=8).filter(lambda name: name.strip() and "." not in name and name[0] != "-")
TEXTS = st.text(max_size=12)
NUMBERS = st.floats(-1e5, 1e5).map(lambda number: round(number, 6))


@st.composite
def plans(draw):
    pieces = []
    for name in draw(st.lists(NAMES, max_size=3, unique=True)):
        corners = draw(st.dictionaries(NAMES, st.builds(complex, NUMBERS, NUMBERS), min_size=3, max_size=5))
        ring = list(corners)
        edges = {
            edge: tuple(ring[index : index + 2])
            for index, edge in enumerate(draw(st.lists(NAMES, min_size=1, max_size=2, unique=True)))
        }
        fold = draw(st.sampled_from([None, *edges]))
        pieces.append(
            PiecePlan(
                name=name,
                in_file=draw(NAMES),
                cut=draw(st.sampled_from(["pair", "one", 3])) if fold is None else "fold",
                fold=fold,
                line=draw(st.sampled_from([None, "sew", "cut"])),
                allowance=draw(st.none() | NUMBERS.map(abs)),
                allowances={edge: draw(NUMBERS.map(abs)) for edge in edges},
                unsewn=tuple(edges)[:1],
                give_back={edge: draw(st.sampled_from(ends)) for edge, ends in edges.items() if draw(st.booleans())},
                corners=corners,
                edges=edges,
            )
        )
    uses = [EdgeUse(piece.name, edge, back) for piece in pieces for edge in piece.edges for back in (False, True)]
    sides = st.lists(st.sampled_from(uses), min_size=1, max_size=3).map(tuple) if uses else st.nothing()
    seams = draw(st.dictionaries(NAMES, st.tuples(sides, sides), max_size=3)) if uses else {}
    span = st.tuples(NUMBERS, NUMBERS).map(lambda pair: (min(pair), max(pair)))
    return Plan(
        name=draw(TEXTS),
        pieces=tuple(pieces),
        darts=tuple(DartPlan(piece=piece.name, corners=tuple(piece.corners)[:3]) for piece in pieces),
        seams=tuple(SeamPlan(name=name, sides=pair, ease=draw(st.none() | span)) for name, pair in seams.items()),
        shaped=tuple(ShapedPlan(corner=(piece.name, next(iter(piece.corners))), why=draw(TEXTS)) for piece in pieces),
        accepted=tuple(
            AcceptedPlan(check="labels", code=draw(st.sampled_from([None, "x"])), size=draw(st.none() | TEXTS))
            for _ in range(draw(st.integers(0, 2)))
        ),
    )


@given(plans())
def test_any_plan_survives_writing_and_reading(plan):
    assert parse_plan(format_plan(plan)) == plan


@pytest.mark.parametrize(("unit", "mm"), [("mm", 1.0), ("cm", 10.0), ("in", 25.4)])
def test_where_the_ease_lies_is_read_and_written_in_the_units_of_the_plan(unit, mm):
    text = GOOD.replace('units = "mm"', f'units = "{unit}"')
    plan = parse_plan(text.replace("ease = [0, 6]", "ease = [0, 6]\nease-between = [8.5, 40]"), "p")
    assert plan.seams[1].ease_between == (8.5 * mm, 40 * mm)
    assert parse_plan(format_plan(plan)) == plan


def test_a_pleat_is_two_corners():
    corner, other = list(parse_plan(GOOD, "p").piece("back").corners)[:2]
    pleat = f'[[pleats]]\npiece = "back"\ncorners = ["{corner}", "{other}"]\n'
    plan = parse_plan(f"{GOOD}\n{pleat}", "p")
    assert [one.corners for one in plan.pleats] == [(corner, other)]
    assert parse_plan(format_plan(plan)) == plan
    with pytest.raises(PlanError, match="the pleat names 1 corners"):
        parse_plan(f"{GOOD}\n{pleat.replace(other, corner)}", "p")


def test_reading_a_plan_needs_no_heavy_library():
    code = "import sys, seamcheck.config.plan_file; print(sorted({'numpy', 'ezdxf', 'networkx'} & set(sys.modules)))"
    result = run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=Path(__file__).parents[2]
    )
    assert result.stdout.strip() == "[]"


def test_masters_are_read_and_written():
    text = """format = 1
[pieces.front]
master = true
corners = { a = [0, 0], b = [0, 9] }
edges = { side = ["a", "b"] }
[pieces.back]
corners = { a = [5, 0], b = [5, 9] }
edges = { side = ["a", "b"] }
[[seams]]
name = "side"
sew = ["front.side", "back.side"]
master = "second"
"""
    plan = parse_plan(text)
    assert [piece.master for piece in plan.pieces] == [True, False]
    assert plan.seams[0].master == "second"
    assert parse_plan(format_plan(plan)) == plan
    with pytest.raises(PlanError, match='is "third"'):
        parse_plan(text.replace('"second"', '"third"'))
    with pytest.raises(PlanError, match="write master = true, or leave it out"):
        parse_plan(text.replace("master = true", 'master = "yes"'))


def test_the_end_at_which_a_slash_is_given_back_is_read_and_written():
    text = """format = 1
[pieces.front]
give-back = { side = "hem" }
corners = { waist = [0, 0], knee = [0, 5], hem = [0, 9] }
edges = { side = ["waist", "knee", "hem"] }
"""
    plan = parse_plan(text)
    assert plan.pieces[0].give_back == {"side": "hem"}
    assert parse_plan(format_plan(plan)) == plan
    with pytest.raises(PlanError, match=r'no end of the edge "front.side".*"waist" or "hem"') as wrong:
        parse_plan(text.replace('side = "hem"', 'side = "knee"'))
    assert wrong.value.place.line == 3
    with pytest.raises(PlanError, match=r'names the edge "sid".*"side"'):
        parse_plan(text.replace("give-back = { side", "give-back = { sid"))
    with pytest.raises(PlanError, match='"give-back"'):
        parse_plan(text.replace("give-back", "giveback"))
