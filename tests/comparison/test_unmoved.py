"""Lines that are drawn again to the last bit: what is told of them without a search is what the search finds."""

import numpy as np
import pytest

from seamcheck.comparison.moved_parts import Division
from seamcheck.comparison.rigid_motion import Search
from seamcheck.geometry.curve import Affine, Curve

BAND = Curve.polyline([0, 400, 400 + 40j, 40j, 0])
LEAF = Curve([[0, 100 + 80j, 300 + 80j, 400], [400, 300 - 30j, 100 - 60j, 0]])
DISC = Curve.arc(0, 80)


@pytest.mark.parametrize(
    ("line", "corners"),
    [
        (BAND, [(0.0, 0.0), (400.0, 400.0), (440.0, 440.0), (840.0, 840.0)]),
        (LEAF, [(0.0, 0.0)]),
        (DISC, []),
        (DISC, [(0.0, 0.0), (200.0, 200.0)]),
    ],
    ids=["band", "leaf", "disc", "disc with two corners"],
)
@pytest.mark.parametrize("noise", [0.0, 0.02, 0.2])
def test_an_unmoved_line_is_told_as_the_search_would(monkeypatch, line, corners, noise):
    told = Search(line, Curve(line.segments), corners)
    found = told.found(noise)
    monkeypatch.setattr(Search, "_unmoved", lambda self, explained: None)
    searched = Search(line, Curve(line.segments), corners)
    expected = searched.found(noise)
    assert len(found) == len(expected)
    for one, other in zip(found, expected, strict=True):
        assert [(run.start, run.stop) for run in one.runs] == [(run.start, run.stop) for run in other.runs]
        assert np.abs(one.motion.apply(line.segments) - other.motion.apply(line.segments)).max() < 1e-9
        assert other.noise < 1e-9
    assert told.tolerance == searched.tolerance


def test_a_part_that_is_a_whole_piece_is_as_long_as_its_outline():
    moved = BAND.transformed(Affine.rotation(7.0) @ Affine.translation(30 + 5j))
    search = Search(BAND, moved, [(0.0, 0.0), (400.0, 400.0), (440.0, 440.0), (840.0, 840.0)])
    division = Division(search, search.found(0.0), in_place=False)
    assert [(part, start, stop) for part, start, stop, _, _ in division.stretches] == [(0, 0.0, pytest.approx(880.0))]
