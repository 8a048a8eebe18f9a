"""Sheets of general CAD programs as people draw them: each was once read wrongly, and a piece was lost by it."""

import itertools
import math

import dxf_making as make
import pytest

from seamcheck.pattern.drawing import Role
from seamcheck.pieces.build import build_pattern
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


# Arrows that leave their piece


@pytest.mark.parametrize("inside", [5, 40, 120, 280])
def test_an_arrow_belongs_to_the_piece_that_it_starts_in(inside):
    arrow = make.line("Grain", complex(100, inside), complex(100, inside - 400))
    other = make.polyline("0", [one + complex(500, 0) for one in FRONT])
    first, second = shapes(make.polyline("0", FRONT), other, arrow)
    (grain,) = first.grainlines
    assert grain.length == pytest.approx(400)
    assert second.grainlines == ()


# Frames


def panels(count: int, layer: str = "0") -> list[str]:
    return [make.polyline(layer, [complex(60 + 260 * k, 60) + one for one in FRONT]) for k in range(count)]


def frame(count: int) -> str:
    width = 260.0 * count + 60
    return make.polyline("0", [30 + 30j, complex(width, 30), complex(width, 390), 30 + 390j])


def test_panels_without_any_word_in_a_frame_are_pieces():
    sheet = assemble(make.read(make.plain(frame(6), *panels(6))))
    assert len(sheet.shapes) == 6
    assert any("frame or sheet" in note.message for note in sheet.notes if note.code == "not-a-piece")


def test_two_panels_with_grainlines_in_a_frame_are_pieces():
    arrows = [make.line("Grain", complex(160 + 260 * k, 100), complex(160 + 260 * k, 300)) for k in range(2)]
    assert len(shapes(frame(2), *panels(2), *arrows)) == 2


def test_a_panel_with_a_grainline_of_its_own_and_many_pockets_on_it_is_a_piece():
    arrow = make.line("Grain", 40 + 380j, 240 + 380j)
    (shape,) = shapes(frame(6), *panels(6), arrow)
    assert len(shape.inside) == 6


def test_a_rectangle_with_three_windows_is_a_piece():
    assert len(shapes(frame(3), *panels(3))) == 1


# Test squares


@pytest.mark.parametrize(
    "words",
    [
        ("This square", "is 10x10 cm"),
        ("Square should measure", "10 cm"),
        ("Dieses Quadrat misst", "10 x 10 cm"),
        ("Ce carré doit mesurer 10 cm",),
        ("Este cuadrado debe medir 10 x 10 cm",),
        ("Questo quadrato deve misurare 10 cm",),
        ("Dit vierkant is 10 x 10 cm",),
    ],
)
@pytest.mark.parametrize("loose", [False, True])
def test_a_square_that_says_what_it_measures_is_a_test_square(words, loose):
    corners = [complex(400, 0) + 100 * one for one in (0j, 1 + 0j, 1 + 1j, 1j)]
    square = ring(corners) if loose else [make.polyline("0", corners)]
    texts = [make.text(word, complex(410, 60 - 20 * k), layer="0") for k, word in enumerate(words)]
    (shape,) = shapes(make.polyline("0", FRONT), make.text("Front", 100 + 100j, layer="0"), *square, *texts)
    assert shape.name == "Front"


# What is not read


def mline(layer="0"):
    return make.pairs(
        0, "MLINE", 100, "AcDbMline", 8, layer, 10, 0.0, 20, 0.0, 11, 0.0, 21, 0.0, 11, 200.0, 21, 300.0
    )


def face(size: float):
    return make.pairs(0, "3DFACE", 8, "0", 10, 0.0, 20, 0.0, 11, size, 21, 0.0, 12, size, 22, size, 13, 0.0, 23, size)


def hatch(size: float):
    edge = make.pairs(92, 2, 72, 0, 73, 1, 93, 3, 10, 0.0, 20, 0.0, 10, size, 20, 0.0, 10, size, 20, size, 97, 0)
    return make.pairs(0, "HATCH", 8, "0", 100, "AcDbHatch", 10, 0.0, 20, 0.0, 91, 1) + edge


def simple(kind):
    return make.pairs(0, kind, 8, "0", 70, 1)


@pytest.mark.parametrize(
    ("entity", "kind"),
    [
        (mline(), "MLINE"),
        (face(100.0), "3DFACE"),
        (hatch(100.0), "HATCH"),
        (simple("REGION"), "REGION"),
        (simple("ACAD_PROXY_ENTITY"), "ACAD_PROXY_ENTITY"),
        (simple("HELIX"), "HELIX"),
    ],
)
def test_what_a_piece_may_be_drawn_with_and_is_not_read_is_told(entity, kind):
    drawing = make.read(make.plain(make.polyline("0", FRONT), entity))
    told = make.message(drawing, "entity-not-read")
    assert told.startswith(f"{kind} is ")
    assert "a piece may be in it" in told


@pytest.mark.parametrize("entity", [face(4.0), hatch(6.0)])
def test_a_filled_dot_is_no_piece(entity):
    assert "entity-not-read" not in make.codes(make.read(make.plain(make.polyline("0", FRONT), entity)))


def test_lines_on_paper_beside_a_model_are_told():
    on_paper = make.pairs(0, "LINE", 67, 1, 8, "0", 10, 0.0, 20, 0.0, 11, 90.0, 21, 0.0)
    drawing = make.read(make.plain(make.polyline("0", FRONT), on_paper))
    assert "1 LINE" in make.message(drawing, "paper-not-read")


@pytest.mark.parametrize("layer", ["DRAWING", "test square"])
@pytest.mark.parametrize(("side", "right"), [(100.0, True), (96.0, False), (254.0, False)])
def test_a_test_square_of_loose_lines_is_judged(layer, side, right):
    square = ring([400 + 0j, 400 + side + 0j, 400 + side + 1j * side, 400 + 1j * side], layer)
    content = make.plain(
        *ring(FRONT, "CUT"), *square, make.text("Test square 10 x 10 cm", 405 + 20j), make.text("Front", 90 + 90j)
    )
    drawing = make.read(content)
    pattern = build_pattern(drawing, assemble(drawing), None)
    assert [piece.in_file for piece in pattern.pieces] == ["Front"]
    (reading,) = pattern.scale
    assert (reading.what, reading.stated, reading.right) == ("square", 100.0, right)
    assert reading.drawn == pytest.approx(side)
    assert [note.code for note in pattern.notes if note.code == "scale-square"] == ["scale-square"] * (not right)


def test_a_test_square_of_loose_lines_that_does_not_close_is_no_piece():
    corners = [400 + 0j, 500 + 0j, 500 + 100j, 400 + 100j]
    square = [make.line("test square", a, b) for a, b in itertools.pairwise(corners)]
    drawing = make.read(make.plain(*ring(FRONT, "CUT"), *square, make.text("Test square 10 x 10 cm", 405 + 20j)))
    found = assemble(drawing)
    assert (len(found.shapes), found.open_outlines) == (1, ())
