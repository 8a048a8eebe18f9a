"""Choosing among fits by what is seen: pure, from the signs that the fits declare."""

from dataclasses import replace
from itertools import combinations

import pytest

from seamcheck.fits import which
from seamcheck.fits.fit import Answer, Fit, Question, Sign
from seamcheck.fits.trousers import all_fits
from seamcheck.fits.which import UNSURE, checked, contenders, differences, next_question, own_answers, ranked
from seamcheck.spelling import UnknownNameError

FITS = tuple(sorted(all_fits(), key=lambda fit: fit.name))
NAMES = [fit.name for fit in FITS]

COLOUR = Question(name="colour", asks="Which?", answers=(Answer("red", "red"), Answer("blue", "blue")))
SHAPE = Question(name="shape", asks="How?", answers=(Answer("round", "round"), Answer("square", "square")))


def made(name, *signs):
    return Fit(
        name=name, title=name, role="back", seen=(), first=1.0, most=2.0, steps=lambda piece, amount: (), source="", signs=signs
    )  # fmt: skip


RED_ROUND = made("red-round", Sign(COLOUR, "red", 3.0), Sign(SHAPE, "round", 2.0))
RED_SQUARE = made("red-square", Sign(COLOUR, "red", 3.0), Sign(SHAPE, "round", -2.0, "no corners", decides=True))
BLUE = made("blue", Sign(COLOUR, "blue", 3.0))
TOYS = (BLUE, RED_ROUND, RED_SQUARE)


def dialogue(fits, answer):
    """What is asked one after the other, and answered by a function of the question."""
    answers = {}
    while (question := next_question(fits, answers)) is not None:
        answers[question.name] = answer(question)
    return answers


class TestPoints:
    def test_an_answer_counts_as_its_sign_says(self):
        told = {one.fit.name: one.points for one in ranked(TOYS, {"colour": "red", "shape": "round"})}
        assert told == {"red-round": 5.0, "red-square": 1.0, "blue": -1.5}

    def test_what_a_fit_has_no_signs_on_says_nothing_of_it(self):
        (blue,) = (one for one in ranked(TOYS, {"shape": "square"}) if one.fit is BLUE)
        assert (blue.points, blue.reasons) == (0.0, ())

    def test_unsure_says_nothing(self):
        assert [one.points for one in ranked(TOYS, {"colour": UNSURE})] == [0.0, 0.0, 0.0]

    def test_what_decides_rules_out_and_says_why(self):
        last = ranked(TOYS, {"colour": "red", "shape": "round"})[-1]
        assert last.fit is RED_SQUARE
        assert last.out is not None
        assert last.out.why == "no corners"

    def test_the_weightiest_reason_comes_first(self):
        first = ranked(TOYS, {"shape": "round", "colour": "red"})[0]
        assert [one.answer.name for one in first.speaks_for] == ["red", "round"]

    def test_a_fit_without_signs_is_not_ranked(self):
        assert ranked([made("mute")], {}) == ()


class TestQuestions:
    def test_the_one_that_parts_best_is_asked_first(self):
        assert next_question(TOYS, {}) is COLOUR

    def test_then_what_tells_those_that_are_left(self):
        assert next_question(TOYS, {"colour": "red"}) is SHAPE

    def test_none_is_asked_where_one_alone_is_left(self):
        assert next_question([RED_ROUND, made("far", Sign(COLOUR, "blue", 20.0))], {"colour": "red"}) is None

    def test_one_that_says_more_of_the_first_is_asked_at_last(self):
        alone = replace(RED_SQUARE, name="alone")
        assert next_question([alone], {"colour": "red"}) is SHAPE

    def test_what_tells_two_apart_names_both_answers(self):
        (one,) = differences(RED_ROUND, BLUE, {})
        assert (one.question, one.one.name, one.other.name) == (COLOUR, "red", "blue")
        assert differences(RED_ROUND, BLUE, {"colour": "red"}) == ()


class TestAnswers:
    def test_a_question_that_is_not_there_names_the_nearest(self):
        with pytest.raises(UnknownNameError, match='no question "color"; the nearest question is "colour"'):
            checked(TOYS, {"color": "red"})

    def test_an_answer_that_is_not_there_names_the_nearest(self):
        with pytest.raises(UnknownNameError, match='no answer "rad"; the nearest answer is "red"'):
            checked(TOYS, {"colour": "rad"})

    def test_what_is_there_passes_and_so_does_unsure(self):
        assert checked(TOYS, {"colour": "red", "shape": UNSURE}) == {"colour": "red", "shape": "?"}


class TestTrousers:
    @pytest.mark.parametrize("fit", FITS, ids=NAMES)
    def test_a_fit_comes_first_for_its_own_signs(self, fit):
        first, second = ranked(FITS, own_answers(fit))[:2]
        assert first.fit is fit
        assert first.points - second.points >= 1.0

    @pytest.mark.parametrize("fit", FITS, ids=NAMES)
    def test_a_fit_is_reached_by_the_questions_that_are_asked(self, fit):
        own = own_answers(fit)
        answers = dialogue(FITS, lambda question: own.get(question.name, UNSURE))
        first, second = ranked(FITS, answers)[:2]
        assert first.fit is fit
        assert first.points - second.points >= 1.0
        assert len(answers) <= 6

    def test_no_two_fits_have_the_same_signs(self):
        for one, other in combinations(FITS, 2):
            assert own_answers(one) != own_answers(other), (one.name, other.name)
            assert differences(one, other, {}), (one.name, other.name)

    @pytest.mark.parametrize("fit", FITS, ids=NAMES)
    def test_no_own_sign_rules_a_fit_out(self, fit):
        assert ranked(FITS, own_answers(fit))[0].out is None

    def test_the_place_is_asked_first(self):
        assert next_question(FITS, {}).name == "place"

    @pytest.mark.parametrize("answer", [one.name for one in which.questions(FITS)[0].answers])
    def test_every_place_leads_to_a_fit_for_it(self, answer):
        first = ranked(FITS, {"place": answer})[0]
        assert first.points >= 4.0

    def test_nobody_who_knows_nothing_is_asked_for_ever(self):
        answers = dialogue(FITS, lambda question: UNSURE)
        assert len(answers) <= len(which.questions(FITS))
        assert len(contenders(ranked(FITS, answers))) == len(FITS)

    @pytest.mark.parametrize(
        ("folds", "cloth", "fit"),
        [
            ("level", "tight", "low-seat"),
            ("level-turned", "tight", "deep-torso"),
            ("slanting-up", "loose", "flat-seat"),
            ("radiating", "tight", "full-seat"),
        ],
    )
    def test_the_kinds_of_folds_under_the_seat_are_told_apart(self, folds, cloth, fit):
        told = ranked(FITS, {"place": "under-seat", "folds": folds, "cloth": cloth})
        assert told[0].fit.name == fit
        assert told[0].points - told[1].points >= 2.0

    def test_loose_folds_rule_out_what_is_tight_and_the_other_way_round(self):
        def out(cloth):
            return {one.fit.name for one in ranked(FITS, {"place": "under-seat", "cloth": cloth}) if one.out}

        assert out("loose") >= {"low-seat", "deep-torso", "full-seat"}
        assert "flat-seat" in out("tight")
        assert "flat-seat" not in out("loose")

    def test_every_sign_is_of_an_answer_that_there_is(self):
        for fit in FITS:
            for sign in fit.signs:
                assert sign.answer in [one.name for one in sign.question.answers], (fit.name, sign)

    def test_every_answer_speaks_for_some_fit_or_for_none_at_all_by_its_words(self):
        spoken = {(sign.question.name, sign.answer) for fit in FITS for sign in fit.signs}
        silent = {
            (question.name, answer.name) for question in which.questions(FITS) for answer in question.answers
        } - spoken
        assert silent == set()
