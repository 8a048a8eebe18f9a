"""Which fit it is: asked on the terminal, one question at a time, or told by answers that are given: `alter --which`."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import click

from seamcheck.cli.output import render_options
from seamcheck.fits.which import UNSURE, checked, next_question
from seamcheck.report.cautions import OF_FITS
from seamcheck.report.layout import wrap

if TYPE_CHECKING:
    from seamcheck.fits.fit import Fit, Question


def answers_of(fits: Sequence[Fit], words: Sequence[str]) -> dict[str, str]:
    """The answers that are given as "QUESTION=ANSWER"; UsageError for one that is not, or that names what there is not."""
    context = click.get_current_context(silent=True)
    given = {}
    for word in words:
        name, equals, answer = word.partition("=")
        if not equals:
            raise click.UsageError(f'"{word}" is no answer; write it as QUESTION=ANSWER, say cloth=tight', context)
        given[name.strip()] = answer.strip()
    try:
        return checked(fits, given)
    except KeyError as error:
        raise click.UsageError(str(error), context) from None


def ask(fits: Sequence[Fit], answers: dict[str, str]) -> dict[str, str]:
    """The answers with those that are given to further questions on the terminal, until none is left that tells more."""
    for caution in OF_FITS:
        click.echo(wrap(caution, render_options(None)), err=True)
    while (question := next_question(fits, answers)) is not None:
        answer = _ask(question)
        if answer is None:
            break
        answers = {**answers, question.name: answer}
    return answers


def _ask(question: Question) -> str | None:
    """Show a question on stderr, its answers numbered, and read one; None when there is to be no further one."""
    options = render_options(None)
    click.echo(f"\n{wrap(question.asks, options)}", err=True)
    for number, one in enumerate(question.answers, 1):
        click.echo(wrap(f"{number:>2}  {one.words}", options, indent="  ", hanging="      "), err=True)
    click.echo("   ?  I do not know    d  done, tell what it may be", err=True)
    numbers = [str(number) for number in range(1, len(question.answers) + 1)]
    try:
        said = click.prompt("Answer", type=click.Choice([*numbers, UNSURE, "d"]), show_choices=False, err=True)
    except click.Abort:
        return None  # the end of what is typed: it is told by what was answered
    if said == "d":
        return None
    return UNSURE if said == UNSURE else question.answers[int(said) - 1].name
