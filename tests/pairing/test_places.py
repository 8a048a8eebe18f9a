"""What an edge is called by where it lies on its piece, as it is seen."""

import pytest
from made_pieces import pattern, rectangle

from seamcheck.geometry.curve import Curve
from seamcheck.pairing.alike import Classes
from seamcheck.pairing.lines import survey
from seamcheck.pairing.places import place_names


def places(*pieces, y_down=True):
    """The middle of every line, seen with y down, and its name; of the first piece."""
    classes = Classes(*survey(pattern(*pieces, y_down=y_down).pieces))
    names = place_names(classes)
    return {names[k]: classes.lines[k].middle for k in classes.parts[0].lines}


@pytest.mark.parametrize("y_down", [True, False])
def test_the_edges_of_a_rectangle_are_top_right_bottom_and_left_as_they_are_seen(y_down):
    found = places({**rectangle("Panel", 300, 400), "grain": None}, y_down=y_down)
    assert set(found) == {"top", "right", "bottom", "left"}
    assert found["left"].real < found["top"].real < found["right"].real
    above, below = found["top"].imag, found["bottom"].imag
    assert (above < below) is y_down


def test_edges_on_one_side_are_numbered_from_above_and_from_the_left():
    stair = [0j, 100 + 0j, 100 + 150j, 300 + 150j, 300 + 400j, 0 + 400j]
    found = places({"name": "Yoke", "outline": stair})
    assert set(found) == {"top-1", "top-2", "right-1", "right-2", "bottom", "left"}
    assert found["top-1"].real < found["top-2"].real
    assert found["right-1"].imag < found["right-2"].imag


def test_a_slanting_edge_is_on_the_side_where_its_outside_looks():
    found = places({"name": "Gore", "outline": [100 + 0j, 200 + 0j, 300 + 500j, 0 + 500j]})
    assert set(found) == {"top", "right", "bottom", "left"}
    assert found["right"] == pytest.approx(250 + 250j)
    assert found["left"] == pytest.approx(50 + 250j)


def test_a_closed_edge_has_a_name():
    assert list(places({"name": "Base", "outline": Curve.arc(0j, 100.0, start=0.0, sweep=-360.0)})) == ["top"]


def test_every_line_has_a_name_of_its_own_on_its_piece():
    star = [complex(200 + x, 200 + y) for x, y in ((0, -200), (60, -60), (200, 0), (60, 60), (0, 200), (-60, 60), (-200, 0), (-60, -60))]  # fmt: skip
    classes = Classes(*survey(pattern({"name": "Star", "outline": star}, rectangle("Band", 300, 40)).pieces))
    names = place_names(classes)
    assert set(names) == {line.index for line in classes.lines}
    for part in classes.parts:
        assert len({names[k] for k in part.lines}) == len(part.lines)
