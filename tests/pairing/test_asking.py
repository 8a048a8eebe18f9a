"""Questions in a sewist's words, and the dialogue that asks them until nobody answers."""

import re
import shutil
from pathlib import Path

import pytest
import solving
from click.testing import CliRunner
from solving import DEMO, edges, line_of

from seamcheck.cli.main import main
from seamcheck.config.plan_file import parse_plan
from seamcheck.pairing.asking import Named, asked, question_of
from seamcheck.pairing.lines import Use
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


def test_an_option_says_what_speaks_for_it_and_what_against_it(demo):
    question = question_of(demo, line_of(demo.classes, "Front.e1"))
    told = {one.words: one.reasons for one in question.options}
    assert "the notch meets" in told["the bottom edge of Band front (227 mm)"]

    def skew(name, top, **more):
        return {"name": name, "outline": [0j, complex(top, 0), complex(top + 40, 700), 700j], "cut": "Cut 2", **more}

    legs = solving.solver_of(skew("Front", 200, notches=[300j]), skew("Back", 230))
    question = question_of(legs, line_of(legs.classes, "Front.e4"))
    assert any("but 1 notch has no mate" in one.reasons for one in question.options)


def test_the_like_edge_of_the_other_piece_is_among_the_options():
    legs = solving.solver_of(
        {"name": "Front", "outline": [0j, 200 + 0j, 240 + 700j, 700j], "cut": "Cut 2", "notches": [300j]},
        {"name": "Back", "outline": [0j, 230 + 0j, 270 + 700j, 700j], "cut": "Cut 2"},
    )
    question = question_of(legs, line_of(legs.classes, "Front.e4"))
    told = {one.words: one.reasons for one in question.options}
    assert "but 1 notch has no mate" in told["the left edge of Back (700 mm)"]


def test_every_option_of_a_question_has_words_of_its_own():
    leg = {"name": "Front", "outline": [0j, 200 + 0j, 240 + 700j, 700j], "cut": "Cut 2", "notches": [300j]}
    question = question_of(legs := solving.solver_of(leg), line_of(legs.classes, "Front.e4"))
    words = [one.words for one in question.options]
    assert "its own mirror twin, along 400 mm from the bottom edge" in words
    assert len(set(words)) == len(words) > 1


def test_an_option_for_a_stretch_of_the_edge_says_which_stretch_is_meant():
    long = {"name": "Long", "outline": [0j, 500 + 0j, 560 + 300j, 300j], "cut": "Cut 1", "notches": [180 + 0j]}
    short = {"name": "Short", "outline": [0j, 180 + 0j, 210 + 90j, 90j], "cut": "Cut 1"}
    question = question_of(legs := solving.solver_of(long, short), line_of(legs.classes, "Long.e1"))
    told = [one.words for one in question.options if "Short" in one.words and one.words.endswith("edge")]
    assert "the top edge of Short (180 mm), along 180 mm from the left edge" in told


def test_a_seam_of_an_edge_with_its_like_is_told_as_its_twin(demo):
    question = question_of(demo, line_of(demo.classes, "Back.e8"))
    assert question.options[0].words == "its own mirror twin"


def test_the_option_that_was_chosen_is_sewn_though_another_is_likelier(demo):
    chosen = []

    def reply(question):
        if chosen:
            return None
        assert len(question.options) > 1
        chosen.append(edges(demo.classes, question.options[-1].candidate))
        return len(question.options) - 1

    assert asked(demo, reply) == 1
    assert chosen[0] in solving.sewn(demo)


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
    """What the plan says is sewn, its questions too."""
    text = re.sub(
        r"^# (\[\[seams\]\]|name = .*|sew = .*|ratio = .*|ease = .*)$", r"\1", result.stdout, flags=re.MULTILINE
    )
    return {frozenset(use.name for side in seam.sides for use in side) for seam in parse_plan(text).seams}


def test_pair_asks_on_the_terminal_and_writes_what_was_answered(tmp_path):
    plain = paired(tmp_path, "d\n")
    shown = plain.stderr.splitlines()
    assert sum(bool(re.fullmatch(r"What is the .+ edge of .+ \(.+ mm\) sewn to\?", line)) for line in shown) == 1
    numbers = [int(line.split()[0]) for line in shown if re.match(r"  \d  .+: \d+% likely", line)]
    assert numbers == list(range(1, len(numbers) + 1))
    assert len(numbers) > 1
    answered = paired(tmp_path, f"{numbers[-1]}\nd\n")  # the least likely: another plan than the one proposed
    assert seams(answered) != seams(plain)
    assert answered.stderr.count("sewn to?") == 2


def test_where_what_is_typed_ends_the_plan_is_written(tmp_path):
    assert seams(paired(tmp_path, "?\n")) == seams(paired(tmp_path, "d\n"))


def test_what_is_no_answer_is_asked_again(tmp_path):
    told = paired(tmp_path, "9\nd\n").stderr
    assert told.count("sewn to?") == 1
    assert told.count("Answer") == 2


def test_an_edge_that_is_said_to_be_free_changes_the_plan(tmp_path):
    assert seams(paired(tmp_path, "f\nf\nd\n")) != seams(paired(tmp_path, "d\n"))


def another(tmp_path, words, before=""):
    """What comes of naming the edge that is told by some words as what the first question asks for, and how it is numbered."""
    shown = paired(tmp_path, f"{before}e\n").stderr.splitlines()
    numbers = [
        row.split()[0] for row in shown if words in row and re.match(r" +\d+  the ", row) and "likely" not in row
    ]
    return paired(tmp_path, f"{before}e\n{numbers[0]}\nd\n"), numbers


def test_another_edge_than_those_offered_can_be_named_by_its_number(tmp_path):
    told, numbers = another(tmp_path, "bottom edge of Facing back")
    assert len(numbers) == 1
    assert any("facing-back" in name for seam in seams(told) - seams(paired(tmp_path, "d\n")) for name in seam)


def test_edges_in_a_row_are_named_one_after_the_other(demo):
    line = line_of(demo.classes, "Front.e1")
    row = [line_of(demo.classes, name) for name in ("Band front.e1", "Band back.e1")]
    assert set(row) <= set(question_of(demo, line).edges)
    demo.question = lambda: line
    replies = iter([Named(tuple(row)), 0])
    asked(demo, lambda question: next(replies, None))
    assert frozenset({"Front.e1", "Band front.e1", "Band back.e1"}) in solving.sewn(demo)


def ways_of_the_inseam(demo, likely):
    """The inseam of the demo walked the two ways, that are made so likely."""
    line, mate = (line_of(demo.classes, name) for name in ("Front.e3", "Back.e7"))
    ways = [one for one, _ in demo.ways((Use(line),), (Use(mate),))]
    assert len(ways) == 2
    for one, share in zip(ways, likely, strict=True):
        demo.likely[demo.candidates.index(one)] = share
    return line, mate, ways


def test_the_other_way_round_is_an_option_where_it_is_not_much_less_likely(demo):
    line, _, ways = ways_of_the_inseam(demo, [0.5, 0.01])
    assert [one.candidate in ways for one in question_of(demo, line).options].count(True) == 1
    ways_of_the_inseam(demo, [0.5, 0.3])
    told = [one.words for one in question_of(demo, line).options if one.candidate in ways]
    assert len(told) == 2
    assert told[0] != told[1]
    assert all(re.search(r", the [a-z0-9 ]+ end of Front at the [a-z0-9 ]+ end of Back$", words) for words in told)


def test_where_nobody_knows_the_way_the_edge_is_settled_and_the_way_is_not_sure(demo):
    line, mate, _ = ways_of_the_inseam(demo, [0.5, 0.3])
    demo.question = lambda: line
    replies = iter([Named((mate,)), Answer.UNKNOWN])
    asked(demo, lambda question: next(replies, None))
    own = [one for one in demo.found if "Front.e3" in edges(demo.classes, one.candidate)]
    assert [edges(demo.classes, one.candidate) for one in own] == [{"Front.e3", "Back.e7"}]
    assert own[0].likely == pytest.approx(0.5 / 0.8)
    assert not own[0].sure
    demo.answer(line, own[0].candidate.second, own[0].candidate.first)  # now it is known
    assert [one.sure for one in demo.found if one.candidate == own[0].candidate] == [True]


@pytest.mark.parametrize(("likely", "questions"), [([0.5, 0.3], 2), ([0.5, 0.01], 1)])
def test_the_way_of_a_named_edge_is_asked_for_where_it_is_not_clear(demo, likely, questions):
    line, mate, ways = ways_of_the_inseam(demo, likely)
    demo.question = lambda: line
    put = []

    def reply(question):
        put.append(question)
        if len(put) > questions:
            return None
        return Named((mate,)) if len(put) == 1 else 1

    asked(demo, reply)
    assert [one.candidate for one in put[1].options] == ways or questions == 1
    (found,) = [one for one in demo.found if edges(demo.classes, one.candidate) == {"Front.e3", "Back.e7"}]
    assert found.candidate == ways[questions - 1]


@pytest.mark.parametrize("typed", ["0", "999", "4+", "waist"])
def test_what_is_no_number_of_an_edge_is_asked_again_in_one_sentence(tmp_path, typed):
    told = paired(tmp_path, f"e\n{typed}\n").stderr
    assert f"'{typed}' is no row of numbers from 1 to" in told
    assert told.count("Number of the edge") == 2
