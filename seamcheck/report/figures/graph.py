"""The seam graph: pieces as nodes, seams as links; what is broken is told by weight, dash and words."""

from __future__ import annotations

import cmath
import math
from typing import TYPE_CHECKING

from seamcheck import pen
from seamcheck.report.figures.base import TEXT, Figure, disc, plain, text
from seamcheck.report.figures.parts import geometry_of

if TYPE_CHECKING:
    from seamcheck.result import FileResult

RADIUS = 60.0


def graph_figure(file: FileResult) -> Figure:
    """All pieces and the seams between them."""
    names = sorted({piece.name for piece in geometry_of(file).pieces})
    places = {name: cmath.rect(RADIUS, 2 * math.pi * k / len(names) - math.pi / 2) for k, name in enumerate(names)}
    parts = []
    for told, walk in zip(file.seams, geometry_of(file).walks, strict=True):
        for a in walk.seam.first.pieces:
            for b in walk.seam.second.pieces:
                data = pen.polyline([places[a], places[b]])
                parts.append(f'<path class="link" data-seam="{pen.words(told.name)}" d="{data}"/>\n')
    for name, at in places.items():
        parts.append(
            f'<g class="node" data-piece="{pen.words(name)}">{disc(at, 3.0, "ring")}'
            f"{text(at + 7j, plain(name), TEXT, 'middle')}</g>\n"
        )
    return Figure(body="".join(parts), box=(-90.0, -80.0, 180.0, 160.0), title="Seam graph", description="")
