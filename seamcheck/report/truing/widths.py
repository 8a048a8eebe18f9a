"""How wide a line of writing is printed, by the widths in the fonts that come with the package."""

from __future__ import annotations

from functools import cache

from seamcheck.report.truing.fonts import cleaned, shipped


def width_of(text: str, bold: bool = False) -> float:
    """In heights of the letters; a letter that is drawn from another font counts as a whole height."""
    widths = _widths("Bold" if bold else "Regular")
    return sum(widths.get(ord(letter), 1.0) for letter in cleaned(text))


@cache
def _widths(style: str) -> dict[int, float]:
    from fontTools.ttLib import TTFont

    with TTFont(shipped(style).path, lazy=True) as font:
        unit, metrics = font["head"].unitsPerEm, font["hmtx"]
        return {code: metrics[name][0] / unit for code, name in font.getBestCmap().items()}
