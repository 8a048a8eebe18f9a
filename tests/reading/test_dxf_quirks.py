"""What real DXF files do that they should not, and what is made of each."""

import math

import dxf_making as make
import pytest

from seamcheck.errors import InputError
from seamcheck.pattern.drawing import LengthSource, Role
from seamcheck.pieces.outline import assemble
from seamcheck.reading import read_drawing
from seamcheck.reading.dxf import apparel, plain

IMPORTERS = (apparel.IMPORTER, plain.IMPORTER)
SMALL = [0j, 40 + 0j, 40 + 60j, 60j]  # plausible in mm, in cm and in inches


def refused(content, *words, **options):
    """The one sentence that a file is refused with."""
    with pytest.raises(InputError) as caught:
        make.read(content, **options)
    sentence = str(caught.value)
    assert caught.value.remedy
    assert "\n" not in sentence
    for word in words:
        assert word in sentence
    return sentence


def one(*content, outline=None, **options):
    return make.read(make.apparel(make.piece("Front", *content, outline=outline), **options))


# Units


def test_units_missing_and_one_plausible_are_assumed_and_said():
    drawing = one(units="", outline=make.marked(1, make.FRONT))
    assert drawing.units == "mm"
    assert make.codes(drawing) == ["units-assumed"]
    assert "--units" in make.message(drawing, "units-assumed")


def test_units_missing_and_several_plausible_are_asked_for():
    content = make.apparel(make.piece("Front", outline=make.marked(1, SMALL)), units="")
    refused(content, "does not say what unit", "millimetres, centimetres, inches all would fit", "--units")
    assert make.read(content, units="cm").units == "cm"
    assert make.outline(make.read(content, units="cm")).curve.length == pytest.approx(2000)


def test_units_missing_and_none_plausible_are_asked_for():
    tiny = make.marked(1, [p / 1000 for p in make.FRONT])
    refused(make.apparel(make.piece("Front", outline=tiny), units=""), "--units")


def test_units_of_text_and_header_that_contradict_are_said_with_their_factor():
    drawing = one(start=make.header(INSUNITS=(70, 1)))
    assert drawing.units == "mm"
    assert "a factor of 25.4" in make.message(drawing, "units-contradictory")


@pytest.mark.parametrize("word", ["ENGLISH", "Imperial", "INCHES", "inch"])
def test_units_in_other_words_are_understood(word):
    assert one(units=word, outline=make.marked(1, SMALL)).units == "in"


# Closed, open, doubled


@pytest.mark.parametrize(("flags", "repeat"), [(1, True), (1, False), (0, True)])
def test_three_habits_of_closing_an_outline_are_one(flags, repeat):
    drawing = one(outline=make.marked(1, make.FRONT, flags=flags, repeat=repeat))
    mark = make.outline(drawing)
    assert mark.closed
    assert mark.curve.length == pytest.approx(1000)
    assert len(mark.curve.segments) == 4
    assert make.codes(drawing) == []


def test_an_open_outline_stays_open_with_its_gap():
    drawing = one(outline=make.marked(1, [*make.FRONT, 0.2j], flags=0))
    assert not make.outline(drawing).closed
    opened = make.read(make.apparel(make.piece("Front", outline=make.marked(1, make.FRONT, flags=0))))
    (found,) = assemble(opened).open_outlines
    assert found.gap == pytest.approx(300)
    assert found.name == "Front"


def test_a_gap_within_rounding_is_closed_and_said():
    drawing = one(outline=make.marked(1, [*make.FRONT, 0.03j], flags=0))
    mark = make.outline(drawing)
    assert mark.closed
    assert mark.curve.is_closed
    assert make.codes(drawing) == ["outline-gap"]


def test_doubled_vertices_are_taken_as_one():
    doubled = [0j, 200 + 0j, 200 + 0j, 200 + 300j, 300j, 300j]
    drawing = one(outline=make.marked(1, doubled))
    mark = make.outline(drawing)
    assert len(mark.curve.segments) == 4
    assert mark.turn_points == make.FRONT
    assert make.codes(drawing) == ["vertices-doubled"]


def test_tiny_edges_are_kept_and_said():
    drawing = one(outline=make.marked(1, [0j, 200 + 0j, 200 + 0.0142j, 200 + 300j, 300j]))
    assert make.codes(drawing) == ["tiny-edge"]
    assert make.outline(drawing).curve.length == pytest.approx(1000)


def test_bulges_in_a_boundary_are_exact_arcs():
    drawing = one(outline=make.polyline(1, make.FRONT, bulges=(0.0, 1.0)))
    assert make.outline(drawing).curve.length == pytest.approx(700 + 150 * math.pi, abs=1e-6)


def test_the_frame_of_a_fitted_polyline_is_not_part_of_the_line():
    def vertex(at, flag):
        return make.pairs(0, "VERTEX", 8, 1, 10, at.real, 20, at.imag, 70, flag)

    parts = [(0j, 16), (0j, 8), (200 + 0j, 8), (9999 + 9999j, 16), (200 + 300j, 8), (300j, 8)]
    outline = make.pairs(0, "POLYLINE", 8, 1, 66, 1, 70, 5) + "".join(vertex(*part) for part in parts)
    drawing = one(outline=outline + make.pairs(0, "SEQEND"))
    assert make.outline(drawing).curve.length == pytest.approx(1000)
    assert make.outline(drawing).source is LengthSource.CHORDS
    assert make.codes(drawing) == ["spline-fitted"]


@pytest.mark.parametrize("backwards", [False, True])
def test_a_boundary_in_several_parts_is_joined_with_its_corners(backwards):
    curve = [200 + 0j, 230 + 150j, 200 + 300j]
    parts = [
        make.marked(1, [0j, 200 + 0j], flags=0),
        make.marked(1, curve[::-1] if backwards else curve, (1,), flags=0),
        make.line(1, 200.02 + 300j, 300j),
        make.line(1, 300j, 0j),
    ]
    drawing = one(outline="".join(parts))
    mark = make.outline(drawing)
    assert mark.closed
    assert set(mark.turn_points or ()) == set(make.FRONT)
    assert "outline-in-parts" in make.codes(drawing)


def test_parts_that_do_not_meet_are_left_open():
    drawing = one(
        outline=make.line(1, 0j, 200 + 0j) + make.line(1, 200 + 5j, 200 + 300j) + make.line(1, 200 + 300j, 300j)
    )
    assert len(assemble(drawing).open_outlines) == 1


def test_a_second_closed_line_on_layer_1_is_a_cutout():
    hole = make.polyline(1, [50 + 50j, 90 + 50j, 90 + 90j, 50 + 90j])
    drawing = one(hole)
    roles = {mark.role: mark.curve.length for mark in drawing.lines}
    assert roles == pytest.approx({Role.OUTLINE: 1000, Role.CUTOUT: 160})
    assert make.codes(drawing) == ["outline-within"]


# Layers


@pytest.mark.parametrize("name", ["7", "07", "LAYER_7", "Layer 7", "l7", "L_07", "7  "])
def test_a_layer_is_the_same_however_its_number_is_written(name):
    drawing = one(make.line(name, 50 + 50j, 50 + 250j))
    assert [mark.role for mark in drawing.lines] == [Role.OUTLINE, Role.GRAIN]
    assert make.codes(drawing) == []


@pytest.mark.parametrize(("name", "role"), [("cut", Role.OUTLINE), ("DRAW", Role.INTERNAL), ("IntCut", Role.CUTOUT)])
def test_layers_can_go_by_name(name, role):
    outline = make.polyline("OUTLINE", make.FRONT) if role is not Role.OUTLINE else ""
    drawing = one(make.polyline(name, [p / 2 + 20 + 20j for p in make.FRONT]), outline=outline)
    assert drawing.lines[-1].role is role


def test_an_unknown_layer_is_named_once():
    drawing = one(make.line("SKETCH", 0j, 10 + 0j), make.line("SKETCH", 0j, 20 + 0j))
    assert make.codes(drawing) == ["layer-unknown"]
    assert [mark.role for mark in drawing.lines] == [Role.OUTLINE, None, None]


# Blocks and inserts


@pytest.mark.parametrize("second", ["FRONT", "Front"])
def test_blocks_of_one_name_are_kept_apart(second):
    blocks = [make.piece("Front", block_name="Front"), make.piece("Back", block_name=second)]
    drawing = make.read(make.apparel(*blocks))
    assert [(block.name, block.piece) for block in drawing.blocks] == [("Front", "Front"), (f"{second}~2", "Back")]
    assert make.codes(drawing) == ["block-names-equal"]


def test_a_block_without_a_name_is_kept():
    content = make.section("BLOCKS", make.block("", make.marked(1, make.FRONT), make.text("Piece Name: Front")))
    drawing = make.read(content + make.section("ENTITIES", make.text("Units: METRIC")) + make.pairs(0, "EOF"))
    assert [(block.name, block.piece) for block in drawing.blocks] == [("block~1", "Front")]
    assert "block-unnamed" in make.codes(drawing)


def test_a_block_that_is_not_ended_does_not_swallow_the_next():
    open_block = make.block("Front", make.marked(1, make.FRONT), make.text("Piece Name: Front"), end=False)
    drawing = make.read(make.apparel(open_block, make.piece("Back")))
    assert [block.piece for block in drawing.blocks] == ["Front", "Back"]
    assert "ENDBLK" in make.message(drawing, "repaired")


def test_an_insert_of_a_missing_block_is_said():
    drawing = one(inserts=make.insert("Front") + make.insert("Back"))
    assert '"Back"' in make.message(drawing, "insert-without-block")
    flat = make.read(make.plain(make.line("0", 0j, 300 + 0j), make.insert("Back")))
    assert '"Back"' in make.message(flat, "insert-without-block")
    assert flat.ledger.aside == {"INSERT on layer 1": 1}


def test_a_block_that_is_never_inserted_is_read_and_said():
    drawing = make.read(make.apparel(make.piece("Front"), make.piece("Back"), inserts=make.insert("Front")))
    assert [block.piece for block in drawing.blocks] == ["Front", "Back"]
    assert '"Back"' in make.message(drawing, "block-not-inserted")


def test_a_displaced_insert_moves_nothing():
    drawing = one(inserts=make.insert("Front", 5000 + 5000j))
    assert make.outline(drawing).curve.bounds() == (0, 0, 200, 300)
    assert make.codes(drawing) == []


def test_an_insert_that_scales_is_said():
    drawing = one(inserts=make.insert("Front", 0j, 41, 2.0, 42, 2.0))
    assert make.codes(drawing) == ["insert-transformed"]
    assert make.outline(drawing).curve.length == pytest.approx(1000)


# Texts


def named(name, encoding, **options):
    return make.apparel(make.piece(name, block_name=name), **options).encode(encoding)


@pytest.mark.parametrize(
    ("name", "encoding"),
    [("前片", "gbk"), ("袖", "gbk"), ("スリーブ", "cp932"), ("後ろ身頃", "cp932"), ("Ärmel größer", "cp1252")],
)
def test_texts_in_an_unstated_encoding_are_read_by_the_likeliest(name, encoding):
    drawing = make.read(named(name, encoding))
    assert [(block.name, block.piece) for block in drawing.blocks] == [(name, name)]
    assert f"read as {encoding}" in make.message(drawing, "text-encoding")
    assert "next guess" in make.message(drawing, "text-encoding")


def test_the_user_can_say_the_encoding():
    drawing = make.read(named("앞판", "cp949"), encoding="cp949")
    assert drawing.blocks[0].piece == "앞판"
    assert make.codes(drawing) == []
    refused(named("前片", "gbk"), "not in the encoding", encoding="ascii")
    refused(named("前片", "gbk"), 'no text encoding "klingon"', encoding="klingon")


def test_a_stated_code_page_is_honoured():
    drawing = make.read(named("袖口", "cp932", start=make.header(DWGCODEPAGE=(3, "ANSI_932"))))
    assert drawing.blocks[0].piece == "袖口"
    assert make.codes(drawing) == []


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig"])
@pytest.mark.parametrize("start", ["", make.header(DWGCODEPAGE=(3, "ANSI_1252"))])
def test_unicode_needs_no_guess_and_goes_before_a_stated_code_page(encoding, start):
    for name in ("Rückenteil", "前片", "Рукав"):
        drawing = make.read(named(name, encoding, start=start))
        assert drawing.blocks[0].piece == name
        assert make.codes(drawing) == []


def test_letters_written_as_codes_are_letters():
    drawing = make.read(make.apparel(make.piece(r"R\U+00FCcken", block_name="back")))
    assert drawing.blocks[0].piece == "Rücken"


@pytest.mark.parametrize("kind", ["TEXT", "MTEXT", "ATTRIB", "ATTDEF"])
def test_statements_are_read_from_every_kind_of_text(kind):
    drawing = one(make.text("Quantity: 2", kind=kind), make.text("", kind=kind))
    assert drawing.blocks[0].labels["quantity"] == "2"
    assert drawing.ledger.aside == {f"{kind} on layer 1": 1}


# Numbers


def commas(content):
    return "\n".join(
        row.replace(".", ",") if row.replace(".", "").replace("-", "").isdigit() else row
        for row in content.split("\n")
    )


def test_decimal_commas_throughout_are_decimal_points():
    points = [complex(p.real + 0.25, p.imag) for p in make.FRONT]
    drawing = make.read(commas(make.apparel(make.piece("Front", outline=make.marked(1, points)))))
    assert make.outline(drawing).turn_points == tuple(points)
    assert make.codes(drawing) == ["decimal-comma"]


def test_decimal_commas_and_points_together_are_refused():
    refused(make.apparel(make.piece("Front")).replace("300.0", "300,5"), "are mixed", "line ")


@pytest.mark.parametrize("value", ["NaN", "1.#QNAN", "inf", "1e300", "1.0E 02", "", "12 5"])
def test_what_is_no_number_is_refused_with_its_line(value):
    content = make.apparel(make.piece("Front")).replace("300.0", value, 1)
    refused(content, "not a number", f"line {content.split(chr(10)).index(value) + 1}")


@pytest.mark.parametrize("value", [".5", "5e-1", "+0.5", " 0.500000 "])
def test_numbers_in_every_honest_form_are_read(value):
    drawing = one(outline=make.marked(1, make.FRONT).replace("200.0", value))
    assert make.outline(drawing).curve.length == pytest.approx(601)


def test_whole_numbers_written_with_a_point_are_whole_numbers():
    drawing = one(outline=make.polyline(1, make.FRONT, 71, "0.000000").replace(" 70\n1\n", " 70\n1.000000\n"))
    assert make.outline(drawing).closed


def test_a_point_beyond_ten_kilometres_is_refused():
    refused(make.apparel(make.piece("Front")).replace("300.0", "1e12"), "1e+12 mm away", "line ")
    refused(make.apparel(make.piece("Front")).replace("300.0", "1e19"), "not a number that can be measured", "line ")
    refused(make.plain(make.line("0", 0j, 2e7 + 0j)), "2e+07 mm away", "line ")


# Broken structure


@pytest.mark.parametrize("ending", ["\r\n", "\n", "\r"])
def test_the_way_lines_end_changes_nothing(ending):
    content = make.apparel(make.piece("Front"))
    drawing = make.read(content.replace("\n", ending).encode())
    assert make.outline(drawing).curve.length == pytest.approx(1000)


def test_a_missing_end_mark_is_mended_and_said():
    content = make.apparel(make.piece("Front"))
    drawing = make.read(content.removesuffix(make.pairs(0, "EOF")))
    assert "EOF" in make.message(drawing, "repaired")
    drawing = make.read(content.removesuffix(make.pairs(0, "ENDSEC", 0, "EOF")) + make.pairs(0, "EOF"))
    assert "ENDSEC" in make.message(drawing, "repaired")


def test_what_follows_the_end_mark_is_not_read_and_that_is_said():
    drawing = make.read(make.apparel(make.piece("Front")) + "mailed by the kit room\n")
    assert "after the end mark" in make.message(drawing, "repaired")


def test_a_file_that_breaks_off_is_refused():
    content = make.apparel(make.piece("Front"))
    refused(content[: content.index("ENDBLK") - 20], "breaks off", "save or copy it again")


def test_a_polyline_that_is_not_ended_is_mended_and_said():
    drawing = one(outline=make.polyline(1, make.FRONT, seqend=False))
    assert make.outline(drawing).curve.length == pytest.approx(1000)
    assert "SEQEND" in make.message(drawing, "repaired")


def test_group_codes_after_an_end_mark_are_swallowed():
    content = make.apparel(make.piece("Front"))
    content = content.replace("SEQEND\n", "SEQEND\n 62\n7\n").replace("ENDBLK\n", "ENDBLK\n  5\nA1\n")
    drawing = make.read(content)
    assert make.outline(drawing).curve.length == pytest.approx(1000)
    assert make.codes(drawing) == []


def test_a_blank_line_among_the_pairs_is_refused_with_its_place():
    content = make.apparel(make.piece("Front"))
    at = content.index("VERTEX")
    broken = content[:at] + "\n" + content[at:]
    sentence = refused(broken, "stands where a group code", "a line is missing or too many")
    line = broken[: broken.index("\n\nVERTEX".replace("\n\n", "\n"))].count("\n")
    assert f"line {line + 2}" in sentence


def test_entities_of_newer_versions_need_no_class_markers():
    light = make.pairs(0, "LWPOLYLINE", 8, "1", 90, 4, 70, 1)
    light += "".join(make.pairs(10, p.real, 20, p.imag) for p in make.FRONT)
    assert make.outline(one(outline=light)).curve.length == pytest.approx(1000)
    curve = make.pairs(0, "SPLINE", 8, "0", 70, 8, 71, 3, 72, 8, 73, 4)
    curve += "".join(make.pairs(40, k) for k in (0, 0, 0, 0, 1, 1, 1, 1))
    curve += "".join(make.pairs(10, x, 20, y) for x, y in ((0, 0), (0, 100), (200, 100), (200, 0)))
    (mark,) = make.read(make.plain(curve)).lines
    assert (mark.curve.start, mark.curve.end) == (0, 200)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"\x89PNG\r\n\x1a\n" + bytes(64), "this is a PNG picture"),
        (b"hello", "no pattern file"),
        (b"  0\nSECTION\n  2\nENTITIES\n  0\nENDSEC\n  0\nEOF\n", "the drawing is empty"),
        (b"  0\nEOF\n", "the drawing is empty"),
        (b"", "empty"),
    ],
)
def test_a_file_that_is_no_drawing_is_refused_in_one_sentence(tmp_path, data, words):
    path = tmp_path / "ferryhand.dxf"
    path.write_bytes(data)
    with pytest.raises(InputError, match=words):
        read_drawing(str(path), None, IMPORTERS)


def test_a_folder_is_refused(tmp_path):
    with pytest.raises(InputError, match="folder"):
        read_drawing(str(tmp_path), None, IMPORTERS)


# Pieces and sizes


def test_which_line_the_boundary_is_stays_open_unless_the_file_tells():
    assert make.outline(one()).role is Role.OUTLINE


def test_sizes_are_taken_from_block_names_where_texts_have_none():
    grown = make.marked(1, [p * 1.05 for p in make.FRONT])
    drawing = make.read(
        make.apparel(
            make.piece("Front", block_name="Front_S"), make.piece("Front", block_name="Front-M", outline=grown)
        )
    )
    assert [(block.piece, block.size) for block in drawing.blocks] == [("Front", "S"), ("Front", "M")]
    assert "S, M" in make.message(drawing, "size-from-block-name")


def test_pieces_are_taken_from_block_names_where_texts_have_none():
    blocks = [
        make.block(name, make.marked(1, [p * f for p in make.FRONT])) for name, f in (("Cuff_S", 1), ("Cuff_M", 1.1))
    ]
    drawing = make.read(make.apparel(*blocks, make.block("Collar", make.marked(1, make.FRONT)), make.piece("Front")))
    assert [(block.piece, block.size) for block in drawing.blocks][:3] == [
        ("Cuff", "S"),
        ("Cuff", "M"),
        ("Collar", ""),
    ]
    assert "piece-name-missing" in make.codes(drawing)


def test_one_piece_twice_in_one_size_with_other_outlines_is_refused():
    other = make.marked(1, [p * 1.1 for p in make.FRONT])
    blocks = [make.piece("Front", size="M"), make.piece("front", size="M", outline=other, block_name="b2")]
    refused(make.apparel(*blocks), 'piece "front" in size M stands there twice', '"b2"')


def test_one_piece_twice_with_the_same_outline_is_read_once():
    moved = make.marked(1, [p + 500 for p in make.FRONT])
    blocks = [make.piece("Front", size="M"), make.piece("Front", size="M", outline=moved, block_name="b2")]
    drawing = make.read(make.apparel(*blocks))
    assert len(drawing.blocks) == 1
    assert make.codes(drawing) == ["piece-repeated"]


def test_mirror_images_of_one_name_are_a_left_and_a_right_piece():
    slanted = [0j, 200 + 0j, 250 + 300j, 300j]
    mirrored = [complex(-p.real, p.imag) for p in slanted]
    blocks = [
        make.piece("Front", outline=make.marked(1, slanted)),
        make.piece("Front", outline=make.marked(1, mirrored), block_name="b2"),
    ]
    drawing = make.read(make.apparel(*blocks))
    assert [block.piece for block in drawing.blocks] == ["Front", "Front"]
    assert make.codes(drawing) == ["mirror-pair"]


def test_a_sample_size_inside_the_piece_is_its_size():
    assert one(make.text("SAMPLE SIZE: M")).blocks[0].size == "M"


def test_names_equal_in_their_first_twenty_characters_are_said():
    blocks = [make.piece(f"Ferryhand front panel {side}") for side in ("left", "right")]
    assert make.codes(make.read(make.apparel(*blocks))) == ["piece-names-alike"]


def test_sizes_with_other_vertices_are_read_by_themselves():
    small = make.piece("Front", size="S", outline=make.polyline(1, [0j, 190 + 0j, 190 + 150j, 190 + 290j, 290j]))
    drawing = make.read(make.apparel(make.piece("Front", size="M"), small))
    assert make.codes(drawing) == ["nest-topology-differs"]
    assert make.outline(drawing, "Front_S").turn_points is None
    assert len(drawing.blocks) == 2


@pytest.mark.parametrize("points", [make.FRONT, make.FRONT[::-1]])
def test_the_way_round_is_kept_as_drawn(points):
    curve = make.outline(one(outline=make.marked(1, points))).curve
    assert (curve.signed_area() > 0) is (points is make.FRONT)


def test_a_boundary_that_crosses_itself_is_still_measured():
    crossing = [0j, 200 + 300j, 200 + 0j, 300j]
    mark = make.outline(one(outline=make.marked(1, crossing)))
    assert mark.curve.length == pytest.approx(600 + 2 * math.hypot(200, 300))


# Notches, internal lines, grain


@pytest.mark.parametrize("attributes", [(30, 0.7), (30, 4.0, 50, 90.0), (30, 4.0, 50, 0.0)])
def test_implausible_notch_attributes_are_said_and_do_not_place_it(attributes):
    outline = make.marked(1, [0j, 200 + 0j, 200 + 150j, 200 + 300j, 300j], (2,))
    drawing = one(make.point(4, 200 + 150j, *attributes), outline=outline)
    assert make.codes(drawing) == ["notch-attribute-implausible"]
    assert drawing.points[0].at == 200 + 150j


def test_group_codes_without_a_meaning_are_listed():
    outline = make.polyline(1, make.FRONT, 250, 2)
    drawing = one(make.point(4, 200 + 0j, 30, 4.0, 38, 0.7), outline=outline)
    assert "38 on 1 POINT, 250 on 1 POLYLINE" in make.message(drawing, "unknown-codes")


@pytest.mark.parametrize(
    ("gap", "said", "snapped"), [(0.0, False, True), (0.005, False, True), (0.04, True, True), (0.11, True, False)]
)
def test_internal_lines_that_end_beside_the_outline(gap, said, snapped):
    drawing = one(make.line(8, 200 + gap + 0j, 100 + 100j))
    inner = next(mark for mark in drawing.lines if mark.role is Role.INTERNAL)
    assert (inner.curve.start == 200) is snapped
    assert ("internal-line-gap" in make.codes(drawing)) is said


def test_a_mirror_line_beside_the_outline_is_said():
    drawing = one(make.line(6, 5 + 0j, 5 + 300j))
    assert make.codes(drawing) == ["mirror-line-off-outline"]


@pytest.mark.parametrize("count", [0, 1, 2])
def test_every_grain_line_is_kept_for_the_checks(count):
    drawing = one(*(make.line(7, complex(50 * k, 50), complex(50 * k, 250)) for k in range(count)))
    assert sum(mark.role is Role.GRAIN for mark in drawing.lines) == count


def test_a_line_without_length_is_left_out_and_said():
    drawing = one(make.line(7, 50 + 50j, 50 + 50j))
    assert make.codes(drawing) == ["left-out"]


def test_elements_that_are_not_mirrored_are_marked():
    drawing = one(make.line(8, 50 + 50j, 90 + 50j), make.text("NM", 50 + 50j, 8))
    assert [mark.label for mark in drawing.lines if mark.role is Role.INTERNAL] == ["not mirrored"]


def test_a_notch_may_be_a_short_line():
    drawing = one(make.line(4, 200 + 150j, 195 + 150j))
    assert [mark.role for mark in drawing.lines] == [Role.OUTLINE, Role.NOTCH]


def test_an_insert_within_a_piece_is_counted():
    drawing = one(make.insert("Pocket"))
    assert drawing.ledger.aside == {"INSERT on layer 1": 1}


def test_lines_outside_every_piece_are_counted():
    content = make.apparel(make.piece("Front"), style=make.line(1, 0j, 10 + 0j))
    assert make.read(content).ledger.aside == {"LINE on layer 1, outside every piece": 1}
