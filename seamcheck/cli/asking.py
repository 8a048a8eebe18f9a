"""Questions of single edges on the terminal: `pair --ask`."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from seamcheck.pairing.asking import Named
from seamcheck.pairing.solver import Answer

if TYPE_CHECKING:
    from seamcheck.pairing.asking import Question, Reply

WORDS = {"f": Answer.FREE, "o": Answer.FOLD, "?": Answer.UNKNOWN}
MOST_REASONS = 3


def ask_on_terminal(question: Question) -> Reply:
    """Show a question on stderr and read what is answered; None when there is to be no further one."""
    click.echo(f"\nWhat is {question.words} sewn to?", err=True)
    for number, one in enumerate(question.options, 1):
        why = "; ".join(one.reasons[:MOST_REASONS])
        click.echo(f"  {number}  {one.words}: {one.likely:.0%} likely{f', {why}' if why else ''}", err=True)
    click.echo(
        "  e  another edge    f  it stays free    o  it lies on a fold    ?  I do not know    d  done, write the plan",
        err=True,
    )
    numbers = [str(k) for k in range(1, len(question.options) + 1)]
    try:
        said = click.prompt("Answer", type=click.Choice([*numbers, *WORDS, "e", "d"]), show_choices=False, err=True)
        if said == "e":
            return _another(question)
    except click.Abort:
        return None  # the end of what is typed: the plan is written with what was answered
    if said == "d":
        return None
    return WORDS.get(said, int(said) - 1 if said.isdigit() else None)


def _another(question: Question) -> Reply:
    """Which of all edges it is sewn to, one or some one after the other."""
    lines = list(question.edges)
    for number, line in enumerate(lines, 1):
        click.echo(f"  {number:3}  {question.edges[line]}", err=True)

    def told(text: str) -> list[int]:
        words = [word.strip() for word in text.split("+")]
        if not all(word.isdecimal() and 1 <= int(word) <= len(lines) for word in words):
            raise click.BadParameter(
                f"{text!r} is no row of numbers from 1 to {len(lines)}; write 4, or 4+7 where two edges follow each other"
            )
        return [lines[int(word) - 1] for word in words]

    words = "Number of the edge; of several that follow each other along it, with + between"
    return Named(tuple(click.prompt(words, value_proc=told, err=True)))
