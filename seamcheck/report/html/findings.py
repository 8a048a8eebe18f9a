"""The findings of a file on its page: each with its words, its drawings and its place on the piece."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from seamcheck import amounts
from seamcheck.report import telling
from seamcheck.report.html.amounts import place, prose
from seamcheck.report.html.figures import figure_element, used
from seamcheck.report.html.view import junction_of, named
from seamcheck.report.paper import words

if TYPE_CHECKING:
    from seamcheck.engine.grouping import Group
    from seamcheck.report.figures.base import Figure
    from seamcheck.report.html.view import Told, View

MOST_NAMED = 3  # edges or pieces in a heading
MOST_OPEN = 3  # of what one broken size brings with it, so many are told without being asked for

Pictures = Mapping[tuple[str, str], tuple[str, "Figure"]]  # piece and size -> the id of its drawing, and the drawing


def short(group: Group, view: View) -> str:
    """A finding in a few words: its seam, or its edges or pieces, and the sizes."""
    parts = (about(group, view), telling.sizes_of(group.sizes, view.file))
    return ", ".join(part for part in parts if part) or group.worst.check


def about(group: Group, view: View) -> str:
    """The seam that a finding is of, or its edges or pieces; "" where it names none."""
    finding = group.worst
    junction = junction_of(view.file, finding)
    if finding.seam and junction is None:
        return f"seam {finding.seam}"
    names = finding.edges or finding.pieces if junction is None else view.file.junctions[junction].corners
    return amounts.listed(names[:MOST_NAMED]) + (" and more" if len(names) > MOST_NAMED else "")


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
        f'<span class="ring {severity}">{told.number}</span> <span class="severity">{severity.capitalize()}:</span> '
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
    yield f"<p>{prose(telling.describe(group))}</p>"
    if finding.advice:
        yield f'<p class="do"><b>Do:</b> {prose(telling.ended(finding.remedy))}</p>'
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
    """The piece, small, with the mark of this finding, where it does not stand large below."""
    mark = view.mark(told.number)
    if mark is None or view.drawn.get(("piece", mark.piece, mark.size)) == told.number:
        return ""
    identifier, figure = pictures[mark.piece, mark.size]
    return (
        f'<a class="on-piece" href="#{view.id("mark", told.number)}">{used(figure, identifier, told.number)}'
        f"<span>Where it is on {words(mark.piece)}</span></a>"
    )


def _drawings(view: View, told: Told, pictures: Pictures) -> Iterator[str]:
    """The drawings of a finding; where one stands with another finding already, the way to it."""
    from seamcheck.report.figures.junction import junction_figure
    from seamcheck.report.figures.seam import seam_figure

    for k, key in enumerate(view.figures(told)):
        kind, name, size = key
        owner = view.drawn[key]
        identifier = f"{view.id('drawing', told.number)}-{k}"
        if owner != told.number:
            what = "The junction" if kind == "junction" else f"The {kind} {name}"
            way = f'<a href="#{view.id("finding", owner)}">finding {owner}</a>'
            yield f'<p class="quiet">{words(what)} is drawn with {way}.</p>'
        elif kind == "seam":
            narrow = seam_figure(view.file, name, size, narrow=True)
            yield figure_element(seam_figure(view.file, name, size), identifier, narrow=narrow, kind=kind)
        elif kind == "junction":
            yield figure_element(junction_figure(view.file, int(name)), identifier, kind=kind)
        else:
            drawing, figure = pictures[name, size]
            yield (
                f'<figure class="drawing piece"><div class="scroller">{used(figure, drawing, name=figure.title)}</div>\n'
                f"<figcaption><b>{words(figure.title)}</b>, with all that was found on it. {prose(figure.description)}</figcaption>"
                "</figure>\n"
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
        f'<span class="ring {severity}">{told.number}</span> <span class="severity">{severity.capitalize()}:</span> '
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
        f"<li><b>{words(short(group, view))}.</b> {prose(telling.describe(group))} "
        f'<span class="why">Because: {prose(telling.ended(group.accepted or ""))}</span> '
        f"<code>{words(telling.rule(group.worst))}</code></li>"
        for group in view.accepted
    )
    return view.section("accepted", "Accepted", f'<ul class="plain">\n{rows}\n</ul>')
