"""Graded nests as programs write them: what the base size says holds for all sizes."""

import math

import dxf_making as make
import pytest

from seamcheck.engine.report_format import RenderOptions
from seamcheck.pattern.drawing import LengthSource
from seamcheck.pieces.build import build_pattern
from seamcheck.pieces.outline import assemble
from seamcheck.reading.dxf.apparel_lines import smooth
from seamcheck.report.pieces import render_text


def pattern(*blocks: str):
    drawing = make.read(make.apparel(*blocks, style=make.text("Sample Size: M")))
    return build_pattern(drawing, assemble(drawing), None)


def sleeve(scale: float, slant: float) -> list[complex]:
    """An arc of curve points that runs out into one long chord, which leaves it at `slant` degrees."""
    arc = [
        100 + 100j + 100 * complex(math.cos(t), math.sin(t)) for t in (math.radians(180 - 10 * k) for k in range(13))
    ]
    way = math.radians(-30 - slant)
    far = arc[-1] + 90 * complex(math.cos(way), math.sin(way))
    return [scale * at for at in (arc[0] - 150j, *arc, far, complex(far.real, arc[0].imag - 150))]


def nested(size: str, points: list[complex], *, base: bool) -> str:
    curved = set(range(2, len(points) - 2))
    drawn = make.marked(1, points, curved) if base else make.polyline(1, points)
    return make.block(f"Sleeve_{size}", drawn, make.text("Piece Name: Sleeve"), make.text(f"Size Name: {size}"))


def test_what_is_a_spline_is_decided_in_the_base_size_alone():
    sizes = {"S": sleeve(0.95, 0.0), "M": sleeve(1.0, 0.0), "L": sleeve(1.05, 6.0)}
    drawing = make.read(
        make.apparel(
            *(nested(size, points, base=size == "M") for size, points in sizes.items()),
            style=make.text("Sample Size: M"),
        )
    )
    outlines = {mark.block: mark for mark in drawing.lines}
    assert {mark.source for mark in outlines.values()} == {LengthSource.SPLINE}
    counts = {block: len(mark.curve.segments) for block, mark in outlines.items()}
    straight = {
        block: [abs(s[1] - (2 * s[0] + s[3]) / 3) < 1e-9 for s in mark.curve.segments.tolist()]
        for block, mark in outlines.items()
    }
    assert len(set(counts.values())) == 1
    assert straight["Sleeve_S"] == straight["Sleeve_M"] == straight["Sleeve_L"]


def test_a_size_by_itself_would_have_been_read_otherwise():
    """The case above is one: alone, the large size runs on as a spline where the base has a straight line."""
    base, large = smooth(sleeve(1.0, 0.0)[1:-1]), smooth(sleeve(1.05, 6.0)[1:-1])
    lines = [[abs(s[1] - (2 * s[0] + s[3]) / 3) < 1e-9 for s in curve.segments.tolist()] for curve in (base, large)]
    assert lines[0] != lines[1]


def test_texts_that_stand_in_the_base_size_alone_serve_all_sizes():
    base = make.block(
        "Front_M",
        make.marked(1, make.FRONT),
        make.text("Piece Name: Front panel"),
        make.text("Size Name: M"),
        make.text("Quantity: 2"),
        make.text("Material: Twill"),
    )
    other = make.block("Front_L", make.polyline(1, [1.1 * one for one in make.FRONT]))
    read = pattern(base, other)
    assert {(one.name, one.size) for one in read.pieces} == {("Front panel", "M"), ("Front panel", "L")}
    assert {(one.labels["quantity"], one.labels["material"]) for one in read.pieces} == {("2", "Twill")}


def test_another_piece_whose_block_has_a_like_name_keeps_to_itself():
    base = make.block(
        "Front_M", make.marked(1, make.FRONT), make.text("Piece Name: Front"), make.text("Size Name: M")
    )
    lining = make.block("Front_lining", make.polyline(1, [*make.FRONT, -40 + 150j]))
    assert {one.name for one in pattern(base, lining).pieces} == {"Front", "Front_lining"}


@pytest.mark.parametrize("places", [(0j,), (200 + 0j, 200 + 300j)])
def test_notches_at_corners_are_shown(places):
    read = pattern(make.piece("Front", *(make.point(4, at) for at in places), size="M"))
    (piece,) = read.pieces
    assert {corner.at for corner in piece.corners if corner.notches == 1} == set(places)
    assert " ".join(render_text(read, RenderOptions(width=500)).split()).count(", notched") == len(places)


def test_two_notches_that_draw_near_in_a_small_size_stay_two():
    def front(size: str, apart: float) -> str:
        points = [0j, 90 + 0j, 90 + apart + 0j, 200 + 0j, 200 + 300j, 300j]
        return make.block(
            f"Front_{size}",
            make.marked(1, points, [1, 2]),
            make.text("Piece Name: Front"),
            make.text(f"Size Name: {size}"),
            *(make.point(4, at) for at in points[1:3]),
        )

    read = pattern(front("S", 9.5), front("M", 11.0), front("L", 12.5))
    counts = {piece.size: [n.count for edge in piece.edges for n in edge.notches] for piece in read.pieces}
    assert counts == {"S": [1, 1], "M": [1, 1], "L": [1, 1]}


def test_corners_of_a_nest_without_marks_are_those_of_the_sample_size():
    def front(size: str, rise: float) -> str:
        """A side that bends by about as much as makes a corner, more in one size than in the other."""
        points = [0j, 200 + 0j, complex(200 + rise, 150), 200 + 300j, 300j]
        return make.block(
            f"Front_{size}",
            make.polyline(1, points),
            make.text("Piece Name: Front"),
            make.text(f"Size Name: {size}"),
            make.line(7, 50 + 50j, 50 + 250j),
        )

    read = pattern(front("S", 4.0), front("M", 9.0), front("L", 14.0))
    assert {piece.size: len(piece.corners) for piece in read.pieces} == {"S": 5, "M": 5, "L": 5}
    turned = pattern(front("S", 14.0), front("M", 4.0), front("L", 14.0))
    assert {piece.size: len(piece.corners) for piece in turned.pieces} == {"S": 4, "M": 4, "L": 4}
