"""The report as JSON, schema `seamcheck.report/1`: lengths in mm, angles in degrees, to six decimals.

Keys may be added to the schema, never renamed. What is not known is null.
"""

from __future__ import annotations

import json
import math
from functools import partial
from typing import TYPE_CHECKING, Any

from seamcheck.engine.causes import causes_of
from seamcheck.engine.report_format import RenderOptions, ReportFormat
from seamcheck.exact import steady
from seamcheck.report import telling
from seamcheck.spelling import unturned

if TYPE_CHECKING:
    from collections.abc import Sequence

    from seamcheck.engine.causes import Cause
    from seamcheck.engine.grouping import Group
    from seamcheck.engine.result import FileResult, Finding, InForce, JudgedJunction, Report, Skipped, WalkedSeam
    from seamcheck.pattern.drawing import Place

SCHEMA = "seamcheck.report/1"
DECIMALS = 6


def render(report: Report, options: RenderOptions) -> str:
    """The whole run as one JSON object."""
    before, after = dump({"schema": SCHEMA, "files": [], "summary": dict(report.summary)}).split("[]", 1)
    files = ",\n".join(options.kept(file, SCHEMA, partial(_element, file)) for file in report.files)
    return f"{before}[\n{files}\n  ]{after}" if files else f"{before}[]{after}"


def _element(file: FileResult) -> str:
    """A file as it stands in the list of files; no string of JSON has a line end in it."""
    return "    " + dump(file_json(file)).rstrip("\n").replace("\n", "\n    ")


def dump(value: object) -> str:
    """JSON text of a value made of plain types, tuples and complex points; the same value gives the same bytes."""
    return unturned(json.dumps(_plain(value), ensure_ascii=False, indent=2, allow_nan=False)) + "\n"


def line(value: object) -> str:
    """The same on one line."""
    return unturned(json.dumps(_plain(value), ensure_ascii=False, allow_nan=False)) + "\n"


def _plain(value: Any) -> Any:
    if isinstance(value, bool) or value is None:
        return value
    if isinstance(value, complex):
        return [_plain(value.real), _plain(value.imag)]
    if isinstance(value, float):
        # Adding zero turns -0.0 into 0.0; JSON has no word for what is not finite.
        return round(steady(value), DECIMALS) + 0.0 if math.isfinite(value) else None
    if isinstance(value, dict):
        return {str(key): _plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(one) for one in value]
    return int(value) if isinstance(value, int) else str(value)


def file_json(file: FileResult) -> dict[str, object]:
    """All that was found in one file, as plain data."""
    return {
        "path": file.path,
        "pattern": file.pattern,
        "units": file.units,
        "plan": file.plan,
        "sizes": file.sizes,
        "pieces": file.pieces,
        "checks": file.checks,
        "in_force": [_in_force(row) for row in file.in_force],
        "laxer": telling.laxer(file),
        "plugin_files": file.plugin_files,
        "failures": file.failures,
        "recorded_as": file.recorded_as,
        "notes": [{"code": note.code, "message": note.message} for note in file.notes],
        "planned": file.planned,
        "seams": [_seam(seam) for seam in file.seams],
        "open_edges": file.open_edges,
        "junctions": [_junction(junction) for junction in file.junctions],
        "skipped": [_skipped(skipped) for skipped in file.skipped],
        "findings": [_finding(finding) for finding in file.findings],
        "groups": [_group(cause.head, file, cause.signs) for cause in causes_of(file)],
        "causes": [_cause(cause, file) for cause in causes_of(file) if cause.counts],
    }


def _in_force(row: InForce) -> dict[str, object]:
    return {
        "check": row.check,
        "codes": row.codes,
        "places": row.places,
        "tolerance": None if row.tolerance is None else float(row.tolerance),
        "unit": row.unit,
        "tolerance_from": row.tolerance_from,
        "severity": row.severity,
        "severity_from": row.severity_from,
        "usual": None if row.usual is None else float(row.usual),
        "usual_severity": row.usual_severity,
    }


def _seam(seam: WalkedSeam) -> dict[str, object]:
    return {
        "name": seam.name,
        "size": seam.size,
        "inferred": seam.inferred,
        "confidence": float(seam.confidence),
        "first": {"edges": seam.first.edges, "length": float(seam.first.length)},
        "second": {"edges": seam.second.edges, "length": float(seam.second.length)},
        "difference": float(seam.difference),
        "allowed": _range(seam.allowed),
    }


def _junction(junction: JudgedJunction) -> dict[str, object]:
    return {
        "corners": junction.corners,
        "size": junction.size,
        "angle": float(junction.angle),
        "expected": float(junction.expected),
    }


def _skipped(skipped: Skipped) -> dict[str, object]:
    return {
        "check": skipped.check,
        "size": skipped.size,
        "seam": skipped.seam,
        "piece": skipped.piece,
        "edge": skipped.edge,
        "corners": skipped.corners,
        "reason": skipped.reason,
        "why": skipped.message,
    }


def _finding(finding: Finding) -> dict[str, object]:
    return {
        "check": finding.check,
        "code": finding.code,
        "severity": finding.severity.value,
        "size": finding.size,
        "seam": finding.seam,
        "pieces": finding.pieces,
        "edges": finding.edges,
        "measured": None if finding.measured is None else float(finding.measured),
        "unit": finding.unit,
        "allowed": _range(finding.allowed),
        "tolerance": None if finding.tolerance is None else float(finding.tolerance),
        "uncertainty": float(finding.uncertainty),
        "at": finding.at,
        "message": finding.message,
        "advice": finding.advice,
        "accepted": finding.accepted,
        "known": finding.known,
        "plugin": finding.plugin,
        "place": _place(finding.place),
    }


def _place(place: Place | None) -> dict[str, object] | None:
    return None if place is None else {"name": place.words, "line": place.line, "column": place.column}


def _group(group: Group, file: FileResult, signs: Sequence[Group] = ()) -> dict[str, object]:
    """What is told as one thing, by the numbers of its findings: the worst, all of them, and what it brings with it."""
    numbers = _numbers(file)
    return {
        "severity": group.severity.value,
        "sizes": group.sizes,
        "worst": numbers[id(group.worst)],
        "findings": sorted(numbers[id(finding)] for finding in group.findings),
        "related": [_group(sign, file) for sign in signs],
    }


def _numbers(file: FileResult) -> dict[int, int]:
    return {id(finding): k for k, finding in enumerate(file.findings)}


def _cause(cause: Cause, file: FileResult) -> dict[str, object]:
    """What is put right in one go, with its recipe: its findings by their numbers, the one it is told by first."""
    numbers, recipe, worst = _numbers(file), cause.recipe, cause.worst
    signs = sorted({numbers[id(finding)] for finding in cause.findings} - {numbers[id(worst)]})
    return {
        "cause": cause.kind,
        "severity": cause.severity.value,
        "piece": cause.piece,
        "findings": [numbers[id(worst)], *signs],
        "amount": None if worst.measured is None else abs(float(worst.measured)),
        "unit": worst.unit,
        "probably": None if cause.probably is None else str(cause.probably),
        "proposal": None if recipe is None else recipe.number,
        "steps": list(map(str, telling.steps(cause))),
        "alternatives": []
        if recipe is None
        else [{"letter": way.letter, "pieces": way.pieces, "step": str(way.what)} for way in recipe.others],
        "undo": None if recipe is None or recipe.undo is None else str(recipe.undo),
    }


def _range(ends: tuple[float, float] | None) -> list[float] | None:
    return None if ends is None else [float(end) for end in ends]


REPORT = ReportFormat(
    "json",
    "one JSON object for other programs",
    render,
    details='It holds everything. "causes" are what is put right in one go, each with its steps. "place" is the line and column of the file that draws what a finding is about.',
)
