"""What is decided once for all sizes of a piece, in the sample size, where its sizes are drawn point for point alike.

corners   of outlines of which no size marks any: found in the sample size, and the same vertices in the others
notches   two that lie so near one another in some size that they would count as one double notch
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from seamcheck.geometry.curve import Curve
from seamcheck.pattern.drawing import Drawing, LineMark
from seamcheck.pieces.corners import detect_corners
from seamcheck.pieces.markings import ShapeNotch, notch_of
from seamcheck.pieces.nesting import OUTLINE_ROLES

AT_VERTEX = 1e-3  # mm: a corner this near to a vertex is that vertex


def with_corners_of_the_sample(drawing: Drawing) -> Drawing:
    """The drawing with corners marked on every outline that is drawn in several sizes and marks none itself."""
    pieces = {block.name: (block.piece.casefold(), block.size) for block in drawing.blocks}
    alike: dict[tuple[object, ...], list[int]] = defaultdict(list)
    for number, line in enumerate(drawing.lines):
        if line.block in pieces and line.closed and line.role in OUTLINE_ROLES and line.turn_points is None:
            alike[pieces[line.block][0], line.layer, len(line.curve.segments)].append(number)
    lines = list(drawing.lines)
    for numbers in alike.values():
        blocks = {lines[number].block for number in numbers}
        if len(numbers) < 2 or len(blocks) < len(numbers):
            continue  # one size, or several outlines in one
        sample = drawing.sample_size.casefold()
        base = next((k for k in numbers if pieces[lines[k].block or ""][1].casefold() == sample), numbers[0])
        vertices = _corner_vertices(lines[base].curve)
        for number in numbers if vertices else ():
            lines[number] = _marked(lines[number], vertices)
    return replace(drawing, lines=tuple(lines))


def _corner_vertices(curve: Curve) -> list[int]:
    """The numbers of the segments that begin at corners; none where a corner lies between vertices."""
    joints = np.asarray(curve.joint_stations)[:-1]
    found = []
    for station in detect_corners(curve):
        apart = np.abs(joints - station)
        apart = np.minimum(apart, curve.length - apart)
        nearest = int(np.flatnonzero(apart <= apart.min() + 1e-9)[0])
        if apart[nearest] > AT_VERTEX:
            return []
        found.append(nearest)
    return sorted(set(found))


def _marked(line: LineMark, vertices: Sequence[int]) -> LineMark:
    return replace(line, turn_points=tuple(complex(line.curve.segments[k, 0]) for k in vertices))


def notches_as_in(
    sample: Sequence[ShapeNotch], notches: Sequence[ShapeNotch], outline: Curve
) -> tuple[ShapeNotch, ...]:
    """The notches of a size, counted together as those of the sample size are; as they were where it has others."""
    counts = [len(notch.stations) for notch in sample]
    stations = sorted((station % outline.length, notch) for notch in notches for station in notch.stations)
    if len(sample) == len(notches) or sum(counts) != len(stations):
        return tuple(notches)
    regrouped, k = [], 0
    for count in counts:
        group = stations[k : k + count]
        regrouped.append(notch_of(outline, [station for station, _ in group], group[0][1]))
        k += count
    return tuple(regrouped)
