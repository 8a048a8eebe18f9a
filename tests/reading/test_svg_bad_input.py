import gzip
import json
import random

import pytest
from svg_making import MM, SPACES, codes, drawing, read_bytes, svg

from seamcheck.config.limits import Limits, ReadOptions
from seamcheck.errors import InputError
from seamcheck.reading import read_drawing
from seamcheck.reading.svg.reader import IMPORTER

SQUARE = '<path id="square" d="M10 10h20v20h-20z"/>'


def refused(data, **options):
    with pytest.raises(InputError) as caught:
        read_bytes(data, **options)
    sentence = str(caught.value)
    assert sentence.startswith("ferryhand.svg")
    assert caught.value.remedy
    assert "\n" not in sentence
    return sentence


def refused_drawing(body, head=MM, **options):
    return refused(svg(body, head), **options)


# Broken files


def test_truncated_xml_names_the_line():
    sentence = refused(b"<svg>\n<g>\n<rect width=")
    assert "line 3" in sentence
    assert "XML is broken" in sentence


@pytest.mark.parametrize(
    "data",
    [
        b"<svg><g></svg>",
        b"<svg><rect width=5/></svg>",
        b"<svg></svg><svg></svg>",
        b'<svg><rect foo:bar="1"/></svg>',
        b"<svg>&nbsp;</svg>",
        b"<svg>\x00</svg>",
        b"\xff\xfe<\x00s\x00v\x00g\x00",
        b"<svg>\xff</svg>",
    ],
)
def test_xml_that_is_not_well_formed(data):
    refused(data)


def test_unknown_text_encoding():
    assert "encoding" in refused(b'<?xml version="1.0" encoding="klingon"?><svg/>')


def test_other_root():
    assert "html" in refused(b"<html><svg/></html>")


def test_damaged_compressed_file():
    packed = gzip.compress(svg(SQUARE))
    assert "damaged" in refused(packed[:-20])
    assert "damaged" in refused(packed[:12] + b"\x00" * 9)


def test_compressed_file_is_read():
    assert read_bytes(gzip.compress(svg(SQUARE))).lines[0].place.words == "element square"


# Bad numbers


@pytest.mark.parametrize(
    "element",
    [
        '<path id="bad" d="M0 0 L NaN 5"/>',
        '<path id="bad" d="M0 0 L inf 5"/>',
        '<path id="bad" d="M0 0 L 1e400 5"/>',
        '<path id="bad" d="M0 0 h 2e7"/>',
        '<rect id="bad" width="NaN" height="3"/>',
        '<rect id="bad" width="1e999" height="3"/>',
        '<polygon id="bad" points="0,0 NaN,3 5,5"/>',
        '<polygon id="bad" points="0,0 1e999,3 5,5"/>',
        '<path id="bad" transform="scale(1e300)" d="M0 0 h 1e300"/>',
        '<path id="bad" transform="translate(1e999)" d="M0 0 h 1"/>',
        '<circle id="bad" cx="3e7" r="3"/>',
        '<text id="bad" x="1e9">far</text>',
    ],
)
def test_numbers_that_are_not_finite_or_too_large_stop_the_file(element):
    assert "element bad" in refused_drawing(element + SQUARE)


@pytest.mark.parametrize(
    ("d", "says"),
    [
        ("M0 0 L 10", "the end"),
        ("M0 0 L 5 5 X 7 7", '"X 7 7"'),
        ("M 0 0 # L 1 1", '"# L 1 1"'),
        ("M0 0 L5,,5", '",5"'),
        ("L5,5", "begins with L"),
        ("M0 0 A 5 5 0 2 1 10 10", "0 or 1"),
        ("M", "the end"),
        ("M0 0 L 5 5 junk 7 7", '"junk 7 7"'),
        ("M0 0z 5 5", '"5 5"'),
        ("M 0 0 5 5 10", "the end"),
        ("M0 0 L 1e", '"e"'),
    ],
)
def test_bad_path_data_leaves_that_path_out_and_says_so(d, says):
    drawn = drawing(f'<path id="bad" d="{d}"/>{SQUARE}')
    assert [str(line.place) for line in drawn.lines] == ["element square"]
    message = next(note.message for note in drawn.notes if note.code == "left-out")
    assert "element bad" in message
    assert says in message
    assert drawn.ledger.aside == {"path that cannot be read": 1}


@pytest.mark.parametrize(
    "element", ['<polyline points="0,0 5"/>', '<polyline points="0,0 a,b"/>', '<rect width="9x" height="9"/>']
)
def test_other_bad_shapes_are_left_out_too(element):
    drawn = drawing(element + SQUARE)
    assert len(drawn.lines) == 1
    assert codes(drawn) == ["left-out"]


def test_a_file_of_which_nothing_can_be_read_is_refused():
    assert "nothing in it can be read" in refused_drawing('<path id="bad" d="M0 0 L 10"/>')


# Hostile files


def test_nested_entities_are_refused():
    lines = "".join(f'<!ENTITY e{n} "{f"&e{n - 1};" * 10}">' for n in range(1, 9))
    assert "entit" in refused(f'<!DOCTYPE svg [<!ENTITY e0 "ha">{lines}]><svg>&e8;</svg>'.encode())


@pytest.mark.parametrize(
    "declaration",
    [
        '<!ENTITY x SYSTEM "file:///etc/hostname">',
        '<!ENTITY x PUBLIC "-//A" "a.xml">',
        '<!ENTITY % x "y">',
        '<!ENTITY % x SYSTEM "a.dtd"> %x;',
        f'<!ENTITY x "{"a" * 513}">',
        '<!ENTITY x "a &#38;b; c">',
        "".join(f'<!ENTITY x{n} "a">' for n in range(65)),
    ],
)
def test_other_entities_that_no_drawing_needs_are_refused(declaration):
    assert "entit" in refused(f"<!DOCTYPE svg [{declaration}]><svg></svg>".encode())


def test_flat_entities_of_vector_editors_are_read():
    data = (
        '<?xml version="1.0"?><!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" '
        '"http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd" [<!ENTITY ns_svg "http://www.w3.org/2000/svg">'
        f'<!ENTITY name "Front">]><svg xmlns="&ns_svg;" {MM}><g id="&name;"><rect width="9" height="9"/></g></svg>'
    )
    assert read_bytes(data.encode()).lines[0].groups == ("Front",)


def test_deep_nesting_is_refused():
    sentence = refused_drawing("<g>" * 300 + "</g>" * 300)
    assert "limits.depth" in sentence
    assert "200" in sentence


def test_nested_use_bomb_is_refused_before_it_is_followed():
    body = '<defs><path id="u0" d="M0 0h1v1z"/>'
    body += "".join(f'<g id="u{n}"><use href="#u{n - 1}"/><use href="#u{n - 1}"/></g>' for n in range(1, 60))
    sentence = refused_drawing(body + '</defs><use href="#u59"/>')
    assert "limits.expanded" in sentence


def test_use_expansion_is_counted_exactly():
    body = '<defs><g id="a"><rect width="9" height="9"/><rect width="8" height="8"/></g></defs>'
    body += '<use href="#a"/><use href="#a"/>'
    # The root, defs, two use elements, and twice a group with two shapes.
    assert len(drawing(body, limits=Limits(expanded=10)).lines) == 4
    assert "10 elements" in refused_drawing(body, limits=Limits(expanded=9))


@pytest.mark.parametrize(
    "body",
    [
        '<use id="a" href="#a"/>',
        '<g id="a"><use href="#a"/></g>',
        '<use id="a" href="#b"/><use id="b" href="#a"/>',
        '<symbol id="a"><use href="#b"/></symbol><g id="b"><use href="#a"/></g>',
    ],
)
def test_use_circle_is_refused(body):
    assert "shows itself" in refused_drawing(body)


def test_a_circle_that_is_never_drawn_is_no_trouble():
    assert len(drawing(f'<defs><g id="a"><use href="#a"/></g></defs>{SQUARE}').lines) == 1


def test_long_chain_of_use_is_refused_by_depth():
    body = '<defs><path id="u0" d="M0 0h1v1z"/>'
    body += "".join(f'<use id="u{n}" href="#u{n - 1}"/>' for n in range(1, 3000))
    assert "limits.depth" in refused_drawing(body + '</defs><use href="#u2999"/>')


@pytest.mark.parametrize(
    ("name", "body"),
    [
        ("elements", "<g/>" * 20),
        ("attribute", '<path d="M0 0h1v1h1v1h1"/>'),
        ("commands", '<path d="M0 0' + "h1v1" * 20 + '"/>'),
        ("bytes", "<text>" + "long " * 400 + "</text>"),
    ],
)
def test_every_budget_names_the_setting_that_lifts_it(name, body):
    small = {"elements": 10, "attribute": 10, "commands": 30, "bytes": 300}[name]
    head = 'width="9mm" height="9mm" viewBox="0 0 9 9"' if name != "attribute" else ""
    data = svg(body, head) if name != "attribute" else f"<svg>{body}</svg>".encode()
    limits = Limits(**{name: small})
    if name == "bytes":
        data = gzip.compress(data)
    sentence = refused(data, limits=limits)
    assert f"limits.{name}" in sentence
    assert str(small) in sentence


@pytest.mark.parametrize(
    "body",
    [
        f'<rect transform="scale({"1" * 5000}x" width="3" height="3"/>',
        f'<rect transform="scale({"1 " * 5000}x)" width="3" height="3"/>',
        f'<rect width="5{" " * 100_000}x" height="3"/>',
        f'<polyline points="{"1" * 100_000}x"/>',
        f'<svg viewBox="{"1" * 100_000}x"/>',
        f'<rect style="{"/*" * 100_000}" width="3" height="3"/>',
        f"<style>{'a{' * 50_000}</style>",
        f"<style>{'a{fill:red}' * 20_000}</style>",
        f"<style>{'g ' * 150}path{{fill:red}} .no {'g ' * 100} path{{fill:red}}</style>"
        + "<g>" * 150
        + SQUARE
        + "</g>" * 150,
        f'<g inkscape:label="cut{" " * 100_000}">{SQUARE}</g>',
        f"<text>{'1' * 100_000}</text>",
        f'<path id="{"_1_" * 30_000}" d="M0 0h9v9z"/>',
    ],
)
def test_text_that_is_made_to_be_slow_is_read_at_once(body):
    # A pattern that tries every way to split such text would not come back within days.
    assert drawing(body + SQUARE).lines


@pytest.mark.parametrize(
    "body",
    [
        '<rect rx="1e-320" ry="3" width="9" height="9"/>',
        '<circle r="1e-320"/>',
        '<path d="M0 0 A 1e-300 1e-300 0 0 1 9 9"/>',
        '<path d="M0 0 A 1e14 1e14 0 0 1 9 9"/>',
        '<path d="M0 0 A 1e-90 5 0 0 1 9 9"/>',
        '<svg viewBox="0 0 1e-320 1"><rect width="3" height="3"/></svg>',
        '<svg width="0" height="5" viewBox="0 0 9 9"><rect width="3" height="3"/></svg>',
        '<symbol id="s" viewBox="0 0 0 0"><rect width="3" height="3"/></symbol><use href="#s" width="-3"/>',
    ],
)
def test_degenerate_sizes_are_no_trouble(body):
    assert "element square" in [str(line.place) for line in drawing(body + SQUARE).lines]


def test_chain_of_huge_scales_is_refused():
    assert "transform" in refused_drawing('<g transform="scale(1e15)">' * 30 + SQUARE + "</g>" * 30)


RICH = f"""<svg {SPACES} width="210mm" height="297mm" viewBox="0 0 210 297"><style>.off {{ display: none }}</style>
<defs><marker id="Arrow"><path d="M0 0L5 5"/></marker><symbol id="s" viewBox="0 0 9 9"><circle r="4"/></symbol></defs>
<g inkscape:label="Front" transform="translate(10 10) rotate(5)"><path inkscape:label="sew line"
d="M0 0C5 5 10 5 20 0A9 9 0 0 1 30 9L30 40H0z"/><path class="off" d="M5 0v4"/><line x1="9" y1="9" x2="9" y2="39"
stroke="red" marker-end="url(#Arrow)"/><text x="3" y="9">Front <tspan dy="3">size M</tspan></text></g>
<use href="#s" x="50" width="9" height="9"/><polygon points="1,2 3,4 5 0"/></svg>"""


@pytest.mark.parametrize("seed", range(60))
def test_whatever_is_done_to_a_file_it_is_read_or_refused_in_one_sentence(seed):
    chance = random.Random(seed)
    words = [
        "NaN",
        "-",
        "1e309",
        '"',
        "<g>",
        "</g>",
        '<use href="#s"/>',
        "0",
        "",
        "%",
        "url(#",
        "z",
        "{",
        "}",
        "\x00",
    ]
    for _ in range(5):
        text = RICH
        for _ in range(chance.randint(1, 4)):
            at = chance.randrange(len(text))
            text = text[:at] + chance.choice(words) + text[at + chance.randint(0, 6) :]
        sentence = None
        try:
            drawn = read_bytes(text.encode())
        except InputError as error:
            sentence = str(error)
        if sentence is None:
            assert drawn.ledger.read == drawn.ledger.used + sum(drawn.ledger.aside.values())
        else:
            assert "\n" not in sentence


def test_what_a_file_says_stands_in_messages_on_one_line():
    drawn = drawing(f'<path id="a&#10;b&#x9b;31m" d="M0 0 L 1 &#10; x"/><path id="{"c" * 500}" d="x"/>{SQUARE}')
    (note,) = drawn.notes
    assert note.message.isprintable()
    assert "element a b 31m" in note.message
    assert len(note.message) < 400


def test_text_of_entities_within_bounds_is_bounded():
    # Each reference is small and flat; together they unpack to more than the budget.
    data = f'<!DOCTYPE svg [<!ENTITY a "{"x" * 500}">]><svg {SPACES} {MM}><text>{"&a;" * 400}</text></svg>'.encode()
    assert "limits.bytes" in refused(data, limits=Limits(bytes=50_000))


# The way in


def refused_file(path, content=None, options=None):
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(InputError) as caught:
        read_drawing(str(path), options, [IMPORTER])
    assert str(caught.value).startswith(str(path))
    assert caught.value.remedy
    return str(caught.value)


def test_file_is_read_by_its_content_and_not_by_its_name(tmp_path):
    path = tmp_path / "pattern.dxf"
    path.write_bytes(svg(SQUARE))
    assert read_drawing(str(path), None, [IMPORTER]).format == "svg"


def test_picture_with_the_wrong_name(tmp_path):
    assert "PNG" in refused_file(tmp_path / "front.svg", b"\x89PNG\r\n\x1a\n\x00\x00")


@pytest.mark.parametrize("content", [b"", b" \n\r\n", b"\x00\x00"])
def test_empty_file(tmp_path, content):
    assert "empty" in refused_file(tmp_path / "front.svg", content)


def test_text_file(tmp_path):
    assert "SVG" in refused_file(tmp_path / "front.svg", json.dumps({"a": 1}).encode())


def test_missing_file_and_folder(tmp_path):
    assert "no such file" in refused_file(tmp_path / "front.svg")
    assert "folder" in refused_file(tmp_path)
    assert "cannot be opened" in refused_file(tmp_path / ("long" * 100))


def test_file_over_budget(tmp_path):
    options = ReadOptions(limits=Limits(bytes=100))
    assert "limits.bytes" in refused_file(tmp_path / "front.svg", svg(SQUARE), options)


def test_bomb_in_a_compressed_file(tmp_path):
    options = ReadOptions(limits=Limits(bytes=10_000))
    content = gzip.compress(b"<svg>" + b" " * 1_000_000 + b"</svg>")
    assert "limits.bytes" in refused_file(tmp_path / "front.svgz", content, options)


def test_truncated_svg_file(tmp_path):
    assert "XML is broken" in refused_file(tmp_path / "front.svg", svg(SQUARE)[:-30])
