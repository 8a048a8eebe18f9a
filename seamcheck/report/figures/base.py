"""What a figure is, how it is written, and what all figures look like.

unit    figures are laid out in units that are mm on paper where a figure stands alone; text has the same heights in all
words   a text in parts, some of which are for readers of mm alone, some for those of inches alone

Drawings hold no colours but by classes. Weight, dash, hatching and words say all that colour says, so that they
serve in grey and for eyes that do not tell red from green.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from textwrap import wrap
from typing import NamedTuple

from seamcheck import amounts
from seamcheck.amounts import Phrase
from seamcheck.report import pen
from seamcheck.report.figures import looks
from seamcheck.report.layout import printable
from seamcheck.report.lettering import text_width

NAME = 3.6  # heights of letters
TEXT = 3.1
SMALL = 2.6
MARGIN = 4.0  # round a picture that stands alone
HEADING = 4.6
LETTER = 0.51  # the mean width of a letter of running text in a plain sans face, for lines of many words

Box = tuple[float, float, float, float]  # x, y, width, height
Words = tuple[tuple[str, str], ...]  # class and text: "", "units-mm", "units-both" or "units-inch"

FIGURE_CSS = f"""
.figure path,.figure line,.figure circle{{fill:none;stroke-linejoin:round;stroke-linecap:butt}}
{looks.rules(".figure")}
.figure .found{{stroke-width:1.2}}
""" + """
.figure text{font-family:"Helvetica Neue",Helvetica,Arial,"Liberation Sans",sans-serif;fill:var(--ink,#1c2126);stroke:none}
.figure .quiet{fill:var(--faint,#5b636b)}
.figure .strong{font-weight:700}
.figure .told{fill:var(--error,#9c1f1f);font-weight:700}
.figure .grade-warning .told{fill:var(--warning,#7a4b00)}
.figure .grade-note .told{fill:var(--note,#2f5573)}
.figure .grade-none .told{fill:var(--faint,#5b636b);font-weight:400}
.figure .end{text-anchor:end}
.figure .middle{text-anchor:middle}
.figure .cloth{fill:var(--ink,#1c2126);fill-opacity:.06}
.figure .cloth.second{fill-opacity:.12}
.figure .ought-text{fill:var(--accent,#0b4f8a)}
.figure .off{stroke:var(--error,#9c1f1f);stroke-width:.55}
.figure .hatch{stroke:var(--error,#9c1f1f);stroke-width:.25}
.figure .grade-warning .off,.figure .grade-warning .hatch{stroke:var(--warning,#7a4b00)}
.figure .grade-note .off,.figure .grade-note .hatch{stroke:var(--note,#2f5573)}
.figure .dot{fill:var(--ink,#1c2126)}
.figure .spot{fill:var(--error,#9c1f1f)}
.figure .grade-warning .spot{fill:var(--warning,#7a4b00)}
.figure .grade-note .spot{fill:var(--note,#2f5573)}
.figure .ring{fill:var(--paper,#fff);stroke:var(--ink,#1c2126);stroke-width:.4}
.figure .mark .ring{stroke:var(--error,#9c1f1f);stroke-width:var(--mark-stroke,1)}
.figure .mark.grade-warning .ring{stroke:var(--warning,#7a4b00);stroke-width:var(--mark-stroke,.7);stroke-dasharray:var(--mark-dash,2 .827)}
.figure .mark.grade-note .ring{stroke:var(--note,#2f5573);stroke-width:var(--mark-stroke,.7);stroke-dasharray:var(--mark-dash,0 1.212);stroke-linecap:round}
.figure .mark text{font-weight:700}
.figure .link{stroke:var(--ink,#1c2126);stroke-width:.45}
.figure .link.broken{stroke:var(--error,#9c1f1f);stroke-width:1.3;stroke-dasharray:3 1.2}
.figure .grade-warning .link.broken{stroke:var(--warning,#7a4b00);stroke-width:1}
.figure .grade-note .link.broken{stroke:var(--note,#2f5573);stroke-width:.8}
.figure .stretch{stroke:var(--error,#9c1f1f);stroke-width:var(--stretch,2.2)}
.figure .grade-warning .stretch{stroke:var(--warning,#7a4b00)}
.figure .grade-note .stretch{stroke:var(--note,#2f5573)}
.figure .bars{stroke:var(--paper,#fff);stroke-width:var(--bars,1.1);stroke-dasharray:1.1 1.1}
.figure .hinge{stroke:var(--ink,#1c2126);stroke-width:.5}
.figure .chosen-size{display:none}
.figure .chosen-size.on{display:inline}
.figure .lens{fill:var(--paper,#fff);stroke:var(--faint,#5b636b);stroke-width:.3}
.figure .inset,.figure .scale{display:var(--texts,inline)}
.figure .plate{fill:var(--paper,#fff);stroke:none}
[data-units=mm] .units-inch,[data-units=inch] .units-mm,[data-units] .units-both{display:none}
""".strip()

ALONE_CSS = f"""
svg{{{looks.palette()}--paper:#fff}}
.paper{{fill:var(--paper)}}
@media screen and (prefers-color-scheme:dark){{svg{{{looks.palette(dark=True)}--paper:#17191c}}}}
""".strip()


class Linked(NamedTuple):
    """A part of a drawing that a page may lead on from: what it shows, by kind and name, its SVG, and what it says there."""

    kind: str  # "piece", "seams", "finding" or "cloth"
    names: tuple[str, ...]
    svg: str
    said: str = ""


Part = str | Linked


class Figure(NamedTuple):
    """One drawing: SVG elements without the svg element, in parts, and the box that holds them.

    `exaggerated` is by how much a difference is drawn larger than it is; the picture says so too. Ids in the body begin with
    "@", which stands for the identifier that the figure gets where it is written.
    """

    parts: tuple[Part, ...]
    box: Box
    title: str
    description: str | Phrase
    exaggerated: float = 1.0

    @property
    def body(self) -> str:
        """All its elements."""
        return "".join(part if isinstance(part, str) else part.svg for part in self.parts)


def inline(figure: Figure, *, identifier: str) -> str:
    """The figure as an svg element for a page that has FIGURE_CSS: it tells its title and description to those who cannot see it."""
    name = pen.words(identifier)
    return (
        f'<svg class="figure" role="img" aria-labelledby="{name}-title {name}-about" viewBox="{_view(figure.box)}">'
        f'<title id="{name}-title">{pen.words(figure.title)}</title>'
        f'<desc id="{name}-about">{pen.words(str(figure.description))}</desc>\n{figure.body}</svg>'
    )


def standalone(figure: Figure, *, scale: float | None = None) -> str:
    """The figure as an SVG file with its heading and its own looks; a unit is `scale` mm on paper, 1 where None."""
    x, y, width, height = figure.box
    width = max(width, 80.0)
    heading, high = headed(figure, width)
    top = y - MARGIN - high
    outer = (x - MARGIN, top - MARGIN, width + 2 * MARGIN, y + height - top + 2 * MARGIN)
    factor = 1.0 if scale is None else scale
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<svg xmlns="http://www.w3.org/2000/svg" class="figure" role="img" aria-labelledby="title about" '
        f'width="{pen.number(outer[2] * factor)}mm" height="{pen.number(outer[3] * factor)}mm" viewBox="{_view(outer)}">\n'
        f'<title id="title">{pen.words(figure.title)}</title>\n<desc id="about">{pen.words(str(figure.description))}</desc>\n'
        f"<style>\n{ALONE_CSS}\n{FIGURE_CSS}\n</style>\n"
        f'<rect class="paper" x="{pen.number(outer[0])}" y="{pen.number(outer[1])}" width="{pen.number(outer[2])}" '
        f'height="{pen.number(outer[3])}"/>\n'
        f'<g transform="translate({pen.point(complex(x, top))})">\n{heading}</g>\n{figure.body}</svg>\n'
    )


def headed(figure: Figure, width: float) -> tuple[str, float]:
    """Title and description from the origin downwards, and how high they are."""
    rows = [
        *((row, "strong", HEADING) for row in wrapped(figure.title, width, HEADING)),
        *((row, "quiet", TEXT) for row in wrapped(str(figure.description), width, TEXT)),
    ]
    parts, y = [], 0.0
    for row, kind, size in rows:
        y += size * 1.35
        parts.append(text(complex(0.0, y - size * 0.35), plain(row), size, kind))
    return "".join(parts), y


def _view(box: Box) -> str:
    return " ".join(pen.number(value) for value in box)


def wrapped(said: str, width: float, size: float) -> list[str]:
    """A text in lines of a width."""
    return wrap(printable(said), max(12, int(width / size / LETTER)), break_on_hyphens=False)


def plain(said: str) -> Words:
    """Words that are the same in every unit."""
    return (("", said),)


def length(mm: float, before: str = "", after: str = "") -> Words:
    """An amount with words round it: "6.4 mm (1/4 in)", in one unit alone where the page asks for one."""
    return (
        ("", before),
        ("units-mm", amounts.millimetres(mm)),
        ("units-both", " ("),
        ("units-inch", amounts.inches(mm)),
        ("units-both", ")"),
        ("", after),
    )


def said(parts: Words) -> str:
    """Words as one text, in both units."""
    return "".join(part for _, part in parts)


def width_of(parts: Words, size: float) -> float:
    """How wide words are where both units stand in them."""
    return text_width(said(parts), size)


def text(at: complex, parts: Words, size: float, kind: str = "", turn: float = 0.0) -> str:
    """Words with their base line at a point; `kind` may say "middle" or "end" for what of them stands there."""
    inside = "".join(
        f'<tspan class="{unit}">{pen.words(part)}</tspan>' if unit else pen.words(part)
        for unit, part in parts
        if part
    )
    turned = f' transform="rotate({pen.number(turn)} {pen.point(at)})"' if turn else ""
    return (
        f'<text x="{pen.number(at.real)}" y="{pen.number(at.imag)}" font-size="{pen.number(size)}"'
        f"{_class(kind)}{turned}>{inside}</text>\n"
    )


def stroke(data: str, kind: str, more: str = "") -> str:
    """A line from path data."""
    return f'<path{_class(kind)} d="{data}"{more}/>\n'


def line(a: complex, b: complex, kind: str) -> str:
    """A straight line."""
    return stroke(pen.polyline([a, b]), kind)


def disc(at: complex, radius: float, kind: str) -> str:
    """A circle."""
    return f'<circle{_class(kind)} cx="{pen.number(at.real)}" cy="{pen.number(at.imag)}" r="{pen.number(radius)}"/>\n'


def _class(kind: str) -> str:
    return f' class="{kind}"' if kind else ""


def hatch(corners: Sequence[complex], step: float = 1.3) -> str:
    """Slanting lines across a convex shape, as path data; "" where it is too thin for any."""
    slope = complex(0.7071067811865476, -0.7071067811865476)
    turned = [corner * slope.conjugate() for corner in corners]
    parts = []
    low, high = min(one.imag for one in turned), max(one.imag for one in turned)
    first = int(low // step) + 1
    for k in range(first, int(high // step) + 1):
        level = k * step
        cuts = sorted(_cuts(turned, level))
        if len(cuts) > 1 and cuts[-1] - cuts[0] > 0.05:
            parts.append(pen.polyline([complex(x, level) * slope for x in (cuts[0], cuts[-1])]))
    return "".join(parts)


def _cuts(corners: Sequence[complex], level: float) -> Iterable[float]:
    for a, b in zip(corners, [*corners[1:], corners[0]], strict=True):
        if (a.imag <= level) != (b.imag <= level):
            yield a.real + (b.real - a.real) * (level - a.imag) / (b.imag - a.imag)
