"""What one size of a nest decides for all: how its curves run, what its corners are, what is written on it, which notches are two."""

import dxf_making as make
import numpy as np
import pytest

import seamcheck
from seamcheck.pattern.drawing import LengthSource, Role

SIZES = ("36", "38", "40")


def nest(outlines, base="38", *, marks=(), content=None):
    """A piece in three sizes; only the base size marks its corners and curve points (ASTM D6673, 4.3.1.5)."""

    def block(size, points):
        outline = make.marked(1, points, marks) if size == base and marks is not None else make.polyline(1, points)
        return make.piece("Front", *(content(size, points) if content else ()), size=size, outline=outline)

    blocks = map(block, SIZES, outlines)
    return make.apparel(*blocks, style=make.text(f"Sample Size: {base}"))


def pattern(tmp_path, content):
    path = tmp_path / "front.dxf"
    path.write_text(content, encoding="utf-8")
    return seamcheck.read(path)


# How a curve runs


def ruled_into_curve(straight):
    """A straight line that runs into an arc of 20 mm steps, and back round."""
    arc, at, heading = [], 0j, 1 + 0j
    at += straight
    for turn in (5, 9, 9, 9, 9):
        arc.append(at)
        heading *= np.exp(1j * np.radians(turn))
        at += 20 * heading
    return [0j, *(complex(p) for p in arc), complex(arc[-1].real, 300), 300j]


@pytest.mark.parametrize("base", SIZES)
def test_whether_a_step_is_straight_is_decided_in_the_base_size(base):
    """By itself the step is straight in the largest size alone, where it is more than 3 times as long as those beside it."""
    outlines = [ruled_into_curve(length) for length in (25.0, 40.0, 65.0)]
    drawing = make.read(nest(outlines, base, marks=(1, 2, 3, 4)))
    for size, points in zip(SIZES, outlines, strict=True):
        outline = make.outline(drawing, f"Front_{size}")
        assert outline.source is LengthSource.SPLINE
        assert outline.curve.between(0.0, abs(points[1])).is_straight(1e-6) is (base == "40")


@pytest.mark.parametrize(("base", "source"), [("36", LengthSource.DRAWN), ("40", LengthSource.SPLINE)])
def test_whether_there_is_a_curve_at_all_is_decided_in_the_base_size(base, source):
    outlines = [[0j, 100 - bow * 1j, 200 + 0j, 200 + 300j, 300j] for bow in (0.01, 0.03, 0.05)]
    drawing = make.read(nest(outlines, base, marks=(1,)))
    assert {make.outline(drawing, f"Front_{size}").source for size in SIZES} == {source}


def test_a_vertex_that_the_base_leaves_unmarked_is_a_corner_in_every_size_or_in_none():
    outlines = [
        [0j, complex(100, -high), 200 + 0j, 200 + 300j, 300j] for high in (26.0, 26.7, 27.5)
    ]  # 29 to 31 degrees

    def block(size, points):
        marks = "".join(make.point(2, at) for at in (points[0], *points[2:])) if size == "36" else ""
        return make.piece("Front", size=size, outline=make.polyline(1, points) + marks)

    drawing = make.read(make.apparel(*map(block, SIZES, outlines), style=make.text("Sample Size: 36")))
    assert {len(make.outline(drawing, f"Front_{size}").turn_points) for size in SIZES} == {4}


def test_corners_that_no_size_marks_are_those_of_the_sample_size(tmp_path):
    def bent(turn):
        """Chords of 5 mm, bent once in the middle of the lower edge by about as much as makes a corner."""
        half = np.arange(21) * 5.0 * np.exp(-1j * np.radians(turn / 2))
        lower = [*half, *(half[-1] + np.arange(1, 21) * 5.0 * np.exp(1j * np.radians(turn / 2)))]
        return [*map(complex, lower), complex(lower[-1].real, 300), 300j]

    outlines = [bent(turn) for turn in (24.0, 24.6, 26.0)]
    for base, corners in (("36", 4), ("40", 5)):
        found = pattern(tmp_path, nest(outlines, base, marks=None))
        assert {len(piece.corners) for piece in found.pieces} == {corners}


# What is written


def test_what_is_written_in_the_base_size_alone_is_said_of_every_size(tmp_path):
    words = make.text("Quantity: 2"), make.text("Material: Canvas"), make.text("cut along the check", 50 + 50j)

    def block(size):
        name = (make.text("Piece Name: Front"), *words) if size == "38" else ()
        return make.block(f"Front_{size}", make.marked(1, make.FRONT), *name, make.text(f"Size Name: {size}"))

    found = pattern(tmp_path, make.apparel(*map(block, SIZES), style=make.text("Sample Size: 38")))
    assert [(piece.name, piece.size) for piece in found.pieces] == [("Front", size) for size in SIZES]
    assert {piece.labels["quantity"] for piece in found.pieces} == {"2"}
    assert {piece.labels["material"] for piece in found.pieces} == {"Canvas"}
    assert [piece.labels["size"] for piece in found.pieces] == list(SIZES)


def test_blocks_that_only_look_like_sizes_of_a_named_piece_keep_their_names(tmp_path):
    blocks = [
        make.block("Pocket_A", make.marked(1, make.FRONT), make.text("Piece Name: Bag"), make.text("Size Name: 40")),
        make.block("Pocket_B", make.marked(1, make.FRONT), make.text("Size Name: 40")),
    ]
    assert [piece.name for piece in pattern(tmp_path, make.apparel(*blocks)).pieces] == ["Bag", "Pocket_B"]


# Notches


def test_notches_that_draw_near_in_small_sizes_count_in_all_as_in_the_sample_size(tmp_path):
    outlines = [list(make.FRONT)] * 3

    def content(size, _):
        apart = {"36": 9.0, "38": 9.9, "40": 11.0}[size]
        return [make.point(4, at) for at in (100 + 0j, complex(100 + apart, 0), 150 + 300j, 154 + 300j)]

    found = pattern(tmp_path, nest(outlines, content=content))
    counts = [
        sorted([one.count for one in edge.notches] for edge in piece.edges if edge.notches) for piece in found.pieces
    ]
    assert len(counts) == 3
    assert counts[0] == counts[1] == counts[2]
    report = seamcheck.check(tmp_path / "front.dxf")
    assert [one for one in report.findings if one.check in ("size-run", "notch-match")] == []


def test_notches_at_corners_are_shown(tmp_path):
    notches = [make.point(4, at) for at in (200 + 0j, 100 + 0j)]
    found = pattern(tmp_path, make.apparel(make.piece("Front", *notches)))
    (piece,) = found.pieces
    assert [corner.notches for corner in piece.corners if corner.at == 200 + 0j] == [1]
    assert sum(corner.notches for corner in piece.corners) == 1
    assert sum(len(edge.notches) for edge in piece.edges) == 1


def test_the_ends_of_an_internal_line_on_the_outline_are_no_notches(tmp_path):
    inside = make.marked(8, [0 + 100j, 100 + 120j, 200 + 100j], flags=0)
    points = [make.point(4, at) for at in (100j, 200 + 100j, 200 + 200j)]
    (piece,) = pattern(tmp_path, make.apparel(make.piece("Front", inside, *points))).pieces
    assert [notch.at for edge in piece.edges for notch in edge.notches] == [200 + 200j]
    assert any("end of an internal line" in str(reason) for reason in piece.reasons)
    assert Role.INTERNAL in {line.role for line in piece.inside}
