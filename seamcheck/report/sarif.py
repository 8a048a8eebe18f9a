"""The report as SARIF 2.1.0 (OASIS Standard, 2020), which code hosts and editors show beside the file.

Every finding is a result; those that the shop accepts are suppressed with the reason, those that a record knows are unchanged
against the baseline; sizes are not folded. What could not be judged
is a result of the rule "not-judged" and a notification of the run at level error, what was skipped one at level note.

A finding keeps its fingerprint when its file moves and its amount changes: it is made of pattern, check, code,
size, seam, pieces and edges, numbered by where it lies.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from seamcheck.engine.report_format import RenderOptions, ReportFormat
from seamcheck.report import telling
from seamcheck.report.json import dump
from seamcheck.version import __version__

if TYPE_CHECKING:
    from seamcheck.engine.result import CheckCode, FileResult, Finding, Report
    from seamcheck.errors import Failure

SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
FINGERPRINT = "seamcheck/v1"
REGION = {"line": "startLine", "column": "startColumn"}
EXITS = {
    0: "all was judged, and nothing is at or above what the run fails on",
    1: "something is at or above what the run fails on",
    2: "something could not be judged, or was not looked at for want of a plan",
}


NOT_JUDGED: dict[str, object] = {
    "id": "not-judged",
    "shortDescription": {"text": "It could not be judged."},
    "fullDescription": {"text": "Something could not be judged: a file, its plan, or what holds for them."},
    "help": {"text": "What is wrong, where, and what to do stands in each result."},
    "defaultConfiguration": {"level": "error"},
}


NOT_LOOKED_AT: dict[str, object] = {
    "id": "not-looked-at",
    "shortDescription": {"text": "Edges were not looked at."},
    "fullDescription": {"text": "No plan says what some edges are sewn to, so nobody looked at those."},
    "help": {"text": "Write a plan that says it: seamcheck pair FILE --output NAME.seams.toml"},
    "defaultConfiguration": {"level": "warning"},
}


def render(report: Report, options: RenderOptions) -> str:
    """The whole run as one log."""
    rules = [_rule(rule) for rule in report.rules]
    if any(file.failures for file in report.files):
        rules.append(NOT_JUDGED)
    if any(file.looked_at_in_part for file in report.files):
        rules.append(NOT_LOOKED_AT)
    number = {str(rule["id"]): k for k, rule in enumerate(rules)}
    for finding in (finding for file in report.files for finding in file.findings):
        if number.setdefault(name := _id(finding), len(rules)) == len(rules):
            rules.append({"id": name})
    compared = report.summary["known"] > 0
    run = {
        "tool": {"driver": {"name": "seamcheck", "version": __version__, "rules": rules}},
        "columnKind": "unicodeCodePoints",
        "invocations": [
            {
                "executionSuccessful": not report.failed,
                "exitCode": report.exit_code,
                "exitCodeDescription": EXITS[report.exit_code],
                "toolExecutionNotifications": [
                    one for k, file in enumerate(report.files) for one in _notifications(file, k)
                ]
                + [_unplanned(path) for path in report.left_aside],
            }
        ],
        "artifacts": [{"location": {"uri": uri(file.path)}, "roles": ["analysisTarget"]} for file in report.files],
        "results": [
            one for k, file in enumerate(report.files) for one in _results(file, k, number, compared=compared)
        ],
    }
    return dump({"$schema": SCHEMA, "version": "2.1.0", "runs": [run]})


def uri(path: str) -> str:
    """A path as a reference by RFC 3986: relative as long as the path is."""
    whole = Path(path)
    if whole.is_absolute():
        return "file://" + quote(whole.as_posix(), safe="/:", errors="surrogateescape")
    return quote(whole.as_posix(), safe="/", errors="surrogateescape")


def _rule(rule: CheckCode) -> dict[str, object]:
    """What `seamcheck explain` tells of one way in which a check can fail."""
    holds = f"Holds when {telling.ended(rule.holds)}"
    parts = {
        "": f"{holds} This is found where {telling.ended(rule.meaning)}",
        "Why": telling.ended(rule.why),
        "Do": telling.ended(rule.remedy),
        "Source": telling.ended(rule.source),
    }
    return {
        "id": f"{rule.check}/{rule.code}",
        "shortDescription": {"text": _opened(rule.meaning)},
        "fullDescription": {"text": holds},
        "help": {
            "text": "\n\n".join(f"{name}: {text}" if name else text for name, text in parts.items()),
            "markdown": "\n\n".join(
                f"**{name}:** {_plain(text)}" if name else _plain(text) for name, text in parts.items()
            ),
        },
        "defaultConfiguration": {"level": "warning" if rule.severity is None else rule.severity.value},
        "properties": {
            "tags": [rule.family],
            "severity": "bands" if rule.severity is None else rule.severity.value,
            "tolerance": None if rule.tolerance is None else float(rule.tolerance),
            "unit": rule.unit,
            "plugin": rule.plugin,
        },
    }


def _results(file: FileResult, number: int, rules: Mapping[str, int], *, compared: bool) -> list[dict[str, object]]:
    prints = _fingerprints(file)
    here: dict[str, object] = {"artifactLocation": {"uri": uri(file.path), "index": number}}
    unjudged = [_unjudged(NOT_JUDGED, failure, _failed_at(file, failure, here), rules) for failure in file.failures]
    if file.looked_at_in_part:
        unjudged.append(_unjudged(NOT_LOOKED_AT, _opened(telling.coverage(file)), here, rules))
    state = {"baselineState": "new"} if compared else {}
    return [one | state for one in unjudged] + [
        {
            "ruleId": _id(finding),
            "ruleIndex": rules[_id(finding)],
            "level": finding.severity.value,
            "message": {"text": _message(finding, file)},
            "locations": [_location(finding, file, number)],
            "partialFingerprints": {FINGERPRINT: fingerprint},
            **({"baselineState": "unchanged" if finding.known else "new"} if compared else {}),
            "suppressions": []
            if finding.accepted is None
            else [{"kind": "external", "status": "accepted", "justification": finding.accepted}],
            "properties": {
                "size": finding.size,
                "measured": _number(finding.measured),
                "allowed": None if finding.allowed is None else [float(end) for end in finding.allowed],
                "tolerance": _number(finding.tolerance),
                "unit": finding.unit,
                "at": finding.at,
                "advice": finding.advice,
                "plugin": finding.plugin,
            },
        }
        for finding, fingerprint in zip(file.findings, prints, strict=True)
    ]


def _unjudged(
    rule: dict[str, Any], sentence: str, at: dict[str, object], rules: Mapping[str, int]
) -> dict[str, object]:
    """What could not be judged or was not looked at, as a result: who reads results alone must not take it for good."""
    from hashlib import sha256

    name = str(rule["id"])
    return {
        "ruleId": name,
        "ruleIndex": rules[name],
        "level": rule["defaultConfiguration"]["level"],
        "message": {"text": sentence},
        "locations": [{"physicalLocation": at}],
        "partialFingerprints": {FINGERPRINT: sha256(f"{name} {sentence}".encode()).hexdigest()[:32]},
        "suppressions": [],
    }


def _unplanned(path: str) -> dict[str, object]:
    return {
        "level": "note",
        "message": {"text": "No plan of its name lies beside this drawing, so it was not judged."},
        "locations": [{"physicalLocation": {"artifactLocation": {"uri": uri(path)}}}],
    }


def _id(finding: Finding) -> str:
    return f"{finding.check}/{finding.code}"


def _message(finding: Finding, file: FileResult) -> str:
    size = f"Size {finding.size}: " if finding.size and len(file.sizes) > 1 else ""
    do = f" Do: {telling.ended(finding.advice)}" if finding.advice else ""
    why = f" Why: {finding.why}" if finding.why else ""
    return f"{size}{telling.ended(finding.message)}{why}{do}"


def _number(value: float | None) -> float | None:
    return None if value is None else float(value)


def _location(finding: Finding, file: FileResult, number: int) -> dict[str, object]:
    physical: dict[str, object] = {"artifactLocation": {"uri": uri(file.path), "index": number}}
    if finding.place is not None:
        physical["region"] = {"startLine": finding.place.line} | (
            {} if finding.place.column is None else {"startColumn": finding.place.column}
        )
    things = [("seam", finding.seam)] if finding.seam else []
    things += [("piece", piece) for piece in finding.pieces] + [("edge", edge) for edge in finding.edges]
    located: dict[str, object] = {"physicalLocation": physical}
    if things:
        located["logicalLocations"] = [
            {"name": name, "fullyQualifiedName": f"{kind} {name}", "kind": kind} for kind, name in things
        ]
    return located


def _fingerprints(file: FileResult) -> list[str]:
    """One for each finding; those that are about the same thing in the same way are numbered by where they lie."""
    from hashlib import sha256

    about = [
        json.dumps(
            [file.pattern, finding.check, finding.code, finding.size, finding.seam, finding.pieces, finding.edges]
        )
        for finding in file.findings
    ]
    where = [finding.at or 0j for finding in file.findings]
    order = sorted(range(len(about)), key=lambda k: (about[k], where[k].real, where[k].imag))
    seen: Counter[str] = Counter()
    prints = [""] * len(about)
    for k in order:
        prints[k] = sha256(f"{about[k]} {seen[about[k]]}".encode()).hexdigest()[:32]
        seen[about[k]] += 1
    return prints


def _notifications(file: FileResult, number: int) -> list[dict[str, object]]:
    here: dict[str, object] = {"artifactLocation": {"uri": uri(file.path), "index": number}}
    told: list[tuple[str, str, dict[str, object]]] = [
        ("error", sentence, _failed_at(file, sentence, here)) for sentence in file.failures
    ]
    if file.looked_at_in_part:
        told.append(("warning", _opened(telling.coverage(file)), here))
    told += [("warning", _opened(part), here) for part in telling.laxer(file)]
    told += [("note", f"Skipped: {sentence}", here) for sentence in telling.skipped(file.skipped)]
    return [
        {"level": level, "message": {"text": text}, "locations": [{"physicalLocation": at}]}
        for level, text, at in told
    ]


def _failed_at(file: FileResult, failure: Failure, here: dict[str, object]) -> dict[str, object]:
    """Where a failure leads to: a line of the pattern, or of another file, which is none of the artifacts."""
    path, at = telling.site(file, failure)
    if not at:
        return here
    artifact = here["artifactLocation"] if path == file.path else {"uri": uri(path)}
    return {"artifactLocation": artifact, "region": {REGION[key]: number for key, number in at.items()}}


def _opened(text: str) -> str:
    return telling.ended(text[:1].upper() + text[1:])


def _plain(text: str) -> str:
    """Text that Markdown shows as it stands."""
    return re.sub(r"([\\`*_{}\[\]<>#|])", r"\\\1", text)


REPORT = ReportFormat(
    "sarif",
    "SARIF 2.1.0 for code hosts and editors",
    render,
    details="Every finding stands at its line, with the check's help; so does what could not be judged, and a file of which edges were "
    "not looked at. What is accepted is told as suppressed.",
)
