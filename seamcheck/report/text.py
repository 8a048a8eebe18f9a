"""The report for a person at the cutting table: the verdict first, then the worst first, then what was looked at."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from seamcheck import amounts
from seamcheck.checks.base import Severity
from seamcheck.engine.grouping import fold
from seamcheck.engine.report_format import RenderOptions, ReportFormat
from seamcheck.report import telling
from seamcheck.report.cautions import CAUTIONS, SHORT
from seamcheck.report.layout import aligned, headline, paint, width_of, wrap
from seamcheck.report.measures import measures_in_force, seam_table

if TYPE_CHECKING:
    from seamcheck.engine.grouping import Group
    from seamcheck.engine.result import FileResult, Report

NOTE = Severity.NOTE.rank
GOOD = NOTE + 1
MOST_RELATED = 6  # of what one broken size brings with it, so many are told each


def render(report: Report, options: RenderOptions) -> str:
    """All files, the worst first, those that are good a line each; their sum, what is not good once more, and the cautions.

    With `verbose` what was skipped in all of several files is told once. With `quiet` only what is not good is named.
    """
    several = len(report.files) > 1
    # Of files that are equally bad the one that was named first comes first.
    files = sorted(report.files, key=_worst)
    if options.quiet:
        return "".join(
            f"{line}\n" for line in [*_not_good(files, options), *([_sum(report, options)] if several else [])]
        )
    parts, good = [], []
    shared = _shared(report) if options.verbose else []
    for k, file in enumerate(files):
        if several and not options.verbose and _worst(file) == GOOD:
            good.append(_headline(file, options))
            continue
        # What is in force is told once, and anew where a file is judged by other measures.
        measures = options.verbose and (k == 0 or file.in_force != files[k - 1].in_force)
        parts.append("\n\n".join(_file(file, options, shared, measures=measures)))
    if good:
        parts.append("\n".join(good))
    if several:
        if shared:
            parts.append("\n".join(["Skipped in every file:", *_skipped(shared, options)]))
        parts.append("\n".join([_sum(report, options), *(f"  {line}" for line in _not_good(files, options))]))
    if any(file.sizes for file in report.files):  # where nothing was judged there is nothing to be cautious about
        parts.append("\n".join(wrap(one, options) for one in (CAUTIONS if options.verbose else (SHORT,))))
    return "\n\n".join(parts) + "\n"


def _worst(file: FileResult) -> int:
    """How bad a file is: what could not be judged before errors, warnings, notes and what is good."""
    if file.failures:
        return -1
    ranks = [finding.severity.rank for finding in file.findings if finding.accepted is None]
    return min(ranks, default=NOTE if file.looked_at_in_part else GOOD)


def _headline(file: FileResult, options: RenderOptions) -> str:
    verdict, kind = telling.verdict(file, [group for group in fold(file) if group.accepted is None])
    return headline(f"{file.path}: {verdict}", kind, options)


def _sum(report: Report, options: RenderOptions) -> str:
    return wrap(telling.sum_of(report), options, hanging="  ")


def _not_good(files: Iterable[FileResult], options: RenderOptions) -> list[str]:
    """A line for each file in which something is to be put right or was not judged."""
    return [_headline(file, options) for file in files if _worst(file) < NOTE]


def _shared(report: Report) -> list[str]:
    """What several files were skipped for alike, and none of those that were judged was not."""
    each = [list(map(str, telling.skipped(file.skipped, every=True))) for file in report.files if file.sizes]
    return [sentence for sentence in each[0] if all(sentence in one for one in each)] if len(each) > 1 else []


def _skipped(sentences: Iterable[str], options: RenderOptions) -> list[str]:
    return [wrap(sentence, options, indent="  ", hanging="    ") for sentence in sentences]


def _file(file: FileResult, options: RenderOptions, shared: Sequence[str], *, measures: bool) -> Iterable[str]:
    groups = fold(file)
    told = [group for group in groups if group.accepted is None]
    yield _headline(file, options)
    for failure in file.failures:
        yield wrap(f"Not judged: {failure.where_named(file.path)}", options, hanging="  ")
    if len(told) > 1:
        yield _at_a_glance(told, file, options)
    for group in told:
        yield _paragraph(group, file, options)
    accepted = [_accepted(group, file, options) for group in groups if group.accepted is not None]
    if accepted:
        yield "\n".join(accepted)
    if file.sizes:
        brief = (telling.looked_at(file, named=options.verbose), "" if options.verbose else telling.left_out(file))
        yield "\n".join(wrap(line, options, hanging="  ") for line in brief if line)
    if options.verbose and file.seams:
        yield seam_table(file, options)
    if measures and file.in_force:
        yield measures_in_force(file, options)
    every = map(str, telling.skipped(file.skipped, every=True)) if options.verbose else ()
    skipped = [one for one in every if one not in shared]
    if skipped:
        yield "\n".join(["Skipped:", *_skipped(skipped, options)])
    if file.notes:
        notes = (wrap(note.message, options, indent="  ", hanging="    ") for note in file.notes)
        yield "\n".join(["Of the file:", *notes])


def _at_a_glance(groups: Sequence[Group], file: FileResult, options: RenderOptions) -> str:
    """All that was found, a line each: how grave, where, how much, and the name that it is explained under."""
    rows = [
        (one.severity.value, telling.named(one, file), telling.amount(one), telling.rule(one.worst)) for one in groups
    ]
    lines = aligned(rows)
    if max(map(len, lines)) > width_of(options):  # the last column is told with each finding, too
        lines = aligned([row[:3] for row in rows])
    return "\n".join(lines)


def _paragraph(group: Group, file: FileResult, options: RenderOptions) -> str:
    finding = group.worst
    word = group.severity.value.capitalize()
    head = ", ".join(part for part in (word, telling.place(group, file)) if part)
    parts = (f"{head}: {telling.describe(group)}", telling.drawn_at(finding), f"[{telling.rule(finding)}]")
    told = wrap(" ".join(part for part in parts if part), options, hanging="  ")
    lines = [paint(word, group.severity.value, options) + told[len(word) :]]
    if finding.advice:
        lines.append(wrap(f"Do: {telling.ended(finding.advice)}", options, indent="  ", hanging="      "))
    lines += _with_it(group.related, options)
    return "\n".join(lines)


def _with_it(related: Sequence[Group], options: RenderOptions) -> Iterable[str]:
    """What one broken size brings with it: a line each, or their number where there are many."""
    most = len(related) if options.verbose else MOST_RELATED
    for group in related[:most]:
        head = ", ".join(["With it", *telling.where(group.worst)])
        told = " ".join(
            part for part in (f"{head}: {telling.ended(group.worst.message)}", telling.likewise(group)) if part
        )
        yield wrap(f"{told} [{telling.rule(group.worst)}]", options, indent="  ", hanging="      ")
    if len(related) > most:
        rules = dict.fromkeys(telling.rule(group.worst) for group in related[most:])
        more = f"With it: {len(related) - most} more of {amounts.listed(tuple(rules))}; --verbose tells each."
        yield wrap(more, options, indent="  ", hanging="      ")


def _accepted(group: Group, file: FileResult, options: RenderOptions) -> str:
    head = ", ".join(part for part in ("Accepted", telling.place(group, file)) if part)
    told = f"{head}: {telling.describe(group)} Because: {telling.ended(group.accepted or '')}"
    return wrap(told, options, hanging="  ")


REPORT = ReportFormat(
    "text",
    "for a person to read",
    render,
    details="The worst first, folded, then in two lines what was looked at and what was left out. With --verbose every seam, "
    "why each check skipped what it skipped, and the tolerances in force.",
)
