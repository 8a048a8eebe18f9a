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
