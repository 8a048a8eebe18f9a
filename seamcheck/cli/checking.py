"""The command `check`: from the files that are named to what is told of them, and the exit code."""

from __future__ import annotations

import contextlib
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import click

from seamcheck.cli.options import (
    cluster_options,
    reading_options,
    result_options,
    second_reading_option,
    stdin_option,
)
from seamcheck.cli.output import (
    Live,
    each_with_progress,
    emit,
    emit_all,
    refuse_only,
    refuse_overwriting,
    render_options,
    stdout_kept_clean,
    wanted_reports,
    warn,
)
from seamcheck.cli.shop import STDIN, from_stdin, request_of, shops_of_run, tell_plugin_files

if TYPE_CHECKING:
    from seamcheck.engine.record import Known
    from seamcheck.engine.result import CheckCode, Report


@click.command(short_help="Check pattern files: do their seams still true?")
@click.argument("files", nargs=-1, type=click.Path())
@reading_options
@stdin_option
@second_reading_option
@result_options(
    None,
    "text (default), json, jsonl, html, svg, junit, sarif, github, markdown, table, or one that a plugin brings.",
)
@click.option("--before", type=click.Path(), metavar="OLD", help="The pattern as it was before it was altered.")
@click.option(
    "--fail-on",
    type=click.Choice(["error", "warning", "note"]),
    default="warning",
    show_default=True,
    help="The least finding that makes the exit code 1.",
)
@click.option(
    "--partial",
    is_flag=True,
    help="Without a plan: let the exit code be 0 or 1 although edges were not looked at.",
)
@click.option("--guess", is_flag=True, help="Without a plan: judge the best guesses too, and say which they are.")
@click.option(
    "--select",
    multiple=True,
    metavar="CHECK",
    help="Judge by this check alone, or by this code of one: CHECK/CODE; may be repeated. The verdict tells what was turned off.",
)
@click.option("--ignore", multiple=True, metavar="CHECK", help="Do not judge by this check or code; may be repeated.")
@click.option(
    "--jobs",
    type=click.IntRange(1),
    metavar="N",
    help="How many processes judge the files. Default: as many as pay.",
)
@cluster_options
@click.option(
    "--no-cache",
    is_flag=True,
    help="Judge every file anew, also one that is as it was at the last run; keep nothing.",
)
@click.option("-q", "--quiet", is_flag=True, help="As text: name only the files that are not good.")
@click.option(
    "--statistics",
    is_flag=True,
    help="As text: how much was found, by check, by file and by cause, and no file by itself.",
)
@click.option("-v", "--verbose", is_flag=True, help="Tell every seam, and the tolerances and severities in force.")
@click.option("--only", metavar="NAME", help="With --format svg: draw this seam, piece or corner alone.")
@click.option(
    "--exclude",
    multiple=True,
    metavar="NAME",
    help="Leave out files and folders of this name or path, * allowed; may be repeated. Hidden folders, build, dist, "
    "node_modules and environments of Python are left out unless they are named.",
)
@click.option("--only-planned", is_flag=True, help="Leave aside files that have no plan of their name beside them.")
@click.option(
    "--plans-in",
    multiple=True,
    type=click.Path(),
    metavar="FOLDER",
    help="Look also for plans in this folder whose pattern is gone; may be repeated.",
)
@click.option(
    "--only-new", type=click.Path(), metavar="RECORD", help="Let only what is not in this record of findings count."
)
@click.option(
    "--record",
    type=click.Path(),
    metavar="RECORD",
    help="Write what is found to a record; one that exists only shrinks, and only what is not in it counts.",
)
def check(
    files: tuple[str, ...],
    stdin_name: str | None,
    formats: tuple[str, ...],
    outputs: tuple[str, ...],
    fail_on: str,
    partial: bool,
    guess: bool,
    select: tuple[str, ...],
    ignore: tuple[str, ...],
    jobs: int | None,
    scheduler: str | None,
    send: Literal["bytes", "paths"],
    no_cache: bool,
    quiet: bool,
    statistics: bool,
    verbose: bool,
    only: str | None,
    exclude: tuple[str, ...],
    only_planned: bool,
    plans_in: tuple[str, ...],
    only_new: str | None,
    record: str | None,
    **reading: Any,
) -> int:
    """Check pattern FILEs: do their seams still true?

    A plan among the FILES stands for the patterns of its name beside it, a folder for those of all plans in it, a name
    with * in quotes for what it matches, ** for folders in folders, and - for what comes by stdin. How many drawings
    have no plan is told.
    Exit code 0: all was judged, nothing found at or above --fail-on. 1: something was. 2: something could not be
    judged, or edges were not looked at since no plan says what they are sewn to (see --partial).
    """
    if not files and not plans_in:
        raise click.UsageError("missing argument 'FILES...'", click.get_current_context())
    if jobs is not None and scheduler is not None:
        raise click.UsageError("--jobs is for this machine and --scheduler for a cluster; give one of them")
    refuse_overwriting(outputs, [*files, reading["plan"], reading["before"], record, only_new])
    from dataclasses import replace
    from functools import partial as with_given

    from seamcheck.checks.base import Severity
    from seamcheck.engine.cache import Cache
    from seamcheck.engine.jobs import judge_files
    from seamcheck.engine.result import Report
    from seamcheck.engine.searching import Search, shown

    shops = shops_of_run()
    old = None if only_new is None else _known(Path(only_new))
    with stdout_kept_clean() as stdout:
        given = from_stdin(files, stdin_name)
        search = Search(tuple(mask.rstrip("/") for mask in exclude))
        files, left_aside = shops.meant([one for one in files if one != STDIN], planned=only_planned, search=search)
        lost = (one for folder in plans_in for one in shops.lost_plans(folder, search))
        files = tuple(dict.fromkeys([*files, *lost, *([given[0]] if given else [])]))
        if outputs:
            for file in files:
                refuse_overwriting(outputs, shops.read_for(file))
        # All plugins first: what --format may be depends on them.
        wanted = [
            (
                one,
                output,
                replace(render_options(output), verbose=verbose, quiet=quiet, statistics=statistics, only=only),
            )
            for one, output in wanted_reports(formats, outputs, shops.formats(files or ["."]))
        ]
        refuse_only(only, [one for one, _, _ in wanted], files)
        if statistics and not any(one.name == "text" for one, _, _ in wanted):
            raise click.UsageError("--statistics are told as text; add --format text", click.get_current_context())
        refuse_unknown([*select, *ignore], shops.rules(files or ["."]))
        request = replace(
            request_of(reading, given),
            geometry=any(one.geometry for one, _, _ in wanted),
            guesses=guess,
            select=select,
            ignore=ignore,
        )
        # What a record says of a file is known when all files are judged, and nothing can be told before.
        live = {
            k: Live(form, options, output)
            for k, (form, output, options) in enumerate(wanted)
            if form.each and not record
        }
        for one in live.values():
            click.get_current_context().call_on_close(one.close)
        at_once = any(one.output is None for one in live.values())
        kept_whole = len(live) < len(wanted)
        results = []
        # Closed, so that its processes end as soon as this is interrupted.
        judge = with_given(judge_files, request=request, shops=shops, jobs=jobs, scheduler=scheduler, send=send)
        cache = Cache()
        each = judge(files) if no_cache else cache.judged(files, request, shops, judge, whole=kept_whole)
        with contextlib.closing(each) as judged:
            for _, result in zip(each_with_progress(files, quiet=at_once), judged, strict=True):
                told = result if old is None or record else old.of_file(result)
                for one in live.values():
                    if text := one.text_of(told):
                        with contextlib.redirect_stdout(stdout):
                            emit(text, None)
                results.append(told if kept_whole else told.counted())
    report = Report(
        files=tuple(results),
        rules=shops.rules(files),
        fail_on=Severity(fail_on),
        partial=partial,
        left_aside=left_aside,
    )
    kept: list[tuple[str, str | None]] = []
    if record is not None:
        report, text = _against_record(report, record, old)
        kept.append((text, record))
    if not files:
        warn("no file has a plan of its name beside it, so nothing was judged")
    if search.left_out:
        warn(f"not looked into: {shown(tuple(search.left_out))}")
    tell_plugin_files(one for file in report.files for one in file.plugin_files)
    for failure in dict.fromkeys(failure for file in report.files for failure in file.failures):
        warn(failure)
    texts = [
        (live[k].rest(report) if k in live else form.render(report, replace(options, kept=cache.text)), output)
        for k, (form, output, options) in enumerate(wanted)
    ]
    emit_all([*texts, *kept])
    cache.let_go()
    return report.exit_code


def refuse_unknown(names: Sequence[str], rules: Sequence[CheckCode]) -> None:
    """Raise for the name of a check or code that no shop of these files has."""
    from seamcheck.spelling import nearest

    codes = {f"{rule.check}/{rule.code}" for rule in rules}
    checks = {rule.check for rule in rules}
    for name in names if rules else ():  # else what is wrong with the shop is told when its files are judged
        if name not in codes | checks:
            of, slash, code = name.partition("/")
            if slash and of in checks:
                known = sorted(one.rpartition("/")[2] for one in codes if one.startswith(f"{of}/"))
                raise click.UsageError(
                    f'the check "{of}" has no code "{code}"; {nearest(code, known, "code")}',
                    click.get_current_context(),
                )
            raise click.UsageError(
                f'there is no check "{of}"; {nearest(of, sorted(checks), "check")}', click.get_current_context()
            )


def _known(path: Path) -> Known:
    from seamcheck.engine.record import read_known

    return read_known(path)


def _against_record(report: Report, record: str, old: Known | None) -> tuple[Report, str]:
    """The report with what is known set aside, by the record or by an `old` one; and the record to write, made or shrunk."""
    from seamcheck.engine.record import read_known, recorded

    path = Path(record)
    earlier = read_known(path) if path.exists() else recorded(path, report)
    return (old or earlier).set_aside(report), earlier.shrunk(report).text()
