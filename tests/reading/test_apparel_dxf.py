import cmath
import math

import dxf_making as make
import numpy as np
import pytest

from seamcheck.pattern.drawing import LengthSource, Role
from seamcheck.reading.dxf import apparel
from seamcheck.reading.dxf.apparel_lines import smooth

# A quarter of a circle of radius 100 about (100, 100), and the two straight edges that close it.
CORNER = 200 + 100j


def quarter(count):
    return [100 + 100j + 100 * cmath.exp(1j * math.pi / 2 * k / count) for k in range(count + 1)]


def curved(count, **options):
    points = [100 + 100j, *quarter(count)]
    return make.marked(1, points, range(2, count + 1), **options)


def one_size():
    return make.apparel(
        make.piece(
            "Front",
            make.line(7, 100 + 50j, 100 + 250j),
            make.point(4, 200 + 150j, 30, 4.0, 39, 1.5, 50, 180.0),
            make.point(13, 20 + 20j),
            make.line(6, 0j, 300j),
            make.polyline(8, [50 + 50j, 60 + 60j], flags=0),
            make.text("Quantity: 1,1"),
            make.text("MATERIAL : Twill"),
            make.text("Annotation: lay on the nap"),
            make.text("top", 100 + 280j, 15),
            size="M",
            outline=make.marked(1, [0j, 200 + 0j, 200 + 150j, 200 + 300j, 300j], (2,)),
        ),
        style=make.text("Sample Size: M"),
        inserts=make.insert("Front_M"),
    )


def test_one_piece_in_one_size_is_read_whole():
    drawing = make.read(one_size())
    assert (drawing.format, drawing.units, drawing.name, drawing.sample_size) == (
        "apparel DXF",
        "mm",
        "Ferryhand",
        "M",
    )
    assert not drawing.y_down
    (block,) = drawing.blocks
    assert (block.name, block.piece, block.size) == ("Front_M", "Front", "M")
    assert block.labels == {
        "name": "Front",
        "size": "M",
        "quantity": "1,1",
        "material": "Twill",
        "annotation": "lay on the nap",
    }
    assert all(mark.block == "Front_M" for mark in (*drawing.lines, *drawing.points, *drawing.texts))
    assert {mark.role: mark.curve.length for mark in drawing.lines} == pytest.approx(
        {Role.OUTLINE: 1000.0, Role.GRAIN: 200.0, Role.FOLD: 300.0, Role.INTERNAL: math.hypot(10, 10)}
    )
    outline = make.outline(drawing)
    assert outline.closed
    assert outline.curve.is_closed
    assert outline.turn_points == (0j, 200 + 0j, 200 + 300j, 300j)
    assert "top" in [mark.text for mark in drawing.texts]
    assert drawing.notes == ()


def test_notches_keep_what_the_file_says_of_them():
    drawing = make.read(one_size())
    notch = next(mark for mark in drawing.points if mark.role is Role.NOTCH)
    assert (notch.at, notch.depth, notch.width, notch.angle) == (200 + 150j, 4.0, 1.5, 180.0)
    assert [mark.at for mark in drawing.points if mark.role is Role.DRILL] == [20 + 20j]


def test_nothing_is_lost_without_being_counted():
    extra = make.pairs(0, "HATCH", 8, "8") + make.pairs(0, "HATCH", 8, "8")
    drawing = make.read(make.apparel(make.piece("Front", extra)))
    assert drawing.ledger.aside == {"HATCH on layer 8": 2}
    assert drawing.ledger.read == drawing.ledger.used + 2
    assert drawing.ledger.read == 4 + 1 + 1 + 2 + 2  # corner points, outline, name, style texts, hatches


def test_inches_are_25_4_mm():
    outline = make.marked(1, [0j, 10 + 0j, 10 + 8j, 8j])
    drawing = make.read(make.apparel(make.piece("Front", outline=outline), units="ENGLISH"))
    assert drawing.units == "in"
    assert make.outline(drawing).curve.length == pytest.approx(36 * 25.4, abs=1e-9)


def test_a_nest_of_five_sizes_takes_marks_from_its_base():
    sizes = ["36", "38", "40", "42", "44"]

    def grow(points, step):
        return [complex(p.real * (1 + 0.02 * step), p.imag + 10 * step * (p.imag > 150)) for p in points]

    def block(index, size):
        points = grow([0j, 200 + 0j, 210 + 100j, 215 + 200j, 200 + 300j, 300j], index - 2)
        base = size == "40"
        outline = make.marked(1, points, (2, 3)) if base else make.polyline(1, points)
        notch = make.point(4, points[3], 30, 5.0) if base else ""
        return make.piece("Front", notch, size=size, outline=outline)

    drawing = make.read(make.apparel(*map(block, range(5), sizes), style=make.text("Sample Size: 40")))
    assert [piece.size for piece in drawing.blocks] == sizes
    for index, size in enumerate(sizes):
        points = grow([0j, 200 + 0j, 210 + 100j, 215 + 200j, 200 + 300j, 300j], index - 2)
        outline = make.outline(drawing, f"Front_{size}")
        assert outline.source is LengthSource.SPLINE
        assert outline.turn_points == (points[0], points[1], points[4], points[5])
        assert [mark.at for mark in drawing.points if mark.block == f"Front_{size}"] == [points[3]]
    assert drawing.notes == ()


def test_sew_lines_make_the_boundary_a_cut_line():
    inner = [10 + 10j, 190 + 10j, 190 + 290j, 10 + 290j]
    drawing = make.read(make.apparel(make.piece("Front", make.marked(14, inner))))
    roles = {mark.role: mark for mark in drawing.lines}
    assert set(roles) == {Role.CUT, Role.SEW}
    assert roles[Role.SEW].curve.length == pytest.approx(2 * (180 + 280))
    assert roles[Role.SEW].turn_points == tuple(inner)


def test_a_spline_runs_through_sparse_curve_points():
    drawing = make.read(make.apparel(make.piece("Yoke", outline=curved(4))))
    outline = make.outline(drawing)
    assert outline.source is LengthSource.SPLINE
    chord = 2 * 100 * math.sin(math.pi / 16)
    assert outline.is_smoothed
    assert outline.in_file().length == pytest.approx(200 + 4 * chord, abs=1e-9)
    true = 200 + 50 * math.pi
    assert abs(outline.curve.length - true) < 0.05 < abs(outline.in_file().length - true)
    for at in quarter(4):
        assert outline.curve.nearest(at).distance < 1e-9


def test_dense_curve_points_make_spline_and_chords_agree():
    outline = make.outline(make.read(make.apparel(make.piece("Yoke", outline=curved(64)))))
    assert outline.is_smoothed
    assert outline.curve.length == pytest.approx(200 + 50 * math.pi, abs=1e-5)
    assert outline.in_file().length == pytest.approx(outline.curve.length, abs=0.01)


def test_the_validation_curve_is_taken_when_it_passes_through_every_vertex():
    dense = make.polyline(84, [100 + 100j, *quarter(64)])
    outline = make.outline(make.read(make.apparel(make.piece("Yoke", dense, outline=curved(4)))))
    assert outline.source is LengthSource.VALIDATION
    assert outline.curve.length == pytest.approx(200 + 64 * 2 * 100 * math.sin(math.pi / 256), abs=1e-9)
    assert outline.turn_points == pytest.approx((100 + 100j, 200 + 100j, 100 + 200j))


def test_a_validation_curve_beside_the_line_is_not_used_and_that_is_said():
    dense = make.polyline(84, [point + 1 for point in [100 + 100j, *quarter(64)]])
    drawing = make.read(make.apparel(make.piece("Yoke", dense, outline=curved(4))))
    assert make.outline(drawing).source is LengthSource.SPLINE
    assert make.codes(drawing) == ["validation-curve-unused"]


def test_without_marks_the_chords_are_walked_and_named():
    points = [100 + 100j, *quarter(16)]
    outline = make.outline(make.read(make.apparel(make.piece("Yoke", outline=make.polyline(1, points)))))
    assert outline.source is LengthSource.CHORDS
    assert outline.turn_points is None
    square = make.outline(make.read(make.apparel(make.piece("Front", outline=make.polyline(1, make.FRONT)))))
    assert square.source is LengthSource.DRAWN


def test_bulges_are_exact_arcs():
    bulge = math.tan(math.pi / 8)
    outline = make.marked(1, [100 + 100j, 200 + 100j, 100 + 200j], bulges=(0.0, bulge))
    mark = make.outline(make.read(make.apparel(make.piece("Yoke", outline=outline))))
    assert mark.source is LengthSource.DRAWN
    assert mark.curve.length == pytest.approx(200 + 50 * math.pi, abs=1e-6)


def test_a_closed_line_of_curve_points_alone_closes_smoothly():
    ring = [100 * cmath.exp(2j * math.pi * k / 12) for k in range(12)]
    outline = make.outline(
        make.read(make.apparel(make.piece("Pocket", outline=make.marked(1, ring, range(12))), units="METRIC"))
    )
    assert outline.turn_points == ()
    assert outline.curve.is_closed
    assert outline.curve.length == pytest.approx(200 * math.pi, abs=0.1)
    assert abs(outline.curve.joint_turns()[-1]) < 0.01


def test_corner_and_curve_point_on_one_place_belong_to_the_line_before_them():
    internal = make.marked(8, [200 + 150j, 150 + 150j], flags=0)
    outline = make.marked(1, [0j, 200 + 0j, 200 + 150j, 200 + 300j, 300j], (2,))
    drawing = make.read(make.apparel(make.piece("Front", internal, outline=outline)))
    turns = {mark.role: mark.turn_points for mark in drawing.lines}
    assert 200 + 150j not in (turns[Role.OUTLINE] or ())
    assert turns[Role.INTERNAL] == (200 + 150j, 150 + 150j)


def test_a_mirror_line_stays_the_fold_of_a_half_piece():
    drawing = make.read(make.apparel(make.piece("Back", make.line(6, 0j, 300j))))
    (fold,) = [mark for mark in drawing.lines if mark.role is Role.FOLD]
    assert {fold.curve.start, fold.curve.end} == {0j, 300j}
    assert make.codes(drawing) == []


def test_the_shop_can_name_its_own_layers():
    content = make.apparel(make.piece("Front", make.line("KNIPS", 0j, 10 + 10j), make.line(7, 0j, 5 + 0j)))
    drawing = make.read(content, layers={"notch": ["knips*"], "sew line": ["1"]})
    assert [mark.role for mark in drawing.lines] == [Role.SEW, Role.NOTCH, Role.GRAIN]


@pytest.mark.parametrize(
    ("content", "expected"),
    [
        (one_size(), True),
        (make.apparel(make.block("Front", make.marked(1, make.FRONT), make.text("# 4", 0j, 2))), True),
        (make.apparel(make.block("Front", make.polyline("CUT", make.FRONT), make.point("NOTCH", 200j))), True),
        (make.plain(make.insert("Front"), blocks=[make.block("Front", make.polyline("Seam", make.FRONT))]), False),
        (make.plain(make.polyline("1", make.FRONT)), False),
    ],
)
def test_files_are_recognised_by_content(content, expected):
    assert apparel.recognises(make.source(content)) is expected


# How far a spline may go: it must lead where the chords lead and nowhere else.


def test_a_spline_is_straight_where_the_points_are():
    assert smooth([0j, 10 + 0j, 45 + 0j, 300 + 0j]).is_straight(1e-9)


def test_a_long_straight_run_into_a_fine_curve_stays_straight():
    arc = [400 + 50j + 50 * cmath.exp(1j * (math.radians(6 * k) - math.pi / 2)) for k in range(12)]
    curve = smooth([0j, *arc])
    assert max(abs(point.imag) for point in curve.between(0, 400).polygon(0.001)) < 1e-9
    assert curve.length == pytest.approx(400 + 50 * math.radians(66), abs=0.01)


def test_a_spline_never_swings_out_beside_its_chords():
    points = [0j, 400 + 0j, 401 + 3j, 380 + 30j, 379 + 31j]
    curve = smooth(points)
    x0, y0, x1, y1 = curve.bounds()
    assert (x0, y0) >= (-1, -2)
    assert (x1, y1) <= (404, 33)
    assert curve.length < 1.05 * float(np.abs(np.diff(points)).sum())


def test_an_s_curve_stays_one_spline():
    points = [complex(20 * k, 30 * math.sin(k / 2)) for k in range(13)]
    curve = smooth(points)
    assert np.abs(curve.joint_turns()).max() < 1e-6
