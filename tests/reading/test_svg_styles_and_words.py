import math

import pytest
from svg_making import codes, drawing, only_line

from seamcheck.pattern.drawing import Role

TAU = 2.0 * math.pi
SQUARE = '<path id="square" d="M10 10h20v20h-20z"/>'


def bounds(line):
    return pytest.approx(line.curve.bounds(), abs=1e-6)


# Line kinds


@pytest.mark.parametrize(
    ("style", "dashed"),
    [
        ("stroke:red;stroke-dasharray:4,2", True),
        ("stroke:red;stroke-dasharray:none", False),
        ("stroke:red;stroke-dasharray:0", False),
        ("fill:red;stroke-dasharray:4", False),
    ],
)
def test_dashed(style, dashed):
    assert only_line(f'<path style="{style}" d="M0 0H50"/>').dashed == dashed


ARROW = '<marker id="Arrow1"><path d="M0 0L5 5L0 10z"/></marker><marker id="DotM"><circle r="2"/></marker>'


@pytest.mark.parametrize(
    ("style", "arrow"),
    [
        ("marker-end:url(#Arrow1)", True),
        ("marker-start:url('#Arrow1')", True),
        ("marker:url(#Arrow1)", True),
        ("marker-end:none", False),
        ("marker-end:url(#missing)", False),
        ("marker-end:url(#DotM)", False),
        ("marker-mid:url(#Arrow1)", False),
    ],
)
def test_arrow_by_marker(style, arrow):
    line = only_line(f'{ARROW}<path style="stroke:red;{style}" d="M0 0H50"/>')
    assert line.arrow == arrow
    assert (line.role == Role.GRAIN) == arrow


@pytest.mark.parametrize(
    ("head", "heads"),
    [
        ('<path d="M95 103 L100 100 L95 97" stroke="red" fill="none"/>', 1),
        ('<path d="M94 103 L100 100 L94 97z"/>', 1),
        ('<path d="M100 103 L106 100 L100 97z"/>', 1),
        ('<path d="M95 103 L100 100" stroke="red"/><path d="M100 100L95 97" stroke="red"/>', 2),
        ('<path d="M105 103 L100 100 L105 97" stroke="red" fill="none"/>', 0),  # a notch that opens away
        ('<path d="M95 103 L100 100" stroke="red"/>', 0),  # one barb only
        ('<path d="M60 103 L65 100 L60 97" stroke="red" fill="none"/>', 0),  # somewhere on the line
        ('<path d="M100 97 V103" stroke="red"/>', 0),  # a bar
    ],
)
def test_arrow_that_is_drawn(head, heads):
    shaft, *others = drawing(f'<path id="shaft" d="M0 100H100" stroke="red"/>{head}').lines
    assert shaft.arrow == (heads > 0)
    assert [mark.role for mark in others].count(Role.FURNITURE) == heads


# Names, groups and roles


@pytest.mark.parametrize(
    ("attributes", "label"),
    [
        ('inkscape:label="Hem" data-name="B" id="C"', "Hem"),
        ('data-name="B" serif:id="D" id="C"', "B"),
        ('serif:id="D" id="C"', "D"),
        ('id="Left_x20_Leg"', "Left Leg"),
        ('id="Left_x5F_Leg"', "Left Leg"),
        ('id="Waist_band"', "Waist band"),
        ('id="square_1_"', "square"),
        ('id="square-2"', "square"),
        ('id="Back-2"', "Back-2"),
        ('id="path1178"', ""),
        ('id="rect12-5"', ""),
        ("", ""),
    ],
)
def test_label(attributes, label):
    assert drawing(f'{SQUARE}<path {attributes} d="M0 0H9V9z"/>').lines[1].label == label


def test_title_child_is_a_label():
    drawn = drawing('<title>Ferryhand</title><path id="path1" d="M0 0H9V9z"><title>Front\n leg</title></path>')
    assert drawn.lines[0].label == "Front leg"
    assert drawn.name == "Ferryhand"


def test_attributes_of_a_group_are_not_those_of_its_lines():
    line = only_line('<g inkscape:label="Back" inkscape:groupmode="layer" id="layer2"><path d="M0 0H9V9z"/></g>')
    assert line.label == ""
    assert line.groups == ("Back",)
    assert line.layer == "Back"


def test_groups_from_the_outside_in_and_the_nearest_layer():
    body = (
        '<g inkscape:label="Sheet" inkscape:groupmode="layer"><g inkscape:label="Front" inkscape:groupmode="layer">'
        f'<g id="g12"><g inkscape:label="seams">{SQUARE}</g></g></g></g>'
    )
    line = only_line(body)
    assert line.groups == ("Sheet", "Front", "g12", "seams")
    assert line.layer == "Front"
    assert line.role == Role.SEW
    assert line.why == 'group "seams"'


def test_a_named_group_below_the_root_is_a_layer():
    assert only_line(f'<g id="Cut_Lines"><g id="Front">{SQUARE}</g></g>').layer == "Cut Lines"


def test_own_label_goes_before_the_group():
    line = only_line('<g inkscape:label="sew line"><path inkscape:label="grain" d="M0 0V99" stroke="red"/></g>')
    assert line.role == Role.GRAIN
    assert line.why == 'label "grain"'


def test_class_names_are_words():
    drawn = drawing('<path class="st0 sew-line" d="M0 0H9V9z"/><path class="measure-line" d="M0 0H9" stroke="red"/>')
    assert [line.role for line in drawn.lines] == [Role.SEW, Role.FURNITURE]


def test_short_open_line_on_a_line_layer_is_left_to_geometry():
    body = '<g inkscape:label="cut line"><path d="M0 0H99V99H0z"/><path d="M50 0V6" stroke="red"/></g>'
    outline, tick = drawing(body).lines
    assert outline.role == Role.CUT
    assert tick.role is None
    assert tick.why == ""


def test_shop_patterns_go_before_words():
    layers = {"sew line": ["NET*"], "cut line": ["grain"]}
    assert only_line('<path inkscape:label="net 42" d="M0 0H9V9z"/>', layers=layers).role == Role.SEW
    line = only_line('<path inkscape:label="Grain" d="M0 0H9V9z"/>', layers=layers)
    assert line.role == Role.CUT
    assert "settings" in line.why


def test_a_piece_of_the_kit_room():
    body = """
    <g inkscape:label="Back" transform="translate(20 30)">
      <path inkscape:label="sew line" fill="none" stroke="black" d="M0 0 L180 0 C190 90 150 300 160 500 L0 500 z"/>
      <path inkscape:label="notch" stroke="black" d="M0 200 h8"/>
      <path inkscape:label="notch" stroke="black" d="M0 205 h8"/>
      <path inkscape:label="grain" stroke="black" d="M80 100 V400"/>
      <text x="60" y="60">Back<tspan x="60" dy="8">size M</tspan><tspan x="60" dy="8">cut 2</tspan></text>
    </g>"""
    drawn = drawing(body)
    assert [line.role for line in drawn.lines] == [Role.SEW, Role.NOTCH, Role.NOTCH, Role.GRAIN]
    assert [line.closed for line in drawn.lines] == [True, False, False, False]
    assert {line.groups for line in drawn.lines} == {("Back",)}
    assert drawn.lines[1].curve.start == 20 + 230j
    assert [(text.text, text.at) for text in drawn.texts] == [
        ("Back", 80 + 90j),
        ("size M", 80 + 98j),
        ("cut 2", 80 + 106j),
    ]
    assert drawn.notes == ()


# Texts


def texts(body):
    return [(text.text, text.at) for text in drawing(body + SQUARE).texts]


def test_text_has_its_own_letters_and_tails_in_order():
    body = '<text x="10" y="20">Cut <tspan font-weight="bold">2</tspan> on <tspan>fold</tspan>, please</text>'
    assert texts(body) == [("Cut 2 on fold, please", 10 + 20j)]


def test_each_placed_tspan_is_a_text_of_its_own():
    body = '<text x="10" y="20"><tspan x="10" y="20">Front</tspan><tspan x="10" y="32">Size M</tspan></text>'
    assert texts(body) == [("Front", 10 + 20j), ("Size M", 10 + 32j)]


def test_dy_moves_the_pen():
    body = '<text x="10" y="20">Front<tspan x="10" dy="12">Size</tspan><tspan x="10" dy="12">M</tspan></text>'
    assert texts(body) == [("Front", 10 + 20j), ("Size", 10 + 32j), ("M", 10 + 44j)]


def test_text_under_transform_and_lists_of_places():
    assert texts('<text transform="translate(5 5)" x="1 2 3" y="4 4 4">abc</text>') == [("abc", 6 + 9j)]


def test_text_on_a_path_and_flowed_text_are_not_lost():
    body = (
        '<text x="3" y="4"><textPath href="#square">along the hem</textPath></text>'
        '<flowRoot><flowRegion><rect x="7" y="8" width="9" height="9"/></flowRegion>'
        "<flowPara>one</flowPara><flowPara>two</flowPara></flowRoot>"
    )
    assert texts(body) == [("along the hem", 3 + 4j), ("one", 7 + 8j), ("two", 7 + 8j)]


def test_hidden_text():
    body = (
        '<text style="display:none">a</text><text>b<tspan style="display:none">c</tspan>d</text>'
        '<text style="fill:none">e</text><text visibility="hidden">f<tspan visibility="visible">g</tspan></text>'
    )
    found = [(text.text, text.hidden) for text in drawing(body + SQUARE).texts]
    assert found == [("a", True), ("b", False), ("c", True), ("d", False), ("e", True), ("f", True), ("g", False)]


def test_empty_text_is_counted():
    assert drawing("<text><tspan/> </text>" + SQUARE).ledger.aside == {"text without letters": 1}


def test_text_role_and_groups():
    (text,) = drawing(f'<g inkscape:label="Front"><text class="measure-label">12 mm</text></g>{SQUARE}').texts
    assert text.role == Role.FURNITURE
    assert text.groups == ("Front",)


def test_mirrored_writing_is_told():
    assert codes(drawing(f'<text id="t" transform="scale(-1,1)">Front</text>{SQUARE}')) == ["mirrored-text"]
    assert codes(drawing(f'<text id="t" transform="rotate(180)">Front</text>{SQUARE}')) == []


# The test square


def test_labelled_square_is_the_test_square():
    body = '<rect id="r" x="10" y="10" width="50" height="50"/><text x="15" y="30">5 cm</text>'
    line = only_line(body)
    assert line.role == Role.TEST_SQUARE
    assert "element r" in line.why


@pytest.mark.parametrize("words", ["Pocket", "5", "5 x 6 cm", "cut 5 cm off", "90 cm"])
def test_other_squares_are_not(words):
    body = f'<rect x="10" y="10" width="50" height="50"/><text x="15" y="30">{words}</text>'
    assert only_line(body).role is None


def test_test_square_by_two_texts():
    body = '<rect x="10" y="10" width="50" height="50"/><text x="15" y="30">Test square, print 1</text>'
    assert only_line(body + '<text x="15" y="40">must be 5 cm wide</text>').role == Role.TEST_SQUARE


def test_turned_square_and_near_squares():
    words = '<text x="-5" y="0">5 cm</text>'
    assert only_line(
        f'<g transform="translate(99 99)"><rect x="-25" y="-25" width="50" height="50" transform="rotate(20)"/>{words}</g>'
    ).role
    for shape in ('<rect x="-25" y="-25" width="50" height="53"/>', '<path d="M-25 -25L25 -25L35 25L-15 25z"/>'):
        assert only_line(f'<g transform="translate(99 99)">{shape}{words}</g>').role is None


def test_test_square_by_its_words():
    body = '<rect inkscape:label="Test square 2 in" x="10" y="10" width="50.8" height="50.8"/>'
    assert only_line(body).role == Role.TEST_SQUARE
