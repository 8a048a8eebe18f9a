"""SVG as people draw it in a vector editor, without labels or with few: what the form and the words beside a line tell."""

import pytest
from svg_making import codes, drawing

from seamcheck.config.plan_file import parse_plan
from seamcheck.pieces.build import build_pattern
from seamcheck.pieces.outline import assemble

FRONT = '<rect x="50" y="10" width="200" height="280"/>'
NAMED = FRONT + '<text x="120" y="180">Front</text>'
HEAD = '<path d="M146 48L150 40L154 48"/>'
ARROW = '<defs><marker id="arrow"/></defs>'


def shape(body, name="Front"):
    (only,) = assemble(drawing(body)).shapes
    assert only.name == name
    return only


def grain(body):
    (arrow,) = shape(NAMED + body).grainlines
    return arrow


# Notches


@pytest.mark.parametrize(
    "tick",
    [
        "M245 150H255",  # across the line
        "M250 150L247 150.4L244 150",  # traced
        "M256 150L250 150.5L244 150",  # traced, across the line
        "M247 147L253 153",  # slanted
    ],
)
def test_a_tick_on_or_across_the_outline_is_a_notch(tick):
    found = shape(NAMED + f'<path d="{tick}"/>')
    (notch,) = found.notches
    assert notch.at == pytest.approx(250 + 150j, abs=0.6)
    assert found.inside == ()


@pytest.mark.parametrize("line", ["M230 150H270", "M244 140Q256 150 244 160", "M200 150H210"])
def test_what_is_long_or_bent_or_inside_is_no_notch(line):
    assert shape(NAMED + f'<path d="{line}"/>').notches == ()


# Grain


@pytest.mark.parametrize(
    "arrow",
    [
        '<path d="M150 40V260"/>' + HEAD,
        '<path d="M150 40V260"/><path d="M146 48L150 40"/><path d="M150 40L154 48"/>',
        '<path d="M150 260V40L146 48M150 40L154 48"/>',
        '<path d="M150 260V40L146 48L150 40L154 48"/>',
        '<path d="M146 252L150 260L154 252L150 260V40L146 48L150 40L154 48"/>',
        '<path d="M150 40V260"/><text x="155" y="150">grain</text>',
        '<path d="M150 40V260"/><text transform="rotate(-90 147 190)" x="147" y="190">Fadenlauf</text>',
        '<path d="M150 40V260"/><text x="155" y="150">droit fil</text>',
        ARROW + '<path style="marker-start:url(#arrow)" d="M150 40V260"/>',
    ],
)
def test_a_grain_arrow_is_read_however_it_is_drawn(arrow):
    found = grain(arrow)
    assert found.length == pytest.approx(220)
    assert found.angle == pytest.approx(90)
    assert found.why


@pytest.mark.parametrize(
    "arrow",
    [
        '<path d="M150 40L150 160L152 260"/>' + HEAD,
        ARROW + '<path style="marker-start:url(#arrow)" d="M150 40L150 160L152 260"/>',
    ],
)
def test_an_arrow_that_an_overlap_has_bent_keeps_its_bend(arrow):
    assert grain(arrow).points == pytest.approx((150 + 40j, 150 + 160j, 152 + 260j))


@pytest.mark.parametrize(
    "line",
    [
        '<path d="M50 150H250"/><path d="M58 146L50 150L58 154"/>',  # from outline to outline: a dimension
        '<path d="M150 40V260"/>' + HEAD + '<text x="155" y="150">22 cm</text>',
        '<path d="M150 40V260"/>' + HEAD + '<path d="M100 60V262"/><path d="M96 68L100 60L104 68"/>',  # which of two?
        '<path d="M140 40H150V260H140"/>',  # a bracket
        '<path d="M150 40V260"/>',
    ],
)
def test_another_line_with_a_head_is_no_grain_arrow(line):
    assert shape(NAMED + line).grainlines == ()


# Folds


@pytest.mark.parametrize(
    "words",
    ["place on fold", "Cut 1 on fold", "Stoffbruch", "au pli", "sobre el doblez", "sulla piega", "aan de vouw"],
)
def test_words_along_a_straight_edge_make_it_the_fold(words):
    found = shape(NAMED + f'<text transform="rotate(-90 56 220)" x="56" y="220">{words}</text>')
    (fold,) = found.folds
    assert {fold.start, fold.end} == {50 + 10j, 50 + 290j}
    assert any(f'fold: text "{words}"' in str(reason) for reason in found.reasons)


def test_a_fold_that_is_drawn_is_not_guessed():
    body = '<path data-name="fold" d="M52 10V290"/><text transform="rotate(-90 56 220)" x="56" y="220">on fold</text>'
    (fold,) = shape(NAMED + body).folds
    assert fold.start == 52 + 10j


def test_words_in_the_middle_of_a_piece_do_not_tell_which_edge_is_the_fold():
    assert shape(NAMED + '<text x="120" y="200">cut 1 on fold</text>').folds == ()


# Sew lines


def test_a_sew_line_with_darts_inside_a_cut_line_without():
    cut, sew = '<rect x="40" y="10" width="220" height="280"/>', "M50 20H140L150 110L160 20H250V280H50Z"
    found = shape(cut + f'<path d="{sew}"/><text x="100" y="180">Front</text>')
    assert found.line == "sew"
    assert found.outline.length > 1000


def test_a_pocket_beside_the_outline_is_no_sew_line():
    found = shape('<rect x="50" y="10" width="200" height="280"/><text x="120" y="280">Front</text>'
                  '<path d="M60 20H240V150L150 200L60 150Z"/>')  # fmt: skip
    assert found.line == "unknown"


def test_a_dashed_line_all_round_inside_the_outline_is_the_sew_line():
    body = '<rect stroke-dasharray="4 2" x="60" y="20" width="180" height="260"/>'
    assert shape(NAMED + body).line == "sew"


# Names


@pytest.mark.parametrize(
    "words", ["bag wide open", "cm", "inches", "leave open here", "sew before pressing", "hier offen lassen"]
)
def test_prose_and_units_name_nothing(words):
    assert shape(FRONT + f'<text x="100" y="180">{words}</text>', "piece 1")


def test_a_written_name_goes_before_the_id_of_the_element():
    by_id = FRONT.replace("<rect", '<rect id="vorne-alt"')
    yoke = '<text x="120" y="180">Yoke</text>'
    assert shape(by_id + yoke, "Yoke")
    assert shape(by_id.replace("id=", "data-name=") + yoke, "vorne-alt")
    assert shape(by_id.replace("vorne-alt", "yoke") + '<text x="120" y="180">Yoke, lower</text>', "yoke")


# Strips


@pytest.mark.parametrize("label", ["", ' data-name="seam allowance"', ' data-name="Nahtzugabe"'])
def test_the_strips_of_allowances_are_no_pieces(label):
    strips = f'<path{label} d="M50 10H250V0H50Z"/><path{label} d="M250 10V290H260V10Z"/>'
    sheet = assemble(drawing(NAMED + strips))
    assert [one.name for one in sheet.shapes] == ["Front"]
    assert ("allowance-strip-assumed" in [note.code for note in sheet.notes]) == (not label)


def test_a_named_strip_along_a_piece_is_a_piece():
    strip = '<path data-name="Binding" d="M250 10V290H260V10Z"/>'
    assert [one.name for one in assemble(drawing(NAMED + strip)).shapes] == ["Front", "Binding"]


# What is not drawn


def test_what_a_switch_does_not_show_is_told():
    body = '<switch><g systemLanguage="fr"><rect width="90" height="90"/></g><g><path d="M0 0H90"/></g></switch>'
    assert "switch" in codes(drawing(NAMED + body))


def test_what_stands_in_a_foreign_object_is_told():
    body = '<foreignObject><svg><rect width="90" height="90"/></svg></foreignObject>'
    assert "foreign-object" in codes(drawing(NAMED + body))
    assert "foreign-object" not in codes(drawing(NAMED + "<foreignObject><p>notes</p></foreignObject>"))


# Scale


def test_millimetres_that_are_stated_are_believed_of_a_cloak():
    head = 'width="2400mm" height="1600mm" viewBox="0 0 2400 1600"'
    sheet = assemble(drawing('<path data-name="Cloak" d="M50 50H2300V1500H50Z"/>', head))
    assert "units-implausible" not in [note.code for note in sheet.notes]
    px = assemble(drawing('<path data-name="Cloak" d="M50 50H9000V6000H50Z"/>', 'width="9600" height="6400"'))
    assert "units-implausible" in [note.code for note in px.notes]


# Parts of a piece, and what is told


@pytest.mark.parametrize("words", ["tape here", "hier kleben", "coller", "pegar", "incollare", "plakken"])
@pytest.mark.parametrize("turned", [False, True])
def test_two_parts_that_are_taped_together_are_one_piece(words, turned):
    lower = "M50 150H250V290H50Z" if turned else "M250 150V290H50V150Z"
    body = f'<path d="M50 10H250V150H50Z"/><path d="{lower}"/><text x="120" y="148">{words}</text>'
    found = shape(body + '<text x="120" y="60">Front</text>')
    assert found.outline.length == pytest.approx(960)
    assert len(found.corners) == 4


def test_two_pieces_that_lie_edge_to_edge_are_two():
    body = '<path d="M50 10H250V150H50Z"/><path d="M50 150H250V290H50Z"/><text x="120" y="60">Front</text>'
    assert len(assemble(drawing(body + '<text x="120" y="220">Back</text>')).shapes) == 2


def test_a_piece_that_is_cut_on_a_fold_which_is_not_shown_is_told():
    told = assemble(drawing(NAMED + '<text x="120" y="200">cut 1 on fold</text>')).notes
    assert [note.code for note in told if note.code == "fold-not-shown"]
    drawn = NAMED + '<text x="120" y="200">cut 1 on fold</text><path data-name="fold" d="M50 10V290"/>'
    assert "fold-not-shown" not in [note.code for note in assemble(drawing(drawn)).notes]


# Styles that move or shape what is drawn


@pytest.mark.parametrize(
    ("style", "box"),
    [
        ("translate: 10px 5px", (60, 15, 260, 295)),
        ("translate: 10mm", (60, 10, 260, 290)),
        ("rotate: 90deg", (-290, 50, -10, 250)),
        ("rotate: 0.25turn", (-290, 50, -10, 250)),
        ("scale: 2", (100, 20, 500, 580)),
        ("scale: 2 1", (100, 10, 500, 290)),
        ("scale: 2; translate: 10px; transform: rotate(90deg)", (-570, 100, -10, 500)),
        ("rotate: 90deg; transform-origin: 50px 10px", (-230, 10, 50, 210)),
        ("width: 90px", (50, 10, 140, 290)),
        ("X: 0px; height: 10px", (0, 10, 200, 20)),
        ("width: 90", (50, 10, 250, 290)),  # no length: CSS throws it away
        ("scale: none; width: auto", (50, 10, 250, 290)),
    ],
)
@pytest.mark.parametrize("where", ["attribute", "sheet", "group"])
def test_styles_that_move_or_shape_a_line_hold_wherever_they_stand(style, box, where):
    group = any(name in style for name in ("rotate", "scale", "translate"))
    if where == "group" and not group:
        pytest.skip("the geometry of a rectangle is its own")
    body = {
        "attribute": FRONT.replace("<rect", f'<rect style="{style}"'),
        "sheet": f"<style>.front {{ {style} }}</style>" + FRONT.replace("<rect", '<rect class="front"'),
        "group": f'<g style="{style}">{FRONT}</g>',
    }[where]
    # A user unit is a mm in these drawings, so a CSS length in mm is drawn 96 / 25.4 times as long.
    body = body.replace("10mm", "2.6458333333333335mm")
    found = drawing(body)
    assert found.lines[0].curve.bounds() == pytest.approx(box, abs=1e-6)
    assert "css-geometry" not in codes(found)


def test_a_path_and_a_circle_may_be_drawn_by_their_style():
    (line,) = drawing("""<path d="M0 0H5" style="d: path('M50 10H250V290H50Z')"/>""").lines
    assert line.curve.bounds() == pytest.approx((50, 10, 250, 290))
    (line,) = drawing('<style>circle { r: 20px; cx: 30px }</style><circle cy="40" r="1"/>').lines
    assert line.curve.bounds() == pytest.approx((10, 20, 50, 60), abs=1e-6)


def test_what_a_use_and_a_nested_svg_show_stands_where_their_style_puts_it():
    shown = '<defs><rect id="a" width="40" height="30"/></defs><use href="#a" x="1" style="x: 10px; y: 20px"/>'
    assert drawing(shown).lines[0].curve.bounds() == pytest.approx((10, 20, 50, 50))
    nested = '<svg viewBox="0 0 10 10" width="1" height="1" style="width: 100px; height: 100px; x: 5px"><rect width="4" height="3"/></svg>'
    assert drawing(nested).lines[0].curve.bounds() == pytest.approx((5, 0, 45, 30))


@pytest.mark.parametrize(
    "style",
    [
        "rotate: x 30deg",
        "rotate: 30",
        "scale: 50%",
        "translate: 10%",
        "translate: 5",
        "width: calc(1px + 2%)",
        "d: url(#a)",
    ],
)
def test_styles_that_shape_a_line_and_are_not_applied_are_told(style):
    shape = '<path d="M50 10H250V290H50Z"/>' if style.startswith("d:") else FRONT
    tag = shape[1:5]
    for body in (
        shape.replace(f"<{tag}", f'<{tag} style="{style}"'),
        f"<style>{tag} {{ {style} }}</style>{shape}",
    ):
        found = drawing(body)
        assert "css-geometry" in codes(found)
        assert found.lines[0].curve.bounds() == pytest.approx((50, 10, 250, 290))
    assert "css-geometry" not in codes(drawing(FRONT.replace("<rect", '<rect style="stroke-width:2;stroke:red"')))


def test_an_arrow_at_the_middle_vertex_of_a_straight_line_is_an_arrow():
    marker = '<defs><marker id="arrow"/></defs>'
    line = '<path d="M150 40V150V260" stroke="red" marker-mid="url(#arrow)"/>'
    assert len(grain(marker + line).points) == 2
    assert shape(NAMED + marker + line.replace("V150", "")).grainlines == ()


# An open dashed line along the outline

DASHED = 'style="stroke:black;stroke-dasharray:4 2"'
FROM_FOLD_TO_FOLD = "M50 20H240V280H50"  # 10 mm inside three sides; the fourth lies on the fold


@pytest.mark.parametrize(
    ("line", "length"),
    [
        (f'<path d="{FROM_FOLD_TO_FOLD}" {DASHED}/>', 2 * (190 + 260)),
        (f'<path d="M50 20H240" {DASHED}/><path d="M240 20V280H50" {DASHED}/>', 2 * (190 + 260)),
        (f'<path d="M150 20H240V280H60V20H140" {DASHED}/>', 2 * (180 + 260)),  # not quite closed
        (f'<path d="M50 20H240V250H50" {DASHED}/>', 2 * (190 + 230)),  # with a hem of 40 mm
    ],
)
def test_an_open_dashed_line_along_the_outline_is_the_sew_line(line, length):
    found = shape(NAMED + line)
    assert found.line == "sew"
    assert found.outline.length == pytest.approx(length, abs=1e-6)
    assert found.other.length == pytest.approx(2 * (200 + 280), abs=1e-6)
    told = [reason for reason in found.reasons if reason.what == "sew line"]
    (why,) = (reason.why for reason in told)
    assert why.endswith("along the outline, closed, 10.0 mm from the cut line")
    assert why.startswith("an open dashed line" if line.count("<path") == 1 else "2 open dashed lines")
    assert found.inside == ()


@pytest.mark.parametrize(
    "line",
    [
        f'<path d="M60 20H240" {DASHED}/>',  # along one edge
        f'<path d="M50 20H240V280" {DASHED}/>',  # it ends in the middle of the piece
        f'<path d="M50 20H180V280H50" {DASHED}/>',  # far inside
        '<path d="M50 20H240V280H50"/>',  # not dashed
        f'<path d="M50 20H240V280H50" id="topstitching" {DASHED}/>',  # called otherwise
    ],
)
def test_another_open_line_inside_is_no_sew_line(line):
    found = shape(NAMED + line)
    assert found.other is None
    assert found.outline.length == pytest.approx(2 * (200 + 280))
    assert len(found.inside) == 1


def test_a_dashed_line_nearer_than_seams_is_left_inside_and_told():
    found = assemble(drawing(NAMED + f'<path d="M50 16H244V284H50" {DASHED}/>'))
    (only,) = found.shapes
    assert (only.other, len(only.inside)) == (None, 1)
    (note,) = (note for note in found.notes if note.code == "dashed-line")
    assert "6.0 mm" in str(note.message)


def test_a_dashed_line_of_another_piece_is_left_to_it():
    other = '<rect x="300" y="10" width="200" height="280"/><text x="400" y="180">Back</text>'
    found = assemble(drawing(NAMED + other + f'<path d="{FROM_FOLD_TO_FOLD}" {DASHED}/>')).shapes
    assert sorted((one.name, one.other is not None) for one in found) == [("Back", False), ("Front", True)]


# A dart drawn as a V inside, its mouth roofed

ROOFED = '<path d="M50 20H140L150 16L160 20H250V290H50Z"/><text x="100" y="250">Front</text>'
DART_PLAN = """
format = 1
name = "front"
units = "mm"
[pieces.front]
in-file = "Front"
[pieces.front.corners]
a = [50, 20]
b = [250, 20]
c = [250, 290]
in = [140, 20]
tip = [150, 120]
out = [160, 20]
[pieces.front.edges]
waist = ["a", "in", "out", "b"]
rest = ["b", "c", "a"]
[[darts]]
piece = "front"
corners = ["in", "tip", "out"]
"""


def told_darts(body, plan=None):
    found = drawing(body)
    pattern = build_pattern(found, assemble(found), plan)
    return pattern, [str(note.message) for note in pattern.notes if note.code == "dart-not-planned"]


LEGS = [
    '<path d="M140 20L150 120L160 20"/>',
    '<path id="dart" d="M140 20L150 120L160 20"/>',
    '<path id="dart" d="M140 20Q148 70 150 120Q152 70 160 20"/>',
    '<path d="M140 20L150 120"/><path d="M150 120L160 20"/>',
    '<path d="M140 20L150 120"/><path d="M150 16V120"/><path d="M160 20L150 120"/>',  # with the fold line
]


@pytest.mark.parametrize("outline", [ROOFED, ROOFED.replace("L150 16L160 20", "H160")])
@pytest.mark.parametrize("legs", LEGS)
def test_a_dart_drawn_inside_that_no_plan_names_is_told_once(outline, legs):
    (message,) = told_darts(outline + legs)[1]
    assert "(150.0, 120.0)" in message
    assert "20.0 mm apart" in message


@pytest.mark.parametrize("legs", [LEGS[0], LEGS[1], LEGS[3]])
def test_a_dart_drawn_inside_that_the_plan_names_is_a_dart_and_not_told(legs):
    pattern, told = told_darts(ROOFED + legs, parse_plan(DART_PLAN, "front.seams.toml"))
    (piece,) = pattern.pieces
    (dart,) = piece.darts
    assert [leg.length for leg in dart.legs] == pytest.approx([abs(10 + 100j)] * 2)
    # The mouth, with its roof, is no part of the waist.
    assert piece.edge("waist").length == pytest.approx(180)
    assert told == []


@pytest.mark.parametrize(
    "lines",
    [
        '<path d="M148 20L150 30L152 20"/>',  # a notch
        '<path d="M60 20L150 120L240 20"/>',  # a yoke
        '<path d="M145 20V120H155V20"/>',  # a placket
        '<path d="M140 20V120"/><path d="M160 20V120"/>',  # the lines of a pleat
        '<path d="M140 20L150 120"/><path d="M160 20L150 60"/>',
        '<path id="topstitching" d="M140 20L150 120L160 20"/>',
        '<path d="M140 40L150 120L160 40"/>',  # from nowhere
    ],
)
def test_other_lines_inside_are_told_as_no_dart(lines):
    assert told_darts(ROOFED + lines)[1] == []
