"""The report as one flat table: a row for every seam, junction and finding, for whoever looks at many styles together.

A row is a line of JSON, written as soon as its file is judged. Every row has all columns, in the same order and each of one type,
null or an empty list where a column does not fit the kind of the row: so any library that knows tables takes it as it is.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from seamcheck.engine.report_format import RenderOptions, ReportFormat
from seamcheck.report import telling
from seamcheck.report.json import line

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from seamcheck.engine.result import FileResult, Finding, JudgedJunction, Report, WalkedSeam

SCHEMA = "seamcheck.table/1"
# Every column in its order, with what stands in it where it does not fit the row.
COLUMNS: Mapping[str, object] = {
    **dict.fromkeys(("schema", "kind", "path", "pattern", "size")),
    **dict.fromkeys(("seam", "check", "code", "severity")),
    **dict.fromkeys(("pieces", "edges", "first_edges", "second_edges", "corners"), ()),
    **dict.fromkeys(("first_length", "second_length", "difference", "allowed_least", "allowed_most")),
    **dict.fromkeys(("inferred", "confidence", "angle", "expected_angle")),
    **dict.fromkeys(("measured", "unit", "tolerance", "uncertainty", "x", "y", "line")),
    **dict.fromkeys(("cause", "accepted", "known", "plugin", "message", "advice")),
}


def render(report: Report, options: RenderOptions) -> str:
    """All rows of a run."""
    return "".join(each(file, options) for file in report.files)


def each(file: FileResult, options: RenderOptions) -> str:
    """The rows of one file: its seams, junctions and findings, what was judged less strictly than usual, what nobody looked at, and why it could not be judged whole."""
    of_file = {"schema": SCHEMA, "path": file.path, "pattern": file.pattern}
    return "".join(line({**COLUMNS, **of_file, **row}) for row in _rows(file))


def last(report: Report, options: RenderOptions) -> str:
    """Nothing: the rows are all there is."""
    return ""


def _rows(file: FileResult) -> Iterator[dict[str, object]]:
    yield from map(_seam, file.seams)
    yield from map(_junction, file.junctions)
    yield from map(_finding, file.findings)
    for sentence in telling.laxer(file):
        yield {"kind": "laxer", "message": sentence}
    if file.looked_at_in_part:
        yield {"kind": "not-looked-at", "message": telling.coverage(file)}
    for failure in file.failures:
        yield {"kind": "failure", "line": failure.at.line, "message": failure.where_named(file.path)}


def _seam(seam: WalkedSeam) -> dict[str, object]:
    return {
        "kind": "seam",
        "size": seam.size,
        "seam": seam.name,
        "first_edges": seam.first.edges,
        "second_edges": seam.second.edges,
        "first_length": float(seam.first.length),
        "second_length": float(seam.second.length),
        "difference": float(seam.difference),
        "allowed_least": float(seam.allowed[0]),
        "allowed_most": float(seam.allowed[1]),
        "inferred": seam.inferred,
        "confidence": float(seam.confidence),
    }


def _junction(junction: JudgedJunction) -> dict[str, object]:
    return {
        "kind": "junction",
        "size": junction.size,
        "corners": junction.corners,
        "angle": float(junction.angle),
        "expected_angle": float(junction.expected),
    }


def _finding(finding: Finding) -> dict[str, object]:
    least, most = (None, None) if finding.allowed is None else map(float, finding.allowed)
    at = finding.at
    return {
        "kind": "finding",
        "size": finding.size,
        "seam": finding.seam,
        "check": finding.check,
        "code": finding.code,
        "severity": finding.severity.value,
        "pieces": finding.pieces,
        "edges": finding.edges,
        "allowed_least": least,
        "allowed_most": most,
        "measured": None if finding.measured is None else float(finding.measured),
        "unit": finding.unit,
        "tolerance": None if finding.tolerance is None else float(finding.tolerance),
        "uncertainty": float(finding.uncertainty),
        "x": None if at is None else float(at.real),
        "y": None if at is None else float(at.imag),
        "line": None if finding.place is None else finding.place.line,
        "cause": finding.cause or None,
        "accepted": finding.accepted,
        "known": finding.known,
        "plugin": finding.plugin or None,
        "message": finding.message,
        "advice": finding.advice,
    }


REPORT = ReportFormat(
    "table",
    "a flat table of every seam, junction and finding, as lines of JSON",
    render,
    each=each,
    last=last,
    details='Every row has all columns, so that a library for tables reads it at once, say pandas.read_json("styles.ndjson", lines=True). "kind" '
    "is seam, junction, finding, laxer for what was judged less strictly than usual, not-looked-at where edges were not for want of a plan, or failure for what could not be judged. The columns: seamcheck schema table.",
)
