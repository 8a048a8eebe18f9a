"""Files with the habits of real ones, made for this project, and what is read from them."""

import importlib.util
import math
from pathlib import Path

import dxf_making as make
import pytest

from seamcheck.config.limits import ReadOptions
from seamcheck.errors import InputError
from seamcheck.pattern.drawing import LengthSource, Role
from seamcheck.pieces.outline import assemble
from seamcheck.reading import read_drawing
from seamcheck.reading.dxf import apparel, plain

FIXTURES = Path(__file__).parents[2] / "fixtures"
LOOKALIKES = FIXTURES / "lookalikes"
_spec = importlib.util.spec_from_file_location("make_lookalikes", FIXTURES / "make_lookalikes.py")
assert _spec is not None
assert _spec.loader is not None
lookalikes = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(lookalikes)


def read(name, **options):
    importers = (apparel.IMPORTER, plain.IMPORTER)
    return read_drawing(str(LOOKALIKES / name), ReadOptions(**options), importers)


def seam(curve, start, end):
    """The stretch of a closed curve between two of its points that does not pass the origin."""
    a, b = curve.nearest(start).station, curve.nearest(end).station
    origin = curve.nearest(0j).station
    ways = (curve.between(a, b), curve.between(b, a))
    return next(way for way in ways if way.nearest(curve.point(origin)).distance > 1.0)


def test_the_files_are_what_the_script_writes():
    made = lookalikes.files()
    on_disk = {str(path.relative_to(LOOKALIKES)): path.read_bytes() for path in LOOKALIKES.rglob("*.*")}
    assert {name: data for name, data in on_disk.items() if not name.endswith(".report.txt")} == made


def side_seams(size="M"):
    """The side seams of front and back: as read, and as the chords of the drawing."""
    drawing = read("sparse.dxf")
    seams = {}
    for block in drawing.blocks:
        if block.size != size:
            continue
        mark = make.outline(drawing, block.name)
        assert mark.turn_points is not None
        bottom, top = sorted((p for p in mark.turn_points if abs(p.real) > 50), key=lambda p: p.imag)
        assert mark.chords is not None
        seams[block.piece] = (seam(mark.curve, bottom, top).length, seam(mark.chords, bottom, top).length)
    return seams


def test_golden_seams_by_validation_curve_against_chords():
    # The side seam of both pieces is one arc of a circle: chord 420 mm, height 38 mm, drawn with 4 and with 6 steps.
    radius = (210**2 + 38**2) / (2 * 38)
    true = 2 * radius * math.asin(210 / radius)
    seams = side_seams()
    for length, _ in seams.values():
        assert length == pytest.approx(true, abs=0.01)
    assert seams["Front"][0] == pytest.approx(seams["Back"][0], abs=0.01)
    front, back = (chords for _, chords in seams.values())
    assert front == pytest.approx(4 * 2 * radius * math.sin(math.asin(210 / radius) / 4), abs=0.01)
    assert true - front == pytest.approx(0.57, abs=0.01)
    assert back - front == pytest.approx(0.32, abs=0.01)  # the same seam, called unequal by the chords alone


def test_golden_seams_by_spline_where_the_validation_curve_is_left_out():
    content = (LOOKALIKES / "sparse.dxf").read_text()
    drawing = make.read(content.replace("  8\n84\n", "  8\n9\n"))
    radius = (210**2 + 38**2) / (2 * 38)
    true = 2 * radius * math.asin(210 / radius)
    for block in drawing.blocks:
        mark = make.outline(drawing, block.name)
        assert mark.source is LengthSource.SPLINE
        bottom, top = sorted((p for p in mark.turn_points or () if abs(p.real) > 50), key=lambda p: p.imag)
        assert seam(mark.curve, bottom, top).length == pytest.approx(true, abs=0.02)


def test_sparse_points_with_a_validation_curve_and_coarse_rules():
    drawing = read("sparse.dxf")
    assert (drawing.units, drawing.sample_size, drawing.name) == ("in", "M", "Ferryhand")
    assert [(block.size, block.piece) for block in drawing.blocks] == [
        (size, piece) for size in "SML" for piece in ("Front", "Back")
    ]
    assert make.codes(drawing) == ["graded-by-rule"]
    assert {block.labels.get("rounding") for block in drawing.blocks} == {None, "0.254"}
    notch = next(mark for mark in drawing.points if mark.role is Role.NOTCH)
    assert notch.depth == pytest.approx(2.5, abs=0.01)
    front = {b.size: make.outline(drawing, b.name).turn_points for b in drawing.blocks if b.piece == "Front"}
    # Upwards along the reference line is the table's x; its y points to the left of it.
    moved = [large - middle for large, middle in zip(front["L"] or (), front["M"] or (), strict=True)]
    assert moved == pytest.approx([0, 0.25 * 25.4, (0.25 + 0.38j) * 25.4, 0.38j * 25.4])


def test_nest_with_fold_doubled_vertices_and_open_flag():
    drawing = read("nest.dxf")
    assert [block.size for block in drawing.blocks] == ["S", "M", "L"]
    assert make.codes(drawing) == ["vertices-doubled"]
    for block in drawing.blocks:
        mark = make.outline(drawing, block.name)
        assert mark.closed
        assert mark.turn_points is not None
        assert len(mark.turn_points) == 5
        (fold,) = [line for line in drawing.lines if line.role is Role.FOLD and line.block == block.name]
        assert all(mark.curve.nearest(end).distance < 1e-6 for end in (fold.curve.start, fold.curve.end))
        (notch,) = [point for point in drawing.points if point.block == block.name]
        assert mark.curve.nearest(notch.at).distance < 1e-6
        assert notch.depth == pytest.approx(4.0, abs=0.01)
        assert [line.label for line in drawing.lines if line.role is Role.INTERNAL and line.block == block.name] == [
            "not mirrored"
        ]


def test_dense_metric_file_with_codes_of_its_own():
    drawing = read("dense.dxf")
    assert [block.size for block in drawing.blocks] == ["38", "40", "42", "44"]
    assert make.codes(drawing) == ["graded-by-rule", "unknown-codes"]
    assert "250 on 2 POLYLINE" in make.message(drawing, "unknown-codes")
    sources = {block.size: make.outline(drawing, block.name).source for block in drawing.blocks}
    assert sources == {
        "38": LengthSource.SPLINE,
        "40": LengthSource.VALIDATION,
        "42": LengthSource.SPLINE,
        "44": LengthSource.SPLINE,
    }
    corners = {b.size: make.outline(drawing, b.name).turn_points for b in drawing.blocks}
    assert corners["44"] == pytest.approx(
        tuple(p + 2 * d for p, d in zip(corners["40"] or (), (0, 4, 4 + 1.25j, 3 + 5.5j, 5.5j), strict=True))
    )


def test_careless_notches_and_a_missing_block():
    drawing = read("careless.dxf")
    assert make.codes(drawing) == ["insert-without-block", "notch-attribute-implausible", "unknown-codes"]
    (notch,) = drawing.points
    assert (notch.at, notch.depth) == (240 + 90j, None)  # only its place is used, as the note says
    mark = make.outline(drawing)
    assert mark.turn_points == (0j, 240 + 0j, 240 + 180j, 180j)
    assert mark.source is LengthSource.DRAWN
    assert drawing.ledger.aside == {"TEXT on layer 1": 4}


def test_older_dialect_in_another_script():
    drawing = read("older.dxf")
    (block,) = drawing.blocks
    assert (block.name, block.piece, block.size) == ("前片-M", "前片", "M")
    assert make.codes(drawing) == ["text-encoding", "rule-table-missing"]
    mark = make.outline(drawing)
    assert mark.curve.bounds()[:2] == pytest.approx((1000, 500))  # where the block has it, not where it is laid out
    assert mark.turn_points == pytest.approx((1000 + 500j, 1300 + 500j, 1300 + 900j, 1000 + 900j))
    assert [point.depth for point in drawing.points] == [None]


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("decimal-commas", ["decimal-comma"]),
        ("carriage-returns", []),
        ("byte-order-mark", []),
        ("block-names-equal", ["block-names-equal"]),
        ("block-names-by-case", ["block-names-equal"]),
        ("block-unnamed", ["block-unnamed"]),
        ("seqend-missing", ["repaired"]),
        ("endblk-missing", ["repaired"]),
        ("eof-missing", ["repaired"]),
        ("no-class-markers", []),
        ("spline-fitted", ["spline-fitted"]),
    ],
)
def test_faults_that_leave_no_doubt_are_mended_and_said(name, expected):
    drawing = read(f"broken/{name}.dxf")
    assert make.codes(drawing) == expected
    for block in drawing.blocks:
        assert make.outline(drawing, block.name).curve.length == pytest.approx(2 * (210.5 + 300))
    assert len(drawing.blocks) == (2 if "names" in name else 1)


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("decimals-mixed", "are mixed"),
        ("not-a-number", '"1.#QNAN" is not a number'),
        ("blank-line", "a line is missing or too many"),
        ("cut-off", "save or copy it again"),
    ],
)
def test_faults_that_leave_doubt_are_refused_with_their_line(name, words):
    with pytest.raises(InputError, match=r"line \d+") as caught:
        read(f"broken/{name}.dxf")
    assert words in str(caught.value)


def test_a_sheet_of_a_cad_program():
    drawing = read("cad-sheet.dxf")
    by_layer = {}
    for mark in drawing.lines:
        by_layer.setdefault(mark.layer, []).append(mark)
    plain, mirrored, squeezed = by_layer["Pocket"]
    # Three straight sides and an arc whose bulge is the tangent of a quarter of its angle (DXF reference).
    angle = 4 * math.atan(0.25)
    length = 160 + 150 + 160 + 150 / (2 * math.sin(angle / 2)) * angle
    assert plain.curve.length == pytest.approx(length, abs=1e-6)
    assert mirrored.curve.length == pytest.approx(length, abs=1e-6)
    assert plain.curve.signed_area() == pytest.approx(-mirrored.curve.signed_area(), abs=1e-3)
    assert squeezed.closed
    assert squeezed.curve.signed_area() == pytest.approx(plain.curve.signed_area() * 1.5 * 0.75, abs=1e-2)
    assert len(by_layer["Drill"]) == 6
    (band,) = by_layer["Band"]
    assert band.curve.bounds()[0] > 99 - 60  # seen from below: x runs the other way
    (badge,) = by_layer["Badge"]
    assert badge.closed
    assert badge.curve.length < 2 * math.pi * 120
    assert [mark.closed for mark in by_layer["Back"]] == [False] * 5
    assert make.codes(drawing) == ["unequal-scale"]


def test_loose_lines_of_the_sheet_close_over_their_gaps():
    drawing = read("cad-sheet.dxf")
    sheet = assemble(drawing)
    back = [shape for shape in sheet.shapes if shape.outline.length == pytest.approx(1400, abs=0.1)]
    assert len(back) == 1
    assert 0 < back[0].gap < 0.05
