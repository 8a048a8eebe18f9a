"""A report and a pattern as a notebook shows them, once this module is imported.

Of a report: a verdict for each file, its findings, and its seams as two lines each.

Amounts are drawn to one scale within a file: a finding by how many tolerances it misses, a seam by the lengths of its sides.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from seamcheck.amounts import length
from seamcheck.engine.result import Report
from seamcheck.pattern.model import Pattern
from seamcheck.report import telling
from seamcheck.report.figures.base import standalone
from seamcheck.report.figures.sheet import pattern_sheet

if TYPE_CHECKING:
    from seamcheck.engine.result import FileResult, Finding, WalkedSeam

MOST = 50  # findings of one file; the rest is only counted
COLOURS = {"error": "#b3261e", "warning": "#8a5a00", "note": "#1f5f8b"}  # the word beside it says the same
GAUGE = 3.0  # tolerances that fit on a gauge
LINE = 260.0  # px: the longest side of a seam


def report_html(report: Report) -> str:
    """The whole report, self-contained, without scripts."""
    from seamcheck.report.templates import environment

    marks = [f"{100 * k / GAUGE:.1f}" for k in (1, 2)]
    template = environment().get_template("notebook.html")
    return template.render(files=map(_file, report.files), marks=marks, line=f"{LINE:.0f}")


def _file(file: FileResult) -> dict[str, Any]:
    open_ones = [finding for finding in file.findings if finding.counts]
    told = f"{len(open_ones)} finding{'' if len(open_ones) == 1 else 's'}" if open_ones else "nothing to put right"
    if file.failures:
        told = f"{told}, but not everything could be judged" if file.sizes else "could not be judged"
    told = "; ".join([told, *telling.laxer(file)])
    longest = max((max(seam.first.length, seam.second.length) for seam in file.seams), default=0.0)
    return {
        "path": file.path,
        "told": told,
        "failures": [failure.where_named(file.path) for failure in file.failures],
        "findings": [_finding(finding) for finding in open_ones[:MOST]],
        "more": max(0, len(open_ones) - MOST),
        "seams": [_seam(seam, longest) for seam in file.seams],
        "names": len({seam.name for seam in file.seams}),
    }


def _finding(finding: Finding) -> dict[str, Any]:
    """A finding, and how far it is from nothing, in tolerances: none where it has no measure."""
    times = None
    if finding.measured is not None and finding.tolerance:
        times = abs(finding.measured) / finding.tolerance
    return {
        "colour": COLOURS[finding.severity.value],
        "word": finding.severity.value,
        "where": ", ".join(part for part in (finding.seam, f"size {finding.size}" if finding.size else "") if part),
        "message": finding.message,
        "advice": finding.advice,
        "times": times,
        "wide": 100 * min(times or 0.0, GAUGE) / GAUGE,
    }


def _seam(seam: WalkedSeam, longest: float) -> dict[str, Any]:
    return {
        "name": f"{seam.name}, size {seam.size}" if seam.size else seam.name,
        "sides": " / ".join(length(side.length) for side in (seam.first, seam.second)),
        "lines": [(y, LINE * side.length / longest) for y, side in ((4, seam.first), (11, seam.second))],
        "difference": f"{round(seam.difference, 2) + 0.0:+.2f} mm",
    }


def pattern_svg(pattern: Pattern) -> str:
    """All pieces, those of several sizes on one another, small enough for a notebook's column."""
    return standalone(pattern_sheet(pattern, compact=True)).partition("\n")[2]  # an element, not a file


# A notebook asks an object itself how it is shown, and what a pattern or a report is must not know of pictures.
setattr(Pattern, "_repr_svg_", pattern_svg)  # noqa: B010
setattr(Report, "_repr_html_", report_html)  # noqa: B010
