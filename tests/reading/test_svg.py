import math

import pytest
from svg_making import codes, drawing, only_line

from seamcheck.pattern.drawing import Role

TAU = 2.0 * math.pi
SQUARE = '<path id="square" d="M10 10h20v20h-20z"/>'


def bounds(line):
    return pytest.approx(line.curve.bounds(), abs=1e-6)


# Shapes


def test_each_shape_is_where_the_standard_draws_it():
    drawn = drawing(
        '<rect x="1" y="2" width="30" height="40"/>'
        '<circle cx="50" cy="50" r="10"/>'
        '<ellipse cx="90" cy="50" rx="20" ry="10"/>'
        '<line x1="0" y1="0" x2="3" y2="4" stroke="black"/>'
        '<polyline points="0,0 10,0 10,10" stroke="black"/>'
        '<polygon points="0,0 10,0 10,10"/>'
        '<path d="M0 0 C 0 10 10 10 10 0" stroke="black"/>'
    )
    rect, circle, ellipse, line, polyline, polygon, path = drawn.lines
    assert rect.curve.bounds() == (1, 2, 31, 42)
    assert circle.curve.bounds() == pytest.approx((40, 40, 60, 60), abs=1e-6)
    assert circle.curve.length == pytest.approx(TAU * 10, abs=1e-6)
    assert ellipse.curve.bounds() == pytest.approx((70, 40, 110, 60), abs=1e-6)
    assert line.curve.length == pytest.approx(5, abs=1e-12)
    assert [mark.closed for mark in drawn.lines] == [True, True, True, False, False, True, False]
    assert polyline.curve.length == pytest.approx(20)
    assert polygon.curve.length == pytest.approx(20 + math.hypot(10, 10))
    assert (path.curve.start, path.curve.end) == (0, 10)
    assert drawn.y_down
    assert drawn.ledger.read == drawn.ledger.used == 7


@pytest.mark.parametrize(
    ("radii", "across", "down"),
    [
        ('rx="5" ry="10"', 5, 10),
        ('rx="5"', 5, 5),
        ('ry="5"', 5, 5),
        ('rx="500" ry="10"', 20, 10),
        ('rx="auto" ry="0"', 0, 0),
    ],
)
def test_rounded_rect(radii, across, down):
    line = only_line(f'<rect x="0" y="0" width="40" height="60" {radii}/>')
    # Four quarters of an ellipse (Ramanujan's second formula is good to 1e-6 here) and four straight sides.
    h = ((across - down) / (across + down)) ** 2 if across else 0.0
    round_part = math.pi * (across + down) * (1 + 3 * h / (10 + math.sqrt(4 - 3 * h)))
    assert line.curve.length == pytest.approx(round_part + 2 * (40 - 2 * across) + 2 * (60 - 2 * down), abs=1e-4)
    assert line.curve.bounds() == pytest.approx((0, 0, 40, 60), abs=1e-6)
    assert line.closed


@pytest.mark.parametrize(
    "shape",
    [
        '<rect width="0" height="5"/>',
        '<rect width="5"/>',
        '<circle r="0"/>',
        '<ellipse rx="3" ry="0"/>',
        '<path id="empty"/>',
        '<path d=""/>',
        '<path d="none"/>',
        '<polyline points=""/>',
    ],
)
def test_shape_without_extent_is_counted_and_not_drawn(shape):
    drawn = drawing(shape + SQUARE)
    assert len(drawn.lines) == 1
    assert drawn.ledger.read == 2
    assert sum(drawn.ledger.aside.values()) == 1


def test_ellipse_with_one_radius_takes_it_for_both():
    assert only_line('<ellipse cx="50" cy="50" rx="10"/>').curve.bounds() == pytest.approx((40, 40, 60, 60), abs=1e-6)


def test_one_line_for_each_subpath_with_its_own_closed_flag():
    drawn = drawing('<path id="p" d="M0 0h10v10z m50 0h5 M 80 80 l5 5 5-5 -5 -5z"/>')
    assert [line.closed for line in drawn.lines] == [True, False, True]
    assert [str(line.place) for line in drawn.lines] == [
        "element p, part 1",
        "element p, part 2",
        "element p, part 3",
    ]
    assert drawn.lines[1].curve.start == 50


def test_closing_adds_no_edge_where_the_pen_is_home_but_for_rounding():
    line = only_line('<path d="M0 0 L10 0 L10 10 L0.0004 0.0003 Z"/>')
    assert len(line.curve.segments) == 3
    assert line.curve.is_closed


def test_ending_at_the_start_is_closed_without_z():
    assert only_line('<path d="M0 0 L10 0 L10 10 L0 0"/>').closed
    assert not only_line('<path d="M0 0 L10 0 L10 10 L0 0.2"/>').closed


def test_zero_edges_are_dropped():
    assert len(only_line('<path d="m 5 5 h-3 v0 l0 0" stroke="black"/>').curve.segments) == 1


def test_a_dot_is_a_point():
    drawn = drawing('<path d="M5 6 h0" inkscape:label="drill hole"/>')
    (point,) = drawn.points
    assert point.at == 5 + 6j
    assert point.role == Role.DRILL


# Transforms


@pytest.mark.parametrize(
    ("transform", "corner"),
    [
        ("translate(5 6)", 15 + 16j),
        ("translate(5)", 15 + 10j),
        ("scale(2)", 20 + 20j),
        ("scale(2,3)", 20 + 30j),
        ("rotate(90)", -10 + 10j),
        ("rotate(90, 10, 0)", 0j),
        ("matrix(1 0 0 -1 0 50)", 10 + 40j),
        ("skewX(45)", 20 + 10j),
        ("skewY(45)", 10 + 20j),
        ("translate(100,0),scale(2)\n rotate(90)", 80 + 20j),
        ("translate(1e1,-.5)", 20 + 9.5j),
    ],
)
def test_transform(transform, corner):
    line = only_line(f'<path d="M10 10h20v20h-20z" transform="{transform}"/>')
    assert line.curve.start == pytest.approx(corner, abs=1e-12)


def test_nested_transforms_work_from_the_inside_out():
    line = only_line(f'<g transform="translate(100 0)"><g transform="rotate(90)">{SQUARE}</g></g>')
    assert line.curve.start == pytest.approx(90 + 10j)


def test_css_transform():
    line = only_line('<rect style="transform: translate(10px, 5px) rotate(0.25turn)" width="4" height="2"/>')
    assert bounds(line) == (8, 5, 10, 9)


def test_css_transform_goes_before_the_attribute():
    line = only_line('<rect style="transform: none" transform="scale(2)" width="4" height="2"/>')
    assert bounds(line) == (0, 0, 4, 2)


def test_transform_origin():
    line = only_line('<rect style="transform:scale(2);transform-origin:4px 2px" width="4" height="2"/>')
    assert bounds(line) == (-4, -2, 4, 2)
    drawn = drawing('<rect style="transform:scale(2);transform-origin:center" width="4" height="2"/>')
    assert "transform" in codes(drawn)


def test_transform_that_is_not_understood_is_told():
    drawn = drawing('<rect id="r" transform="twist(3)" width="4" height="2"/>')
    assert "element r" in next(note.message for note in drawn.notes if note.code == "transform")


def test_transform_that_flattens_draws_nothing():
    drawn = drawing(f'<g transform="scale(1,0)">{SQUARE}</g>{SQUARE}')
    assert len(drawn.lines) == 1
    assert drawn.ledger.aside == {"path without extent": 1}


# Import row by row of what a reader gets wrong most easily


@pytest.mark.parametrize("transform", ["rotate(30)", "rotate(30) scale(2)", "skewX(20)", "scale(1.02,1) rotate(30)"])
@pytest.mark.parametrize("shape", ['<circle r="10"/>', '<path d="M10 0A10 10 0 0 1-10 0A10 10 0 0 1 10 0z"/>'])
def test_circle_under_any_transform_lies_on_its_ellipse(shape, transform):
    line = only_line(f'<g transform="translate(100 100) {transform}">{shape}</g>')
    axes = drawing(f'<g transform="translate(100 100) {transform}"><path d="M0 0H1M0 0V1" stroke="red"/></g>')
    x_axis, y_axis = (axis.curve.end - axis.curve.start for axis in axes.lines)
    determinant = (x_axis.conjugate() * y_axis).imag
    for station in [line.curve.length * share / 17 for share in range(17)]:
        z = line.curve.point(station) - (100 + 100j)
        # The point in the circle's own axes, by Cramer's rule.
        u, v = (z.conjugate() * y_axis).imag / determinant, (x_axis.conjugate() * z).imag / determinant
        assert math.hypot(u, v) == pytest.approx(10, abs=1e-6)


def test_quarter_arc_under_unequal_scale_and_turn_has_its_elliptic_length():
    from scipy.special import ellipe

    # The whole ellipse with half axes 20 and 30: 4 a E(1 - b^2/a^2) (Abramowitz and Stegun 17.3.3).
    line = only_line('<circle cx="0" cy="0" r="10" transform="translate(100 100) scale(2,3) rotate(45)"/>')
    assert line.curve.length == pytest.approx(4 * 30 * ellipe(1 - (20 / 30) ** 2), abs=1e-6)


def test_arc_is_as_exact_in_mm_whatever_a_unit_is():
    head = 'width="1200mm" height="1200mm" viewBox="0 0 1.2 1.2"'
    line = only_line('<path d="M0 .6A.6.6 0 0 1 .6 0" stroke="red"/>', head)
    assert line.curve.length == pytest.approx(TAU * 600 / 4, abs=1e-6)
    for share in range(9):
        assert abs(line.curve.point(line.curve.length * share / 8) - (600 + 600j)) == pytest.approx(600, abs=1e-6)


def test_nested_svg_stands_at_its_own_place():
    inner = '<svg x="20" y="10" width="60" height="60" viewBox="0 0 10 10"><rect width="5" height="5"/></svg>'
    assert bounds(only_line(inner)) == (20, 10, 50, 40)


def test_nested_svg_without_view_box_only_moves():
    assert bounds(only_line('<svg x="20" y="10"><rect width="5" height="5"/></svg>')) == (20, 10, 25, 15)


@pytest.mark.parametrize(
    ("rule", "expected"),
    [
        ("", (10, 0, 30, 20)),
        ("xMinYMin", (0, 0, 20, 20)),
        ("xMaxYMid meet", (20, 0, 40, 20)),
        ("xMidYMin slice", (0, 0, 40, 40)),
        ("xMidYMid slice", (0, -10, 40, 30)),
        ("none", (0, 0, 40, 20)),
    ],
)
def test_preserve_aspect_ratio(rule, expected):
    attribute = f'preserveAspectRatio="{rule}"' if rule else ""
    inner = f'<svg width="40" height="20" viewBox="0 0 10 10" {attribute}><rect width="10" height="10"/></svg>'
    assert bounds(only_line(inner)) == expected


def test_percentages_are_of_the_nearest_viewport():
    assert bounds(only_line('<rect x="10%" y="10%" width="50%" height="20%"/>')) == (40, 30, 240, 90)
    inner = '<svg x="100" width="100" height="100" viewBox="0 0 10 20"><rect width="50%" height="50%"/></svg>'
    assert bounds(only_line(inner)) == (125, 0, 150, 50)
    circle = only_line('<circle r="10%"/>')
    assert circle.curve.length == pytest.approx(TAU * 0.1 * math.sqrt((400**2 + 300**2) / 2), abs=1e-6)


@pytest.mark.parametrize("link", ["href", "xlink:href"])
def test_use_moves_after_its_transform(link):
    use = f'<use {link}="#square" x="100" y="50" transform="scale(2)"/>'
    first, second = drawing(SQUARE + use).lines
    assert bounds(first) == (10, 10, 30, 30)
    assert bounds(second) == (220, 120, 260, 160)
    assert "element square shown by" in second.place.words


def test_use_before_its_target_and_through_another_use():
    body = '<use id="a" href="#b" x="1"/><defs><use id="b" href="#square" x="10"/>' + SQUARE + "</defs>"
    drawn = drawing(body)
    assert [line.curve.bounds() for line in drawn.lines] == [pytest.approx((21, 10, 41, 30))]
    assert drawn.ledger.aside == {}


def test_use_without_target_is_told():
    drawn = drawing('<use id="lost" href="#nowhere"/><use id="far" href="other.svg#a"/>' + SQUARE)
    message = next(note.message for note in drawn.notes if note.code == "use-missing")
    for word in ("lost", "nowhere", "other.svg"):
        assert word in message
    assert drawn.ledger.aside == {"use without target": 2}


def test_symbol_is_fitted_into_the_size_of_its_use():
    symbol = '<symbol id="s" viewBox="0 0 10 10"><rect width="10" height="10"/></symbol>'
    assert bounds(only_line(symbol + '<use href="#s" x="5" y="5" width="40" height="40"/>')) == (5, 5, 45, 45)
    # Without a size it fills the viewport (SVG 2, section 5.6); 300 is the smaller side, and 50 centres it.
    assert bounds(only_line(symbol + '<use href="#s"/>')) == (50, 0, 350, 300)


def test_use_of_a_nested_svg_gives_it_its_size():
    inner = '<defs><svg id="s" width="10" height="10" viewBox="0 0 10 10"><rect width="10" height="10"/></svg></defs>'
    assert bounds(only_line(inner + '<use href="#s" width="40" height="40"/>')) == (0, 0, 40, 40)
    assert bounds(only_line(inner + '<use href="#s"/>')) == (0, 0, 10, 10)


@pytest.mark.parametrize(
    "container",
    ["defs", "symbol", "clipPath", "mask", "marker", "pattern", "linearGradient", "metadata", "foreignObject"],
)
def test_content_of_containers_is_not_drawn(container):
    drawn = drawing(f'<{container}><g><rect width="9" height="9"/></g></{container}>{SQUARE}')
    assert [str(line.place) for line in drawn.lines] == ["element square"]
    assert drawn.ledger.aside == {f"rect in {container}": 1}


@pytest.mark.parametrize("attribute", ['clip-path="url(#c)"', 'style="clip-path:url(#c)"', 'mask="url(#c)"'])
def test_clipped_lines_are_whole_and_told(attribute):
    drawn = drawing(f'<clipPath id="c"><rect width="9" height="9"/></clipPath><g {attribute}>{SQUARE}</g>')
    assert bounds(drawn.lines[0]) == (10, 10, 30, 30)
    assert "clipped" in codes(drawn)


def test_switch_shows_one_child():
    body = (
        '<switch><foreignObject requiredExtensions="x"><rect width="1" height="1"/></foreignObject>'
        f"<g>{SQUARE}</g><g><rect width='2' height='2'/></g></switch>"
    )
    assert only_line(body).place.words == "element square"
    body = (
        '<switch><text systemLanguage="de">Vorderteil</text><text systemLanguage="en">Front</text></switch>' + SQUARE
    )
    assert [text.text for text in drawing(body).texts] == ["Front"]


def test_unknown_element_and_picture_are_told():
    drawn = drawing('<blob/><image href="a.png"/>' + SQUARE)
    assert "unknown-element" in codes(drawn)
    assert drawn.ledger.aside == {"blob": 1, "image": 1}
    assert drawn.ledger.read == drawn.ledger.used + 2


def test_elements_of_other_programs_are_no_trouble():
    drawn = drawing('<sodipodi:namedview><inkscape:grid/></sodipodi:namedview><x:y xmlns:x="urn:x"/>' + SQUARE)
    assert drawn.notes == ()


@pytest.mark.parametrize(
    "attributes",
    [
        'display="none"',
        'style="display:none"',
        'style="display: none !important; display: inline"',
        'visibility="hidden"',
        'style="visibility:collapse"',
        'opacity="0"',
        'style="opacity:0.0"',
        'fill="none"',
        'fill="none" stroke="red" stroke-width="0"',
        'fill="none" stroke="red" stroke-opacity="0"',
        'class="off"',
        'class="other off"',
        'id="gone"',
    ],
)
@pytest.mark.parametrize("tag", ["on the line", "on its group"])
def test_hidden_lines_are_read_and_flagged(attributes, tag):
    css = "<style>.off, #gone { display : none }</style>"
    if tag == "on the line":
        drawn = drawing(f'{css}<rect {attributes} width="9" height="9"/>')
    else:
        drawn = drawing(f'{css}<g {attributes}><rect width="9" height="9"/></g>')
    assert [line.hidden for line in drawn.lines] == [True]
    assert "hidden" in codes(drawn)


def test_a_visible_child_of_a_hidden_group():
    drawn = drawing('<g visibility="hidden"><rect width="9" height="9" visibility="visible"/></g>')
    assert not drawn.lines[0].hidden
    drawn = drawing('<g display="none"><rect width="9" height="9" display="inline"/></g>')
    assert drawn.lines[0].hidden


def test_hidden_use_hides_what_it_shows():
    first, second = drawing(SQUARE + '<use href="#square" style="display:none"/>').lines
    assert (first.hidden, second.hidden) == (False, True)
