"""Sheets as people draw them, one habit to a file (fixtures/draft_as_drawn.py), and what each is read as."""

import importlib.util
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from seamcheck.config.settings import Settings
from seamcheck.engine import plugins
from seamcheck.engine.judge import check_file
from seamcheck.engine.read import Request
from seamcheck.pattern.drawing import LengthSource
from seamcheck.pieces.build import build_pattern
from seamcheck.pieces.outline import assemble
from seamcheck.reading import read_drawing
from seamcheck.reading.base import read_source
from seamcheck.reading.second import second_reading
from seamcheck.truing.propose import Wishes
from seamcheck.truing.run import true_file
from seamcheck.truing.writing import write_trued

FIXTURES = Path(__file__).parents[2] / "fixtures"
FOLDER = FIXTURES / "as-drawn"
_spec = importlib.util.spec_from_file_location("draft_as_drawn", FIXTURES / "draft_as_drawn.py")
draft_as_drawn = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(draft_as_drawn)
DRAWINGS = sorted(path.name for path in FOLDER.iterdir() if path.suffix in (".svg", ".dxf"))


@cache
def registry():
    return plugins.load(Settings(), plugins=False)


@cache
def drawing(name):
    return read_drawing(str(FOLDER / name), None, registry().importers)


@cache
def sheet(name):
    return assemble(drawing(name))


def shapes(name):
    return {shape.name: shape for shape in sheet(name).shapes}


def codes(name):
    return {note.code for note in sheet(name).notes} | {note.code for note in drawing(name).notes}


def said(name, code):
    (message,) = [note.message for note in (*drawing(name).notes, *sheet(name).notes) if note.code == code]
    return message


@cache
def judged(name):
    return check_file(str(FOLDER / name), Request(), registry(), Settings())


def skips(name, check):
    return {(one.piece, one.reason) for one in judged(name).skipped if one.check == check}


def test_the_files_are_what_the_script_draws():
    made = draft_as_drawn.files()
    assert {path.name for path in FOLDER.iterdir()} == set(made)
    assert [name for name, told in made.items() if (FOLDER / name).read_text(encoding="utf-8") != told] == []


@pytest.mark.parametrize("name", DRAWINGS)
def test_a_second_reader_finds_the_same_lines(name):
    """svgelements and ezdxf share no code with the readers here."""
    found = second_reading(read_source(str(FOLDER / name), None), drawing(name))
    assert (found.failure, found.differences) == ("", ())
    assert found.agreed > 0


# Sew lines


@pytest.mark.parametrize(
    ("name", "round_it"),
    [
        ("sew-line-edge-by-edge.svg", {"Front": 2 * (180 + 280), "Back": 2 * (196 + 258), "Sleeve": 828.4}),
        ("sew-line-edge-by-edge.dxf", {"Front": 2 * (180 + 280)}),
        ("sew-line-to-the-fold.svg", {"Front": 2 * (188 + 276), "Back": 2 * (208 + 248)}),
        ("sew-line-with-darts.svg", {"Back": 1137.4}),
        ("sew-line-with-more.svg", {"Front": 1085.1, "Back": 2 * (196 + 248), "Sleeve": 2 * (200 + 280)}),
    ],
)
def test_lines_beside_every_edge_are_one_sew_line(name, round_it):
    found = shapes(name)
    assert {key: shape.outline.length for key, shape in found.items()} == pytest.approx(round_it, abs=0.1)
    assert {shape.line for shape in found.values()} == {"sew"}
    assert all(shape.other is not None for shape in found.values())
    assert [one for one in judged(name).findings if one.check == "outline-closed"] == []
    topstitched = "more" in name
    assert sum(len(shape.inside) for shape in found.values()) == topstitched
    assert sheet(name).unused == ()


def test_a_sew_line_that_ends_at_the_fold_runs_along_it():
    front, back = (shapes("sew-line-to-the-fold.svg")[name] for name in ("Front", "Back"))
    assert min(at.real for at in front.outline.segments[:, 0]) == pytest.approx(40)
    assert [fold.length for fold in front.folds] == pytest.approx([276])
    assert min(at.real for at in back.outline.segments[:, 0]) == pytest.approx(320)


def test_dashed_lines_beside_two_edges_are_no_sew_line_and_are_told():
    (front,) = shapes("sew-line-of-two-edges.svg").values()
    assert (front.line, len(front.inside)) == ("unknown", 2)
    assert "2 dashed lines run beside the outline, 10.0 mm inside it" in said(
        "sew-line-of-two-edges.svg", "dashed-line"
    )


def test_other_dashed_lines_stay_inside():
    found = shapes("dashed-otherwise.svg")
    assert {name: (shape.line, len(shape.inside)) for name, shape in found.items()} == {
        "Quilt": ("unknown", 6),
        "Strap": ("unknown", 3),
        "Placket": ("unknown", 2),
        "Pocket bag": ("unknown", 1),
    }
    assert [note.message for note in sheet("dashed-otherwise.svg").notes if note.code == "dashed-line"] == [
        said("dashed-otherwise.svg", "dashed-line")
    ]


def test_what_is_nearer_than_seams_is_told():
    assert "Pocket (5.0 mm apart)" in said("topstitching-edge-by-edge.svg", "sew-line-assumed")


def test_whether_a_curve_is_one_is_decided_in_one_size():
    assert [(shape.size, shape.source, len(shape.corners)) for shape in sheet("sparse-sizes.svg").shapes] == [
        (size, LengthSource.SPLINE, 3) for size in ("38", "40", "46")
    ]


# Allowances


@pytest.mark.parametrize("name", ["allowance-uneven.svg", "allowance-uneven.dxf", "allowance-uneven-apparel.dxf"])
def test_a_hem_too_wide_to_be_measured_is_left_aside_aloud(name):
    (front,) = sheet(name).shapes
    assert front.line == "sew"
    assert ("front", "short-edge") in {(str(piece).casefold(), why) for piece, why in skips(name, "allowance-even")}
    (why,) = [one.why for one in judged(name).skipped if one.check == "allowance-even"]
    assert "76 mm away" in str(why)


@pytest.mark.parametrize("name", ["allowance-uneven-closed.svg", "allowance-uneven-dashed.svg"])
def test_a_line_that_may_be_the_sew_line_is_told(name):
    assert "no sew line, though it runs at an allowance's distance" in said(name, "perhaps-sew-line-assumed")
    assert skips(name, "allowance-even") == {(None, "no-two-lines")}


@pytest.mark.parametrize("name", ["allowance-tapers.svg", "allowance-tapers-dashed.svg", "allowance-tapers.dxf"])
def test_an_allowance_from_25_to_76_mm_is_found(name):
    (found,) = [one for one in judged(name).findings if one.check == "allowance-even"]
    assert "front" in found.message.casefold()


def test_strips_of_allowances_are_no_pieces():
    assert set(shapes("allowance-strips.svg")) == {"Front"}


# Marks on a piece


def test_ticks_are_notches_however_they_are_drawn():
    (front,) = shapes("notch-ticks.svg").values()
    assert sorted(notch.at.imag for notch in front.notches) == pytest.approx([100, 160, 200, 220, 280], abs=1.0)
    assert front.inside == ()


def test_a_notch_may_be_a_wedge_and_stands_in_its_middle():
    front, back = (shapes("notch-shapes.svg")[name] for name in ("Front", "Back"))
    right = [240 + 1j * y for y in (80, 130, 180, 230, 280)]
    assert [notch.at for notch in front.notches] == pytest.approx([*right, 40 + 100j])
    assert {notch.count for notch in front.notches} == {1}
    assert [(round(line.curve.length), line.what) for line in front.inside] == [(20, "")]
    assert [notch.at for notch in back.notches] == pytest.approx([530 + 200j])


@pytest.mark.parametrize(
    ("name", "lengths"),
    [
        ("block-arrow.svg", {"Front": 220, "Back": 220, "Yoke": 160}),
        ("block-arrow.dxf", {"Front": 220, "Back": 220}),
        ("grain-arrows.svg", dict.fromkeys(("Front", "Back", "Yoke", "Collar", "Cuff", "Facing"), 180)),
        ("grain-words.svg", dict.fromkeys(("Front", "Back", "Yoke", "Collar", "Cuff", "Facing"), 180)),
        ("arrow-leaves.dxf", {"Front": 450, "Back": 200}),
    ],
)
def test_a_grain_arrow_is_one_however_it_is_drawn(name, lengths):
    found = shapes(name)
    assert {key: [round(one.length) for one in shape.grainlines] for key, shape in found.items()} == {
        key: [length] for key, length in lengths.items()
    }
    assert all(shape.inside == () for shape in found.values())
    assert [one.weight for one in sheet(name).unused if one.weight] == []


def test_an_arrow_beside_the_pieces_is_a_sign_and_told():
    assert "closed arrow beside the pieces" in said("block-arrow.svg", "not-a-piece")


@pytest.mark.parametrize("name", ["grain-bent.svg", "grain-bent-cad.dxf"])
def test_a_bent_arrow_of_several_strokes_is_ruled_straight_head_and_all(name, tmp_path):
    request = Request(plan=FOLDER / f"{Path(name).stem}.seams.toml")
    before = {shape.name: shape.grainlines[0] for shape in sheet(name).shapes}
    assert {len(grain.points) for grain in before.values()} == {3}
    trued = true_file(str(FOLDER / name), request, registry(), Settings(), Wishes())
    written = tmp_path / name
    write_trued(trued, str(written), request, registry(), Settings(), force=False)
    again = assemble(read_drawing(str(written), None, registry().importers))
    for shape in again.shapes:
        (grain,) = shape.grainlines
        assert len(grain.points) == 2
        assert grain.angle == pytest.approx(90.0)
        assert grain.length == pytest.approx(before[shape.name].length)
        assert shape.inside == ()
    lines = read_drawing(str(written), None, registry().importers).lines
    tips = [shape.grainlines[0].points[-1] for shape in again.shapes]
    heads = [line for line in lines if line.head_of.words and not line.hidden]
    assert len(heads) >= 2
    assert all(min(line.curve.nearest(tip).distance for tip in tips) < 1e-5 for line in heads)


def test_a_dart_drawn_inside_is_told():
    pattern = build_pattern(drawing("dart-inside.svg"), sheet("dart-inside.svg"), None)
    told = [note.message for note in pattern.notes if note.code == "dart-not-planned"]
    assert [message.partition(":")[0] for message in told] == ["Front", "Back", "Side"]


def test_what_is_known_of_the_cloth_in_a_mouth_is_said_of_each():
    found = {one.pieces: one for one in judged("dart-mouths.svg").findings if one.check == "dart-mouth"}
    assert found["straight",].code == "roof"
    assert "ends short of the seam by 4.0 mm" in found["straight",].message
    assert ("roofed",) not in found
    assert skips("dart-mouths.svg", "dart-mouth") == {
        ("into-the-line", "no-roof"),
        ("bent", "bent-legs"),
        ("between-edges", "no-edge"),
    }


def test_a_fold_is_told_by_words_along_it():
    found = shapes("fold-words.svg")
    assert [fold.length for fold in found["Front"].folds] == pytest.approx([300])
    assert found["Back"].folds == ()
    assert said("fold-words.svg", "fold-not-shown").startswith("Back: ")


# Pieces and names


@pytest.mark.parametrize(
    ("name", "pieces"),
    [
        ("taped.svg", {"Front"}),
        ("names.svg", {"Yoke", "piece 2", "Collar stand"}),
        ("letters.svg", {"A", "G", "M", "Sleeve", "piece 5"}),
        ("styles.svg", {"Front", "Back", "Yoke", "Cuff"}),
        ("cloak.svg", {"Cloak"}),
        ("corner-steps.dxf", {"Front"}),
        ("slip.dxf", {"Front"}),
        ("overrun.dxf", {"Front", "Back"}),
        ("framed.dxf", {"Front", "Back", "Yoke"}),
        ("not-read.dxf", {"Front"}),
        ("base-only.dxf", {"Front"}),
    ],
)
def test_every_piece_is_found_and_nothing_else(name, pieces):
    assert set(shapes(name)) == pieces


def test_lines_that_run_over_their_corners_are_trimmed_and_told():
    lengths = {name: shape.outline.length for name, shape in shapes("overrun.dxf").items()}
    assert lengths == pytest.approx({"Front": 1000, "Back": 800})
    assert [one for one in sheet("overrun.dxf").unused if one.weight] == []  # the table beside them
    told = [note.message for note in sheet("overrun.dxf").notes if note.code == "corners-overrun"]
    assert ["by up to 6.0 mm" in message for message in told] == [True, True]


def test_an_outline_with_gaps_at_several_corners_is_a_warning():
    (found,) = [one for one in judged("gaps.dxf").findings if one.check == "lines-used"]
    assert (found.code, found.severity.value) == ("piece-size", "warning")
    assert "with 3 more lines it would close, but for gaps of up to 6.4 mm" in found.message
    assert set(shapes("gaps.dxf")) == {"Back"}


def test_two_taped_parts_are_measured_as_one():
    assert shapes("taped.svg")["Front"].outline.length == pytest.approx(200 + 320.31 + 210 + 320, abs=0.1)


def test_what_styles_move_and_shape_stands_where_they_put_it():
    boxes = {name: shape.outline.bounds() for name, shape in shapes("styles.svg").items()}
    assert boxes["Front"] == pytest.approx((40, 40, 240, 340))
    assert boxes["Back"] == pytest.approx((320, 40, 520, 340))
    assert boxes["Yoke"] == pytest.approx((600, 40, 720, 160))
    assert boxes["Cuff"] == pytest.approx((600, 240, 800, 340))
    assert len(shapes("styles.svg")["Front"].grainlines) == 1
    assert {"foreign-object", "switch"} <= codes("styles.svg")


def test_a_title_block_and_a_frame_are_told():
    told = [note.message for note in sheet("framed.dxf").notes if note.code == "not-a-piece"]
    assert ["frame or sheet" in message or "title block" in message for message in told] == [True, True]


def test_what_no_outline_is_taken_from_is_told():
    told = [note.message.split()[0] for note in drawing("not-read.dxf").notes if note.code == "entity-not-read"]
    assert sorted(told) == ["3DFACE", "ACAD_PROXY_ENTITY", "HATCH", "HELIX", "MLINE", "REGION"]
    assert "1 LINE" in said("not-read.dxf", "paper-not-read")


def test_the_second_reading_of_a_dxf_goes_by_facts_and_not_by_words():
    one = drawing("not-read.dxf")
    source = read_source(one.path, None)
    renamed = replace(one, ledger=replace(one.ledger, aside={"in other words": one.ledger.read - one.ledger.used}))
    assert second_reading(source, renamed) == second_reading(source, one)
    assert second_reading(source, one).explained
    unknown = replace(one, ledger=replace(one.ledger, left_out=frozenset()))
    assert second_reading(source, unknown).differences


# Scale


@pytest.mark.parametrize(("name", "width"), [("test-square.svg", 200), ("test-square.dxf", 200)])
def test_a_test_square_tells_the_scale_where_nothing_else_does(name, width):
    x0, _, x1, _ = shapes(name)["Front"].outline.bounds()
    assert x1 - x0 == pytest.approx(width, abs=1e-6)
    assert "is a square marked" in said(name, "units-assumed")
    assert [reading.right for reading in sheet(name).scale] == [True]
    assert sheet(name).unused == ()


def test_stated_millimetres_are_believed_and_both_figures_told():
    x0, _, x1, _ = shapes("test-square-against-mm.svg")["Front"].outline.bounds()
    assert x1 - x0 == pytest.approx(200)
    (found,) = [one for one in judged("test-square-against-mm.svg").findings if one.check == "scale"]
    assert "measures 75.0 mm" in found.message
    assert "should measure 50.0 mm" in found.message


def test_a_sheet_whose_pieces_are_too_small_by_its_unit_is_told_why():
    (failure,) = judged("test-square-against-header.dxf").failures
    assert "2 mm where 50.8 mm are meant" in str(failure)
    assert "--units in" in str(failure)


def test_a_cloak_in_millimetres_is_believed():
    assert "units-implausible" not in codes("cloak.svg")


# Apparel CAD


def test_what_the_base_size_alone_says_serves_all_sizes():
    found = {shape.size: shape for shape in sheet("base-only.dxf").shapes}
    assert list(found) == ["S", "M", "L"]
    assert {shape.labels["material"] for shape in found.values()} == {"shell"}
    assert {len(shape.corners) for shape in found.values()} == {4}
    # Two notches that draw near in the small size stay two; the one at the corner and none at the end of the inside line.
    assert [[notch.count for notch in shape.notches] for shape in found.values()] == [[1, 1, 1]] * 3
    assert all(any(reason.what == "end of an internal line" for reason in shape.reasons) for shape in found.values())
