"""A tick that lies along an edge marks the corner that it starts from, however unsteadily the edge is drawn."""

import numpy as np
import pytest
from pattern_making import line_mark

from seamcheck.geometry.curve import Curve
from seamcheck.pattern.drawing import Role
from seamcheck.pieces.markings import read_markings


def traced_box(noise, number):
    """A square of 200 mm in chords of 1 mm, clockwise with y down."""
    chance = np.random.default_rng(number)
    sides = [start + np.arange(200) * way for start, way in ((0, 1), (200, 1j), (200 + 200j, -1), (200j, -1j))]
    row = np.concatenate(sides)
    row = row + noise * (chance.standard_normal(len(row)) + 1j * chance.standard_normal(len(row)))
    return Curve.polyline(np.append(row, row[0]))


def stations(outline, *ticks):
    lines = [line_mark(Curve.line(*tick), Role.NOTCH, closed=False) for tick in ticks]
    return [notch.at for notch in read_markings(outline, lines, (), {}).notches]


@pytest.mark.parametrize("number", range(12))
@pytest.mark.parametrize("noise", [0.0, 0.05, 0.1])
def test_a_tick_along_an_edge_marks_its_corner(noise, number):
    outline = traced_box(noise, number)
    for tick in ((200 + 0j, 200 + 5j), (200 + 5j, 200 + 0j), (200 + 0j, 195 + 0j)):
        (at,) = stations(outline, tick)
        assert abs(at - (200 + 0j)) < 0.3


@pytest.mark.parametrize("number", range(6))
def test_a_tick_across_an_edge_is_where_it_crosses(number):
    outline = traced_box(0.1, number)
    assert abs(stations(outline, (200 + 60j, 195 + 60j))[0] - (200 + 60j)) < 0.5
    assert abs(stations(outline, (197 + 60j, 203 + 60j))[0] - (200 + 60j)) < 0.5
