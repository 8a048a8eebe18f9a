import cmath
import math
from dataclasses import replace
from pathlib import Path

import dxf_making as make
import pytest

from seamcheck.config.limits import Limits
from seamcheck.errors import InputError
from seamcheck.pattern.drawing import LengthSource, Role
from seamcheck.pieces.outline import assemble
from seamcheck.reading.base import read_source
from seamcheck.reading.dxf import apparel, plain

SAMPLES = Path(__file__).parents[2].parent / "shared" / "samples"


def arc(layer, centre, radius, start, end, *extra):
    return make.pairs(0, "ARC", 8, layer, 10, centre.real, 20, centre.imag, 40, radius, 50, start, 51, end, *extra)


def circle(layer, centre, radius, *extra):
    return make.pairs(0, "CIRCLE", 8, layer, 10, centre.real, 20, centre.imag, 40, radius, *extra)


def lwpolyline(layer, points, *extra, flags=1, bulges=()):
    start = make.pairs(0, "LWPOLYLINE", 100, "AcDbEntity", 8, layer, 100, "AcDbPolyline", 90, len(points), 70, flags)
    bends = [*bulges, *[0.0] * (len(points) - len(bulges))]
    vertices = (make.pairs(10, p.real, 20, p.imag, 42, bend) for p, bend in zip(points, bends, strict=True))
    return start + "".join(vertices) + (make.pairs(*extra) if extra else "")


def spline(points, knots, degree=3, flags=8, weights=()):
    start = make.pairs(0, "SPLINE", 8, "0", 100, "AcDbSpline", 70, flags, 71, degree, 72, len(knots), 73, len(points))
    return (
        start
        + "".join(make.pairs(40, knot) for knot in knots)
        + "".join(make.pairs(41, weight) for weight in weights)
        + "".join(make.pairs(10, p.real, 20, p.imag, 30, 0.0) for p in points)
    )


def only(content, **options):
    (mark,) = make.read(content, **options).lines
    return mark


def test_every_kind_of_line_has_its_exact_length():
    drawing = make.read(
        make.plain(
            make.line("0", 0j, 300 + 400j),
            arc("0", 50 + 50j, 100, 350, 80),
            circle("0", 0j, 100),
            lwpolyline("0", [0j, 100 + 0j, 100 + 100j], bulges=(1.0, 0.0, -0.5)),
            make.polyline("0", [0j, 100 + 0j], flags=0, bulges=(math.tan(math.pi / 8),)),
        )
    )
    angle = 4 * math.atan(0.5)
    assert [mark.curve.length for mark in drawing.lines] == pytest.approx(
        [
            500.0,
            50 * math.pi,
            200 * math.pi,
            50 * math.pi + 100 + angle * math.hypot(100, 100) / (2 * math.sin(angle / 2)),
            50 * math.sqrt(2) * math.pi / 2,
        ],
        abs=2e-6,
    )
    assert [mark.closed for mark in drawing.lines] == [False, False, True, True, False]
    assert drawing.ledger.aside == {}


def test_a_positive_bulge_turns_left():
    mark = only(make.plain(lwpolyline("0", [0j, 100 + 0j], flags=0, bulges=(1.0,))))
    assert mark.curve.point(mark.curve.length / 2) == pytest.approx(50 - 50j, abs=1e-6)


@pytest.mark.parametrize("bulge", [1e-12, 1e-7, 1e-3, 0.02, 0.0251, 0.5, 1.0, 3.0, -1e-7, -0.02, -3.0])
def test_bulges_of_every_size_keep_their_ends_and_length(bulge):
    mark = only(make.plain(lwpolyline("0", [1000 + 1j, 1600 + 1j], flags=0, bulges=(bulge,))))
    angle = 4 * math.atan(abs(bulge))
    exact = 600.0 if angle < 1e-6 else angle * 600 / (2 * math.sin(angle / 2))
    assert (mark.curve.start, mark.curve.end) == (1000 + 1j, 1600 + 1j)
    assert mark.curve.length == pytest.approx(exact, abs=1e-5)


def test_an_entity_seen_from_below_is_mirrored():
    below = (210, 0.0, 220, 0.0, 230, -1.0)
    drawing = make.read(
        make.plain(arc("0", 50 + 0j, 10, 0, 90, *below), lwpolyline("0", [0j, 100 + 50j], *below, flags=0))
    )
    first, second = drawing.lines
    assert first.curve.start == pytest.approx(-60)
    assert first.curve.end == pytest.approx(-50 + 10j)
    assert (second.curve.start, second.curve.end) == (0j, -100 + 50j)


def test_a_tilted_entity_is_left_out_and_counted():
    drawing = make.read(make.plain(circle("0", 0j, 100), circle("0", 0j, 100, 210, 0.5, 220, 0.0, 230, 0.5)))
    assert len(drawing.lines) == 1
    assert make.message(drawing, "left-out") == "1 of CIRCLE on layer 0 that do not lie flat were left out."
    assert drawing.ledger.aside == {"CIRCLE on layer 0": 1}


def test_a_clamped_spline_is_exact():
    mark = only(make.plain(spline([0j, 100j, 200 + 100j, 200 + 0j], [0, 0, 0, 0, 1, 1, 1, 1])))
    assert (mark.curve.segments == [[0j, 100j, 200 + 100j, 200 + 0j]]).all()


def test_a_periodic_spline_is_read_on_its_own_stretch_only():
    ring = [100 * cmath.exp(2j * math.pi * k / 8) for k in range(8)]
    mark = only(make.plain(spline([*ring, *ring[:3]], list(range(15)), flags=11)))
    assert mark.closed
    assert mark.curve.length < 2 * math.pi * 100
    centre = complex(*(sum(c) / 2 for c in zip(mark.curve.bounds()[:2], mark.curve.bounds()[2:], strict=True)))
    assert abs(centre) < 1e-9


def test_a_rational_spline_can_be_a_circle():
    half = math.sqrt(0.5)
    mark = only(
        make.plain(spline([100 + 0j, 100 + 100j, 100j], [0, 0, 0, 1, 1, 1], degree=2, flags=12, weights=(1, half, 1)))
    )
    assert mark.curve.length == pytest.approx(50 * math.pi, abs=1e-4)


def test_a_spline_of_fit_points_alone_runs_through_them():
    points = [0j, 100 + 50j, 200 + 0j, 300 + 50j]
    fit = make.pairs(0, "SPLINE", 8, "0", 70, 8, 71, 3, 72, 0, 73, 0, 74, 4)
    fit += "".join(make.pairs(11, p.real, 21, p.imag, 31, 0.0) for p in points)
    drawing = make.read(make.plain(fit))
    for point in points:
        assert drawing.lines[0].curve.nearest(point).distance < 1e-6
    assert "fit-points-only" in make.codes(drawing)


def test_inserts_turn_scale_and_mirror():
    pocket = make.block("Pocket", make.line("0", 10 + 10j, 110 + 10j), layer="0")
    inserts = [
        make.insert("Pocket", 500 + 0j, 50, 90.0, layer="Cutting"),
        make.insert("Pocket", 0j, 41, -2.0, 42, 2.0, layer="Cutting"),
    ]
    turned, mirrored = make.read(make.plain(*inserts, blocks=[pocket])).lines
    assert (turned.curve.start, turned.curve.end) == (pytest.approx(490 + 10j), pytest.approx(490 + 110j))
    assert (mirrored.curve.start, mirrored.curve.end) == (pytest.approx(-20 + 20j), pytest.approx(-220 + 20j))
    assert turned.groups == ("Pocket",)
    assert (turned.layer, turned.role) == ("Cutting", Role.CUT)  # layer 0 takes that of its insert


def test_an_unequal_scale_keeps_an_arc_one_curve():
    content = make.plain(
        make.insert("Pocket", 0j, 41, 1.2, 42, 0.45), blocks=[make.block("Pocket", circle("0", 0j, 100))]
    )
    drawing = make.read(content)
    (mark,) = drawing.lines
    assert mark.closed
    # Ramanujan's second approximation, good to 1e-9 at this shape (Quart. J. Math. 45, 1914).
    h = ((120 - 45) / (120 + 45)) ** 2
    perimeter = math.pi * 165 * (1 + 3 * h / (10 + math.sqrt(4 - 3 * h)))
    assert mark.curve.length == pytest.approx(perimeter, abs=1e-2)
    assert "unequal-scale" in make.codes(drawing)


def test_an_arrayed_insert_is_drawn_in_every_cell():
    tick = make.block("Tick", make.line("0", 0j, 5j))
    content = make.plain(make.insert("Tick", 100 + 0j, 50, 90.0, 70, 3, 71, 2, 44, 20.0, 45, 50.0), blocks=[tick])
    starts = [mark.curve.start for mark in make.read(content).lines]
    assert starts == pytest.approx([100, 100 + 20j, 100 + 40j, 50, 50 + 20j, 50 + 40j])


def test_base_points_and_nested_blocks_add_up():
    inner = make.pairs(0, "BLOCK", 8, "0", 2, "Inner", 70, 0, 10, 5.0, 20, 5.0)
    inner += make.line("0", 5 + 5j, 15 + 5j) + make.pairs(0, "ENDBLK")
    outer = make.block("Outer", make.insert("Inner", 100 + 0j))
    mark = only(make.plain(make.insert("Outer", 0j, 50, 90.0), blocks=[inner, outer]))
    assert (mark.curve.start, mark.curve.end) == (pytest.approx(100j), pytest.approx(110j))
    assert mark.groups == ("Outer", "Inner")


def test_hidden_layers_and_entities_are_read_as_hidden():
    start = make.header(INSUNITS=(70, 4)) + make.layers(("Off", 0, -7), ("Frozen", 1, 7), ("On", 0, 7))
    lines = [make.line(layer, 0j, 100 + 0j) for layer in ("On", "Off", "FROZEN")]
    drawing = make.read(make.plain(*lines, make.line("On", 0j, 50 + 0j, 60, 1), start=start))
    assert [mark.hidden for mark in drawing.lines] == [False, True, True, True]


def test_line_types_tell_dashed_lines():
    drawing = make.read(make.plain(make.line("0", 0j, 100 + 0j, 6, "DASHED"), make.line("0", 0j, 100 + 0j)))
    assert [mark.dashed for mark in drawing.lines] == [True, False]


def test_paper_space_is_counted_not_read():
    drawing = make.read(make.plain(make.line("0", 0j, 300 + 0j), make.line("0", 0j, 1 + 0j, 67, 1)))
    assert len(drawing.lines) == 1
    assert drawing.ledger.aside == {"LINE on layer 0, on paper": 1}


def test_paper_space_is_read_when_the_model_is_empty():
    drawing = make.read(make.plain(make.line("0", 0j, 300 + 0j, 67, 1)))
    assert len(drawing.lines) == 1
    assert "paper-space" in make.codes(drawing)


def test_texts_of_every_kind_are_read():
    attribute = make.insert("Pocket", 0j, 66, 1) + make.text("Cut 2", 5 + 5j, kind="ATTRIB") + make.pairs(0, "SEQEND")
    paragraph = make.pairs(0, "MTEXT", 8, "0", 10, 1.0, 20, 2.0, 3, r"{\fArial;Fr", 1, r"ont}\PSize 40")
    block = make.block("Pocket", make.line("0", 0j, 100 + 0j))
    drawing = make.read(make.plain(make.text("Back", 3 + 4j), paragraph, attribute, blocks=[block]))
    assert [(mark.text, mark.at) for mark in drawing.texts] == [
        ("Back", 3 + 4j),
        ("Front\nSize 40", 1 + 2j),
        ("Cut 2", 5 + 5j),
    ]


def test_words_on_layers_give_roles():
    names = ["Sew line", "Fadenlauf", "CUT", "INTCUT", "crans", "Dimensions", "Sheet"]
    drawing = make.read(make.plain(*(make.line(name, 0j, 100 + 0j) for name in names)))
    assert [mark.role for mark in drawing.lines] == [
        Role.SEW,
        Role.GRAIN,
        Role.CUT,
        Role.CUTOUT,
        Role.NOTCH,
        Role.FURNITURE,
        None,
    ]


def test_numbered_layers_count_only_when_all_are_numbers_of_the_interchange():
    square = make.polyline("1", make.FRONT)
    drawing = make.read(make.plain(square, make.line("7", 50 + 50j, 50 + 250j)))
    assert [mark.role for mark in drawing.lines] == [Role.OUTLINE, Role.GRAIN]
    drawing = make.read(make.plain(square, make.line("7", 0j, 100 + 0j), make.line("House", 0j, 100 + 0j)))
    assert [mark.role for mark in drawing.lines] == [None, None, None]


def test_leaders_are_notes_unless_they_are_grain():
    def leader(layer):
        return make.pairs(0, "LEADER", 8, layer, 10, 0.0, 20, 0.0, 10, 0.0, 20, 200.0)

    drawing = make.read(make.plain(leader("Notes"), leader("Grain")))
    assert [(mark.role, mark.arrow) for mark in drawing.lines] == [(Role.FURNITURE, True), (Role.GRAIN, True)]


@pytest.mark.parametrize("points", [(), (10, 5.0, 20, 5.0), (10, 5.0, 20, 5.0, 10, 5.0, 20, 5.0)])
def test_a_leader_that_leads_nowhere_is_told_and_not_drawn(points):
    drawing = make.read(make.plain(make.polyline("0", make.FRONT), make.pairs(0, "LEADER", 8, "Notes", *points)))
    assert len(drawing.lines) == 1
    assert any("LEADER on layer Notes that have no length" in str(note.message) for note in drawing.notes)


def test_loose_lines_stay_loose_with_their_places():
    corners = [0j, 200 + 0j, 200 + 300j, 300j]
    sides = [make.line("0", a, b) for a, b in zip(corners, [*corners[1:], corners[0]], strict=True)]
    drawing = make.read(make.plain(*sides))
    assert [mark.closed for mark in drawing.lines] == [False] * 4
    assert len({mark.place for mark in drawing.lines}) == 4
    assert all(mark.turn_points is None and mark.source is LengthSource.DRAWN for mark in drawing.lines)


@pytest.mark.parametrize(
    ("stated", "factor", "name"),
    [((70, 1), 25.4, "in"), ((70, 4), 1.0, "mm"), ((70, 5), 10.0, "cm"), ((70, 2), 304.8, "ft")],
)
def test_insertion_units_are_honoured(stated, factor, name):
    drawing = make.read(make.plain(make.line("0", 0j, 3 + 4j), start=make.header(INSUNITS=stated)))
    assert drawing.units == name
    assert drawing.lines[0].curve.length == pytest.approx(5 * factor)


def test_the_user_decides_on_the_units():
    drawing = make.read(make.plain(make.line("0", 0j, 3 + 4j)), units="in")
    assert drawing.lines[0].curve.length == pytest.approx(127.0)
    assert "units-contradictory" in make.codes(drawing)


def test_a_labelled_test_square_gives_the_units():
    square = make.polyline("0", [0j, 5 + 0j, 5 + 5j, 5j])
    content = make.plain(
        make.polyline("0", [p / 5 + 20 for p in make.FRONT]), square, make.text("5 cm", 2 + 2j), start=""
    )
    drawing = make.read(content)
    assert drawing.units == "cm"
    assert [mark.role for mark in drawing.lines] == [None, Role.TEST_SQUARE]


def nested(levels):
    """Blocks that double at every level."""
    blocks = [make.block("b0", make.line("0", 0j, 1 + 0j))]
    blocks += [
        make.block(f"b{k}", make.insert(f"b{k - 1}"), make.insert(f"b{k - 1}", 1 + 0j)) for k in range(1, levels)
    ]
    return make.plain(make.insert(f"b{levels - 1}"), blocks=blocks)


def test_inserts_are_counted_before_they_are_followed():
    with pytest.raises(
        InputError, match=r"entities and copies of blocks after following every insert.*limits\.expanded"
    ):
        make.read(nested(40))
    array = make.plain(
        make.insert("b", 0j, 70, 30000, 71, 30000), blocks=[make.block("b", make.line("0", 0j, 1 + 0j))]
    )
    with pytest.raises(InputError, match=r"1800000000 entities"):
        make.read(array)


def test_a_block_inserted_in_itself_is_refused():
    blocks = [make.block("a", make.insert("b")), make.block("b", make.insert("A"))]
    with pytest.raises(InputError, match="a block is inserted in itself"):
        make.read(make.plain(make.insert("a"), blocks=blocks))


def test_blocks_too_deep_inside_each_other_are_refused_in_any_order():
    def tower(names):
        blocks = [make.block("b0", make.line("0", 0j, 1 + 0j))]
        blocks += [make.block(f"b{k}", make.insert(f"b{k - 1}")) for k in range(1, 50)]
        return make.plain(*(make.insert(name) for name in names), blocks=blocks)

    limits = replace(Limits(), depth=20)
    for names in (["b49"], [f"b{k}" for k in range(50)]):
        with pytest.raises(InputError, match="blocks inside each other"):
            make.read(tower(names), limits=limits)


def test_a_binary_dxf_reads_like_its_text():
    ezdxf = pytest.importorskip("ezdxf")
    import io

    document = ezdxf.new("R2000", units=4)
    document.modelspace().add_line((0, 0), (300, 400))
    stream = io.BytesIO()
    document.write(stream, fmt="bin")
    drawing = make.read(stream.getvalue())
    assert drawing.units == "mm"
    assert drawing.lines[0].curve.length == pytest.approx(500)
    with pytest.raises(InputError, match=r"binary DXF|breaks off"):
        make.read(stream.getvalue()[:-4000])


@pytest.mark.skipif(not SAMPLES.is_dir(), reason="the sample files are not beside the project")
def test_the_basket_bag_reads_as_loose_lines_in_inches():
    source = read_source(str(SAMPLES / "24-basket-bag.dxf"))
    assert not apparel.recognises(source)
    drawing = plain.read(source)
    assert drawing.units == "in"
    cut = [mark for mark in drawing.lines if mark.layer == "0"]
    assert len(cut) == 24
    assert len(drawing.lines) == 41
    assert [mark.text for mark in drawing.texts] == ["2x (collar)", "2x (side)", "1x (bottom)"]
    assert drawing.ledger.aside["DIMENSION on layer dims"] == 17
    slanted = sorted(round(mark.curve.length / 25.4, 3) for mark in cut if 5.01 < mark.curve.length / 25.4 < 5.07)
    assert slanted == [5.025, 5.025, 5.044, 5.062, 5.062, 5.062]
    sheet = assemble(drawing)
    assert len(sheet.shapes) == 3
    assert max(shape.gap for shape in sheet.shapes) == pytest.approx(0.95, abs=0.01)
