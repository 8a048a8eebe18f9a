import itertools

import pytest
from pattern_making import box, corners, drawing, line_mark, loop, rounded, shape, sheet, tick

from seamcheck.geometry.curve import Affine, Curve
from seamcheck.pattern.drawing import Block, LengthSource, PointMark, Role, TextMark
from seamcheck.pattern.model import UNSIZED, Grainline
from seamcheck.pieces.outline import assemble
from seamcheck.places import Place

FRONT = box()


def inset(width):
    return FRONT.offset(width)


def text(words, at=100 + 150j, **more):
    return TextMark(at=at, text=words, place=Place("element text"), **more)


# Which lines are pieces


def test_a_closed_line_is_a_piece():
    found = shape([line_mark(FRONT, label="Front")])
    assert found.name == "Front"
    assert found.line == "unknown"
    assert found.size == UNSIZED
    assert found.outline.length == pytest.approx(1000)
    assert found.gap == 0.0


def test_loose_lines_are_a_piece_and_the_widest_gap_is_kept():
    points = [0j, 200 + 0j, 200 + 300j, 300j]
    lines = [line_mark([a, b]) for a, b in itertools.pairwise(points)]
    lines.append(line_mark([300j, 0.4j], label="Front"))
    found = sheet(lines)
    (only,) = found.shapes
    assert only.name == "Front"
    assert only.gap == pytest.approx(0.4)
    assert [note.code for note in found.notes] == ["gap-bridged"]
    assert "0.40 mm at" in found.notes[0].message
    assert any("4 loose lines" in str(reason) for reason in only.reasons)


def test_a_gap_that_cannot_be_seen_is_not_told():
    lines = [line_mark(points) for points in ([0j, 200 + 0j], [200 + 0j, 200 + 300j], [200 + 300j, 300j])]
    found = sheet([*lines, line_mark([300j, 0.02j])])
    assert found.notes == ()
    assert found.shapes[0].gap == pytest.approx(0.02)


@pytest.mark.parametrize("area", [399, 401])
def test_what_is_smaller_than_four_square_centimetres_is_no_piece(area):
    assert len(sheet([line_mark(box(20, area / 20))]).shapes) == (area > 400)


@pytest.mark.parametrize("clockwise", [True, False])
@pytest.mark.parametrize("y_down", [True, False])
def test_outlines_run_clockwise_as_seen_from_the_top_left(clockwise, y_down):
    curve = box(at=10 + 20j)
    found = shape([line_mark(curve if clockwise else curve.reversed())], y_down=y_down)
    top_left = 10 + 20j if y_down else 10 + 320j
    assert rounded(found.outline.start) == top_left
    assert (found.outline.signed_area() > 0) == y_down
    assert found.corners == pytest.approx((0, 200, 500, 700))
    assert rounded(found.outline.point(200)) == top_left + 200


def test_an_outline_that_does_not_close_is_told():
    lines = [line_mark([0j, 200 + 0j, 200 + 300j, 300j, 6j], Role.SEW, label="Front", place=Place("element path3"))]
    found = sheet(lines)
    assert found.shapes == ()
    (opened,) = found.open_outlines
    assert opened.name == "Front"
    assert opened.gap == pytest.approx(6)
    assert set(opened.ends) == {0j, 6j}
    assert opened.place.words == "element path3"


def test_a_long_line_that_nearly_closes_was_meant_to():
    nearly = line_mark([0j, 200 + 0j, 200 + 300j, 300j, 20j])
    far = line_mark([0j, 200 + 0j, 200 + 300j, 300j, 40j])
    assert len(sheet([nearly]).open_outlines) == 1
    assert sheet([far]).open_outlines == ()


def test_hidden_lines_are_left_out_and_counted():
    found = sheet([line_mark(FRONT), line_mark(box(at=300 + 0j), hidden=True)])
    assert len(found.shapes) == 1
    assert [note.code for note in found.notes] == ["hidden"]
    assert found.notes[0].message.startswith("1 hidden line")


def test_an_outline_drawn_twice_is_one_piece():
    found = sheet([line_mark(FRONT), line_mark(FRONT.reversed())])
    assert len(found.shapes) == 1


def test_a_test_square_is_no_piece():
    assert sheet([line_mark(box(50, 50), Role.TEST_SQUARE)]).shapes == ()


# What lies inside


@pytest.mark.parametrize("order", [1, -1])
def test_the_inner_of_a_labelled_pair_is_walked(order):
    lines = [line_mark(inset(10), Role.SEW), line_mark(FRONT, Role.CUT)][::order]
    found = shape(lines)
    assert found.line == "sew"
    assert found.outline.length == pytest.approx(2 * (180 + 280))
    assert found.other is not None
    assert found.other.length == pytest.approx(1000)


@pytest.mark.parametrize("roles", [(Role.SEW, None), (None, Role.CUT), (None, None)])
def test_a_parallel_line_inside_is_the_sew_line(roles):
    found = shape([line_mark(inset(10), roles[0]), line_mark(FRONT, roles[1])])
    assert found.line == "sew"
    assert found.outline.length == pytest.approx(2 * (180 + 280))
    assert any("sew line" in str(reason) for reason in found.reasons)


def test_a_wide_hem_does_not_hide_the_sew_line():
    sewn = loop(10 + 10j, 190 + 10j, 190 + 260j, 10 + 260j)
    found = shape([line_mark(sewn), line_mark(FRONT)])
    assert found.line == "sew"
    assert found.other is not None


def test_a_cut_line_that_wrongly_lies_inside_is_not_walked():
    found = shape([line_mark(FRONT, Role.SEW), line_mark(inset(10), Role.CUT)])
    assert found.outline.length == pytest.approx(1000)
    assert len(found.internals) == 0 or found.other is None


def test_a_curved_cut_line_keeps_its_sew_line_as_drawn():
    bow = Curve.join(
        [Curve.cubic(0j, 60 - 30j, 140 - 30j, 200 + 0j), Curve.polyline([200 + 0j, 200 + 300j, 300j, 0j])]
    )
    sewn = bow.offset(10)
    found = shape([line_mark(bow, Role.CUT), line_mark(sewn, Role.SEW)])
    assert found.outline.length == pytest.approx(sewn.length, abs=1e-9)


def test_a_cutout_lies_inside():
    found = shape([line_mark(FRONT), line_mark(box(40, 40, 80 + 100j), Role.CUTOUT)])
    assert found.outline.length == pytest.approx(1000)
    assert [line.length for line in found.internals] == pytest.approx([160])


@pytest.mark.parametrize("at", [25 + 25j, 30 + 40j, 40 + 100j])
def test_a_placement_line_lies_inside(at):
    # A pocket is drawn on the piece that it goes on; however near to one corner, it is no second line all round.
    found = shape([line_mark(FRONT), line_mark(box(120, 140, at))])
    assert found.line == "unknown"
    assert found.other is None
    assert [line.length for line in found.internals] == pytest.approx([520])


def test_a_pocket_of_its_own_group_on_a_piece_is_a_piece():
    lines = [
        line_mark(FRONT, Role.OUTLINE, groups=("Front",)),
        line_mark(box(120, 140, 30 + 40j), Role.OUTLINE, groups=("Pocket",)),
    ]
    assert [one.name for one in sheet(lines).shapes] == ["Front", "Pocket"]


def test_pieces_come_in_the_order_of_the_file():
    boxes = [box(100, 100, 300 + 0j), box(200, 300, 500 + 0j), box(150, 100, 0j)]
    names = ["Pocket", "Front", "Yoke"]
    lines = [line_mark(curve, label=name) for curve, name in zip(boxes, names, strict=True)]
    assert [one.name for one in sheet(lines).shapes] == names


def test_one_block_is_one_piece():
    block = Block(name="B1", piece="Front", size="40", labels={"quantity": "2"})
    lines = [
        line_mark(inset(10), Role.SEW, block="B1"),
        line_mark(FRONT, Role.CUT, block="B1"),
        line_mark(box(60, 60, 50 + 50j), Role.INTERNAL, block="B1"),
    ]
    found = shape(lines, blocks=(block,))
    assert (found.name, found.size, found.line) == ("Front", "40", "sew")
    assert found.labels == {"quantity": "2"}
    assert [line.length for line in found.internals] == pytest.approx([240])


# Notches


@pytest.mark.parametrize("labelled", [True, False])
def test_a_tick_that_touches_the_outline_is_a_notch(labelled):
    mark = line_mark([200 + 100j, 195 + 100j], Role.NOTCH if labelled else None)
    found = shape([line_mark(FRONT), mark])
    (notch,) = found.notches
    assert (notch.station, notch.count) == (pytest.approx(300), 1)
    assert found.internals == ()


def test_a_tick_across_the_outline_is_taken_where_it_crosses():
    # It leans by 30 degrees, and its middle is not on the line.
    found = shape([line_mark(FRONT), line_mark([202 + 101j, 192 + 106j], Role.NOTCH)])
    assert found.notches[0].station == pytest.approx(302, abs=1e-5)
    assert found.notches[0].at == pytest.approx(200 + 102j, abs=1e-5)


def test_a_long_line_from_the_outline_is_no_notch():
    found = shape([line_mark(FRONT), line_mark([200 + 100j, 170 + 100j])])
    assert found.notches == ()
    assert len(found.internals) == 1


@pytest.mark.parametrize(("apart", "counts"), [(5.0, [2]), (9.9, [2]), (10.1, [1, 1])])
def test_ticks_close_together_are_one_double_notch(apart, counts):
    found = shape([line_mark(FRONT), tick(FRONT, 300), tick(FRONT, 300 + apart)])
    assert [notch.count for notch in found.notches] == counts
    if counts == [2]:
        assert found.notches[0].station == pytest.approx(300 + apart / 2)


def test_three_ticks_are_a_triple_notch():
    found = shape([line_mark(FRONT), *(tick(FRONT, 300 + k * 5) for k in range(3))])
    (notch,) = found.notches
    assert (notch.count, notch.station) == (3, pytest.approx(305))


def test_a_tick_drawn_twice_is_a_single_notch():
    found = shape([line_mark(FRONT), tick(FRONT, 300), tick(FRONT, 300.2)])
    (notch,) = found.notches
    assert notch.count == 1


def test_a_double_notch_across_the_closing_point_is_one():
    # The outline closes at its top left corner; the notch lies 2 mm to either side of it.
    found = shape([line_mark(FRONT), tick(FRONT, 2), tick(FRONT, 998)])
    (notch,) = found.notches
    assert notch.count == 2
    assert notch.station % 1000 == pytest.approx(0, abs=1e-6)


def test_notch_points_are_notches():
    marks = [
        PointMark(at=200 + 100j, place=Place(""), role=Role.NOTCH),
        PointMark(at=200 + 200.5j, place=Place(""), role=Role.NOTCH),
    ]
    found = shape([line_mark(FRONT)], points=marks)
    assert [notch.station for notch in found.notches] == pytest.approx([300, 400.5])


def test_a_notch_that_touches_no_outline_is_astray():
    found = shape([line_mark(FRONT)], points=[PointMark(at=190 + 100j, place=Place(""), role=Role.NOTCH)])
    assert found.notches == ()
    assert found.stray_notches == (190 + 100j,)


def test_notches_go_to_the_piece_of_their_group():
    # Two pieces side by side share a line; what is drawn there belongs to the group it stands in.
    lines = [
        line_mark(FRONT, groups=("Front",), label="sew line"),
        line_mark(box(at=200 + 0j), groups=("Back",), label="sew line"),
        line_mark([200 + 100j, 205 + 100j], Role.NOTCH, groups=("Front",)),
        line_mark([200 + 250j, 195 + 250j], Role.NOTCH, groups=("Back",)),
    ]
    front, back = sheet(lines).shapes
    assert [rounded(notch.at, 4) for notch in front.notches] == [200 + 100j]
    assert [rounded(notch.at, 4) for notch in back.notches] == [200 + 250j]


def test_notches_are_taken_on_the_sew_line_also_when_drawn_on_the_cut_line():
    lines = [
        line_mark(FRONT, Role.CUT),
        line_mark(inset(10), Role.SEW),
        line_mark([200 + 100j, 195 + 100j], Role.NOTCH),
    ]
    found = shape(lines)
    assert [rounded(notch.at, 4) for notch in found.notches] == [190 + 100j]


# Grain


def arrows(*lines):
    return shape([line_mark(FRONT), *(line_mark(points, Role.GRAIN) for points in lines)]).grainlines


def test_an_arrow_is_its_shaft():
    assert arrows([100 + 50j, 100 + 250j]) == (Grainline((100 + 50j, 100 + 250j)),)


def test_the_head_of_an_arrow_is_no_part_of_it():
    (grain,) = arrows([100 + 50j, 100 + 250j], [95 + 60j, 100 + 50j], [105 + 60j, 100 + 50j])
    assert grain.points == (100 + 50j, 100 + 250j)


def test_an_arrow_in_pieces_is_one():
    (grain,) = arrows([100 + 150j, 100 + 50j], [100 + 150j, 100 + 250j])
    assert {grain.points[0], grain.points[-1]} == {100 + 50j, 100 + 250j}
    assert len(grain.points) == 2


def test_a_bent_arrow_keeps_its_bend():
    (grain,) = arrows([100 + 50j, 100 + 150j], [100 + 150j, 110 + 250j])
    assert 100 + 150j in grain.points
    assert len(grain.points) == 3


def test_several_arrows_are_several():
    assert len(arrows([80 + 50j, 80 + 250j], [120 + 50j, 120 + 250j])) == 2


@pytest.mark.parametrize("degrees", [0, 30, 90, 179.9])
def test_the_angle_of_an_arrow_has_no_sense(degrees):
    shaft = Curve.line(60 + 150j, 140 + 150j).transformed(Affine.rotation(degrees, 100 + 150j))
    for line in (shaft, shaft.reversed()):
        (grain,) = arrows([line.start, line.end])
        assert grain.angle == pytest.approx(degrees, abs=1e-9)


# Words


def test_texts_tell_name_size_and_quantity():
    found = shape([line_mark(FRONT)], texts=[text("Size 40", 100 + 120j), text("Cut 2"), text("Front", 100 + 100j)])
    assert found.name == "Front"
    assert found.size == "40"
    assert found.labels["quantity"] == "2"
    assert found.texts == ("Size 40", "Cut 2", "Front")


@pytest.mark.parametrize(
    "words", ["Size 40", "size: 40", "Größe 40", "Taille 40", "Talla 40", "taglia 40", "maat 40"]
)
def test_sizes_are_read_in_six_languages(words):
    assert shape([line_mark(FRONT)], texts=[text(words)]).size == "40"


@pytest.mark.parametrize("name", ["Tailleband", "Taillenbund"])
def test_a_waistband_is_not_a_size(name):
    found = shape([line_mark(FRONT)], texts=[text(name), text("1x")])
    assert (found.name, found.size) == (name, "as drawn")


def test_one_size_on_one_piece_is_the_size_of_all():
    lines = [line_mark(FRONT, label="Front"), line_mark(box(at=300 + 0j), label="Back")]
    found = sheet(lines, texts=[text("Size 40")])
    assert {one.size for one in found.shapes} == {"40"}
    assert found.sizes == ("40",)


def test_two_sizes_stay_two():
    lines = [line_mark(FRONT, label="Front"), line_mark(box(at=300 + 0j), label="Front")]
    found = sheet(lines, texts=[text("Size 40"), text("Size 42", 400 + 150j)])
    assert [(one.name, one.size) for one in found.shapes] == [("Front", "40"), ("Front", "42")]
    assert found.sizes == ("40", "42")


def test_pieces_without_names_get_numbers_and_namesakes_too():
    unnamed = [line_mark(FRONT), line_mark(box(at=300 + 0j))]
    assert [one.name for one in sheet(unnamed).shapes] == ["piece 1", "piece 2"]
    twice = [line_mark(FRONT, label="Band"), line_mark(box(at=300 + 0j), label="Band")]
    assert [one.name for one in sheet(twice).shapes] == ["Band", "Band 2"]


def test_the_style_on_every_piece_names_none():
    lines = [line_mark(FRONT), line_mark(box(at=300 + 0j))]
    words = [text("Ferryhand"), text("Front", 100 + 170j), text("Ferryhand", 400 + 150j), text("Back", 400 + 170j)]
    assert [one.name for one in sheet(lines, texts=words).shapes] == ["Front", "Back"]


@pytest.mark.parametrize(
    ("written", "names"),
    [
        (["A", "G"], ["A", "G"]),
        (["L", "M"], ["piece 1", "piece 2"]),  # sizes
        (["L", "K"], ["L", "K"]),
        (["A", "A"], ["piece 1", "piece 2"]),  # what is sewn to what
        (["A B", "C"], ["piece 1", "C"]),
        (["A Front", "B Back"], ["Front", "Back"]),
        (["A", "Back"], ["A", "Back"]),
        (["g", "A"], ["piece 1", "A"]),
    ],
)
def test_a_lone_letter_may_be_a_name(written, names):
    """Hobbyists call pieces by letters, and mark by letters what is matched; common practice, no source."""
    lines = [line_mark(FRONT), line_mark(box(at=300 + 0j))]
    texts = [
        text(word, complex(100 + 300 * k, 150 + 20 * n))
        for k, words in enumerate(written)
        for n, word in enumerate(words.split())
    ]
    assert [one.name for one in sheet(lines, texts=texts).shapes] == names


def test_a_lone_letter_names_a_piece_in_every_size():
    lines = [line_mark(box(at=300 * k + 0j)) for k in range(4)]
    written = [("A", "Size 40"), ("B", "Size 40"), ("A", "Size 42"), ("B", "Size 42")]
    texts = [
        text(word, complex(100 + 300 * k, 150 + 20 * n))
        for k, words in enumerate(written)
        for n, word in enumerate(words)
    ]
    found = sheet(lines, texts=texts).shapes
    assert [(one.name, one.size) for one in found] == [("A", "40"), ("B", "40"), ("A", "42"), ("B", "42")]


@pytest.mark.parametrize("letter", ["A", "G"])
def test_a_piece_labelled_with_a_letter_is_called_so(letter):
    assert shape([line_mark(FRONT, label=letter)]).name == letter


def test_a_name_written_in_every_size_is_a_name():
    places = [(FRONT, 0), (box(at=300 + 0j), 300), (box(at=600 + 0j), 600), (box(at=900 + 0j), 900)]
    words = [("Front", "Size 40"), ("Back", "Size 40"), ("Front", "Size 42"), ("Back", "Size 42")]
    texts = [
        text(word, complex(x + 100, 150 + 20 * k))
        for (_, x), written in zip(places, words, strict=True)
        for k, word in enumerate(("Ferryhand", *written))
    ]
    found = sheet([line_mark(curve) for curve, _ in places], texts=texts)
    assert [(one.name, one.size) for one in found.shapes] == [
        ("Front", "40"),
        ("Back", "40"),
        ("Front", "42"),
        ("Back", "42"),
    ]


NAMES = {
    "en": ["Border", "Frame", "Cut", "Fold", "Band", "Band facing", "Band lining", "Size tab"],
    "de": ["Rand", "Bund", "Saum", "Bruch", "Rand oben", "Rand unten", "Innen", "Größe"],
    "fr": ["Bord", "Bord-côte", "Côté dos", "Taille dos", "Taille devant", "Cadre", "Pli", "Côté"],
    "es": ["Marco", "Borde", "Corte", "Interior", "Banda", "Banda delantera", "Banda trasera", "Talla"],
    "it": ["Fascia", "Fascia cerniera sopra", "Fascia cerniera sotto", "Bordo", "Cornice", "Piega"],
    "nl": ["Rand", "Boord", "Vouw", "Maat", "Kader", "Binnen", "Boord boven", "Boord onder"],
}
QUANTITY = {
    "en": "Cut 2",
    "de": "2x zuschneiden",
    "fr": "Couper 2 fois",
    "es": "Cortar 2",
    "it": "Tagliare 2",
    "nl": "2x knippen",
}


@pytest.mark.parametrize("language", NAMES)
def test_a_name_that_is_also_the_word_for_a_line_or_a_label_is_kept_whole(language):
    lines, words = [], []
    for k, name in enumerate(NAMES[language]):
        lines.append(line_mark(box(at=300.0 * k)))
        words += [text(name, 300 * k + 100 + 150j), text(QUANTITY[language], 300 * k + 100 + 170j)]
    found = sheet(lines, texts=words)
    assert [one.name for one in found.shapes] == NAMES[language]
    assert found.sizes == (UNSIZED,)
    assert {one.labels["quantity"] for one in found.shapes} == {"2"}


def test_what_some_pieces_begin_with_and_one_is_called_is_no_name_of_a_style():
    names = ["Fascia", "Fascia cerniera sopra", "Fascia cerniera sotto", "Davanti", "Dietro", "Manica"]
    lines = [line_mark(box(at=300.0 * k)) for k in range(6)]
    words = [text(name, 300 * k + 100 + 150j) for k, name in enumerate(names)]
    assert [one.name for one in sheet(lines, texts=words).shapes] == names


def test_a_piece_that_bears_the_style_alone_is_called_by_it():
    lines = [line_mark(box(at=300.0 * k)) for k in range(4)]
    names = ["Front", "Back", "Band", ""]
    words = [text("Ferryhand", 300 * k + 100 + 150j) for k in range(4)]
    words += [text(name, 300 * k + 100 + 170j) for k, name in enumerate(names) if name]
    assert [one.name for one in sheet(lines, texts=words).shapes] == ["Front", "Back", "Band", "Ferryhand"]


@pytest.mark.parametrize(
    ("words", "size"),
    [
        ("Taille XL", "XL"), ("Taille: dos", "dos"), ("Size S/M", "S/M"), ("Größe mittel", "mittel"),
        ("Size UK 12", "UK 12"), ("Talla única", "única"), ("Size 12W", "12W"), ("Size 2XL", "2XL"), ("Maat M", "M"),
    ],
)  # fmt: skip
def test_a_size_looks_like_one_or_follows_a_colon(words, size):
    assert shape([line_mark(FRONT)], texts=[text("Front"), text(words)]).size == size


def test_a_word_on_a_fold_names_no_piece():
    found = shape([line_mark(FRONT)], texts=[text("Fold", role=Role.FOLD)])
    assert found.name == "piece 1"


def test_an_open_outline_is_in_the_one_size_that_is_written():
    lines = [line_mark(FRONT), line_mark([300 + 0j, 500 + 0j, 500 + 300j, 300 + 300j, 300 + 6j], Role.SEW)]
    found = sheet(lines, texts=[text("Size 40")])
    assert [line.size for line in found.open_outlines] == ["40"]


def test_chords_are_kept_beside_the_smoother_reading():
    smooth = Curve.arc(0j, 60)
    coarse = Curve.polyline([smooth.point(smooth.length * k / 40) for k in range(41)])
    found = shape([line_mark(smooth, closed=True, chords=coarse, source=LengthSource.SPLINE)])
    assert found.source is LengthSource.SPLINE
    assert found.smoothed is not None
    assert found.smoothed.in_file() is coarse


def test_drill_holes_are_points_and_small_circles():
    ring = line_mark(Curve.arc(60 + 60j, 2), Role.DRILL)
    found = shape([line_mark(FRONT), ring], points=[PointMark(at=90 + 90j, place=Place(""), role=Role.DRILL)])
    assert [rounded(hole, 4) for hole in found.drill_holes] == [90 + 90j, 60 + 60j]


def test_the_same_marks_give_the_same_sheet():
    lines = [line_mark(FRONT, label="Front"), tick(FRONT, 300), line_mark(box(at=300 + 0j), label="Back")]
    first, second = assemble(drawing(lines)), assemble(drawing(lines))
    assert [one.outline.segments.tolist() for one in first.shapes] == [
        one.outline.segments.tolist() for one in second.shapes
    ]
    assert [corners(one) for one in first.shapes] == [corners(one) for one in second.shapes]
