"""The report as GitHub Flavored Markdown, for the summary of a job or a comment: the verdict, a table of what was found, details folded away.

It stays within what a comment holds. What does not fit is left out whole, details before tables, later files before earlier ones,
and the last line says so.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from seamcheck.amounts import count
from seamcheck.engine.causes import causes_of
from seamcheck.engine.report_format import RenderOptions, ReportFormat
from seamcheck.report import telling
from seamcheck.report.cautions import CAUTIONS
from seamcheck.report.layout import printable

if TYPE_CHECKING:
    from collections.abc import Sequence

    from seamcheck.amounts import Fact
    from seamcheck.engine.causes import Cause
    from seamcheck.engine.result import FileResult, Report

LIMIT = 65_000  # letters; a comment holds 65,536, the summary of a step 1 MiB
SIGNS = {"error": "❌", "warning": "⚠️", "note": "ℹ️", "good": "✅"}
_MARKUP = re.compile(r"[\\`*_{}\[\]#|~]")
_ENTITIES = {"&": "&amp;", "<": "&lt;", ">": "&gt;", "@": "&#64;"}


def render(report: Report, options: RenderOptions) -> str:
    """The whole run, the files in the order in which they were named."""
    causes = [[cause for cause in causes_of(file) if cause.counts] for file in report.files]
    heads, tables, details = [], [], []
    for file, found in zip(report.files, causes, strict=True):
        verdict, kind = telling.verdict(file, found)
        heads.append(f"### {SIGNS[kind]} {text(file.path)}: {verdict}\n")
        tables.append(_table(file, found))
        details.append(_details(file, found))
    foot = "\n".join(["<sub>", *(text(caution) for caution in CAUTIONS), "</sub>\n"])
    first = f"## seamcheck: {text(telling.sum_of(report))}\n" if len(report.files) != 1 or report.left_aside else ""
    room = LIMIT - len(first) - len(foot) - 200  # for the last line
    kept, left = _fitting([heads, tables, details], room)
    parts = [first, *("\n".join(part for part in parts if part) for parts in kept)]
    if left:
        parts.append(f"_Not shown, for want of room: {left}. The report as text or JSON has all of it._\n")
    return "\n".join([part for part in parts if part] + [foot])


def _fitting(layers: Sequence[Sequence[str]], room: int) -> tuple[list[list[str]], str]:
    """The parts of every file that fit, the layers one after the other; and what does not, in words."""
    kept: list[list[str]] = [["", "", ""] for _ in layers[0]]
    left = {}
    for k, (layer, noun) in enumerate(zip(layers, ("file", "table", "details"), strict=True)):
        missing = 0
        for number, part in enumerate(layer):
            if part and (len(part) + 2 > room or (k and not kept[number][k - 1] and layers[k - 1][number])):
                missing += 1
            else:
                kept[number][k] = part
                room -= len(part) + 2
        left[noun] = missing
    told = [
        count(left["file"], "file"),
        f"the findings of {count(left['table'] - left['file'], 'file')}",
        f"the details of {count(left['details'] - left['table'], 'file')}",
    ]
    numbers = (left["file"], left["table"] - left["file"], left["details"] - left["table"])
    return kept, ", ".join(part for part, number in zip(told, numbers, strict=True) if number > 0)


def _table(file: FileResult, causes: Sequence[Cause]) -> str:
    lines = [f"- **Not judged:** {text(sentence.where_named(file.path))}" for sentence in file.failures]
    if lines and causes:
        lines.append("")
    if causes:
        lines += ["| | where | what was found |", "|---|---|---|"]
    for cause in causes:
        finding = cause.worst
        where = telling.place(cause.head, file) or ", ".join(finding.edges or finding.pieces) or "pattern"
        line = f"<br>line {finding.place.line}" if finding.place is not None else ""
        lines.append(
            f"| {SIGNS[cause.severity.value]} {cause.severity.value} | {text(where)}{line} "
            f"| {text(telling.describe(cause.head))} `{telling.rule(finding)}` |"
        )
    return "\n".join(lines) + "\n" if lines else ""


def _details(file: FileResult, causes: Sequence[Cause]) -> str:
    parts = []
    advice = [_what_to_do(cause) for cause in causes if cause.worst.advice or cause.signs]
    accepted = [
        f"- {text(telling.describe(cause.head))} Because: {text(telling.ended(cause.accepted))}"
        for cause in causes_of(file)
        if cause.accepted is not None
    ]
    skipped = [f"- {text(sentence)}" for sentence in telling.skipped(file.skipped)]
    notes = [f"- {text(note.message)}" for note in file.notes]
    looked = text(telling.looked_at(file)) if file.sizes else ""
    for title, lines in (
        ("What to do", advice),
        ("Accepted", accepted),
        ("What was looked at", [looked] if looked else []),
        ("Skipped", skipped),
        ("Of the file", notes),
    ):
        if lines:
            body = "\n".join(lines)
            parts.append(f"<details><summary>{title}</summary>\n\n{body}\n\n</details>\n")
    return "".join(parts)


def _what_to_do(cause: Cause) -> str:
    """A cause as an entry of a list: what is wrong and why, the steps, what else may be done, and the signs."""
    why = f" {text(telling.ended(cause.probably))}" if cause.probably is not None else ""
    lines = [f"1. {text(telling.ended(cause.worst.message))}{why}"]
    lines += [f"   1. **{text(str(step))}**" for step in telling.steps(cause)]
    lines += [f"   - {label}: {text(str(said))}" for label, said in telling.other_ways(cause)]
    lines += [f"   - With it: {text(telling.describe(one))} `{telling.rule(one.worst)}`" for one in cause.signs]
    return "\n".join(lines)


def text(said: Fact) -> str:
    """A sentence that is shown as it stands, in a table too, and calls nobody."""
    plain = printable(" ".join(str(said).split()))
    escaped = _MARKUP.sub(r"\\\g<0>", plain)
    return re.sub("[&<>@]", lambda match: _ENTITIES[match[0]], escaped)


REPORT = ReportFormat(
    "markdown",
    "a summary for pull requests, in GitHub Flavored Markdown",
    render,
    details="The verdict, a table of what was found, and the rest folded away. It is never longer than a comment may be.",
)
