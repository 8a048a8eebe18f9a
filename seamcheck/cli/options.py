"""Options that several commands share: how a file is to be read, and how a result is told and where it goes."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any

import click


def a_number(context: click.Context, parameter: click.Parameter, value: float | None) -> float | None:
    """Refuse nan, which passes every comparison with a limit, and infinity."""
    if value is not None and not math.isfinite(value):
        raise click.BadParameter(f"{value} is not a number", context, parameter)
    return value


def a_resolution(context: click.Context, parameter: click.Parameter, value: float | None) -> float | None:
    """Refuse a number of pixels per inch that leaves nothing to measure."""
    value = a_number(context, parameter, value)
    if value is not None and value <= 0:
        raise click.BadParameter(
            f"{value:g} is no number of pixels per inch; give one above 0, say 96", context, parameter
        )
    return value


SETTINGS = "seamcheck.settings"  # where the context of a run keeps the file that was named


def _keep_settings(context: click.Context, parameter: click.Parameter, value: str | None) -> None:
    context.meta[SETTINGS] = value


settings_option = click.option(
    "--settings",
    type=click.Path(),
    metavar="FILE",
    expose_value=False,
    callback=_keep_settings,
    help="Settings of yours, in the stead of those of the folder; its plugin files are run.",
)


def reading_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """The options that say how a file is to be read, for every command that reads one."""
    for decorate in reversed(
        [
            click.option(
                "--plan", type=click.Path(), metavar="P", help="The seam plan. Default: beside the pattern."
            ),
            click.option("--size", "sizes", multiple=True, metavar="S", help="Only this size; may be repeated."),
            click.option("--units", type=click.Choice(["mm", "cm", "in"]), help="What the file is drawn in."),
            click.option("--line", type=click.Choice(["sew", "cut"]), help="Which line the outlines are."),
            click.option(
                "--allowance",
                type=click.FloatRange(0),
                callback=a_number,
                metavar="N",
                help="Seam allowance in mm, where the outlines are cut lines.",
            ),
            click.option(
                "--dpi",
                type=float,
                callback=a_resolution,
                metavar="N",
                help="Pixels per inch of an SVG. Default: 96.",
            ),
            click.option("--encoding", metavar="E", help="How the letters of a DXF are stored, such as cp1252."),
            settings_option,
        ]
    ):
        command = decorate(command)
    return command


def cluster_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """The options for a run that is spread over more than one machine."""
    command = click.option(
        "--send",
        type=click.Choice(["bytes", "paths"]),
        default="bytes",
        show_default=True,
        help="What a cluster is sent: the bytes of the files, or their paths where all machines share them.",
    )(command)
    return click.option(
        "--scheduler",
        metavar="ADDRESS",
        help="Judge on a cluster that you trust: the address of its dask scheduler, such as tcp://10.0.0.5:8786.",
    )(command)


stdin_option = click.option(
    "--stdin-name",
    metavar="NAME",
    help="Where FILE is -, and the pattern comes by stdin: its name, by which it is told and its plan and settings are found.",
)
second_reading_option = click.option(
    "--second-reading",
    is_flag=True,
    help="Read the file once more with a library that shares no code with seamcheck, and compare every line.",
)


def result_options(words: Sequence[str] | None, tells: str) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """How a result is told and where it goes, once or several times; `words` are all formats where these are fixed."""

    def decorate(command: Callable[..., Any]) -> Callable[..., Any]:
        command = click.option(
            "--output",
            "outputs",
            multiple=True,
            type=click.Path(),
            metavar="PATH",
            help="Write the result to a file instead of stdout; without a --format its suffix tells the format. "
            "May be repeated, each with its --format.",
        )(command)
        kind = click.Choice(words) if words else click.STRING
        return click.option("--format", "formats", multiple=True, type=kind, metavar="F", help=tells)(command)

    return decorate


def choices_of(words: Sequence[str]) -> dict[int, int]:
    """The alternatives that are asked for, by the number of their proposal; UsageError for words that name none."""
    from seamcheck.truing.propose import choices

    try:
        return choices(words)
    except ValueError as error:
        raise click.UsageError(str(error), click.get_current_context()) from None
