"""What the sizes of one piece have in common: corners that no size marks, and notches that lie close in small sizes alone.

The vertices of a nest run in the same order in every size (ASTM D6673, 4.3.1.5), so that a corner is found again by its number.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import accumulate
from typing import TYPE_CHECKING

import numpy as np

from seamcheck.exact import least
from seamcheck.geometry.end_directions import straight
from seamcheck.pattern.drawing import Drawing, LineMark
from seamcheck.pieces.corners import detect_corners

if TYPE_CHECKING:
    from seamcheck.pieces.markings import ShapeNotch
    from seamcheck.pieces.outline import Shape

SAME_TURN = 15.0  # degrees: what turns more otherwise in another size is no longer the same corner
SAME_CORNER = 1e-3  # mm


def with_corners_of_sample(drawing: Drawing) -> Drawing:
    """The drawing with the corners of its sample size marked in every size, where no size of a piece marks any itself.

    Found size by size, one that turns by just about as much as makes a corner would be one in some sizes alone.
    """
    pieces = {block.name: block for block in drawing.blocks}
    groups: dict[str, list[LineMark]] = {}
    for line in drawing.lines:
        block = pieces.get(line.block or "")
        if block is not None and line.closed and line.curve.is_closed:
            groups.setdefault(block.piece.casefold(), []).append(line)
    marked: dict[int, tuple[complex, ...]] = {}
    for lines in groups.values():
        sizes = [pieces[line.block or ""].size for line in lines]
        if len(lines) < 2 or len(set(sizes)) != len(lines) or any(line.turn_points for line in lines):
            continue
        base = lines[sizes.index(drawing.sample_size) if drawing.sample_size in sizes else 0]
        numbers = _corner_numbers(base)
        if numbers and all(_has_them(line, base, numbers) for line in lines):
            marked |= {id(line): tuple(complex(line.curve.segments[k, 0]) for k in numbers) for line in lines}
    if not marked:
        return drawing
    lines_ = tuple(replace(line, turn_points=marked.get(id(line), line.turn_points)) for line in drawing.lines)
    return replace(drawing, lines=lines_)


def _corner_numbers(line: LineMark) -> list[int]:
    """The numbers of the vertices of a line that are its corners; none where one of them lies on no vertex."""
    joints = line.curve.joint_stations[:-1]
    numbers = []
    for station in detect_corners(line.curve):
        near = least(range(len(joints)), key=lambda k: abs(float(joints[k]) - station))
        if abs(float(joints[near]) - station) > SAME_CORNER:
            return []
        numbers.append(near)
    return sorted(numbers)


def _has_them(line: LineMark, base: LineMark, numbers: Sequence[int]) -> bool:
    """Whether a line has the vertices of the base, and turns at its corners as it does."""
    if len(line.curve.segments) != len(base.curve.segments) or not straight(line.curve.segments).all():
        return False
    turns, own = (np.roll(one.curve.joint_turns(), 1)[list(numbers)] for one in (base, line))
    return bool(np.abs(turns - own).max() <= SAME_TURN)


def with_notches_apart(shapes: Sequence[Shape]) -> list[Shape]:
    """The shapes with two notches as two in every size, where they lie close enough for a double one in some sizes alone."""
    groups: dict[str, list[Shape]] = {}
    for shape in shapes:
        groups.setdefault(shape.name, []).append(shape)
    apart: dict[int, Shape] = {}
    for sizes in groups.values():
        counts = [[notch.count for notch in shape.notches] for shape in sizes]
        if len({sum(row) for row in counts}) != 1 or all(row == counts[0] for row in counts):
            continue
        bounds = {bound for row in counts for bound in accumulate(row)}
        apart |= {id(shape): replace(shape, notches=tuple(_parted(shape.notches, bounds))) for shape in sizes}
    return [apart.get(id(shape), shape) for shape in shapes]


def _parted(notches: Sequence[ShapeNotch], bounds: set[int]) -> list[ShapeNotch]:
    """The notches, those parted that have a bound between the single ones they are made of."""
    found: list[ShapeNotch] = []
    number = 0
    for notch in notches:
        within = {number + k for k in range(1, notch.count)}
        number += notch.count
        # Of a triple one that is parted in one place alone, all three are told: which two belong together no size says.
        found += notch.parts if within & bounds and len(notch.parts) == notch.count else (notch,)
    return found
