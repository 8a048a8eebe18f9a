"""A piece in one size, upright as in its file: edges by name, notches, grain, darts and folds, and numbered marks."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from seamcheck import pen
from seamcheck.report.figures.base import TEXT, Figure, disc, plain, stroke, text
from seamcheck.report.figures.parts import fitted, pieces_in

if TYPE_CHECKING:
    from seamcheck.result import FileResult

WIDTH, HEIGHT = 180.0, 180.0


def piece_figure(file: FileResult, piece: str, size: str, marks: Mapping[int, complex]) -> Figure:
    """A piece with marks at places in the file's axes, by their numbers; KeyError where the size has no such piece."""
    drawn = pieces_in(file, size)[piece]
    move = fitted([drawn], 0j, WIDTH, HEIGHT)
    parts = [stroke(pen.path(drawn.outline.transformed(move), closed=True), "cloth outline")]
    for number, place in sorted(marks.items()):
        at = complex(move.apply(place))
        parts.append(
            f'<g class="mark" data-finding="{number}">{disc(at, 2.6, "ring")}'
            f"{text(at + 1.1j, plain(str(number)), TEXT, 'middle')}</g>\n"
        )
    return Figure(
        body="".join(parts),
        box=(-4.0, -4.0, WIDTH + 8.0, HEIGHT + 8.0),
        title=f"Piece {piece}",
        description=f"Piece {piece}, size {size}.",
    )
