"""Questions of the cloth on the terminal, and answers that are given on the command line."""

import json

import click
import pytest
from click.testing import CliRunner

from seamcheck.cli.choosing import answers_of, ask
from seamcheck.cli.main import main
from seamcheck.config.settings import Settings
from seamcheck.engine.plugins import load
from seamcheck.fits.which import own_answers, questions, ranked

FITS = load(Settings(), checks_only=True).fits
NUMBERS = {
    question.name: {answer.name: str(number) for number, answer in enumerate(question.answers, 1)}
    for question in questions(FITS)
}


def flat(text: str) -> str:
    return " ".join(text.split())


@click.command()
def asked() -> None:
    for name, answer in ask(FITS, {}).items():
        click.echo(f"{name}={answer}")


def dialogue(*said: str):
    result = CliRunner().invoke(asked, input="".join(f"{one}\n" for one in said))
    assert result.exit_code == 0, result.output
    return result.stdout.split(), result.stderr


@pytest.mark.parametrize("fit", FITS, ids=lambda fit: fit.name)
def test_who_answers_what_a_fit_looks_like_is_led_to_it(fit):
    own = own_answers(fit)
    answers: dict[str, str] = {}
    said: list[str] = []
    for _ in questions(FITS):
        told, shown = dialogue(*said, "d")
        answers = dict(one.split("=") for one in told)
        question = next(
            (one for one in questions(FITS) if one.name not in answers and flat(one.asks) in flat(shown)), None
        )
        if question is None:
            break
        said.append(NUMBERS[question.name].get(own.get(question.name, ""), "?"))
    assert ranked(FITS, answers)[0].fit is fit


def test_one_question_at_a_time_with_its_answers_numbered():
    _, shown = dialogue("d")
    assert shown.count("Answer") == 1
    assert "   1  in the small of the back, just under the waistband" in shown
    assert "no exact science" in shown


def test_the_end_of_what_is_typed_ends_the_questions():
    told, _ = dialogue("3")
    assert told == ["place=under-seat"]


def test_what_is_no_answer_is_asked_again():
    told, shown = dialogue("99", "3", "d")
    assert told == ["place=under-seat"]
    assert "is not one of" in shown


def test_who_does_not_know_goes_on():
    told, _ = dialogue("?", "d")
    assert told == ["place=?"]


class TestGiven:
    def test_answers_are_read_by_their_names(self):
        assert answers_of(FITS, ["place=under-seat", "cloth = tight"]) == {"place": "under-seat", "cloth": "tight"}

    @pytest.mark.parametrize(
        ("word", "message"),
        [
            ("tight", '"tight" is no answer; write it as QUESTION=ANSWER, say cloth=tight'),
            ("clot=tight", 'no question "clot"; the nearest question is "cloth"'),
            ("cloth=tigth", 'no answer "tigth"; the nearest answer is "tight"'),
        ],
    )
    def test_what_there_is_not_is_refused_with_the_nearest(self, word, message):
        with pytest.raises(click.UsageError) as error:
            answers_of(FITS, [word])
        assert message in error.value.format_message()


class TestCommand:
    """`alter --which`: the whole way."""

    def run(self, *words: str, said: str = ""):
        return CliRunner().invoke(main, ["alter", "--which", *words], input=said)

    def test_it_asks_and_tells(self):
        result = self.run(said=f"{NUMBERS['place']['under-seat']}\n{NUMBERS['folds']['radiating']}\nd\n")
        assert result.exit_code == 0
        assert "Likeliest: full-seat (Full seat)" in result.stdout
        assert "Where does the cloth look wrong?" in result.stderr
        assert "Where does the cloth look wrong?" not in result.stdout

    def test_answers_that_are_given_are_not_asked_for(self):
        result = self.run("--answer", "place=under-seat", "--answer", "folds=level", "--answer", "cloth=tight")
        assert result.exit_code == 0
        assert "Likeliest: low-seat" in result.stdout
        assert result.stderr == ""

    def test_as_json_nothing_is_asked(self):
        result = self.run("--format", "json")
        assert result.exit_code == 0
        assert json.loads(result.stdout)["next"] == "place"
        assert result.stderr == ""

    def test_a_wrong_answer_is_refused_in_one_sentence(self):
        result = self.run("--answer", "cloth=tigth")
        assert result.exit_code == 2
        assert result.stdout == ""
        (line,) = result.stderr.splitlines()
        assert 'the question "cloth" has no answer "tigth"; the nearest answer is "tight"' in line

    def test_it_is_no_picture(self):
        result = self.run("--format", "svg")
        assert result.exit_code == 2
        assert "--which is told as text or json" in result.stderr
