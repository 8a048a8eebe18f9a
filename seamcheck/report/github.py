"""The report as workflow commands of GitHub: annotations at the line of the file that draws what was found.

A step shows 10 errors, 10 warnings and 10 notices (GitHub's documented limits of annotations); the worst are told first, and a last notice
says how many are not shown. Lines that are no command stand in the log of the step.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from seamcheck.amounts import count
from seamcheck.engine.causes import causes_of
from seamcheck.engine.grouping import weight
from seamcheck.engine.report_format import RenderOptions, ReportFormat
from seamcheck.report import telling
from seamcheck.report.layout import printable

if TYPE_CHECKING:
    from seamcheck.engine.causes import Cause
    from seamcheck.engine.result import FileResult, Report
    from seamcheck.errors import Failure

MOST = 10  # of each kind in a step
PROPERTIES = {"line": "line", "column": "col"}
COMMANDS = {"error": "error", "warning": "warning", "note": "notice"}


def render(report: Report, options: RenderOptions) -> str:
    """The annotations, then a line in the log for each file."""
    told: dict[str, list[str]] = {command: [] for command in COMMANDS.values()}
    for file in report.files:
        told["error"] += [_not_judged(file, sentence) for sentence in file.failures]
    found = [(file, cause) for file in report.files for cause in _counted(file)]
    for file, cause in sorted(found, key=lambda one: (one[1].severity.rank, weight(one[1].worst))):
        told[COMMANDS[cause.severity.value]].append(_annotation(file, cause))
    # Where something is left out, the last notice is the one that says so.
    over = any(len(lines) > MOST for lines in told.values())
    most = {command: MOST - (command == "notice" and over) for command in told}
    lines = [line for command, all_of in told.items() for line in all_of[: most[command]]]
    if over:
        left = {command: len(all_of) - most[command] for command, all_of in told.items()}
        parts = [count(number, command) for command, number in left.items() if number > 0]
        where = "the log of this step says how much each file has"
        lines.append(
            _command("notice", f"{', '.join(parts)} more than can be shown here; {where}", {"title": "seamcheck"})
        )
    lines += [_log(f"seamcheck: {file.path}: {telling.verdict(file, _counted(file))[0]}") for file in report.files]
    if len(report.files) > 1 or report.left_aside:
        lines.append(_log(f"seamcheck: {telling.sum_of(report)}"))
    return "".join(f"{line}\n" for line in lines)


def _counted(file: FileResult) -> list[Cause]:
    return [cause for cause in causes_of(file) if cause.counts]


def _not_judged(file: FileResult, failure: Failure) -> str:
    path, at = telling.site(file, failure)
    facts: dict[str, object] = {"file": path} | {PROPERTIES[key]: number for key, number in at.items()}
    return _command("error", failure.where_named(path), facts | {"title": "not judged"})


def _annotation(file: FileResult, cause: Cause) -> str:
    finding = cause.worst
    facts: dict[str, object] = {"file": file.path}
    if finding.place is not None:
        facts["line"] = finding.place.line
        if finding.place.column is not None:
            facts["col"] = finding.place.column
    facts["title"] = ", ".join([telling.rule(finding), *([at] if (at := telling.place(cause.head, file)) else [])])
    message = str(telling.describe(cause.head))
    if cause.probably is not None:
        message += f"\nWhy: {telling.ended(cause.probably)}"
    if finding.advice:
        message += f"\nDo: {telling.ended(finding.advice)}"
    message += "".join(f"\n{label}: {said}" for label, said in telling.other_ways(cause))
    message += "".join(f"\nWith it: {telling.describe(one)} [{telling.rule(one.worst)}]" for one in cause.signs)
    return _command(COMMANDS[cause.severity.value], message, facts)


def _command(command: str, message: str, facts: dict[str, object]) -> str:
    told = ",".join(f"{key}={_value(str(value))}" for key, value in facts.items())
    return f"::{command} {told}::{_data(message)}"


def _data(text: str) -> str:
    """A message as the runner takes it: what would end the line is escaped, and the sign of an escape."""
    lines = (printable(line) for line in text.split("\n"))
    return "%0A".join(line.replace("%", "%25").replace("\r", "%0D") for line in lines)


def _value(text: str) -> str:
    """The same for a property, which also ends at a colon or comma."""
    return _data(text).replace(":", "%3A").replace(",", "%2C")


def _log(text: str) -> str:
    """A line in which nothing is a command: the older form of one counts anywhere in a line."""
    return printable(text.replace("\n", " ")).replace("##[", "## [")


REPORT = ReportFormat(
    "github",
    "annotations for GitHub's pull requests",
    render,
    details="They stand at their lines, in a plan that cannot be used too, the worst first, as many as GitHub shows. The log has a "
    "line for each file.",
)
