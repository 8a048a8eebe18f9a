"""The report as lines of JSON, for whoever follows a run: a line for each file as soon as it is judged, then the summary."""

from __future__ import annotations

from typing import TYPE_CHECKING

from seamcheck.engine.report_format import RenderOptions, ReportFormat
from seamcheck.report.json import file_json, line

if TYPE_CHECKING:
    from seamcheck.engine.result import FileResult, Report

SCHEMA = "seamcheck.line/1"


def render(report: Report, options: RenderOptions) -> str:
    """All lines of a run."""
    return "".join(each(file, options) for file in report.files) + last(report, options)


def each(file: FileResult, options: RenderOptions) -> str:
    """The line of one file."""
    return line({"schema": SCHEMA, "kind": "file", **file_json(file)})


def last(report: Report, options: RenderOptions) -> str:
    """The summary."""
    return line(
        {
            "schema": SCHEMA,
            "kind": "summary",
            "files": len(report.files),
            "failed": sum(bool(file.failures) for file in report.files),
            "summary": dict(report.summary),
        }
    )


REPORT = ReportFormat(
    "jsonl",
    "a line of JSON for each file as soon as it is judged, then a summary",
    render,
    each=each,
    last=last,
    details="It holds the same as json, and can be read while the run goes on.",
)
