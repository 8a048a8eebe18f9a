"""A report: one line a file, to be pinned to the bundle on the cutting table.

    seamcheck check --format ticket *.svg

A report is made from the results alone. It returns the whole text, with a line end; seamcheck says where it goes.
"""

from __future__ import annotations

from seamcheck.plugin import FileResult, RenderOptions, Report, ReportFormat


def render(report: Report, options: RenderOptions) -> str:
    """One line for each file: cut, wait or not judged, and why."""
    return "".join(f"{_line(file)[: options.width]}\n" for file in report.files)


def _line(file: FileResult) -> str:
    if file.failures:
        return f"NOT JUDGED  {file.path}"
    seams = dict.fromkeys(
        one.seam for one in file.findings if one.seam and one.accepted is None and one.severity != "note"
    )
    if any(one.accepted is None and one.severity != "note" for one in file.findings):
        return f"WAIT        {file.path}: {', '.join(seams) or 'see the report'}"
    return f"CUT         {file.path}: {len(file.pieces)} pieces"


REPORT = ReportFormat("ticket", "one line a file for the cutting table", render)
