"""The findings of a file on its page: each with its words, its drawings and its place on the piece."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from seamcheck import wording
from seamcheck.report import telling
from seamcheck.report.html_figures import figure_element, used
from seamcheck.report.html_text import place, prose
from seamcheck.report.html_view import figures_of, named
from seamcheck.report.page import words

if TYPE_CHECKING:
    from seamcheck.folding import Group
    from seamcheck.report.figures.base import Figure
    from seamcheck.report.html_view import Told, View

MOST_NAMED = 3  # edges or pieces in a heading
MOST_OPEN = 3  # of what one broken size brings with it, so many are told without being asked for

Pictures = Mapping[tuple[str, str], tuple[str, "Figure"]]  # piece and size -> the id of its drawing, and the drawing


def short(group: Group, view: View) -> str:
    """A finding in a few words: its seam, or its edges or pieces, and the sizes."""
    finding = group.worst
    if finding.seam:
        what = f"seam {finding.seam}"
    else:
        names = finding.edges or finding.pieces
        what = wording.listed(names[:MOST_NAMED]) + (" and more" if len(names) > MOST_NAMED else "")
    return ", ".join(part for part in (what, telling.sizes_of(group.sizes, view.file)) if part) or finding.check


def findings(view: View, pictures: Pictures) -> str:
    """The section with all findings that nobody accepted."""
    if not view.told:
        return ""
    each = "\n".join(_finding(view, told, pictures) for told in view.told)
    return view.section("findings", "Findings, the worst first", each)


def _finding(view: View, told: Told, pictures: Pictures) -> str:
    severity = told.group.severity.value
    identifier = view.id("finding", told.number)
    head = (
        f'<span class="ring">{told.number}</span> <span class="severity">{severity.capitalize()}</span> '
        f'<span class="what">{words(short(told.group, view))}</span>'
    )
    target = _target(view, told)
    linked = f'<a href="#{target}">{head}</a>' if target else head
    parts = [
        f'<article class="finding {severity}" id="{identifier}" data-finding="{told.number}" tabindex="-1" '
        f'aria-labelledby="{identifier}-title">',
        view.heading(2, linked, f"{identifier}-title"),
        '<div class="telling"><div>',
        *_words(view, told.group),
        _links(view, told),
        "</div>",
        _on_piece(view, told, pictures),
        "</div>",
        *_drawings(view, told, pictures),
        _related(view, told, pictures),
        "</article>",
    ]
    return "\n".join(part for part in parts if part)


def _words(view: View, group: Group) -> Iterator[str]:
    finding = group.worst
    yield f"<p>{prose(telling.told(group))}</p>"
    if finding.advice:
        yield f'<p class="do"><b>Do:</b> {prose(telling.ended(finding.advice))}</p>'
    at = f"In the drawing at {place(finding.at)}. " if finding.at is not None else ""
    yield f'<p class="quiet">{at}<code>{words(telling.rule(finding))}</code></p>'


def _target(view: View, told: Told) -> str:
    """The part of the page that a finding is of: its mark, else its seam or piece; "" where there is none."""
    if any(mark.number == told.number for mark in view.marks):
        return view.id("mark", told.number)
    finding = told.group.worst
    if finding.seam in view.seams:
        return view.id("seam", view.seams.index(finding.seam))
    for name in named(finding):
        if name in view.file.pieces:
            return view.id("piece", view.file.pieces.index(name))
    return ""


def _links(view: View, told: Told) -> str:
    """Ways to the seams and pieces that a finding is of."""
    every = told.group.findings
    seams = dict.fromkeys(one.seam for one in every if one.seam in view.seams)
    pieces = dict.fromkeys(name for one in every for name in named(one) if name in view.file.pieces)
    links = [
        *(f'<a href="#{view.id("seam", view.seams.index(name))}">seam {words(name)}</a>' for name in seams if name),
        *(
            f'<a href="#{view.id("piece", view.file.pieces.index(name))}">piece {words(name)}</a>'
            for name in sorted(pieces)
        ),
    ]
    return f'<p class="ways">See {", ".join(links)}.</p>' if links else ""


def _on_piece(view: View, told: Told, pictures: Pictures) -> str:
    """The piece, small, with the mark of this finding, where something else is drawn large."""
    mark = next((one for one in view.marks if one.number == told.number), None)
    if mark is None or not figures_of(view.file, told.group.worst):
        return ""
    identifier, figure = pictures[mark.piece, mark.size]
    drawing = used(view, figure, identifier, told.number, "", small=True)
    return (
        f'<a class="on-piece" href="#{view.id("mark", told.number)}">{drawing}'
        f"<span>Where it is on {words(mark.piece)}</span></a>"
    )


def _drawings(view: View, told: Told, pictures: Pictures) -> Iterator[str]:
    from seamcheck.report.figures.junction import junction_figure
    from seamcheck.report.figures.seam import seam_figure

    if view.file.geometry is None:
        return
    keys = figures_of(view.file, told.group.worst)
    for k, key in enumerate(keys):
        kind, name, size = key
        owner = view.drawn[key]
        if owner != told.number:
            what = f"The seam {name}" if kind == "seam" else "The junction"
            yield (
                f'<p class="quiet">{words(what)} is drawn at '
                f'<a href="#{view.id("finding", owner)}">finding {owner}</a>.</p>'
            )
            continue
        figure = seam_figure(view.file, name, size) if kind == "seam" else junction_figure(view.file, int(name))
        yield figure_element(figure, f"{view.id('drawing', told.number)}-{k}", kind=kind)
    if not keys:
        yield from _piece_drawing(view, told, pictures)


def _piece_drawing(view: View, told: Told, pictures: Pictures) -> Iterator[str]:
    """The piece at full size with the mark of a finding that has no other drawing."""
    mark = next((one for one in view.marks if one.number == told.number), None)
    if mark is None:
        return
    identifier, figure = pictures[mark.piece, mark.size]
    name = f"{figure.title}, with the place of finding {told.number}"
    yield (
        f'<figure class="drawing piece"><div class="scroller">'
        f"{used(view, figure, identifier, told.number, name, small=False)}</div>\n"
        f'<figcaption><b>{words(figure.title)}.</b> All its marks: <a href="#{identifier}">the piece</a>.</figcaption></figure>\n'
    )


def _related(view: View, told: Told, pictures: Pictures) -> str:
    """What one broken size brings with it, folded away where it is much."""
    if not told.related:
        return ""
    each = "\n".join(_with_it(view, one, pictures) for one in told.related)
    opened = " open" if len(told.related) <= MOST_OPEN else ""
    return (
        f"<details{opened}><summary>{_count(told.related)} in the same size, most likely of the same fault</summary>\n"
        f'<ul class="related">\n{each}\n</ul></details>'
    )


def _count(related: Sequence[Told]) -> str:
    return "1 more finding" if len(related) == 1 else f"{len(related)} more findings"


def _with_it(view: View, told: Told, pictures: Pictures) -> str:
    severity = told.group.severity.value
    target = _target(view, told)
    head = (
        f'<span class="ring">{told.number}</span> <span class="severity">{severity.capitalize()}</span> '
        f'<span class="what">{words(short(told.group, view))}</span>'
    )
    linked = f'<a href="#{target}">{head}</a>' if target else head
    return (
        f'<li class="finding {severity}" id="{view.id("finding", told.number)}" data-finding="{told.number}" tabindex="-1">'
        f'<p class="head">{linked}</p>{"".join(_words(view, told.group))}{"".join(_drawings(view, told, pictures))}</li>'
    )


def accepted(view: View) -> str:
    """The section with what the shop accepts, and why."""
    if not view.accepted:
        return ""
    rows = "\n".join(
        f"<li><b>{words(short(group, view))}.</b> {prose(telling.told(group))} "
        f'<span class="why">Because: {words(telling.ended(group.accepted or ""))}</span> '
        f"<code>{words(telling.rule(group.worst))}</code></li>"
        for group in view.accepted
    )
    return view.section("accepted", "Accepted", f'<ul class="plain">\n{rows}\n</ul>')
