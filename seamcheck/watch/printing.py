"""What is printed and sent: the report, the picture, the tiles, as the commands of these names write them."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from seamcheck.truing.run import TruedFile
    from seamcheck.watch.table import Table


def report(table: Table) -> str:
    """The report of what is on the table, as a page."""
    from seamcheck.engine.report_format import RenderOptions
    from seamcheck.engine.result import Report
    from seamcheck.report.html.page import render

    assert table.result is not None
    return render(Report(files=(table.result,)), RenderOptions())


def picture(table: Table) -> str:
    """The pieces with their seams, as one SVG."""
    from seamcheck.report.pairing.svg import pairing_svg

    assert table.shown is not None
    return pairing_svg(table.shown)


def tiles(trued: TruedFile) -> bytes:
    """All pieces in tiles, at true scale."""
    from seamcheck.report.truing.write import draw_picture

    return draw_picture(trued, ".pdf", None, "a4", "all")[0]
