"""A report and a pattern as a notebook shows them, once this module is imported.

Of a report: a verdict for each file, its findings, and its seams as two lines each.

Amounts are drawn to one scale within a file: a finding by how many tolerances it misses, a seam by the lengths of its sides.
"""

from __future__ import annotations

from collections.abc import Iterable
from html import escape
from typing import TYPE_CHECKING

from seamcheck.amounts import length
from seamcheck.engine.result import Report
from seamcheck.pattern.model import Pattern
from seamcheck.report.pattern_picture import pattern_svg

if TYPE_CHECKING:
    from seamcheck.engine.result import FileResult, Finding, WalkedSeam

MOST = 50  # findings of one file; the rest is only counted
COLOURS = {"error": "#b3261e", "warning": "#8a5a00", "note": "#1f5f8b"}  # the word beside it says the same
GAUGE = 3.0  # tolerances that fit on a gauge
LINE = 260.0  # px: the longest side of a seam


def report_html(report: Report) -> str:
    """The whole report, self-contained, without scripts."""
    return (
        '<div style="font-family:sans-serif;line-height:1.4">'
        + "".join(part for file in report.files for part in _file(file))
        + "</div>"
    )


def _file(file: FileResult) -> Iterable[str]:
    open_ones = [finding for finding in file.findings if finding.accepted is None]
    told = f"{len(open_ones)} finding{'' if len(open_ones) == 1 else 's'}" if open_ones else "nothing to put right"
    if file.failures:
        told = f"{told}, but not everything could be judged" if file.sizes else "could not be judged"
    yield f"<h4>{escape(file.path)}: {told}</h4>"
    yield from (f"<p>Not judged: {escape(failure.where_named(file.path))}</p>" for failure in file.failures)
    if open_ones:
        yield "<table><tbody>"
        yield from (_finding(finding) for finding in open_ones[:MOST])
        yield "</tbody></table>"
    if len(open_ones) > MOST:
        yield f"<p>and {len(open_ones) - MOST} more</p>"
    if file.seams:
        longest = max(max(seam.first.length, seam.second.length) for seam in file.seams)
        yield f"<details><summary>{len({seam.name for seam in file.seams})} seams walked</summary><table><tbody>"
        yield from (_seam(seam, longest) for seam in file.seams)
        yield "</tbody></table></details>"


def _finding(finding: Finding) -> str:
    word = finding.severity.value
    where = ", ".join(part for part in (finding.seam, f"size {finding.size}" if finding.size else "") if part)
    cells = (
        f'<span style="color:{COLOURS[word]};font-weight:bold">{word}</span>',
        escape(where),
        f"{escape(finding.message)}<br/><small>{escape(finding.advice)}</small>",
        _gauge(finding),
    )
    return f'<tr style="text-align:left;vertical-align:top">{"".join(f"<td>{cell}</td>" for cell in cells)}</tr>'


def _gauge(finding: Finding) -> str:
    """How far a finding is from nothing, in tolerances: marks at one and two of them."""
    if finding.measured is None or not finding.tolerance:
        return ""
    share = min(abs(finding.measured) / finding.tolerance, GAUGE) / GAUGE
    marks = "".join(f'<path d="M{100 * k / GAUGE:.1f} 0V14" stroke="currentColor" opacity="0.5"/>' for k in (1, 2))
    label = f"{abs(finding.measured) / finding.tolerance:.1f} times the tolerance"
    return (
        f'<svg width="100" height="14" role="img" aria-label="{label}"><title>{label}</title>'
        f'<rect y="3" width="{100 * share:.1f}" height="8" fill="{COLOURS[finding.severity.value]}"/>{marks}</svg>'
    )


def _seam(seam: WalkedSeam, longest: float) -> str:
    lines = "".join(
        f'<path d="M0 {y}H{LINE * side.length / longest:.2f}" stroke="currentColor" stroke-width="3"/>'
        for y, side in ((4, seam.first), (11, seam.second))
    )
    name = f"{seam.name}, size {seam.size}" if seam.size else seam.name
    sides = " / ".join(length(side.length) for side in (seam.first, seam.second))
    return (
        f'<tr style="text-align:left"><td>{escape(name)}</td><td><svg width="{LINE:.0f}" height="15" role="img" '
        f'aria-label="{escape(sides)}">{lines}</svg></td><td>{sides}</td><td>{round(seam.difference, 2) + 0.0:+.2f} mm</td></tr>'
    )


# A notebook asks an object itself how it is shown, and what a pattern or a report is must not know of pictures.
setattr(Pattern, "_repr_svg_", pattern_svg)  # noqa: B010
setattr(Report, "_repr_html_", report_html)  # noqa: B010
