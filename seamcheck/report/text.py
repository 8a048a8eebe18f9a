"""The report for a person at the cutting table: the verdict first, then the worst first, then what was looked at."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from seamcheck import amounts
from seamcheck.checks.base import Severity
from seamcheck.engine.causes import causes_of
from seamcheck.engine.report_format import RenderOptions, ReportFormat
from seamcheck.report import telling
from seamcheck.report.cautions import CAUTIONS, SHORT
from seamcheck.report.layout import aligned, headline, paint, width_of, wrap
from seamcheck.report.measures import measures_in_force, seam_table

if TYPE_CHECKING:
    from seamcheck.engine.causes import Cause
    from seamcheck.engine.grouping import Group
    from seamcheck.engine.result import FileResult, Report

NOTE = Severity.NOTE.rank
GOOD = NOTE + 1
MOST_SIGNS = 6  # of what comes of one cause, so many are told each


def render(report: Report, options: RenderOptions) -> str:
    """All files, the worst first, those that are good a line each; their sum, what is not good once more, and the cautions.

    With `verbose` what was skipped in all of several files is told once. With `quiet` only what is not good is named, with
    `statistics` no file is told of by itself.
    """
    if options.statistics:
        from seamcheck.report.statistics import statistics

        return statistics(report, options)
    several = len(report.files) > 1
    summed = several or bool(report.left_aside)
    # Of files that are equally bad the one that was named first comes first.
    files = sorted(report.files, key=_worst)
    if options.quiet:
        return "".join(
            f"{line}\n" for line in [*_not_good(files, options), *([_sum(report, options)] if summed else [])]
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
    if summed:
        if shared:
            parts.append("\n".join(["Skipped in every file:", *_skipped(shared, options)]))
        parts.append(
            "\n".join(
                [_sum(report, options), *(f"  {line}" for line in (_not_good(files, options) if several else ()))]
            )
        )
    if any(file.sizes for file in report.files):  # where nothing was judged there is nothing to be cautious about
        parts.append("\n".join(wrap(one, options) for one in (CAUTIONS if options.verbose else (SHORT,))))
    return "\n\n".join(parts) + "\n"


def _worst(file: FileResult) -> int:
    """How bad a file is: what could not be judged before errors, warnings, notes and what is good."""
    if file.failures:
        return -1
    ranks = [finding.severity.rank for finding in file.findings if finding.counts]
    return min(ranks, default=NOTE if file.looked_at_in_part else GOOD)


def _headline(file: FileResult, options: RenderOptions) -> str:
    verdict, kind = telling.verdict(file, [cause for cause in causes_of(file) if cause.counts])
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
    causes = causes_of(file)
    told = [cause for cause in causes if cause.counts]
    yield _headline(file, options)
    for failure in file.failures:
        yield wrap(f"Not judged: {failure.where_named(file.path)}", options, hanging="  ")
    if told:
        yield _at_a_glance(told, file, options)
    for cause in told:
        yield _paragraph(cause, file, options)
    accepted = [_accepted(cause.head, file, options) for cause in causes if cause.accepted is not None]
    if accepted:
        yield "\n".join(accepted)
    known = [_known(cause.head, file, options) for cause in causes if cause.worst.known] if options.verbose else []
    if known:
        yield "\n".join(known)
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


def _at_a_glance(causes: Sequence[Cause], file: FileResult, options: RenderOptions) -> str:
    """All that is to be put right, a line each: how grave, where, how much, at which end, and the name that it is explained under."""
    rows = [
        (
            one.severity.value,
            telling.named(one, file),
            amounts.fact(telling.amount(one)),
            telling.near(one),
            telling.rule(one.worst),
        )
        for one in causes
    ]
    for columns in ((0, 1, 2, 3, 4), (0, 1, 2, 4), (0, 1, 2)):
        filled = [k for k in columns if any(row[k] for row in rows)]
        lines = aligned([[row[k] for k in filled] for row in rows])
        if max(map(len, lines)) <= width_of(options):
            break
    return "\n".join(lines)


def _paragraph(cause: Cause, file: FileResult, options: RenderOptions) -> str:
    """A cause: what is wrong, why, what to do, what else may be done, where it is, and its signs."""
    finding = cause.worst
    word = cause.severity.value.capitalize()
    head = ", ".join(part for part in (word, telling.place(cause.head, file)) if part)
    told = wrap(f"{head}: {telling.describe(cause.head)} [{telling.rule(finding)}]", options, hanging="  ")
    lines = [paint(word, cause.severity.value, options) + told[len(word) :]]

    def labelled(label: str, said: str) -> None:
        lines.append(wrap(f"{label}: {said}", options, indent="  ", hanging="      "))

    if cause.probably is not None:
        labelled("Why", str(telling.ended(cause.probably)))
    steps = telling.steps(cause)
    for k, step in enumerate(steps, start=1):
        number = f"{k}. " if len(steps) > 1 else ""
        label = "Do: " if k == 1 else "    "
        hanging = " " * (len("  Do: ") + len(number))
        lines.append(wrap(f"{number}{step}", options, indent=f"  {label}", hanging=hanging))
    for label, said in telling.other_ways(cause):
        labelled(label, str(said))
    if finding.at is not None:
        labelled("Where", telling.drawn_at(finding))
    lines += _signs(cause.signs, options)
    return "\n".join(lines)


def _signs(signs: Sequence[Group], options: RenderOptions) -> Iterable[str]:
    """What comes of the same cause: a line each, or their number where there are many."""
    most = len(signs) if options.verbose else MOST_SIGNS
    for group in signs[:most]:
        head = ", ".join(["With it", *telling.where(group.worst)])
        told = " ".join(
            part for part in (f"{head}: {telling.ended(group.worst.message)}", telling.likewise(group)) if part
        )
        yield wrap(f"{told} [{telling.rule(group.worst)}]", options, indent="  ", hanging="      ")
    if len(signs) > most:
        rules = dict.fromkeys(telling.rule(group.worst) for group in signs[most:])
        more = f"With it: {len(signs) - most} more of {amounts.listed(tuple(rules))}; --verbose tells each."
        yield wrap(more, options, indent="  ", hanging="      ")


def _accepted(group: Group, file: FileResult, options: RenderOptions) -> str:
    head = ", ".join(part for part in ("Accepted", telling.place(group, file)) if part)
    told = f"{head}: {telling.describe(group)} Because: {telling.ended(group.accepted or '')}"
    return wrap(told, options, hanging="  ")


def _known(group: Group, file: FileResult, options: RenderOptions) -> str:
    head = ", ".join(part for part in ("Known", telling.place(group, file)) if part)
    return wrap(f"{head}: {telling.describe(group)} [{telling.rule(group.worst)}]", options, hanging="  ")


REPORT = ReportFormat(
    "text",
    "for a person to read",
    render,
    details="The worst cause first with its recipe, then in two lines what was looked at and what was left out. With --verbose every "
    "seam, why each check skipped what it skipped, and the tolerances in force.",
)
