"""What `explain drawing` tells is what is read, and the drawing that shows it reads without a note."""

import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from seamcheck.cli.main import main
from seamcheck.config.settings import Settings
from seamcheck.engine.plugins import load
from seamcheck.engine.read import Request, read
from seamcheck.engine.report_format import RenderOptions
from seamcheck.pattern.drawing import Role
from seamcheck.pattern.words import ROLE_WORDS, allowance_words, piece_name, role_in, words_of
from seamcheck.reading.dxf import apparel_blocks
from seamcheck.report.explain import drawing

FIXTURES = Path(__file__).parents[2] / "fixtures"
HOW_TO = FIXTURES / "how-to-draw.svg"


def told() -> str:
    return " ".join(drawing.tell(load(Settings(), checks_only=True), Settings(), RenderOptions(width=100)).split())


def test_the_command_tells_it():
    result = CliRunner().invoke(main, ["explain", "drawing"])
    assert result.exit_code == 0
    assert " ".join(result.stdout.split()) == told()
    assert "drawing" in CliRunner().invoke(main, ["explain", "drawin"]).stderr


@pytest.mark.parametrize("role", Role)
def test_every_role_is_told_with_all_its_words(role):
    assert f"{role.value}: " in told()
    for words, alone in zip(words_of(role), (False, True), strict=True):
        assert words in told()
        for word in words.replace(";", ",").split(","):
            if word.strip():
                assert role_in(word.strip(), own=alone) is not None


def test_words_of_an_allowance_name_no_piece():
    assert all(piece_name(word) == "" for word in allowance_words())
    assert ", ".join(allowance_words()) in told()


def test_the_layers_are_those_that_are_read():
    roles = {
        1: Role.OUTLINE,
        4: Role.NOTCH,
        6: Role.FOLD,
        7: Role.GRAIN,
        8: Role.INTERNAL,
        11: Role.CUTOUT,
        13: Role.DRILL,
        14: Role.SEW,
        15: Role.LABEL,
    }
    assert {number: apparel_blocks.line_role(number) for number in roles} == roles
    assert set(drawing.LAYERS) == {*roles, apparel_blocks.TURN, apparel_blocks.CURVE, min(apparel_blocks.VALIDATION)}
    assert "sew" in ROLE_WORDS  # as the settings in the last paragraph call it


@pytest.fixture(scope="module")
def pattern():
    settings = Settings()
    return read(str(HOW_TO), Request(second_reading=True), load(settings), settings)[0]


def test_the_drawing_is_what_its_script_draws():
    sys.path.insert(0, str(FIXTURES))
    import draft_how_to

    assert HOW_TO.read_text(encoding="utf-8") == draft_how_to.sheet()


def test_the_drawing_reads_without_a_note(pattern):
    assert [note.code for note in pattern.notes] == ["second-reading"]
    assert (pattern.second.differences, pattern.second.explained) == ((), ())
    assert pattern.unused == ()
    assert pattern.open_outlines == ()
    assert [one.right for one in pattern.scale] == [True]


def test_the_drawing_shows_every_habit(pattern):
    pieces = {piece.name: piece for piece in pattern.pieces}
    assert list(pieces) == ["Front", "Back", "Band front", "Band back"]
    assert {piece.size for piece in pattern.pieces} == {"40"}
    assert {piece.line for piece in pattern.pieces} == {"sew"}
    assert all(piece.outline is not piece.drawn for piece in pattern.pieces)
    assert {name: piece.labels["quantity"] for name, piece in pieces.items()} == {
        "Front": "1",
        "Back": "2",
        "Band front": "1",
        "Band back": "2",
    }
    assert all(len(piece.grainlines) == 1 for piece in pattern.pieces)
    assert [len(piece.folds) for piece in pattern.pieces] == [1, 0, 1, 0]
    assert len(pieces["Front"].drill_holes) == 2
    assert [line.role for line in pieces["Front"].inside] == [Role.INTERNAL]
    notches = [notch.count for edge in pieces["Back"].edges for notch in edge.notches]
    assert sorted(notches) == [1, 1, 2]
    assert max(corner.angle for corner in pieces["Back"].corners) > 340  # the tip of a dart


def test_the_skirt_of_the_drawing_trues():
    result = CliRunner().invoke(main, ["check", str(HOW_TO)])
    assert "nothing to put right" in result.stdout
