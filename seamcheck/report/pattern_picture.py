"""A pattern as one SVG picture: its pieces side by side, all sizes of a piece on one another, as a notebook shows it.

Coordinates of the picture are mm of cloth, x to the right and y down, whatever axes the file has.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from math import sqrt
from typing import TYPE_CHECKING

from seamcheck.geometry.curve import Affine
from seamcheck.report import pen

if TYPE_CHECKING:
    from seamcheck.pattern.model import Grainline, Notch, Pattern, Piece

GAP = 30.0  # mm of cloth between pieces
TEXT = 1 / 45  # of the side of a square as large as all pieces together
NOTCH = 8.0  # mm: how long a notch is drawn
HEAD = 12.0  # mm: how long the barbs of a grain arrow are
FILL = ' fill="currentColor" fill-opacity="0.05"'
WIDEST = 900  # px

Box = tuple[float, float, float, float]


def pattern_svg(pattern: Pattern) -> str:
    """The whole pattern; of a piece in several sizes the last is drawn dark with its marks, the others faint."""
    flip = Affine.identity() if pattern.y_down else Affine.scaling(1.0, -1.0)
    stacks: dict[str, list[Piece]] = {}
    for piece in pattern.pieces:
        stacks.setdefault(piece.name, []).append(piece)
    boxes = {
        name: _box([piece.outline.transformed(flip).bounds() for piece in stack]) for name, stack in stacks.items()
    }
    text = TEXT * sqrt(sum((x1 - x0 + GAP) * (y1 - y0 + GAP) for x0, y0, x1, y1 in boxes.values()))
    places, (width, height) = _shelves(boxes, text)
    body = []
    for name, stack in stacks.items():
        x0, y0, x1, y1 = boxes[name]
        shift = places[name] - complex(x0, y0)
        move = Affine.translation(shift) @ flip
        body.append(f"<g><title>{_described(stack)}</title>")
        for number, piece in enumerate(stack):
            body += _drawn(piece, move, faint=number < len(stack) - 1)
        below = complex((x0 + x1) / 2, y1 + text) + shift
        body.append(
            f'<text x="{pen.number(below.real)}" y="{pen.number(below.imag)}" text-anchor="middle" font-size="{pen.number(text)}" '
            f'font-family="sans-serif" fill="currentColor" stroke="none">{pen.words(name)}</text></g>'
        )
    title = pen.words(pattern.name or pattern.path)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" viewBox="0 0 {pen.number(width)} {pen.number(height)}" '
        f'width="100%" style="max-width:{WIDEST}px">\n<title>{title}</title>\n'
        '<g fill="none" stroke="currentColor" stroke-width="1.2" vector-effect="non-scaling-stroke">\n'
        + "\n".join(body)
        + "\n</g>\n</svg>\n"
    )


def _described(stack: Sequence[Piece]) -> str:
    sizes = [piece.size for piece in stack if piece.size]
    return pen.words(f"{stack[0].name}, size {', '.join(sizes)}" if sizes else stack[0].name)


def _box(boxes: Iterable[Box]) -> Box:
    lefts, tops, rights, bottoms = zip(*boxes, strict=True)
    return min(lefts), min(tops), max(rights), max(bottoms)


def _shelves(boxes: dict[str, Box], text: float) -> tuple[dict[str, complex], tuple[float, float]]:
    """Where each box stands, its name below it, tallest first in rows, and how large the whole is."""
    sizes = {
        name: (max(x1 - x0, 0.6 * text * len(name)) + GAP, y1 - y0 + GAP + text)
        for name, (x0, y0, x1, y1) in boxes.items()
    }
    area = sum(width * height for width, height in sizes.values())
    row_width = max([1.4 * sqrt(area), *(width for width, _ in sizes.values())])
    places: dict[str, complex] = {}
    x = y = row = across = 0.0
    for name in sorted(sizes, key=lambda name: (-sizes[name][1], name)):
        width, height = sizes[name]
        if x and x + width > row_width:
            x, y, row = 0.0, y + row, 0.0
        x0, _, x1, _ = boxes[name]
        places[name] = complex(x + (width - (x1 - x0)) / 2, y + GAP / 2)
        x, row, across = x + width, max(row, height), max(across, x + width)
    return places, (max(across, GAP), max(y + row, GAP))


def _drawn(piece: Piece, move: Affine, *, faint: bool) -> Iterator[str]:
    shade = ' opacity="0.35"' if faint else ""
    if piece.drawn is not piece.outline:  # the cut line, where that is what the file draws
        yield f'<path d="{pen.path(piece.drawn.transformed(move))}" stroke-dasharray="1 4"{shade}/>'
    yield f'<path d="{pen.path(piece.outline.transformed(move), closed=True)}"{shade or FILL}/>'
    if faint:
        return
    for line in (*piece.internals, *piece.folds):
        yield f'<path d="{pen.path(line.transformed(move))}" stroke-dasharray="8 5"/>'
    for edge in piece.edges:
        for notch in edge.notches:
            yield f'<path d="{_notch(notch, piece, move)}"/>'
    for grain in piece.grainlines:
        yield f'<path d="{_arrow(grain, move)}" stroke-width="0.8"/>'


def _notch(notch: Notch, piece: Piece, move: Affine) -> str:
    """Ticks across the outline, inwards; a double notch is two of them."""
    outline = piece.outline
    near = outline.nearest(notch.at)
    ticks = []
    for k in range(notch.count):
        station = (near.station + 4.0 * (k - (notch.count - 1) / 2)) % outline.length
        # Outlines run clockwise as seen, so that the piece lies to the right.
        inward = outline.tangent(station) * (1j if piece.y_down else -1j)
        start = outline.point(station)
        ticks.append(f"M{pen.point(move.apply(start))} L{pen.point(move.apply(start + NOTCH * inward))}")
    return " ".join(ticks)


def _arrow(grain: Grainline, move: Affine) -> str:
    points = [move.apply(point) for point in grain.points]
    along = points[-1] - points[-2]
    back = -HEAD * along / abs(along) if along else 0j
    turn = complex(0.9, 0.43)
    barbs = f"M{pen.point(points[-1] + back * turn)} L{pen.point(points[-1])} L{pen.point(points[-1] + back * turn.conjugate())}"
    return f"M{' L'.join(pen.point(point) for point in points)} {barbs}"
