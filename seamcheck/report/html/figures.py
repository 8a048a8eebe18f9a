"""Figures as they stand in the report's page: drawn once, linked to what they show, and used again small beside a finding."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from seamcheck.report import pen
from seamcheck.report.html.amounts import prose
from seamcheck.report.paper import words

if TYPE_CHECKING:
    from seamcheck.report.figures.base import Figure, Linked, Part


def figure_element(
    figure: Figure, identifier: str, *, narrow: Figure | None = None, interactive: bool = False, kind: str = ""
) -> str:
    """A figure with its caption, which is its name for those who cannot see it.

    One with links in it is a group of them; any other is one picture. `narrow` is the same for a page that is too narrow.
    """
    role = "group" if interactive else "img"
    drawn = _drawn(figure, f"{identifier}-body", identifier, role, "wide" if narrow else "")
    if narrow:
        drawn += _drawn(narrow, f"{identifier}-narrow", identifier, role, "narrow")
    return (
        f'<figure class="drawing {kind}" id="{identifier}">\n<div class="scroller">{drawn}</div>\n'
        f'<figcaption id="{identifier}-name"><b>{words(figure.title)}.</b> {prose(figure.description)}</figcaption>\n'
        f"</figure>\n"
    )


def _drawn(figure: Figure, body: str, identifier: str, role: str, kind: str) -> str:
    """The svg element; `body` is the id of what it shows, `identifier` that of the figure that it belongs to."""
    view = " ".join(pen.number(value) for value in figure.box)
    looks = f"figure {kind}".strip()
    return (
        f'<svg class="{looks}" role="{role}" aria-labelledby="{identifier}-name" viewBox="{view}" '
        f'style="aspect-ratio:{pen.number(figure.box[2])}/{pen.number(figure.box[3])}">'
        f'<g class="figure" id="{body}">\n{_named(figure.body, body.removesuffix("-body"))}</g></svg>'
    )


def _named(body: str, identifier: str) -> str:
    """A body with the ids that "@" stands for."""
    return re.sub(r'(\bid="|url\(#|href="#)@', rf"\g<1>{identifier}-", body)


def linked(figure: Figure, link: Callable[[Linked], str]) -> Figure:
    """A figure in which what leads somewhere stands in a link; `link` makes its opening tag, "" where there is none."""

    def part(one: Part) -> str:
        if isinstance(one, str):
            return one
        opening = link(one)
        return f"{opening}{one.svg}</a>" if opening else one.svg

    return replace(figure, parts=tuple(map(part, figure.parts)))


def used(figure: Figure, identifier: str, number: int | None = None, name: str = "") -> str:
    """A drawing of a piece that stands elsewhere on the page, here with the mark of one finding alone if that is given.

    Without a name of its own it is small and has no words in it: what stands beside it names it.
    """
    view = " ".join(pen.number(value) for value in figure.box)
    looks = f"aspect-ratio:{pen.number(figure.box[2])}/{pen.number(figure.box[3])}"
    if number is not None:
        looks += f";--marks:none;--mark-{number}:inline"
    if name:
        start = f'<svg class="figure" role="img" aria-label="{words(name)}" style="{looks}"'
    else:
        start = f'<svg class="figure small" aria-hidden="true" style="--texts:none;{looks}"'
    return f'{start} viewBox="{view}"><use href="#{identifier}-body"/></svg>'


def mark_rules(highest: int) -> str:
    """The rules by which a drawing that is used again shows the mark of one finding alone.

    What stands in a use element is styled by inherited properties alone, not by what it stands in.
    """
    return "".join(
        f'.mark[data-finding="{n}"]{{display:var(--mark-{n},var(--marks,inline))}}\n' for n in range(1, highest + 1)
    )
