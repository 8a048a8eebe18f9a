"""The seam graph: every piece once, every seam, what is broken told in words, and no link across another without need."""

import pytest
from drawing import altered, judged, left, root, texts

from seamcheck.report.figures.graph import _order, _tangle, graph_figure


def test_every_piece_and_every_seam_is_there():
    file = judged("ferryhand/ferryhand.svg")
    figure = graph_figure(file)
    tree = root(figure)
    assert sorted(one.get("data-piece") for one in tree.iter() if one.get("class") == "node") == sorted(file.pieces)
    linked = {name for one in tree.iter() for name in (one.get("data-seam") or "").split()}
    assert linked == {seam.name for seam in file.seams}
    assert all(one.get("class") == "link" for one in tree.iter() if one.get("data-seam"))
    assert "nothing was found in any of them" in figure.description


def test_what_is_broken_is_told_by_class_and_words():
    figure = graph_figure(left("prominent-calf"))
    broken = [one.get("data-seam") for one in root(figure).iter() if one.get("class") == "link broken"]
    assert broken == ["outseam"]
    assert "6.4 mm (1/4 in) off" in texts(figure)
    assert "something was found in outseam" in figure.description


def test_a_pattern_with_one_piece_is_drawn():
    figure = graph_figure(altered("night-watch-pyjamas"))
    assert "leg" in texts(figure)


@pytest.mark.parametrize("count", range(3, 9))
def test_a_ring_of_pieces_is_laid_out_as_a_ring(count):
    """A cycle in any order of names can be drawn round an oval without a crossing, every link to a neighbour."""
    names = [f"p{(7 * k) % count}" if count != 7 else f"p{(3 * k) % count}" for k in range(count)]
    links = [(names[k], names[(k + 1) % count]) for k in range(count)]
    order = _order(sorted(names), links)
    assert _tangle(order, sorted({tuple(sorted(link)) for link in links})) == (0, count)
