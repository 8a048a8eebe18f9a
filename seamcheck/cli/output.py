"""Where results go: stdout in UTF-8 whatever the locale, or files that are whole or not there at all."""

from __future__ import annotations

import contextlib
import os
import shutil
import sys
import tempfile
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, TextIO

import click

from seamcheck.engine.report_format import RenderOptions, format_of
from seamcheck.errors import SeamcheckError
from seamcheck.files import unwritten, write_text

if TYPE_CHECKING:
    from seamcheck.engine.report_format import ReportFormat
    from seamcheck.engine.result import FileResult, Report

LARGE = 100_000  # bytes


def prepare_streams() -> None:
    """Make stdout and stderr take every letter; what is no letter at all is written as an escape."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(encoding="utf-8", errors="backslashreplace")


def render_options(output: str | None, environment: Mapping[str, str] = os.environ) -> RenderOptions:
    """Width and colour for where the result will be read: 80 columns and no colour unless it is a terminal."""
    terminal = output is None and sys.stdout.isatty()
    width = shutil.get_terminal_size((80, 24)).columns if terminal else 80
    if environment.get("NO_COLOR"):
        colour = False
    elif environment.get("FORCE_COLOR"):
        colour = output is None
    else:
        colour = terminal and environment.get("TERM") != "dumb"
    return RenderOptions(width=width, colour=colour)


def each_with_progress(paths: Sequence[str], stream: TextIO | None = None, *, quiet: bool = False) -> Iterator[str]:
    """Yield each path; while one of several, or a large one, is worked on, a terminal's last line says which, unless `quiet`."""
    stream = sys.stderr if stream is None else stream
    shown = not quiet and stream.isatty() and (len(paths) > 1 or any(map(_is_large, paths)))
    for number, path in enumerate(paths, 1):
        if shown:
            width = shutil.get_terminal_size((80, 24)).columns
            print(f"\r\x1b[K{number} of {len(paths)}: {path}"[: width + 3], end="", file=stream, flush=True)
        yield path
    if shown:
        print("\r\x1b[K", end="", file=stream, flush=True)


def _is_large(path: str) -> bool:
    """Whether a file takes so long that somebody waits for it."""
    try:
        return Path(path).stat().st_size > LARGE
    except (OSError, ValueError):
        return False


STDOUT = "-"
ELSEWHERE = "choose another place with --output"


def destinations(
    formats: Sequence[str], outputs: Sequence[str], known: Sequence[str], default: str
) -> list[tuple[str, str | None]]:
    """Each format with where it goes, None being stdout: formats and outputs are paired in the order in which they were given.

    One more format than outputs goes to stdout. Without any format the suffixes of the outputs tell, out of those `known`; where
    there is none, `default`. UsageError where it is not plain what goes where.
    """
    places = [None if output == STDOUT else output for output in outputs]
    if not formats:
        formats = [_format_of(place, known, default) for place in places] or [default]
    if len(formats) == len(places) + 1:
        places.append(None)
    if len(formats) < len(places):
        raise _usage(
            "not every --output has its --format; give each of them one, or none at all so that their suffixes tell"
        )
    if len(formats) > len(places) or places.count(None) > 1:
        raise _usage("stdout carries one format; give every other --format an --output of its own, in the same order")
    files = [Path(place).resolve() for place in places if place is not None]
    for number, file in enumerate(files):
        if file in files[:number]:
            raise _usage(f"two results would go to {file.name}; name another file after --output")
    return list(zip(formats, places, strict=True))


def _format_of(place: str | None, known: Sequence[str], default: str) -> str:
    name = "" if place is None else Path(place).name
    found = format_of(name, known)
    if found is None and "." in name.lstrip("."):
        raise _usage(f"the name {place} does not tell which format is meant; say it with --format")
    return found or default


def _usage(sentence: str) -> click.UsageError:
    return click.UsageError(sentence, click.get_current_context(silent=True))


class Live:
    """A result that is told file by file while a run goes on: on stdout at once; for a file it waits on disk, so that none is written by half."""

    def __init__(self, form: ReportFormat, options: RenderOptions, output: str | None) -> None:
        """Nothing is told yet."""
        self.form = form
        self.options = options
        self.output = output
        self._waiting: TextIO | None = None
        if output is not None:
            self._waiting = tempfile.TemporaryFile(  # noqa: SIM115  it is closed with the run
                "w+", encoding="utf-8", errors="backslashreplace", newline=""
            )

    def text_of(self, file: FileResult) -> str:
        """What is to be told of a file now; nothing where it waits."""
        text = self.form.each(file, self.options) if self.form.each else ""
        if self._waiting is None:
            return text
        self._waiting.write(text)
        return ""

    def rest(self, report: Report) -> Iterator[str]:
        """What is still to be told when all files are judged."""
        if self._waiting is not None:
            self._waiting.seek(0)
            yield from iter(partial(self._waiting.read, LARGE), "")
        if self.form.last:
            yield self.form.last(report, self.options)

    def close(self) -> None:
        """Let go of what waits."""
        if self._waiting is not None:
            self._waiting.close()


def wanted_reports(
    formats: Sequence[str], outputs: Sequence[str], reports: Sequence[ReportFormat]
) -> list[tuple[ReportFormat, str | None]]:
    """The report formats asked for and where each goes; none when no shop could be loaded, so that there are none to choose from."""
    from seamcheck.spelling import nearest

    record = {report.name: report for report in reversed(reports)}
    for name in formats:
        if record and name not in record:
            raise click.UsageError(
                f'there is no format "{name}"; {nearest(name, sorted(record), "format")}', click.get_current_context()
            )
    if not record:
        return []
    return [(record[name], output) for name, output in destinations(formats, outputs, sorted(record), "text")]


def refuse_only(only: str | None, wanted: Sequence[ReportFormat], files: Sequence[str]) -> None:
    """Raise where a picture of one thing is asked for and more, or none, would come of it."""
    if only is None:
        return
    if len(files) != 1:
        raise click.UsageError("--only draws one thing of one file; name one file", click.get_current_context())
    if not all(report_format.only for report_format in wanted):
        raise click.UsageError("--only is for pictures; add --format svg", click.get_current_context())


def emit_all(results: Iterable[tuple[str | Iterable[str], str | None]]) -> None:
    """Write every text to its place, also after one that cannot be written; SeamcheckError for the first of those."""
    failed: list[SeamcheckError] = []
    for text, output in results:
        try:
            emit(text, output)
        except SeamcheckError as error:
            failed.append(error)
    if failed:
        raise failed[0]


def emit(text: str | Iterable[str], output: str | None) -> None:
    """Write a result to stdout, or to a file by way of a temporary one beside it.

    SeamcheckError when it cannot be written. A reader that has heard enough (a closed pipe) is no error.
    """
    if output is None:
        for part in (text,) if isinstance(text, str) else text:
            _print(part)
        return
    write_text(text, output, remedy=ELSEWHERE)


def _print(text: str) -> None:
    try:
        sys.stdout.write(text)
        sys.stdout.flush()
    except BrokenPipeError:
        silence(sys.stdout)
    except OSError as error:
        silence(sys.stdout)
        raise unwritten(error, "the result", ELSEWHERE) from None


def silence(stream: TextIO) -> None:
    """Let nothing more be written to a stream that is closed at its other end, at exit neither."""
    with contextlib.suppress(OSError):  # what is no real stream has nothing to be flushed at exit
        target = stream.fileno()
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, target)
        os.close(nowhere)


def warn(sentence: str) -> None:
    """Say on stderr, in one line, what went wrong."""
    from seamcheck.report.layout import printable

    click.echo(f"seamcheck: {printable(' '.join(sentence.split()))}", err=True)


@contextlib.contextmanager
def stdout_kept_clean() -> Iterator[TextIO]:
    """Send to stderr whatever a plugin or a library prints: stdout, which is given, carries the result alone."""
    stdout = sys.stdout
    with contextlib.redirect_stdout(sys.stderr):
        yield stdout


def refuse_overwriting(outputs: Sequence[str], inputs: Sequence[str | Path | None]) -> None:
    """Raise before a result replaces what it was made from."""
    for path in inputs:
        if path and any(_is_same(Path(path), Path(output)) for output in outputs):
            raise _usage(f"the result would replace {path} itself; name another file after --output")


def _is_same(one: Path, other: Path) -> bool:
    """Whether two names stand for one file, also by way of a link."""
    try:
        return one.samefile(other)
    except (OSError, ValueError):  # one of them is not there yet
        return one.resolve() == other.resolve()
