"""The command alter: what it tells, what it writes, what it refuses, in one sentence each."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from seamcheck.cli.main import main

DEMO = Path(__file__).parents[2] / "fixtures" / "ferryhand"
SCOOP = 'move = "scoop", piece = "back", edge = "crotch", from = "crotch 110 mm from cb-waist", to = "crotch-point", deeper = "1/4 in"'


@pytest.fixture
def demo(tmp_path):
    for name in ("ferryhand.svg", "ferryhand.seams.toml"):
        (tmp_path / name).write_bytes((DEMO / name).read_bytes())
    return tmp_path / "ferryhand.svg"


def alter(*words):
    result = CliRunner().invoke(main, ["--no-plugins", "alter", *map(str, words)])
    return result.exit_code, result.stdout, result.stderr


def test_a_rehearsal_writes_nothing(demo):
    before = sorted(demo.parent.iterdir())
    code, told, _ = alter(demo, "full-seat", "--amount", "1/2 in")
    assert code == 0
    assert "rehearsed: nothing is written; all seams true" in " ".join(told.split())
    assert "spread 12.7 mm (1/2 in)" in " ".join(told.split())
    assert sorted(demo.parent.iterdir()) == before


def test_it_is_carried_out_and_undone(demo):
    new, back = demo.with_name("new.svg"), demo.with_name("old-again.svg")
    code, told, _ = alter(demo, "full-seat", "--step", SCOOP, "--output", new)
    assert code == 0
    assert "2 moves on back, carried out; all seams true" in " ".join(told.split())
    assert new.with_name("new.alter.toml").exists()
    assert new.with_name("new.seams.toml").exists()
    code, told, _ = alter(new, "--undo")
    assert code == 0
    assert "2 steps can be undone" in " ".join(told.split())
    code, told, _ = alter(new, "--undo", "--output", back)
    assert code == 0
    assert back.read_bytes() == demo.read_bytes()
    assert new.exists()
    code, _, _ = alter(new, "--undo", "--output", new, "--force")
    assert code == 0
    assert new.read_bytes() == demo.read_bytes()
    assert not new.with_name("new.alter.toml").exists()


def test_a_recipe_is_made_again_on_another_file(demo):
    new = demo.with_name("new.svg")
    alter(demo, "full-seat", "--step", SCOOP, "--output", new)
    again = demo.with_name("again.svg")
    code, _, _ = alter(demo, new.with_name("new.alter.toml"), "--output", again)
    assert code == 0
    assert again.read_bytes() == new.read_bytes()


def test_left_as_taped_and_as_json(demo):
    code, told, _ = alter(demo, "prominent-calf", "--leave", "--format", "json")
    assert code == 0
    facts = json.loads(told)
    assert facts["left_as_taped"]
    assert facts["written"] is None
    assert {one["check"] for one in facts["sizes"][0]["left"]} >= {"seam-length", "grain-straight"}


def test_one_side_alone_is_altered_and_what_that_leaves_between_the_two_is_told(demo):
    code, told, _ = alter(demo, "full-seat", "--amount", "1/2 in", "--only-left")
    told = " ".join(told.split())
    assert code == 0
    assert "for the left side alone: cut as two, the right as it is" in told
    assert (
        "crotch-back: back.crotch of the left becomes 12.7 mm (1/2 in) longer than that of the right, to which it is sewn"
        in told
    )
    _, told, _ = alter(demo, "gaping-waistband", "--only-right")
    assert (
        "band-back and facing-back are cut on a fold: cut in one, drawn whole, altered on the right half alone"
        in " ".join(told.split())
    )
    assert "Between the two sides" not in alter(demo, "full-seat")[1]


def test_a_picture_of_before_and_after(demo):
    picture = demo.with_name("p.svg")
    code, _, _ = alter(demo, "full-seat", "--picture", picture)
    assert code == 0
    assert "where it is cut" in picture.read_text()
    code, told, _ = alter(demo, "full-seat", "--format", "svg")
    assert code == 0
    assert told == picture.read_text()


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ((), "say what is to be done: a fit, a recipe, or a --step"),
        (("full-seet",), 'there is no fit "full-seet"; the nearest fit is "full-seat"'),
        (("none.alter.toml",), "there is no recipe of this name"),
        (("full-seat", "--amount", "a bit"), '"a bit" is no amount; write it as "6 mm" or "1/4 in"'),
        (("--amount", "3 mm", "--step", SCOOP), "--amount and --piece are for a fit"),
        (("--step", 'move = "scoop"'), '--step, line 1: [[steps]] has no "piece"'),
        (("--step", SCOOP.replace("crotch 110", "crotch 1100")), "crotch 1100 mm from cb-waist lies beyond its end"),
        (("--step", SCOOP.replace('"crotch"', '"croch"')), 'piece back has no edge "croch"; the nearest edge is "crotch"'),
        (("full-seat", "--piece", "frnt"), 'there is no piece "frnt"; the nearest piece is "front"'),
        (("--undo",), "no recipe lies beside it, so nothing says how it was altered"),
        (("full-seat", "--output", "new.dxf"), "the pattern is written in the form of the file read"),
    ],
)  # fmt: skip
def test_what_cannot_be_done_is_one_sentence(demo, words, told):
    code, out, err = alter(demo, *words)
    assert code == 2
    assert out == ""
    assert told in err
    assert err.count("\n") == 1
    assert "Traceback" not in err


def test_a_file_that_is_there_is_not_replaced_unasked(demo):
    new = demo.with_name("new.svg")
    assert alter(demo, "full-seat", "--output", new)[0] == 0
    code, _, err = alter(demo, "full-seat", "--output", new)
    assert code == 2
    assert "the file exists already" in err
    assert alter(demo, "full-seat", "--output", new, "--force")[0] == 0
