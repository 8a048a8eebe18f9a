from dataclasses import replace

import dxf_making as make
import pytest

from seamcheck.config.limits import Limits
from seamcheck.errors import InputError
from seamcheck.reading.base import read_source
from seamcheck.reading.dxf.tags import is_dxf, read_raw
from seamcheck.reading.dxf.text import plain, plain_lines

ONE_LINE = make.plain(make.line("0", 0j, 100 + 0j))


def raw(content, **options):
    return read_raw(make.source(content, **options))


def test_every_entity_keeps_its_pairs_and_the_line_it_begins_on():
    drawing = raw(make.plain(make.line("Seam", 0j, 100 + 50j), make.point("Notch", 3 + 4j, 39, 2.5)))
    line, point = drawing.entities
    assert (line.kind, line.layer, line.point(10), line.point(11)) == ("LINE", "Seam", 0j, 100 + 50j)
    assert (point.kind, point.point(), point.number(39)) == ("POINT", 3 + 4j, 2.5)
    text = make.plain(make.line("Seam", 0j, 100 + 50j)).split("\n")
    assert text[line.line : line.line + 1] == ["LINE"]


def test_header_layers_and_blocks_are_found():
    content = (
        make.header(INSUNITS=(70, 5), ACADVER=(1, "AC1009"))
        + make.layers(("Shown", 0, 7), ("Frozen", 1, 7), ("Off", 0, -7))
        + make.section("BLOCKS", make.block("Pocket", make.line("0", 0j, 10 + 0j)))
        + make.section("ENTITIES", make.insert("POCKET"))
        + make.pairs(0, "EOF")
    )
    drawing = raw(content)
    assert drawing.variable("$INSUNITS") == "5"
    assert {name: layer.hidden for name, layer in drawing.layers.items()} == {
        "shown": False,
        "frozen": True,
        "off": True,
    }
    assert drawing.block("pocket") is drawing.blocks["pocket"]
    assert [entity.kind for entity in drawing.all_entities()] == ["LINE", "INSERT"]


def test_vertices_and_attributes_belong_to_the_entity_before_them():
    attribute = make.text("Cut 2", kind="ATTRIB")
    drawing = raw(
        make.plain(
            make.polyline("1", make.FRONT),
            make.insert("Pocket", 0j, 66, 1) + attribute + make.pairs(0, "SEQEND"),
            make.line("0", 0j, 1 + 0j),
        )
    )
    assert [(e.kind, [p.kind for p in e.parts]) for e in drawing.entities] == [
        ("POLYLINE", ["VERTEX"] * 4),
        ("INSERT", ["ATTRIB"]),
        ("LINE", []),
    ]
    assert sum(1 for _ in drawing.all_entities()) == 4


@pytest.mark.parametrize("ending", ["\r\n", "\n", "\r", "\r\r\n"])
def test_every_habit_of_ending_a_line_reads_the_same(ending):
    drawing = raw(ONE_LINE.replace("\n", ending).encode())
    assert drawing.entities[0].point(11) == 100
    assert is_dxf(make.source(ONE_LINE.replace("\n", ending).encode()))


@pytest.mark.parametrize(
    ("value", "expected"),
    [(r"Gr\U+00F6\U+00DFe", "Größe"), ("45%%d", "45°"), ("%%uFront%%u", "Front"), ("100%%%", "100%")],
)
def test_drawing_codes_in_texts_become_letters(value, expected):
    assert plain(value) == expected


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        (r"{\fArial|b1;Front}\PCut 2", ["Front", "Cut 2"]),
        (r"\A1;\H2.5x;Size 40", ["Size 40"]),
        (r"\S1/2; inch", ["1/2 inch"]),
        (r"a\~b \{c\} \\", ["a b {c} \\"]),
    ],
)
def test_paragraph_formatting_is_taken_off(value, expected):
    assert plain_lines(value) == expected


@pytest.mark.parametrize(
    ("content", "expected"),
    [
        (make.pairs(0, "SECTION", 2, "ENTITIES"), True),
        (make.pairs(999, "a comment", 0, "SECTION"), True),
        (b"AutoCAD Binary DXF\r\n\x1a\x00", True),
        (b"\x89PNG\r\n\x1a\n", False),
        (b"<svg/>", False),
        ("0\n", False),
    ],
)
def test_a_dxf_is_known_by_its_first_pairs(content, expected):
    assert is_dxf(make.source(content)) is expected


@pytest.mark.parametrize(
    ("limit", "content"),
    [
        ("tags", ONE_LINE),
        ("elements", make.plain(make.line("0", 0j, 1 + 0j), make.line("0", 0j, 2 + 0j))),
        ("commands", make.plain(make.polyline("1", make.FRONT))),
    ],
)
def test_a_file_over_a_budget_is_refused_with_the_number_that_broke_it(limit, content):
    with pytest.raises(InputError, match=rf"more than the 1 that are read.*limits\.{limit}"):
        raw(content, limits=replace(Limits(), **{limit: 1}))


def test_a_file_cut_off_anywhere_is_never_read_as_whole():
    content = make.apparel(make.piece("Front", make.line(7, 50 + 50j, 50 + 250j)), make.piece("Back"))
    whole = raw(content)
    counted = [(e.kind, len(e.parts)) for e in whole.all_entities()]
    said = 0
    for end in range(200, len(content) - 8, 7):
        try:
            cut = raw(content[:end])
        except InputError:
            said += 1
        else:
            assert (
                "repaired" in [note.code for note in cut.notes]
                or [(e.kind, len(e.parts)) for e in cut.all_entities()] == counted
            )
    assert said > 100


@pytest.mark.parametrize("name", ["empty.dxf", "blank.dxf"])
def test_an_empty_file_is_said_to_be_empty(tmp_path, name):
    (tmp_path / name).write_text("" if name == "empty.dxf" else "\n \n")
    with pytest.raises(InputError, match="empty"):
        read_source(str(tmp_path / name))


def test_a_drawing_without_entities_is_refused():
    with pytest.raises(InputError, match="the drawing is empty"):
        raw(make.plain())
