import pytest
from pattern_making import box, drawing, line_mark, loop

from seamcheck.geometry.curve import Curve
from seamcheck.pattern.drawing import Ledger
from seamcheck.pieces.outline import assemble
from seamcheck.places import Place


def _codes(*lines):
    return {note.code: note.message for note in assemble(drawing(lines)).notes}


def test_an_outline_that_crosses_itself_is_told_with_the_place():
    bow_tie = loop(0j, 100 + 80j, 100 + 0j, 0 + 60j)
    message = _codes(line_mark(bow_tie, label="Bow"))["outline-crosses-itself"]
    assert "Bow" in message
    t = 60 / 140
    assert f"({100 * t:.1f}, {80 * t:.1f})" in message


def test_an_outline_that_only_touches_corners_crosses_nothing():
    assert "outline-crosses-itself" not in _codes(line_mark(loop(0j, 100 + 0j, 100 + 80j, 0 + 80j), label="Panel"))
    round_piece = Curve.arc(100 + 100j, 80)
    assert "outline-crosses-itself" not in _codes(line_mark(round_piece, label="Base"))


def test_two_edges_of_one_thick_line_are_told():
    outer, inner = box(200, 100), box(198.4, 98.4, at=0.8 + 0.8j)
    assert "Strap" in _codes(line_mark(outer, label="Strap"), line_mark(inner, label="Strap"))["double-contour"]


def test_an_allowance_is_no_thick_line_and_a_hole_is_none_either():
    allowance = box(180, 80, at=10 + 10j)
    hole = Curve.arc(100 + 50j, 20)
    for inner in (allowance, hole):
        assert "double-contour" not in _codes(line_mark(box(200, 100), label="Strap"), line_mark(inner))


def test_a_thick_line_is_told_of_its_own_piece_alone():
    outer, inner = box(200, 100), box(198.4, 98.4, at=0.8 + 0.8j)
    lines = [
        line_mark(outer, label="Strap"),
        line_mark(inner, label="Strap"),
        line_mark(box(at=500 + 0j), label="Front"),
    ]
    told = [note.message for note in assemble(drawing(lines)).notes if note.code == "double-contour"]
    assert len(told) == 1
    assert told[0].startswith("Strap")


def test_a_ledger_never_moves_aside_more_than_was_used():
    lines = [
        line_mark(box(), place=Place("line 1")),
        *(line_mark([900j, 950j + k], place=Place(f"line {k + 2}")) for k in range(3)),
    ]
    found = assemble(drawing(lines, ledger=Ledger(read=4, used=2, aside={"hatch": 2}))).ledger
    assert (found.read, found.used, sum(found.aside.values())) == (4, 0, 4)


@pytest.mark.parametrize(("gap", "told"), [(0.04, False), (0.06, True)])
def test_a_gap_is_told_from_a_twentieth_of_a_millimetre(gap, told):
    corners = [0j, 200 + 0j, 200 + 100j, 100j]
    sides = [line_mark([a, b]) for a, b in zip(corners, [*corners[1:], complex(0, gap)], strict=True)]
    assert ("gap-bridged" in _codes(*sides)) is told
