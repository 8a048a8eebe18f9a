"""Questions of single edges on the terminal: `pair --ask`."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

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
    click.echo("  f  it stays free    o  it lies on a fold    ?  I do not know    d  done, write the plan", err=True)
    numbers = [str(k) for k in range(1, len(question.options) + 1)]
    try:
        said = click.prompt("Answer", type=click.Choice([*numbers, *WORDS, "d"]), show_choices=False, err=True)
    except click.Abort:
        return None  # the end of what is typed: the plan is written with what was answered
    if said == "d":
        return None
    return WORDS.get(said, int(said) - 1 if said.isdigit() else None)
