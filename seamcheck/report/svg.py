"""The report as drawings: a sheet for the whole run, or one picture of one seam, piece or corner. It holds no script and loads nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from seamcheck.engine.report_format import RenderOptions, ReportFormat

if TYPE_CHECKING:
    from seamcheck.engine.result import Report


def render(report: Report, options: RenderOptions) -> str:
    """The SVG file; SeamcheckError where `only` names nothing that can be drawn."""
    from seamcheck.report.figures.base import standalone
    from seamcheck.report.figures.only import only_figure
    from seamcheck.report.figures.sheet import sheet

    if options.only is not None:
        return standalone(only_figure(report.files[0], options.only))
    return standalone(sheet(report.files, options.kept))


REPORT = ReportFormat(
    "svg",
    "drawings of what is wrong, on one sheet",
    render,
    geometry=True,
    only=True,
    details="What is sewn to what, what was found, each broken seam walked side by side, each corner that does not add up as it "
    "is sewn, and each piece with numbered marks.",
)
