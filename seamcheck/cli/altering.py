"""The command `alter`: an alteration rehearsed, carried out, or undone."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import click

from seamcheck.cli.options import reading_options
from seamcheck.cli.output import emit, emit_all, refuse_overwriting, render_options, stdout_kept_clean, warn
from seamcheck.cli.shop import (
    faults_named,
    plugins_wanted,
    read_for,
    request_of,
    require_all,
    settings_here,
    shop_of,
)

if TYPE_CHECKING:
    from seamcheck.pattern.recipe import Recipe

JUDGED, FOUND = 0, 1


@click.command(short_help="Rehearse an alteration of a piece, carry it out, or undo it.")
@click.argument("file", type=click.Path(), required=False)
@click.argument("what", metavar="[FIT|RECIPE]", required=False)
@reading_options
@click.option(
    "--piece",
    default="",
    metavar="NAME",
    help="The piece that the fit is made on. Default: by the names in the plan.",
)
@click.option(
    "--amount", metavar='"1/4 in"', help="How much of the fit, in mm or inches. Default: its usual first amount."
)
@click.option(
    "--step",
    "steps",
    multiple=True,
    metavar="KEYS",
    help="A move, as a recipe writes it, with commas between its keys; may be repeated.",
)
@click.option(
    "--output",
    type=click.Path(),
    metavar="NEW",
    help="Write the altered pattern, in the form of FILE; its recipe beside it.",
)
@click.option(
    "--leave", is_flag=True, help="Leave the pieces as they are taped: nothing blended, given back or trued."
)
@click.option(
    "--only-left",
    "only",
    flag_value="left",
    help="Alter the left side alone: what changes is cut as two in NEW, the right as it was.",
)
@click.option("--only-right", "only", flag_value="right", help="The same for the right side.")
@click.option(
    "--undo",
    is_flag=True,
    help="Take out what the recipe beside FILE says; with --output, write the pattern before it.",
)
@click.option("--force", is_flag=True, help="Replace files that are there already.")
@click.option(
    "--picture",
    type=click.Path(),
    metavar="P",
    help="Draw before and after, with the cuts: P.svg, or P.pdf to print at true scale, with a work sheet of the steps.",
)
@click.option(
    "--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="Sheets of the PDF."
)
@click.option(
    "--which", is_flag=True, help="Ask what is seen in the cloth, and tell which fit it is; no FILE is needed."
)
@click.option(
    "--answer",
    "answers",
    multiple=True,
    metavar="QUESTION=ANSWER",
    help="With --which: what was seen, instead of being asked; may be repeated.",
)
@click.option(
    "--format",
    "format_name",
    type=click.Choice(["text", "json", "svg"]),
    default="text",
    show_default=True,
    help="How to tell it.",
)
def alter(
    file: str | None,
    what: str | None,
    piece: str,
    amount: str | None,
    steps: tuple[str, ...],
    output: str | None,
    leave: bool,
    only: Literal["left", "right"] | None,
    undo: bool,
    force: bool,
    picture: str | None,
    paper: str,
    which: bool,
    answers: tuple[str, ...],
    format_name: str,
    **reading: Any,
) -> int:
    """Rehearse an alteration of FILE, or with --output carry it out.

    What is to be done is a FIT by name ("seamcheck explain alter" lists them), a RECIPE (a file NAME.alter.toml), steps given with
    --step, or several of these, in that order.

    A rehearsal tells what each edge, mark, dart and grain arrow would do, which seams would no longer true and by how much, what
    then follows, and what is beyond sense. Carried out, the parts of a piece are turned as paper turns, taped and blended between
    the marks that stay; what was taken is given back where the step says so; then the pattern is trued. In a nest every size is
    altered, at the same share of its edges.

    --which asks what you see in the cloth, one question at a time, and says which fit it is likely to be and how to rule the others
    out. With --answer, or as JSON, nothing is asked.

    Exit code 0: done, and nothing is left to put right. 1: something is. 2: it cannot be done, or not written.
    """
    if which or answers:
        return _which(answers, format_name)
    if file is None:
        raise click.UsageError("missing argument 'FILE'", click.get_current_context())
    if undo:
        return _undo(file, output, force=force)
    if what is None and not steps:
        raise click.UsageError("say what is to be done: a fit, a recipe, or a --step", click.get_current_context())
    if written := [one for one in (output, picture) if one]:
        others = [one for one in read_for(file) if one != Path(file)]
        refuse_overwriting(written, [reading["plan"], *others])
    from seamcheck.altering.rehearse import rehearsed
    from seamcheck.altering.run import alter_file
    from seamcheck.altering.writing import write_altered
    from seamcheck.report.altering.forms import RENDERERS
    from seamcheck.report.altering.work_sheet import sheets
    from seamcheck.report.truing.write import write_picture

    recipe = _recipe(what, piece, amount, steps)
    beside: tuple[str, ...] = ()
    said: tuple[str, ...] = ()
    with stdout_kept_clean(), faults_named(file):
        settings, registry = shop_of(file)
        request = request_of(reading)
        altered = alter_file(file, recipe, request, registry, settings, leave=leave)
        rehearsal = rehearsed(altered, only or "")
        if output is not None:
            _, others_written = write_altered(
                altered, output, request, registry, settings, force=force, only=only or ""
            )
            beside = (output, *others_written)
        texts: list[tuple[str, str | None]] = [
            (RENDERERS[format_name](rehearsal, render_options(None), beside), None)
        ]
        if picture is not None and picture.lower().endswith(".pdf"):
            said = write_picture(altered.trued, picture, None, paper, force=force, sheets=sheets(altered))
        elif picture is not None:
            texts.append((RENDERERS["svg"](rehearsal, render_options(picture), beside), picture))
    for sentence in (*altered.trued.failures, *said):
        warn(sentence)
    emit_all(texts)
    left = [one for size in rehearsal.sizes for one in size.left if one.severity != "note"]
    return FOUND if left and not leave else JUDGED


def _which(given: tuple[str, ...], format_name: str) -> int:
    """Tell which fit it is, by what is answered on the terminal or was given."""
    from seamcheck.cli.choosing import answers_of, ask
    from seamcheck.engine import plugins
    from seamcheck.report.which import RENDERERS

    if format_name not in RENDERERS:
        raise click.UsageError("--which is told as text or json", click.get_current_context())
    with stdout_kept_clean():
        registry = plugins.load_tolerant(settings_here(), checks_only=True, plugins=plugins_wanted())
        require_all(registry)
        answers = answers_of(registry.fits, given)
        if not given and format_name == "text":
            answers = ask(registry.fits, answers)
    emit(RENDERERS[format_name](registry.fits, answers, render_options(None)), None)
    return JUDGED


def _recipe(what: str | None, piece: str, amount: str | None, steps: tuple[str, ...]) -> Recipe:
    """What is to be done, of all that the command line says of it."""
    from seamcheck.config.recipe_file import parse_step, read_recipe, written_length
    from seamcheck.pattern.recipe import FitStep, Recipe, Step

    made: list[Step] = []
    name = path = ""
    is_file = what is not None and (what.endswith(".toml") or Path(what).is_file())
    if what is not None and is_file:
        if amount is not None or piece:
            raise click.UsageError(
                "--amount and --piece are for a fit; a recipe has its own", click.get_current_context()
            )
        read = read_recipe(what)
        made, name, path = list(read.steps), read.name, read.path
    elif what is not None:
        mm = None if amount is None else written_length(amount)
        if amount is not None and mm is None:
            raise click.UsageError(
                f'"{amount}" is no amount; write it as "6 mm" or "1/4 in"', click.get_current_context()
            )
        made = [FitStep(piece=piece, fit=what, amount=mm)]
    elif amount is not None or piece:
        raise click.UsageError("--amount and --piece are for a fit; a step has its own", click.get_current_context())
    return Recipe(steps=(*made, *map(parse_step, steps)), name=name, path=path)


def _undo(file: str, output: str | None, *, force: bool) -> int:
    from seamcheck.altering.writing import undo, write_undone
    from seamcheck.report.altering.told import render_undone

    if output is None:
        _, name, recipe = undo(file)
        emit(render_undone(file, name, recipe, None, render_options(None)), None)
        return JUDGED
    recipe = write_undone(file, output, force=force)
    emit(render_undone(file, output, recipe, output, render_options(None)), None)
    return JUDGED
