"""The report as a page: one HTML file that needs no network and no server, and says all it has to say without scripts too.

Its parts lie beside this module and are put into one file here. `page.html` is the whole; `file.html`, `findings.html` and
`pieces.html` are macros for its sections, which ask the modules of the same names, and `parts.html` has what all of them use.
Figures are drawn where the result kept its geometry.

It runs in the order of the text report: verdict, table of causes, each cause with its recipe, then the rest.
The script remembers the units and what is ticked off, shows a part of the causes alone, walks seams, unfolds what is
linked to and lights it up: all else is links and boxes, and works without it. A figure stands in the page once, but a
seam a second time half as wide, for pages narrower than 46 rem. A piece stands with the first cause that is marked on it;
another finding shows it with a `use` element of that
drawing, and shows its own mark alone by custom properties, which are all that a `use` element inherits; the units
in drawings are shown by such properties too. A drawing with links in it is a group for a screen reader, any other
one picture with its caption as its name. `tests/report/test_html_in_browser.py` looks for what would shut people out, light and
dark, with axe-core; `SEAMCHECK_AXE=.../axe.min.js` names a newer one.
"""

from __future__ import annotations

from functools import cache
from pathlib import PurePath
from typing import TYPE_CHECKING, Any

from seamcheck import amounts
from seamcheck.engine.grouping import weight
from seamcheck.engine.report_format import RenderOptions, ReportFormat
from seamcheck.report import paper, telling
from seamcheck.report.cautions import CAUTIONS
from seamcheck.report.templates import environment, trusted

if TYPE_CHECKING:
    from jinja2 import Environment

    from seamcheck.engine.result import Report
    from seamcheck.report.html.view import View


def render(report: Report, options: RenderOptions) -> str:
    """The whole page; the same report gives the same bytes."""
    from seamcheck.report.figures.base import FIGURE_CSS
    from seamcheck.report.html.view import view_of

    several = len(report.files) != 1
    views = [view_of(file, f"file-{k}", 2 if several else 1) for k, file in enumerate(report.files, 1)]
    views.sort(key=_badness)  # of files that are equally bad the one that was named first comes first
    highest = max((told.number for view in views for told in view.every()), default=0)
    script, script_hash = paper.script_of("html/page.js")
    return (
        _templates()
        .get_template("html/page.html")
        .render(
            report=report,
            views=views,
            section_of=lambda view: trusted(
                options.kept(view.file, ("html", view.prefix, view.level), lambda: _section(view))
            ),
            several=several,
            title=_title(report),
            style=paper.style_of("page.css", "html/page.css", more=FIGURE_CSS + "\n" + mark_rules(highest)),
            script=script,
            script_hash=script_hash,
            # Where nothing was judged there is nothing to be cautious about.
            cautions=CAUTIONS if any(file.sizes for file in report.files) else (),
        )
    )


def _section(view: View) -> str:
    """All of one file."""
    from seamcheck.report.html.pieces import piece_pictures

    module: Any = _templates().get_template("html/file.html").module
    return str(module.file_section(view, piece_pictures(view)))


def _badness(view: View) -> tuple[int, tuple[int, float]]:
    """How bad a file is: what could not be judged first, then by the worst that was found, those that are good last."""
    if view.file.failures:
        return -1, (0, 0.0)
    if not view.told:
        return 3, (0, 0.0)
    worst = view.told[0]
    return worst.group.severity.rank, weight(worst.group.worst)


def mark_rules(highest: int) -> str:
    """The rules by which a drawing that is used again shows the mark of one finding alone.

    What stands in a use element is styled by inherited properties alone, not by what it stands in.
    """
    return "".join(
        f'.mark[data-finding="{n}"]{{display:var(--mark-{n},var(--marks,inline))}}\n' for n in range(1, highest + 1)
    )


@cache
def _templates() -> Environment:
    """The environment with what the templates of this page ask for by name."""
    from seamcheck.report.figures.graph import graph_figure
    from seamcheck.report.figures.junction import junction_figure
    from seamcheck.report.figures.seam import seam_figure
    from seamcheck.report.figures.sizes import sizes_figure
    from seamcheck.report.html import amounts as told
    from seamcheck.report.html import figures, file, findings, pieces

    asked = (
        *(seam_figure, junction_figure, sizes_figure, graph_figure),
        *(file.verdict, file.contents, file.parted, file.seam_rows, file.quiet_seams, file.graph_link),
        *(file.junction_rows, file.quiet_junctions, file.sizes_with_findings),
        *(findings.short, findings.about, findings.target_of, findings.ways_from, findings.headline),
        *(findings.key_of, findings.pieces_of, findings.sizes_of, findings.choices, findings.walk_of),
        *(pieces.pictures_of, pieces.piece_links, pieces.drawn_piece, pieces.edges_of),
        *(told.length, told.place, told.named, amounts.count, amounts.angle),
    )
    made = environment(
        **{function.__name__: function for function in asked},
        telling=telling,
        base_name=lambda path: PurePath(path).name,
        MOST_OPEN=findings.MOST_OPEN,
    )
    made.filters |= {
        "near": telling.near,
        "parts": told.parts,
        "linked": figures.linked,
        "numbers": figures.numbers,
        "aspect": figures.aspect,
    }
    return made


def _title(report: Report) -> str:
    if len(report.files) != 1:
        return f"{len(report.files)} pattern files, walked seam by seam"
    file = report.files[0]
    return file.pattern or PurePath(file.path).name


REPORT = ReportFormat(
    "html",
    "one page with drawings, for a browser, a mail or paper",
    render,
    geometry=True,
    details="One file that needs no network. It runs as the text does: the verdict, a table of causes, each cause with its "
    "recipe to tick off and the piece that must change, on which a barred line is the stretch that differs and a dashed one the new line of the recipe. A slider walks the seam. "
    "Any size of a nest can be laid on its pieces. "
    "Then comes every seam, junction, piece and size with what is quiet folded away, a diagram of what is sewn to what, and what was "
    "skipped and by which tolerances. Numbers in rings lead from a finding to its place and back; the ring is heavy for an error, "
    "dashed for a warning, dotted for a note. Lengths are shown in mm and inches, or in one of them; the page remembers which.",
)
