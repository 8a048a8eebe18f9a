"""Figures as they stand in the report's page: drawn once, linked to what they show, and used again small beside a finding."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from typing import TYPE_CHECKING

from seamcheck.report import pen
from seamcheck.report.templates import trusted

if TYPE_CHECKING:
    from markupsafe import Markup

    from seamcheck.report.figures.base import Box, Figure, Linked

_OPEN = re.compile(
    r'@(?:(?<=\bid="@)|(?<=url\(#@)|(?<=href="#@))'
)  # begins with its letter, so that it is found fast
Link = Mapping[str, str]  # the attributes of a link


def linked(
    figure: Figure, identifier: str, link: Callable[[Linked], Link | None] | None
) -> Iterator[tuple[Markup, Link | None]]:
    """The parts of a figure, with the ids that "@" stands for, each with the link that it stands in if there is one."""
    for part in figure.parts:
        if isinstance(part, str):
            yield _named(part, identifier), None
        else:
            yield _named(part.svg, identifier), link(part) if link else None


def _named(svg: str, identifier: str) -> Markup:
    return trusted(_OPEN.sub(f"{identifier}-", svg))


def numbers(box: Box) -> str:
    """The viewBox of a figure."""
    return " ".join(pen.number(value) for value in box)


def aspect(figure: Figure) -> str:
    """The shape of a figure, for the page to keep."""
    return f"aspect-ratio:{pen.number(figure.box[2])}/{pen.number(figure.box[3])}"
