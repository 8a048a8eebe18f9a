"""Questions in a sewist's words, and the dialogue that asks them until nobody answers."""

import shutil
from pathlib import Path

import pytest
import solving
from click.testing import CliRunner
from solving import DEMO, edges, line_of

from seamcheck.cli.main import main
from seamcheck.config.plan_file import parse_plan
from seamcheck.pairing.asking import asked, question_of
from seamcheck.pairing.solver import Answer

OUTSEAM = {"Front.e5", "Back.e5"}


@pytest.fixture
def demo():
    return solving.solver_of_file()


def option(solver, question, wanted):
    return next(k for k, one in enumerate(question.options) if edges(solver.classes, one.candidate) == wanted)


def test_a_question_names_the_edge_by_its_place_piece_and_length(demo):
    question = question_of(demo, line_of(demo.classes, "Front.e5"))
    assert question.words == "the left edge of Front (1017 mm)"
    one = question.options[option(demo, question, OUTSEAM)]
    assert one.words == "the right edge of Back (1017 mm)"
    assert "as long as each other to 0.2 mm" in one.reasons
    assert "both notches meet" in one.reasons


def test_an_option_says_what_is_sewn_to_the_same_mate_with_it_and_what_speaks_against_it(demo):
    question = question_of(demo, line_of(demo.classes, "Front.e1"))
    told = {one.words: one.reasons for one in question.options}
    assert "the bottom edge of Band front (227 mm)" in told
    assert "but 1 notch has no mate" in told["the bottom edge of Facing front (227 mm)"]


def test_a_seam_of_an_edge_with_its_like_is_told_as_its_twin(demo):
    question = question_of(demo, line_of(demo.classes, "Back.e8"))
    assert question.options[0].words == "its own mirror twin"


def test_the_edge_that_was_chosen_is_sewn_though_a_row_with_the_same_mate_is_likelier(demo):
    def reply(question):
        name = solving.named(demo.classes, question.line)
        return option(demo, question, OUTSEAM) if name in OUTSEAM else None

    assert asked(demo, reply) == 1
    assert OUTSEAM in solving.sewn(demo)


def test_asking_ends_when_nobody_answers(demo):
    shown = []

    def reply(question):
        shown.append(question.line)
        return Answer.UNKNOWN if len(shown) < 3 else None

    assert asked(demo, reply) == 2
    assert len(set(shown)) == 3


def test_asking_ends_when_nothing_is_left_to_ask(demo):
    count = asked(demo, lambda question: Answer.UNKNOWN)
    assert count > 0
    assert demo.question() is None


def paired(tmp_path, typed):
    path = Path(shutil.copy(DEMO, tmp_path))
    result = CliRunner().invoke(
        main, ["--no-plugins", "pair", str(path), "--ask"], input=typed, prog_name="seamcheck"
    )
    assert result.exit_code == 0, result.output
    return result


def seams(result):
    return {frozenset(use.name for side in seam.sides for use in side) for seam in parse_plan(result.stdout).seams}


def test_pair_asks_on_the_terminal_and_writes_what_was_answered(tmp_path):
    first = paired(tmp_path, "d\n").stderr
    assert "What is the right edge of Back (1017 mm) sewn to?" in first
    (number,) = [line.split()[0] for line in first.splitlines() if "  the left edge of Front (1017 mm): " in line]
    plain, answered = paired(tmp_path, "d\n"), paired(tmp_path, f"{number}\nd\n")
    outseam = frozenset({"front.outseam", "back.outseam"})
    assert outseam in seams(answered) - seams(plain)
    assert answered.stderr.count("sewn to?") == 2


def test_where_what_is_typed_ends_the_plan_is_written(tmp_path):
    assert seams(paired(tmp_path, "?\n")) == seams(paired(tmp_path, "d\n"))


def test_what_is_no_answer_is_asked_again(tmp_path):
    told = paired(tmp_path, "9\nd\n").stderr
    assert told.count("sewn to?") == 1
    assert told.count("Answer") == 2


def test_an_edge_that_is_said_to_be_free_is_in_no_seam(tmp_path):
    result = paired(tmp_path, "f\nd\n")
    assert not any("back.right" in seam or "back.outseam" in seam for seam in seams(result))
