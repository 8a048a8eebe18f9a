"""The command line. Start-up is light: whatever reads or judges a pattern is imported by the command that needs it.

Exit codes: 0 all was judged and nothing is at or above `--fail-on`; 1 something is; 2 something could not be judged, or was not
looked at for want of a plan; 128 and the number of the signal that stopped it.
"""

from __future__ import annotations

import atexit
import gc
import os
import sys
from pathlib import Path
from typing import Any, Literal, NoReturn

import click

from seamcheck.cli.altering import alter
from seamcheck.cli.checking import check
from seamcheck.cli.options import (
    a_number,
    choices_of,
    reading_options,
    result_options,
    second_reading_option,
    settings_option,
    stdin_option,
)
from seamcheck.cli.output import (
    destinations,
    each_with_progress,
    emit,
    emit_all,
    prepare_streams,
    refuse_overwriting,
    render_options,
    silence,
    stdout_kept_clean,
    warn,
)
from seamcheck.cli.shop import (
    LEFT_OUT,
    faults_named,
    from_stdin,
    plugins_wanted,
    read_for,
    request_of,
    require_all,
    settings_here,
    shop_of,
    shops_of_run,
    tell_plugin_files,
)
from seamcheck.cli.stopping import asked_to_stop, exit_code_of
from seamcheck.cli.watching import watch
from seamcheck.errors import InputError, SeamcheckError, internal_error, trace
from seamcheck.version import __version__

JUDGED, FOUND, NOT_JUDGED = 0, 1, 2
OBJECTS = 200_000  # that are made before the garbage collector looks for cycles among them: more than most files need


class _Program(click.Group):
    """The command group, with every way to fail turned into one sentence on stderr and an exit code."""

    def main(self, *arguments: Any, **options: Any) -> NoReturn:
        """Run the command line and end the process."""
        prepare_streams()
        # What is made of a pattern is kept until it is told, and then goes with the process: to look through all of it for
        # cycles, again and again and once more at the end, finds next to nothing.
        gc.set_threshold(OBJECTS)
        atexit.register(gc.freeze)
        with asked_to_stop():
            code = self._run(*arguments, **{**options, "standalone_mode": False})
        sys.exit(code)

    def _run(self, *arguments: Any, **options: Any) -> int:
        try:
            return int(super().main(*arguments, **options) or JUDGED)
        except click.UsageError as error:
            command = error.ctx.command_path if error.ctx else "seamcheck"
            message = error.format_message().rstrip(".")
            warn(f'{message[:1].lower()}{message[1:]}; see "{command} --help"')
        except click.ClickException as error:
            warn(error.format_message())
        except (click.Abort, KeyboardInterrupt) as error:
            warn("stopped before the end")
            return exit_code_of(error)
        except SeamcheckError as error:
            trace(error)
            warn(str(error))
        except BrokenPipeError:  # whoever reads stdout has heard enough
            silence(sys.stdout)
            return JUDGED
        except OSError as error:  # help that cannot be written; files are named in errors of their own
            trace(error)
            silence(sys.stdout)
            warn(f"the answer cannot be written ({error.strerror})")
        except Exception as error:
            warn(internal_error(error))
        return NOT_JUDGED


@click.group(cls=_Program, context_settings={"help_option_names": ["-h", "--help"]}, no_args_is_help=False)
@click.version_option(__version__, prog_name="seamcheck", message="%(prog)s %(version)s")
@click.option("--debug", is_flag=True, help="Show on stderr where a fault in seamcheck or a plugin happened.")
@click.option("--no-plugins", is_flag=True, help="Use what seamcheck itself brings, and no plugin.")
def main(debug: bool, no_plugins: bool) -> None:
    """Walk every seam of a sewing pattern, in every size, and say what no longer trues."""
    import logging

    # Threads of a library of mathematics take longer to begin than they save on a few numbers, and forbid to fork.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    # Libraries speak to programmers; a sewist hears of what matters from the result.
    logger = logging.getLogger()
    if debug:
        logging.basicConfig(format="%(message)s")
        logging.getLogger("seamcheck").setLevel(logging.DEBUG)
    elif not logger.handlers:
        logger.addHandler(logging.NullHandler())


main.add_command(check)
main.add_command(alter)
main.add_command(watch)


@main.command(short_help="Show what was read of a file, piece by piece.")
@click.argument("file", type=click.Path())
@reading_options
@stdin_option
@second_reading_option
@result_options(["text", "json", "svg"], "text (default), json, or svg: the pieces drawn.")
def pieces(
    file: str, stdin_name: str | None, formats: tuple[str, ...], outputs: tuple[str, ...], **reading: Any
) -> int:
    """Show what was read of FILE: pieces, sizes, edges with lengths, corners with angles, notches, grain."""
    if given := from_stdin([file], stdin_name):
        file, _ = given
    if outputs:
        refuse_overwriting(outputs, [reading["plan"], *read_for(file)])
    from seamcheck.engine.read import read
    from seamcheck.report.pieces import RENDERERS

    wanted = destinations(formats, outputs, list(RENDERERS), "text")
    with stdout_kept_clean(), faults_named(file):
        settings, registry = shop_of(file)
        pattern, _ = read(file, request_of(reading, given), registry, settings)
        results = [(RENDERERS[name](pattern, render_options(output)), output) for name, output in wanted]
    emit_all(results)
    if not pattern.pieces:
        raise InputError("no piece was found", path=file, remedy="see the result for what the file holds")
    return JUDGED


@main.command(short_help="Tell what an alteration changed, and which mates it left behind.")
@click.argument("old", type=click.Path())
@click.argument("new", type=click.Path())
@reading_options
@result_options(["text", "json"], "text (default) or json.")
def compare(old: str, new: str, formats: tuple[str, ...], outputs: tuple[str, ...], **reading: Any) -> int:
    """Tell what changed from OLD to NEW: what was slashed, hinged, redrawn, and which mates were left behind.

    The later outline is laid on the earlier one, part by part: what moved as one thing, what it turned about, how much was
    overlapped or spread, which lines were drawn anew. Each change is followed along the seams. Pieces may lie elsewhere on
    the sheet, turned or turned over, be called otherwise, be digitised, or come from another kind of file. A plan beside
    either file serves for both; without one, the corners of the earlier file are found again in the later.

    Exit code 0: the files could be compared, whatever changed. 2: they could not.
    """
    if outputs:
        refuse_overwriting(outputs, [reading["plan"], *read_for(old, new)])
    from seamcheck.comparison.consequences import consequences
    from seamcheck.engine.judge import open_outlines
    from seamcheck.engine.read import read_both
    from seamcheck.report.comparison.told import RENDERERS

    wanted = destinations(formats, outputs, list(RENDERERS), "text")
    with stdout_kept_clean(), faults_named(new):
        settings, registry = shop_of(new)
        read, comparison = read_both(old, new, request_of(reading), registry, settings)
        if not comparison.pieces:
            raise InputError(
                "none of its pieces is found in the earlier file",
                path=new,
                remedy="see what was read with: seamcheck pieces FILE",
            )
        left = consequences(comparison, read.plan)
        results = [(RENDERERS[name](comparison, left, render_options(output)), output) for name, output in wanted]
    emit_all(results)
    failures = [why for one in (comparison.before, comparison.after) for why in open_outlines(one)]
    for failure in failures:
        warn(failure)
    return NOT_JUDGED if failures else JUDGED


@main.command("true", short_help="Propose corrections, and write the trued pattern.")
@click.argument("file", type=click.Path())
@reading_options
@click.option(
    "--choose",
    multiple=True,
    metavar="2b",
    help="Take alternative b of proposal 2 instead of the first; may be repeated.",
)
@click.option(
    "--format",
    "format_name",
    type=click.Choice(["text", "json"]),
    default="text",
    show_default=True,
    help="How to tell it.",
)
@click.option("--output", type=click.Path(), metavar="NEW", help="Write the trued pattern, in the form of FILE.")
@click.option(
    "--before", type=click.Path(), metavar="OLD", help="The file before the alteration: what changed gives way."
)
@click.option("--picture", type=click.Path(), metavar="P", help="Draw before and after: P.svg, or P.pdf to print.")
@click.option(
    "--scale",
    type=click.FloatRange(0, 10, min_open=True),
    callback=a_number,
    metavar="N",
    help="Scale of the picture; 1 is true scale, with squares to check the printer by. Default: an SVG fits a page, a PDF is true.",
)
@click.option(
    "--print",
    "shown",
    type=click.Choice(["changed", "all"]),
    default="changed",
    show_default=True,
    help="The pieces that --picture draws: those drawn anew, or all.",
)
@click.option(
    "--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="Sheets of the PDF."
)
@click.option("--force", is_flag=True, help="Let --output and --picture replace a file that exists, FILE too.")
def true_command(
    file: str,
    choose: tuple[str, ...],
    format_name: str,
    output: str | None,
    before: str | None,
    picture: str | None,
    scale: float | None,
    shown: Literal["changed", "all"],
    paper: str,
    force: bool,
    **reading: Any,
) -> int:
    """Propose corrections for what check finds in FILE, each with its alternatives, and with --output write them.

    A line is made longer by leading it on past its end and shorter by cutting it back along itself, so that its corner travels
    the whole amount; what crosses there is blended into the new corner. A kink is blended over a short stretch. Notches are put
    back where the mate has them, the grain arrow is ruled straight, and what is sewn along a line that was altered, such as a
    band or a facing, may follow. How far a new line strays from the old one is said; what strays by more than 3 mm past what is
    asked is not proposed. Every correction is tried and the whole check run again: what does not lower its finding, or raises
    anything else, is not proposed. What must not change is a master in the plan. A cut line that lies evenly beside its sew
    line follows it. What is written, and how, tells "seamcheck explain formats".

    Exit code 0: with the corrections nothing is left to
    put right. 1: something is that a redrawn line does not mend. 2: something could not be judged, or not written.
    """
    # FILE itself may be replaced, with --force.
    if written := [one for one in (output, picture) if one]:
        others = [one for one in read_for(file) if one != Path(file)]
        refuse_overwriting(written, [reading["plan"], before, *others])
    from seamcheck.report.truing.told import RENDERERS
    from seamcheck.truing.propose import Wishes
    from seamcheck.truing.run import true_file

    with stdout_kept_clean(), faults_named(file):
        settings, registry = shop_of(file)
        request = request_of(reading)
        wishes = Wishes(choices=choices_of(choose))
        trued = true_file(file, request, registry, settings, wishes, before or None)
        said: tuple[str, ...] = ()
        if picture is not None:
            from seamcheck.report.truing.write import write_picture

            said = write_picture(trued, picture, scale, paper, force=force, shown=shown)
        if output is not None:
            from seamcheck.truing.writing import write_trued

            write_trued(trued, output, request, registry, settings, force=force)
        text = RENDERERS[format_name](trued, render_options(None), output)
    for sentence in (*trued.failures, *said):
        warn(sentence)
    emit(text, None)
    if trued.failures:
        return NOT_JUDGED
    return FOUND if any(finding.severity != "note" for finding in trued.left) else JUDGED


@main.command(short_help="Propose a seam plan, and the picture to confirm it by.")
@click.argument("file", type=click.Path())
@reading_options
@stdin_option
@result_options(
    ["toml", "json", "svg", "html"],
    "toml: a plan file (default); svg: its picture; html: a page to confirm it on; json: for other programs.",
)
@click.option(
    "--ask", is_flag=True, help="Ask, on the terminal, what single edges are sewn to: a few answers settle the rest."
)
@click.option(
    "--like",
    type=click.Path(),
    metavar="OTHER",
    help="A pattern of the same family with its plan, or a folder of such: it lends names, cuts, unsewn edges and seams.",
)
def pair(
    file: str,
    stdin_name: str | None,
    formats: tuple[str, ...],
    outputs: tuple[str, ...],
    ask: bool,
    like: str | None,
    **reading: Any,
) -> int:
    """Propose which edges of FILE are sewn together.

    The plan tells what each seam rests on; what is not sure stands in it as a question. With --output the picture and
    the page to confirm it on are written beside the plan. A plan that is there already is kept to the letter, and what is
    new is added behind it.

    With --like, pieces and edges of OTHER are found again by their names, form and place, in any size and however they lie.
    A seam of OTHER whose sides are here to each other as they are there counts as told; where they are not, it is a question
    that says what is otherwise. The words in FILE and a plan that it has go before what is lent; each seam and piece says
    where it is from.
    """
    from seamcheck.cli.asking import ask_on_terminal
    from seamcheck.config.plan_file import find_plan
    from seamcheck.engine.propose import propose_seams
    from seamcheck.engine.read import plan_for
    from seamcheck.report.pairing import files

    if given := from_stdin([file], stdin_name):
        file, _ = given
    if outputs:
        beside_it = find_plan(file)  # which is added to, not replaced
        refuse_overwriting(outputs, [one for one in read_for(file) if one != beside_it])
    remembered = None
    if like is not None:
        from seamcheck.engine.lending import memories

        remembered = memories(like, file, shops_of_run(), each_with_progress)
    wanted = destinations(formats, outputs, files.FORMATS, "toml")
    with stdout_kept_clean(), faults_named(file):
        settings, registry = shop_of(file)
        request = request_of(reading, given)
        proposal = propose_seams(file, request, registry, settings, ask_on_terminal if ask else None, remembered)
        plan = plan_for(file, request)
        results = [(files.rendered(proposal, name, file, plan), output) for name, output in wanted]
        beside: dict[str, str] = {}
        for (name, output), (text, _) in zip(wanted, results, strict=True):
            if name == "toml" and output:
                beside |= files.beside(proposal, text, output)
    emit_all(results)
    for path, content in beside.items():
        if path not in outputs:
            emit(content, path)
            click.echo(f"seamcheck: {path} is written beside it, to confirm the plan by", err=True)
    return JUDGED


@main.command(short_help="Write a demo pattern, check it, and say what to try next.")
@click.argument("folder", default="ferryhand", type=click.Path())
def demo(folder: str) -> int:
    """Write the demo pattern to FOLDER ("ferryhand" if none is named), check it, and say what to try next.

    A file that is there already with something else in it is kept, and then nothing is written. Exit code 0, though the
    demo has something to put right: it is there to be seen. 2: it could not be written, or not be judged.
    """
    from seamcheck.cli import demo as ferryhand

    with stdout_kept_clean():
        text, failures = ferryhand.show(folder, render_options(None), plugins=plugins_wanted())
    for failure in failures:
        warn(failure)
    emit(text, None)
    return NOT_JUDGED if failures else JUDGED


@main.command(short_help="Tell what a check or a fit means, how to put it right; or of a topic.")
@click.argument("name", metavar="[CHECK|FIT|TOPIC]", required=False)
@click.option(
    "--picture", type=click.Path(), metavar="P.svg", help="Of a fit: draw what is seen, and where it is cut."
)
@settings_option
def explain(name: str | None, picture: str | None) -> int:
    """Tell what a CHECK means, why it matters at the machine, and how to put it right; or all there is of a TOPIC.

    Of a FIT, an alteration by name: what is seen in the cloth, what looks like it, and what is done on the paper.
    Without a name all checks and topics are listed, a line each.
    """
    from seamcheck.engine import plugins
    from seamcheck.report.explain import drawn, explained, wants_all

    with stdout_kept_clean():
        settings = settings_here()
        registry = plugins.load_tolerant(settings, checks_only=not wants_all(name), plugins=plugins_wanted())
        require_all(registry)
    told = [(explained(name, registry, settings, render_options(None)), None)]
    emit_all(told if picture is None else [*told, (drawn(name, registry), picture)])
    return JUDGED


@main.command(short_help="Print the schema of what is written as JSON.")
@click.argument("name", required=False)
def schema(name: str | None) -> int:
    """Print the JSON Schema (2020-12) called NAME of what seamcheck writes as JSON; without NAME list all."""
    from seamcheck.report import schemas
    from seamcheck.spelling import nearest

    if name is None:
        emit(schemas.overview(), None)
        return JUDGED
    if name not in schemas.NAMES:
        raise SeamcheckError(f'there is no schema "{name}"', remedy=nearest(name, schemas.NAMES, "schema"))
    emit(schemas.schema_text(name), None)
    return JUDGED


@main.command(short_help="List the plugins: what is loaded, from where.")
@click.option(
    "--format",
    "format_name",
    type=click.Choice(["text", "json"]),
    default="text",
    show_default=True,
    help="How to tell it.",
)
@settings_option
def plugins(format_name: str) -> int:
    """List the plugins that hold for patterns in this folder: name, version, where from, and what they bring.

    Exit code 2 when one of them cannot be used, or is required and not there.
    """
    from seamcheck.engine import plugins
    from seamcheck.report.plugins import RENDERERS

    with stdout_kept_clean():
        settings = settings_here()
        registry = plugins.load_tolerant(settings, plugins=plugins_wanted())
    tell_plugin_files(registry.plugin_files)
    for failure in registry.failures:
        warn(failure)
    emit(RENDERERS[format_name](registry, settings, render_options(None)), None)
    return NOT_JUDGED if registry.failures else JUDGED


@main.command(short_help="Let the plugin files of a folder be run.")
@click.argument("folder", type=click.Path())
@click.option("--forget", is_flag=True, help="Trust the folder no longer.")
def trust(folder: str, forget: bool) -> int:
    """Trust the plugin files that the settings in FOLDER name, as they are now, and the limits that they raise.

    Such a file is a program: it may do whatever you may do. Read it first. It is kept for you alone, and what is changed
    afterwards has to be trusted again. Settings that you name yourself with --settings need no trust.
    """
    from seamcheck.cli.trusting import told

    emit(told(folder, forget=forget), None)
    return JUDGED


@main.result_callback()
def _ended(code: int | None, **_: Any) -> int:
    """The exit code: what was told although a plugin is not trusted is not all that was asked for."""
    return NOT_JUDGED if click.get_current_context().meta.get(LEFT_OUT) else code or JUDGED
