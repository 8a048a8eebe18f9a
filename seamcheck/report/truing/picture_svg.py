"""The picture of a trued pattern as SVG, at a scale."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from seamcheck.report import pen
from seamcheck.report.figures.looks import LOOKS, colour
from seamcheck.report.truing.picture import STRONG, Picture

DIGITS = 3  # a true picture is laid over the paper: a thousandth of a mm
_n = partial(pen.number, digits=DIGITS)


def svg(picture: Picture, scale: float, text: float) -> str:
    """The picture with `scale` mm on paper for a mm of cloth; `text` is the height of writing in mm of cloth."""
    return "".join(_parts(picture, scale, text))


def _parts(picture: Picture, scale: float, text: float) -> Iterator[str]:
    width, height = picture.width, picture.height
    yield '<?xml version="1.0" encoding="UTF-8"?>\n'
    yield f'<svg xmlns="http://www.w3.org/2000/svg" width="{_n(width * scale)}mm" height="{_n(height * scale)}mm" '
    yield f'viewBox="0 0 {_n(width)} {_n(height)}" fill="none" stroke-linecap="round" stroke-linejoin="round">\n'
    yield f'<rect width="{_n(width)}" height="{_n(height)}" fill="#ffffff"/>\n'
    for kind, (thick, dash, tone) in LOOKS.items():
        mine = [line for line in picture.lines if line.kind is kind]
        if not mine:
            continue
        dashes = " ".join(_n(part / scale) for part in dash)
        dashed = f' stroke-dasharray="{dashes}"' if dash else ""
        yield f'<g class="{kind}" stroke="{colour(tone)}" stroke-width="{_n(thick / scale)}"{dashed}>\n'
        yield from (f'<path d="{pen.path(line.curve, digits=DIGITS)}"/>\n' for line in mine)
        yield "</g>\n"
    yield f'<g font-family="Helvetica, Arial, sans-serif" text-anchor="middle" font-size="{_n(text)}">\n'
    for words in picture.words:
        strong = f' font-weight="bold" font-size="{_n(STRONG * text)}"' if words.strong else ""
        yield f'<text x="{_n(words.at.real)}" y="{_n(words.at.imag)}" fill="{colour(words.tone)}"{strong}>'
        yield f"{pen.words(words.text)}</text>\n"
    yield "</g>\n</svg>\n"
