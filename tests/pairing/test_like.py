"""What a pattern with a plan lends to one like it, on trousers whose corners and seams are known as they are drafted."""

import json
import shutil
import sys
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from click.testing import CliRunner

sys.path.insert(0, str(Path(__file__).parents[1]))
sys.path.insert(0, str(Path(__file__).parents[2] / "fixtures"))
sys.path.append(str(Path(__file__).parents[1] / "benchmarks"))

from corpus_drafting.draw import strip
from corpus_drafting.habits import cut_line, laid_out, mirrored, turned
from drafting.alterations import ALTERATIONS
from drafting.ferryhand import SAMPLE, ferryhand
from drafting.shapes import apply
from drafting.sheet import FERRYHAND_SHEET
from drafting.write_svg import svg
from jsonschema import Draft202012Validator
from pairing_lent import lending, of_set

from seamcheck.cli.main import main
from seamcheck.config.plan_file import read_plan
from seamcheck.engine.lending import memories
from seamcheck.engine.propose import propose_seams
from seamcheck.engine.read import Request
from seamcheck.engine.workspace import Shops
from seamcheck.errors import SeamcheckError
from seamcheck.pairing.proposal import Standing
from seamcheck.pairing.text import pairing_json, plan_text
from seamcheck.report.schemas import schema_text

FIXTURES = Path(__file__).parents[2] / "fixtures"
DEMO = FIXTURES / "ferryhand" / "ferryhand.svg"
TRUE = read_plan(DEMO.with_suffix(".seams.toml"))
OUTLINES = {one.name: f"part {number}" for number, one in enumerate(ferryhand(SAMPLE), 11)}  # names that tell nothing


def nameless(pieces):
    return tuple(replace(one, name=OUTLINES.get(one.name, one.name), texts=()) for one in pieces)


def written(pieces, path, sheet=None, **how):
    """The pieces on a sheet, of their own where none is given; each of their corners where it lies there."""
    sheet = sheet or laid_out(tuple(pieces), "Ferryhand")
    path.write_text(svg(tuple(pieces), sheet, **how), encoding="utf-8")
    return {
        (one.name, stretch.start): apply(sheet.hanging(one.key), stretch.curve.start)
        for one in pieces
        for stretch in one.stretches
    }


def like(path, other, reply=None, **asked):
    shops = Shops(plugins=False)
    settings, registry = shops.of(str(path))
    return propose_seams(
        str(path), Request(**asked), registry, settings, reply, memories(str(other), str(path), shops)
    )


def sewn(seam):
    return frozenset(frozenset(use.name for use in side) for side in seam.sides)


TRUE_SEAMS = {sewn(seam) for seam in TRUE.seams}


def by_standing(proposal, standing):
    return {sewn(one.seam) for one in proposal.seams if one.standing is standing}


SMOOTH = ("fly-end",)  # which lies in the crotch line, where nothing marks it


def strays(proposal, corners):
    """The corners that are called as in the other plan and do not lie where they were drafted."""
    known = {piece.name: piece for piece in TRUE.pieces}
    return [
        (piece.name, name)
        for piece in proposal.plan.pieces
        if piece.name in proposal.lent
        for name, at in piece.corners.items()
        if name in known[piece.name].corners and (piece.in_file, name) in corners
        if abs(corners[piece.in_file, name] - at) > (15.0 if name in SMOOTH else 0.5)
    ]


def altered(name):
    """The alteration as it is left, and the pieces that it is of."""
    left = ALTERATIONS[name]().piece
    return tuple(left if one.key == left.key else one for one in ferryhand(SAMPLE))


ALLOWANCE = 6.0  # mm: with more the legs of the dart would cross
TWISTED = ("back", "band-back", "pocket")


@cache
def variants():
    base = ferryhand(SAMPLE)
    return {
        "renamed": nameless(base),
        "turned and turned over": tuple(
            turned(mirrored(one), 90.0) if one.key in TWISTED else turned(one, 180.0) for one in nameless(base)
        ),
        "graded bigger": nameless(ferryhand("46")),
        "graded smaller, named": ferryhand("34"),
        "another allowance": tuple(cut_line(one, ALLOWANCE, ALLOWANCE) for one in nameless(base)),
    }


@pytest.mark.parametrize("name", sorted(variants()))
def test_the_same_trousers_are_lent_all_and_nothing_wrong(name, tmp_path):
    cut = name == "another allowance"
    sheet = None if "turned" in name else FERRYHAND_SHEET
    corners = written(variants()[name], tmp_path / "new.svg", sheet, line="cut line" if cut else "sew line")
    found = like(tmp_path / "new.svg", DEMO, allowance=ALLOWANCE if cut else None)
    assert strays(found, corners) == []
    assert {piece.in_file: piece.name for piece in found.plan.pieces} == {
        one.name: key for one, key in zip(variants()[name], [piece.key for piece in ferryhand(SAMPLE)], strict=True)
    }
    # The legs of its dart are drawn with an allowance too, so that the waist of the back is longer than its band.
    wanted = TRUE_SEAMS - {one for one in TRUE_SEAMS if cut and any("back.waist" in side for side in one)}
    told = by_standing(found, Standing.SURE) | by_standing(found, Standing.GUESS)
    assert by_standing(found, Standing.SURE) <= TRUE_SEAMS
    assert {one for one in TRUE_SEAMS if any("front.inseam" in side for side in one)} <= by_standing(
        found, Standing.SURE
    )
    assert told >= wanted


def test_what_is_lent_says_where_it_is_from(tmp_path):
    written(nameless(ferryhand("46")), tmp_path / "new.svg")
    found = like(tmp_path / "new.svg", DEMO)
    seam = next(one for one in found.seams if one.seam.name == "outseam")
    assert seam.standing is Standing.SURE
    assert seam.reasons[0].words == "as in ferryhand.svg, where front.outseam is sewn to back.outseam"
    assert found.lent["front"].startswith("front of ferryhand.svg, by its form, ")
    text = plan_text(found, "new.svg")
    assert "# Taken for front of ferryhand.svg, by its form" in text
    front, back = (
        next(piece for piece in found.plan.pieces if piece.name == name) for name in ("front", "band-back")
    )
    assert (front.cut, front.unsewn) == ("pair", ("hem", "centre-front"))
    assert (back.cut, back.fold) == ("fold", "fold")
    told = pairing_json(found, "new.svg")["lent"]
    assert [one["piece"] for one in told] == list(found.lent)
    assert all(one["from"] for one in told)


@pytest.mark.parametrize("name", ["prominent-calf", "full-seat", "deep-torso"])
def test_a_seam_that_an_alteration_parted_is_asked_about_with_what_is_otherwise(name, tmp_path):
    corners = written(nameless(altered(name)), tmp_path / "new.svg")
    found = like(tmp_path / "new.svg", DEMO)
    assert strays(found, corners) == []
    assert by_standing(found, Standing.SURE) <= TRUE_SEAMS
    parted = [one for one in found.seams if abs(one.lengths[0] - one.lengths[1]) > 5.0]
    for one in parted:
        assert one.standing is Standing.GUESS
        assert "but there they are as long as each other and here they differ by" in one.reasons[1].words
    assert parted or name != "prominent-calf"


def test_a_piece_that_the_other_has_not_is_paired_as_ever(tmp_path):
    welt = strip("welt", "Welt", 160.0, 40.0)
    base = nameless(ferryhand(SAMPLE))
    corners = written((*base, welt), tmp_path / "new.svg")
    found = like(tmp_path / "new.svg", DEMO)
    assert strays(found, corners) == []
    assert "welt" not in found.lent
    assert len(found.plan.pieces) == len(base) + 1
    assert by_standing(found, Standing.SURE) <= TRUE_SEAMS


def test_the_words_of_the_file_go_before_what_is_lent(tmp_path):
    base = tuple(replace(one, cut="1") if one.key == "pocket" else one for one in ferryhand(SAMPLE))
    written(base, tmp_path / "new.svg")
    text = (tmp_path / "new.svg").read_text(encoding="utf-8").replace("Cut 2", "Cut 4")
    (tmp_path / "new.svg").write_text(text, encoding="utf-8")
    found = like(tmp_path / "new.svg", DEMO)
    pocket = next(piece for piece in found.plan.pieces if piece.in_file == "Patch pocket")
    assert pocket.cut == 4


def test_a_name_that_says_otherwise_is_believed(tmp_path):
    """The front is called a back and the back a front: neither is taken for what its form tells."""
    names = {"Front": "Back", "Back": "Front"}
    written(
        tuple(replace(one, name=names.get(one.name, one.name), texts=()) for one in ferryhand(SAMPLE)),
        tmp_path / "new.svg",
    )
    found = like(tmp_path / "new.svg", DEMO)
    assert not any("form" in found.lent.get(piece, "") for piece in ("front", "back"))


def test_a_plan_of_the_file_goes_before_what_is_lent(tmp_path):
    path = tmp_path / "new.svg"
    shutil.copy(DEMO, path)
    text = DEMO.with_suffix(".seams.toml").read_text(encoding="utf-8")
    head = text.partition("[[seams]]")[0].replace("outseam =", "side =").replace('"outseam"', '"side"')
    mine = '[[seams]]\nname = "side"\nsew = ["front.side", "back.side"]\n'
    path.with_suffix(".seams.toml").write_text(head + mine, encoding="utf-8")
    found = like(path, DEMO)
    assert [one.seam.name for one in found.seams if one.standing is Standing.WRITTEN] == ["side"]
    others = [one for one in found.seams if one.standing is not Standing.WRITTEN]
    assert {sewn(one.seam) for one in others} == {one for one in TRUE_SEAMS if "outseam" not in str(one)}
    assert found.lent == {}


def test_the_folder_of_a_shop_lends_by_what_is_nearest(tmp_path):
    shop = tmp_path / "shop"
    (shop / "skirts").mkdir(parents=True)
    for pair in [*of_set("corpus", ["harbour-straight-skirt", "umpire-shirt", "gangway-gored-skirt"])][::2]:
        shutil.copy(pair.other, shop / "skirts")
        shutil.copy(pair.other.with_suffix(".seams.toml"), shop / "skirts")
    shutil.copy(DEMO, shop)
    shutil.copy(DEMO.with_suffix(".seams.toml"), shop)
    corners = written(nameless(ferryhand("44")), tmp_path / "new.svg")
    found = like(tmp_path / "new.svg", shop)
    assert strays(found, corners) == []
    assert all(" of ferryhand.svg, " in told for told in found.lent.values())
    assert by_standing(found, Standing.SURE) <= TRUE_SEAMS
    assert len(found.lent) == len(TRUE.pieces)


@pytest.mark.parametrize(
    "slug", ["steward-waistcoat", "orchestra-princess-bodice", "starter-trousers-slant-pocket", "umpire-shirt"]
)
def test_altered_and_bare_garments_are_lent_nothing_wrong(slug):
    for pair in of_set("corpus", [slug]):
        found = lending(pair)
        assert found is not None
        lent = [
            (one, hit)
            for one, hit in zip(found.proposal.seams, found.hits, strict=True)
            if one.reasons and one.reasons[0].term == "memory"
        ]
        assert all(hit for _, hit in lent)
        assert len({seam for _, hit in lent for seam in hit}) >= found.seams - 1


def test_answers_go_on_from_what_is_lent(tmp_path):
    written(altered("prominent-calf"), tmp_path / "new.svg")
    asked = []
    found = like(tmp_path / "new.svg", DEMO, reply=asked.append)
    assert "as in ferryhand.svg" in asked[0].options[0].reasons
    assert by_standing(found, Standing.SURE) <= TRUE_SEAMS
    assert len(asked) <= 1


@pytest.mark.parametrize(
    ("prepare", "says"),
    [
        (
            lambda at: shutil.copy(DEMO, at / "other.svg"),
            "there is no seam plan beside it, so it has nothing to lend",
        ),
        (lambda at: at / "new.svg", "the pattern is to be paired like itself"),
        (lambda at: (at / "empty").mkdir() or at / "empty", "no pattern with a seam plan is in this folder"),
        (lambda at: at / "nowhere.svg", "nowhere.svg"),
    ],
)
def test_what_cannot_lend_is_told_in_a_sentence(prepare, says, tmp_path):
    written(nameless(ferryhand(SAMPLE)), tmp_path / "new.svg")
    other = prepare(tmp_path)
    with pytest.raises(SeamcheckError, match=says):
        like(tmp_path / "new.svg", other)


def test_a_folder_in_which_only_the_file_itself_has_a_plan_is_told(tmp_path):
    shutil.copy(DEMO, tmp_path / "new.svg")
    shutil.copy(DEMO.with_suffix(".seams.toml"), tmp_path / "new.seams.toml")
    with pytest.raises(SeamcheckError, match="no pattern but this one has a seam plan in this folder"):
        like(tmp_path / "new.svg", tmp_path)


def test_a_pattern_of_another_family_lends_nothing(tmp_path):
    written((strip("welt", "Welt", 160.0, 40.0),), tmp_path / "new.svg")
    pair = next(of_set("corpus", ["chorus-half-circle-skirt"]))
    with pytest.raises(SeamcheckError, match="so nothing can be lent"):
        like(tmp_path / "new.svg", pair.other)


def test_the_command_writes_a_plan_that_names_what_it_is_like(tmp_path):
    written(nameless(ferryhand("44")), tmp_path / "new.svg")
    plan = tmp_path / "new.seams.toml"
    ran = CliRunner().invoke(main, ["pair", str(tmp_path / "new.svg"), "--like", str(DEMO), "--format", "json"])
    told = json.loads(ran.stdout)
    Draft202012Validator(json.loads(schema_text("pair"))).validate(told)
    assert {one["piece"] for one in told["lent"]} == {piece.name for piece in TRUE.pieces}
    ran = CliRunner().invoke(main, ["pair", str(tmp_path / "new.svg"), "--like", str(DEMO), "--output", str(plan)])
    assert ran.exit_code == 0, ran.output
    assert {sewn(seam) for seam in read_plan(plan).seams} <= TRUE_SEAMS
    assert "as in ferryhand.svg, where" in plan.read_text(encoding="utf-8")
    ran = CliRunner().invoke(main, ["pair", str(tmp_path / "new.svg"), "--like", str(tmp_path / "no.svg")])
    assert ran.exit_code == 2
