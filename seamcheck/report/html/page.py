"""The report as a page: one HTML file that needs no network and no server, and says all it has to say without scripts too.

Its parts lie beside this module and are put into one file here. Figures are drawn where the result kept its geometry.

The script only remembers the units, unfolds what is linked to and lights it up: all else is links, and works
without it. A figure stands in the page once, but a seam a second time half as wide, for pages narrower than 46 rem;
on paper what is used again stands with its finding alone. A finding shows its piece with a `use` element of that
drawing, and shows its own mark alone by custom properties, which are all that a `use` element inherits; the units
in drawings are shown by such properties too. A drawing with links in it is a group for a screen reader, any other
one picture with its caption as its name. `SEAMCHECK_AXE=.../axe-core/axe.min.js` lets
`tests/report/test_html_in_browser.py` look for what would shut people out, light and dark.
"""

from __future__ import annotations

from pathlib import PurePath
from typing import TYPE_CHECKING

from seamcheck.engine.report_format import RenderOptions, ReportFormat
from seamcheck.report import paper, telling
from seamcheck.report.cautions import CAUTIONS
from seamcheck.report.paper import words

if TYPE_CHECKING:
    from seamcheck.engine.result import Report
    from seamcheck.report.html.view import View


TO_CAUTIONS = '<p><a href="#cautions">Cautions</a></p>'


def render(report: Report, options: RenderOptions) -> str:
    """The whole page; the same report gives the same bytes."""
    from seamcheck.report.html.figures import mark_rules
    from seamcheck.report.html.file import file_section
    from seamcheck.report.html.view import view_of

    several = len(report.files) != 1
    views = [view_of(file, f"file-{k}", 2 if several else 1) for k, file in enumerate(report.files, 1)]
    highest = max((told.number for view in views for told in view.every()), default=0)
    script, script_hash = paper.script_of("html/page.js")
    title = _title(report)
    # Where nothing was judged there is nothing to be cautious about.
    cautions = _cautions() if any(file.sizes for file in report.files) else ""
    fields = {
        "title": words(title),
        "style": paper.part("page.css") + paper.part("html/page.css") + _figure_css() + "\n" + mark_rules(highest),
        "script": script,
        "script-hash": script_hash,
        "contents": "\n".join([*(_contents(view, several=several) for view in views), cautions and TO_CAUTIONS]),
        "head": _index(report, views, title) if several else "",
        "files": "\n".join(
            f'<div class="file" id="{view.prefix}" data-file="{k}">\n{file_section(view, _head(view))}</div>'
            for k, view in enumerate(views, 1)
        ),
        "cautions": cautions,
    }
    return paper.filled("html/page.html", fields)


def _figure_css() -> str:
    from seamcheck.report.figures.base import FIGURE_CSS

    return FIGURE_CSS


def _title(report: Report) -> str:
    if len(report.files) != 1:
        return f"{len(report.files)} pattern files, walked seam by seam"
    file = report.files[0]
    return file.pattern or PurePath(file.path).name


def _head(view: View) -> str:
    file = view.file
    pattern = f"{words(file.pattern)}: " if file.pattern else ""
    return f'<small>{pattern}<bdi>{words(file.path)}</bdi></small><span class="unseen">: </span>'


def _contents(view: View, *, several: bool) -> str:
    from seamcheck.report.html.file import contents

    rows = "\n".join(f'<li><a href="#{identifier}">{words(name)}</a></li>' for identifier, name in contents(view))
    if not several:
        return f'<ul>\n<li><a href="#{view.prefix}">Verdict</a></li>\n{rows}\n</ul>'
    name = words(PurePath(view.file.path).name)
    return (
        f'<p><a href="#{view.prefix}">{name}</a></p>\n<details><summary>Its sections<span class="unseen"> ({name})</span>'
        f"</summary>\n<ul>\n{rows}\n</ul></details>"
    )


def _index(report: Report, views: list[View], title: str) -> str:
    """All files with what they come to, the way to each of them."""
    from seamcheck.report.html.amounts import table

    rows = []
    for view in views:
        told, kind = telling.verdict(view.file, [one.group for one in view.told])
        counts = [
            sum(one.group.severity.value == grade for one in view.told) for grade in ("error", "warning", "note")
        ]
        cells = [
            f'<a href="#{view.prefix}"><bdi>{words(view.file.path)}</bdi></a>',
            f'<span class="{kind}">{words(told)}</span>',
            *(str(one) if one else "" for one in counts),
        ]
        rows.append(("", cells))
    return (
        f'<section id="index" aria-labelledby="index-title">\n<h1 id="index-title">{words(title)}</h1>\n'
        f"<p>{words(telling.sum_of(report))}</p>\n"
        f"{table(['File', 'Verdict', 'Errors', 'Warnings', 'Notes'], rows, 'All files')}</section>\n"
    )


def _cautions() -> str:
    each = "\n".join(f"<p>{words(caution)}</p>" for caution in CAUTIONS)
    return f'<section id="cautions" aria-labelledby="cautions-title">\n<h2 id="cautions-title">Cautions</h2>\n{each}\n</section>'


REPORT = ReportFormat(
    "html",
    "one page with drawings, for a browser, a mail or paper",
    render,
    geometry=True,
    details="One file that needs no network. It begins with the verdict. Then comes each finding with its drawing, every seam, "
    "junction, piece and size with what is quiet folded away, a diagram of what is sewn to what, and what was skipped, accepted "
    "and by which tolerances. Numbers in rings lead from a finding to its place and back; the ring is heavy for an error, "
    "dashed for a warning, dotted for a note. Lengths are shown in mm and inches, or in one of them; the page remembers which.",
)
