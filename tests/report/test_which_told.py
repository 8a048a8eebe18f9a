"""Which fit it is, as it is told: for the eye, and as JSON that its schema describes."""

import json

import pytest
from jsonschema import Draft202012Validator

from seamcheck.config.settings import Settings
from seamcheck.engine.plugins import load
from seamcheck.engine.report_format import RenderOptions
from seamcheck.fits.which import own_answers, questions
from seamcheck.report.schemas import schema
from seamcheck.report.which import RENDERERS, how_to_tell

FITS = load(Settings(), checks_only=True).fits
BY_NAME = {fit.name: fit for fit in FITS}
OPTIONS = RenderOptions(width=100)


def flat(text: str) -> str:
    return " ".join(text.split())


def told(**answers: str) -> str:
    return flat(RENDERERS["text"](FITS, answers, OPTIONS))


def as_json(**answers: str) -> dict:
    return json.loads(RENDERERS["json"](FITS, answers, OPTIONS))


def test_without_answers_all_questions_are_told():
    text = told()
    for question in questions(FITS):
        assert flat(f"{question.name}: {question.asks}") in text
        for answer in question.answers:
            assert flat(f"{answer.name} {answer.words}") in text
    assert "--answer QUESTION=ANSWER" in text


@pytest.mark.parametrize("fit", FITS, ids=lambda fit: fit.name)
def test_the_likeliest_is_named_with_what_to_do_next(fit):
    text = told(**own_answers(fit))
    assert f"Likeliest: {fit.name} ({fit.title})" in text
    assert f"seamcheck alter FILE {fit.name} --amount" in text
    assert "Reading cloth is no exact science" in text
    assert "one change at a time" in text


def test_what_is_ruled_out_says_why_and_only_where_it_was_in_question():
    text = told(place="under-seat", folds="slanting-up", cloth="loose")
    assert "Likeliest: flat-seat" in text
    out = text.partition("Ruled out:")[2]
    assert "full-seat a seat that is too full for its cloth leaves none to pinch" in out
    assert "full-tummy" not in out


def test_those_that_are_alike_are_told_apart_by_a_question():
    text = told(place="under-seat")
    assert "these are as likely as one another: deep-torso, flat-seat and low-seat" in text
    assert "it is loose, a fold of it can be pinched and laid over: flat-seat" in text
    assert "--amount" not in text


def test_the_runner_up_comes_with_how_to_tell_it():
    text = told(place="under-seat", folds="level", cloth="tight")
    assert "Or: deep-torso" in text
    assert "To tell them: of deep-torso, the ends of its folds turn up or down" in text
    assert "full low down, where the seat goes over into the leg: low-seat" in text


def test_what_asks_for_less_shows_an_amount_with_a_minus():
    text = told(place="crotch", crotch="low")
    assert "Likeliest: crotch-depth" in text
    assert "With a minus before the amount it takes out as much" in text
    assert '--amount "-1/2 in"' in text
    assert '--amount "1/2 in"' in told(place="crotch", crotch="high")


def test_what_speaks_for_nothing_says_so():
    assert "speaks for none of the fits" in told(knees="both")


def test_either_of_two_fits_may_say_how_to_tell_them():
    assert how_to_tell(BY_NAME["low-seat"], BY_NAME["full-thigh"]).startswith("of low-seat, ")
    assert how_to_tell(BY_NAME["leg-length"], BY_NAME["knock-knees"]) == ""


@pytest.mark.parametrize(
    "answers",
    [{}, {"place": "under-seat"}, {"place": "?"}, {"place": "under-seat", "folds": "level", "cloth": "tight"}],
)
def test_json_is_what_its_schema_says(answers):
    assert [error.message for error in Draft202012Validator(schema("which")).iter_errors(as_json(**answers))] == []


def test_json_says_what_to_ask_next_until_nothing_tells_more():
    answers: dict[str, str] = {}
    own = own_answers(BY_NAME["low-seat"])
    while (following := as_json(**answers)["next"]) is not None:
        answers[following] = own.get(following, "?")
    assert as_json(**answers)["fits"][0]["name"] == "low-seat"


def test_json_names_the_likeliest_as_the_text_does():
    assert as_json()["likeliest"] == []
    assert as_json(place="under-seat")["likeliest"] == ["deep-torso", "flat-seat", "low-seat"]
    assert as_json(place="under-seat", folds="slanting-up", cloth="loose")["likeliest"] == ["flat-seat"]
