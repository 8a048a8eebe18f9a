import itertools

import pytest
from pattern_making import box, drawing, line_mark, loop, sheet

from seamcheck.geometry.curve import Affine, Curve
from seamcheck.pattern.drawing import Ledger, PointMark, Role, TextMark
from seamcheck.pieces.outline import assemble
from seamcheck.places import Place

FRONT = box()  # 200 by 300 mm


def text(words, at, **more):
    return TextMark(at=at, text=words, place=Place(f"element text{at.real:g}-{at.imag:g}-{words}"), **more)


def names(found):
    return [one.name for one in found.shapes]


def reasons(found, index=0):
    return list(map(str, found.shapes[index].reasons))


def notes(found):
    return {note.code: note.message for note in found.notes}


# Sew line and cut line


def test_the_distance_of_a_guessed_sew_line_is_told():
    found = sheet([line_mark(FRONT.offset(10), label="Front"), line_mark(FRONT)])
    assert "sew line: the inner of two parallel lines, 10.0 mm apart" in reasons(found)
    assert "cut line: the outer of the two" in reasons(found)
    assert "Front (10.0 mm apart)" in notes(found)["sew-line-assumed"]


def test_a_labelled_pair_is_no_guess():
    lines = [
        line_mark(FRONT.offset(10), Role.SEW, why='layer "SEW"'),
        line_mark(FRONT, Role.CUT, why='layer "CUT"'),
    ]
    found = sheet(lines)
    assert 'sew line: layer "SEW", 10.0 mm from the cut line' in reasons(found)
    assert 'cut line: layer "CUT"' in reasons(found)
    assert notes(found).keys() <= {"line-unknown"}


@pytest.mark.parametrize("width", [2.0, 35.0])
def test_lines_too_near_or_too_far_apart_are_no_pair(width):
    assert sheet([line_mark(FRONT.offset(width)), line_mark(FRONT)]).shapes[0].other is None


def test_a_third_line_alongside_is_a_placement_line():
    found = sheet([line_mark(FRONT), line_mark(FRONT.offset(10)), line_mark(FRONT.offset(18))])
    assert found.shapes[0].outline.length == pytest.approx(2 * (180 + 280))
    assert "placement line: a closed line alongside the sew line" in reasons(found)


# Lines within


@pytest.mark.parametrize(
    ("mark", "told", "note"),
    [
        ({}, "hole: a closed line inside", "hole-assumed"),
        ({"dashed": True}, "placement line: a closed dashed line inside", "placement-line-assumed"),
        ({"label": "Pocket"}, 'placement line: a closed line inside with a name of its own ("Pocket")', "placement-"),
        ({"role": Role.CUTOUT, "why": "layer 11"}, "hole: layer 11", ""),
        ({"role": Role.INTERNAL, "why": "layer 8"}, "placement line: layer 8", ""),
    ],
)
def test_a_closed_line_inside_is_told_apart(mark, told, note):
    found = sheet([line_mark(FRONT, label="Front"), line_mark(box(60, 50, 50 + 120j), **mark)])
    assert names(found) == ["Front"]
    assert told in reasons(found)
    assert [one.length for one in found.shapes[0].internals] == pytest.approx([220])
    assert any(code.startswith(note) for code in notes(found)) if note else not notes(found)


def test_a_pocket_drawn_on_its_piece_and_beside_it_is_a_placement_line():
    lines = [line_mark(FRONT), line_mark(box(100, 120, 40 + 90j)), line_mark(box(100, 120, 300 + 0j))]
    assert "placement line: a closed line inside as large as another piece" in reasons(sheet(lines))


def test_a_part_that_runs_along_the_outline_is_no_hole():
    found = sheet([line_mark(FRONT), line_mark(box(200, 40))])
    assert "placement line: a closed line inside that runs along the outline" in reasons(found)


def test_an_outline_drawn_twice_is_told():
    found = sheet([line_mark(FRONT, label="Front"), line_mark(FRONT.reversed())])
    assert "second outline: a closed line that runs on the outline" in reasons(found)
    assert "the outline drawn a second time" in notes(found)["second-outline-assumed"]


def test_a_hole_of_loose_lines_is_one_closed_line():
    points = [60 + 60j, 120 + 60j, 120 + 100j, 60 + 100j, 60 + 60j]
    found = sheet([line_mark(FRONT), *(line_mark([a, b]) for a, b in itertools.pairwise(points))])
    (hole,) = found.shapes[0].internals
    assert hole.is_closed
    assert hole.length == pytest.approx(200)
    assert "hole: a closed line inside" in reasons(found)


# Frames, pictures, straps


def pieces_on_a_sheet(frame):
    lines = [line_mark(frame, place=Place("element rect1")), line_mark(box(60, 90, 20 + 20j), label="Front")]
    return [*lines, line_mark(box(60, 90, 120 + 20j), label="Back")]


@pytest.mark.parametrize("frame", [box(400, 300), box(210, 297)])
def test_a_frame_round_the_pieces_is_none(frame):
    found = sheet(pieces_on_a_sheet(frame))
    assert names(found) == ["Front", "Back"]
    assert "frame or sheet round other pieces (element rect1)" in notes(found)["not-a-piece"]


def test_a_sheet_of_paper_with_its_border_and_one_piece():
    lines = [
        line_mark(box(210, 297)),
        line_mark(box(190, 277, 10 + 10j)),
        line_mark(box(60, 90, 50 + 50j), label="F"),
    ]
    assert names(sheet([*lines, line_mark(box(60, 90, 120 + 50j), label="Back")]))[-1] == "Back"


def test_a_panel_with_words_of_its_own_is_no_frame():
    lines = pieces_on_a_sheet(box(400, 300))
    found = sheet(lines, texts=[text("Panel", 300 + 200j)])
    assert names(found) == ["Panel"]
    assert len(found.shapes[0].internals) == 2


def test_a_piece_with_its_allowance_and_named_parts_is_no_frame():
    lines = [line_mark(box(300, 600)), line_mark(box(280, 540, 10 + 50j))]
    lines += [line_mark(box(280, 50, complex(10, y)), label="tape") for y in (300, 400)]
    found = sheet(lines, texts=[text("Inner panel", 100 + 100j)])
    assert len(found.shapes) == 1


def test_small_lines_without_a_name_are_pictures():
    swatch = line_mark(box(50, 50, 400 + 0j), place=Place("element rect2"))
    found = sheet([line_mark(FRONT), swatch])
    assert len(found.shapes) == 1
    assert "small closed line without a name (element rect2)" in notes(found)["not-a-piece"]
    for words in ("label", "text"):
        named = line_mark(box(50, 50, 400 + 0j), label="Tab" if words == "label" else "")
        texts = [text("Tab", 425 + 25j)] if words == "text" else []
        assert names(sheet([line_mark(FRONT, label="Front"), named], texts=texts)) == ["Front", "Tab"]
    assert len(sheet([line_mark(FRONT), line_mark(box(50, 50, 400 + 0j), Role.SEW)]).shapes) == 2
    assert len(sheet([line_mark(box(100, 90)), swatch]).shapes) == 2  # not so much smaller


@pytest.mark.parametrize(("longer", "pieces"), [(74.0, 1), (76.0, 2)])
def test_a_nameless_closed_line_up_to_75_mm_long_is_a_picture(longer, pieces):
    assert len(sheet([line_mark(FRONT), line_mark(box(20, longer, 400 + 0j))]).shapes) == pieces


def test_a_strap_laid_across_a_piece_lies_on_it():
    strap = box(240, 25, -20 + 100j)
    found = sheet([line_mark(FRONT, label="Front"), line_mark(strap)])
    assert names(found) == ["Front"]
    assert "placement line: a closed line without a name, laid across the piece" in reasons(found)
    assert names(sheet([line_mark(FRONT, label="Front"), line_mark(strap, label="Strap")])) == ["Front", "Strap"]
    beyond = box(240, 25, 150 + 100j)  # mostly beside the piece
    assert len(sheet([line_mark(FRONT), line_mark(beyond)]).shapes) == 2


def test_pieces_that_overlap_to_save_paper_stay_pieces():
    lines = [line_mark(FRONT), line_mark(FRONT.transformed(Affine.translation(90 + 60j)))]
    assert len(sheet(lines).shapes) == 2


def test_one_outline_in_several_sizes_on_one_another_stays_several():
    curves = [Curve.arc(0j, 100 + 12 * k, 150 + 8 * k) for k in range(3)]
    assert (
        len(sheet([line_mark(curve, Role.CUT, groups=(f"Size {k}",)) for k, curve in enumerate(curves)]).shapes) == 3
    )


# Names


def test_words_fit_for_a_name_go_before_others():
    words = [
        text("Fold and bartack 3 cm end", 100 + 40j),
        text("width = 20 cm", 100 + 60j),
        text("Insert the zipper along the centre of the upper part", 100 + 80j),
        text("200mm", 100 + 90j),
        text("Side panel", 100 + 100j),
    ]
    found = sheet([line_mark(FRONT)], texts=words)
    assert names(found) == ["Side panel"]
    assert 'name: text "Side panel" written inside' in reasons(found)


def test_words_inside_go_before_words_beside():
    found = sheet([line_mark(FRONT)], texts=[text("Beside", 220 + 100j), text("Inside", 100 + 100j)])
    assert names(found) == ["Inside"]
    found = sheet([line_mark(FRONT)], texts=[text("Beside", 220 + 100j)])
    assert 'name: text "Beside" written beside' in reasons(found)


@pytest.mark.parametrize(
    ("words", "name"),
    [("length of the skirt, 400mm", "length of the skirt"), ("Band width = perimeter of", "Band width")],
)
def test_a_name_ends_where_an_amount_begins(words, name):
    assert names(sheet([line_mark(FRONT)], texts=[text(words, 100 + 100j)])) == [name]


def test_namesakes_get_the_second_line_of_their_words():
    lines = [line_mark(box(at=complex(x, 0))) for x in (0, 300, 600, 900, 1200)]
    words = [text(words, complex(x, 100)) for words, x in (("Front", 700), ("Back", 1000), ("Band", 1300))]
    words += [
        TextMark(at=complex(x, 100 + 10 * k), text=line, place=Place(f"element text{x}"))
        for x, second in ((100, "upper part"), (400, "lower part"))
        for k, line in enumerate(("Side panel", second))
    ]
    assert names(sheet(lines, texts=words)) == [
        *("Side panel upper part", "Side panel lower part", "Front", "Back", "Band")
    ]


# The ledger


def ledger(lines, read, **more):
    return assemble(drawing(lines, ledger=Ledger(read=read, used=read), **more)).ledger


def test_what_went_into_no_piece_is_kept_aside():
    lines = [
        line_mark(FRONT, place=Place("line 1")),
        line_mark([50 + 50j, 50 + 250j], Role.GRAIN, place=Place("line 2")),
        line_mark([900 + 0j, 950 + 0j], place=Place("line 3"), layer="Extra"),
        line_mark([0j, 9 + 9j], Role.FURNITURE, place=Place("line 4"), layer="Extra"),
        line_mark(box(at=700 + 0j), hidden=True, place=Place("line 5")),
        line_mark(loop(800 + 0j, 840 + 0j, 840 + 40j), place=Place("line 6")),
    ]
    points = [
        PointMark(at=50 + 50j, place=Place("line 7"), role=Role.DRILL),
        PointMark(at=900 + 9j, place=Place("line 8")),
    ]
    texts = [text("Front", 100 + 100j), text("elsewhere", 900 + 900j, layer="Extra")]
    found = ledger(lines, 10, points=points, texts=texts)
    assert found.aside == {
        "line on layer Extra, in no piece": 1,
        "line on layer Extra, dimension or note": 1,
        "hidden line": 1,
        "line, small closed line without a name": 1,
        "point, in no piece": 1,
        "text on layer Extra, in no piece": 1,
    }
    assert (found.read, found.used) == (10, 4)


def test_an_element_of_several_parts_is_one_entity():
    parts = [
        line_mark(FRONT, place=Place("element path1, part 1", entity="element path1")),
        line_mark([900j, 950j], place=Place("element path1, part 2", entity="element path1")),
    ]
    assert ledger(parts, 1) == Ledger(read=1, used=1)


def test_the_ledger_of_a_reader_without_one_stays_empty():
    assert ledger([line_mark(FRONT)], 0) == Ledger()


# Notches on the cut line


@pytest.mark.parametrize("width", [10, 25])
@pytest.mark.parametrize("form", ["point", "line", "unlabelled line"])
def test_a_notch_on_the_cut_line_counts_on_the_sew_line(width, form):
    lines = [line_mark(FRONT, Role.CUT), line_mark(FRONT.offset(width), Role.SEW)]
    points = []
    if form == "point":
        points.append(PointMark(at=200 + 100j, place=Place("line 9"), role=Role.NOTCH))
    else:
        lines.append(line_mark([200 + 100j, 194 + 100j], Role.NOTCH if form == "line" else None))
    (shape,) = sheet(lines, points=points).shapes
    (notch,) = shape.notches
    assert notch.at == pytest.approx(200 - width + 100j, abs=1e-6)
    assert shape.stray_notches == ()
