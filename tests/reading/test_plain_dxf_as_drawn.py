"""Sheets of general CAD programs as people draw them: each was once read wrongly, and a piece was lost by it."""

import itertools
import math

import dxf_making as make
import pytest

from seamcheck.pattern.drawing import Role
from seamcheck.pieces.outline import assemble

FRONT = (0j, 200 + 0j, 200 + 300j, 0 + 300j)


def shapes(*entities: str):
    return assemble(make.read(make.plain(*entities))).shapes


def ring(points, layer="0"):
    """One LINE from each point to the next, and round."""
    return [make.line(layer, a, b) for a, b in itertools.pairwise([*points, points[0]])]


def chamfered(corner: float) -> list[complex]:
    """A tab of straight sides whose corners are cut off, each by several short steps."""
    points = []
    for at, turn in ((0j, 0), (120 + 0j, 90), (120 + 100j, 180), (100j, 270)):
        way = complex(math.cos(math.radians(turn)), math.sin(math.radians(turn)))
        points += [at + corner * step * way * share for step, share in ((-1j, -1.0), (-0.3 + 0.3j, -1.0), (1, 1.0))]
    return points


@pytest.mark.parametrize("corner", [0.1, 0.4, 1.0, 8.0])
def test_short_lines_at_the_corners_of_an_outline_are_no_arrowheads(corner):
    points = chamfered(corner)
    (shape,) = shapes(*ring(points))
    length = sum(abs(b - a) for a, b in itertools.pairwise([*points, points[0]]))
    assert shape.outline.length == pytest.approx(length, abs=0.2)
    assert len(shape.members) == len(points)


def test_an_arrow_inside_such_an_outline_still_is_one():
    arrow = [
        make.line("0", 60 + 20j, 60 + 80j),
        make.line("0", 60 + 80j, 57 + 75j),
        make.line("0", 60 + 80j, 63 + 75j),
    ]
    drawing = make.read(make.plain(*ring(chamfered(0.4)), *arrow))
    assert [mark.role for mark in drawing.lines[-3:]] == [None, Role.FURNITURE, Role.FURNITURE]
    assert drawing.lines[-3].arrow
    assert not any(mark.role or mark.arrow for mark in drawing.lines[:-3])


@pytest.mark.parametrize("length", [1e-7, 0.0005, 0.004, 0.04, 0.099])
def test_a_line_next_to_nothing_among_the_others_loses_no_piece(length):
    points = [0j, 200 + 0j, complex(200, length), 200 + 300j, 300j]
    sheet = assemble(make.read(make.plain(*ring(points))))
    (shape,) = sheet.shapes
    assert shape.outline.length == pytest.approx(1000, abs=0.1)
    assert len(shape.corners) == 4
    told = [note.message for note in sheet.notes if note.code == "tiny-line"]
    assert bool(told) == (length > 1e-6)
    assert all("A line of less than 0.1 mm is a slip" in one and "(200.0, " in one for one in told)


@pytest.mark.parametrize("step", [0.03, 0.06])
def test_a_curve_of_chords_shorter_than_any_slip_is_kept(step):
    count = round(math.pi * 60 / step)
    arc = [
        60 + 60j - 60j * complex(math.cos(t), math.sin(t)) for t in (math.pi * k / count for k in range(count + 1))
    ]
    (shape,) = shapes(*ring([*arc, 0j]))
    assert len(shape.members) == count + 2
    assert shape.outline.length == pytest.approx(60 * math.pi + 120 + abs(arc[-1]) - 120 + abs(arc[0]), abs=1.0)
