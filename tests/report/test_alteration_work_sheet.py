"""The work sheet of an alteration: steps that a ruler can follow, beside the piece with its cuts, and a print at true scale."""

import cmath
import io
import math
import re

import pytest
from carried_out import FERRYHAND, FITS, carried_out
from click.testing import CliRunner
from pypdf import PdfReader

from seamcheck.altering.run import alter_file
from seamcheck.cli.main import main
from seamcheck.config.settings import Settings
from seamcheck.engine import plugins
from seamcheck.engine.read import Request
from seamcheck.pattern.recipe import AlongEdge, DartMove, Hinge, Recipe
from seamcheck.report.altering.marks import cuts_of, marks
from seamcheck.report.altering.step_words import lines, title
from seamcheck.report.altering.work_sheet import HIGH, WIDE, sheets, work_sheet
from seamcheck.report.figures.looks import Kind
from seamcheck.report.truing.pages import MARGIN, PAPERS
from seamcheck.report.truing.write import draw_picture

pytestmark = pytest.mark.usefixtures("read_once")

AMOUNT = re.compile(r"([\d.]+) mm \(")


def altered(fit: str):
    return carried_out(fit, "svg", leave=False)


def steps(fit: str):
    (size,) = altered(fit).sizes
    return size.steps


def places(done):
    turned = done.turned
    piece = done.before.pieces[done.step.piece]
    return marks(done.step, piece, turned.cut if turned else None, turned.reliefs if turned else ())


def told(fit: str) -> str:
    pages = work_sheet(altered(fit), "Ferryhand trousers", "a4")
    return " ".join(words.text for page in pages for words in page.words)


@pytest.fixture(params=sorted(FITS))
def fit(request):
    return request.param


def test_every_mark_lies_where_its_words_say(fit):
    for done in steps(fit):
        piece = done.before.pieces[done.step.piece]
        for mark in places(done):
            found = re.match(r"(?:on|the notch on) (\S+?),? ([\d.]+) mm \(.*?\) from ([\w-]+)", mark.words)
            if found is None:
                corner = mark.words.removeprefix("the corner ")
                if corner in [one.name for one in piece.corners]:
                    assert abs(piece.corner(corner).at - mark.at) < 1e-6
                else:
                    assert "along the cut" in mark.words
                continue
            edge, far, corner = piece.edge(found[1]), float(found[2]), found[3]
            station = far if corner == edge.start else edge.length - far
            assert abs(edge.point(station) - mark.at) <= 0.51  # it is told in whole mm


def test_what_is_said_of_a_notch_is_so(fit):
    for done in steps(fit):
        piece = done.before.pieces[done.step.piece]
        for mark in places(done):
            found = re.search(r"that is ([\d.]+) mm \(.*\) from the notch there, towards ([\w-]+)$", mark.words)
            if found is None:
                continue
            edge = piece.edge(re.match(r"on ([\w-]+)", mark.words)[1])
            station = edge.station_nearest(mark.at)
            notch = min(edge.notches, key=lambda one: abs(one.station - station))
            assert abs(abs(notch.station - station) - float(found[1])) <= 0.51
            assert found[2] == (edge.start if station < notch.station else edge.end)


def test_a_cut_runs_from_a_to_b_and_its_rings_lie_round_the_hinges():
    for name in ("full-seat", "prominent-calf", "crotch-depth"):
        done = steps(name)[0]
        by_letter = {mark.letter: mark.at for mark in places(done)}
        cut, *others = cuts_of(done, 2.0)
        assert abs(cut.start - by_letter["A"]) < 1e-6
        assert abs(cut.end - by_letter["B"]) < 1e-6
        rings = [one for one in others if one.is_closed]
        hinges = [by_letter[letter] for letter in ("B", "D") if letter in by_letter]
        assert len(rings) == (len(hinges) if isinstance(done.step, Hinge) else 0)
        for ring, hinge in zip(rings, hinges, strict=False):
            assert all(abs(abs(ring.point(ring.length * k / 7) - hinge) - 2.0) < 1e-5 for k in range(7))


def test_how_far_a_relief_cut_opens_is_what_two_turns_by_themselves_leave():
    """The inner part turns about B, the outer one with it and on about D: where C comes to lie on both, by complex numbers alone."""
    (done,) = steps("prominent-calf")
    a, b, c, d = (mark.at for mark in places(done))
    flip = -1.0 if done.before.pieces["back"].y_down else 1.0
    first, second = (cmath.exp(1j * math.radians(flip * turn)) for turn in done.turned.turns)

    def inner(point: complex) -> complex:
        return b + (point - b) * first

    def outer(point: complex) -> complex:
        return inner(d) + (point - d) * second

    gap = abs(inner(c) - outer(c))
    (sentence,) = (one for one in lines(done, places(done)) if "stands open" in one)
    assert float(AMOUNT.search(sentence)[1]) == pytest.approx(gap, abs=0.06)
    assert "from C to D" in sentence
    # The parts move away from one another: neither lies over the other, and what is lapped is at A.
    across = (outer(c) - inner(c)) * ((d - c) / abs(d - c)).conjugate()
    side = ((a - c) * ((d - c) / abs(d - c)).conjugate()).imag
    assert across.imag * side > 0


def test_the_turn_is_the_wedge_over_the_length_of_the_cut():
    """Plain geometry, w/r in radians: 12.7 mm over 259 mm is 2.8 degrees."""
    (done,) = steps("full-seat")
    sentence = next(one for one in lines(done, places(done)) if one.startswith("To check it"))
    turn = float(re.search(r"by ([\d.]+)°", sentence)[1])
    assert turn == pytest.approx(math.degrees(done.step.amount / done.turned.cut.length), abs=0.06)


def test_the_steps_are_numbered_in_order_and_name_their_fit_once():
    text = told("sway-back-quick")
    assert text.index("1. back: draw the dart of dart-tip 6.4 mm (1/4 in) deeper.") < text.index(
        "2. back: take in crotch"
    )
    assert text.count("Sway back, the quick way (sway-back-quick).") == 1
    assert text.index("2. back") < text.index("3. Shorten band-back.lower by 9.5 mm") < text.index("Then measure")
    assert "back.waist 180.7 mm (7 1/8 in), band-back.lower 180.7 mm (7 1/8 in)" in text


def test_what_is_cut_is_told_as_hands_do_it():
    text = told("prominent-calf")
    for words in (
        "1. back: cut from A to a hinge at B, and overlap by 6.4 mm (1/4 in) at A.",
        "A: on outseam, 317 mm (12 1/2 in) from side-hem; that is 123 mm (4 13/16 in) from the notch there, towards side-hem.",
        "C: half-way along the cut from A to B.",
        "stop a thread short of B: that is the hinge",
        "Tape down the part with hem: it stays.",
        "Lap the other part over it until outseam is 6.4 mm (1/4 in) shorter at A",
        "Then draw anew what the cut has bent, and give back what it took",
        "mark the new side-waist 6.3 mm (1/4 in) past the old one",
        "front.outseam 1016.6 mm (40 in), back.outseam 1016.6 mm (40 in)",
        "Make one change at a time",
    ):
        assert words in text
    assert "give back what it took" not in told("full-seat")


def test_a_fit_of_two_pieces_has_a_step_for_each():
    titles = [title(done) for done in steps("knock-knees")]
    assert titles == [
        "back: cut from A to a hinge at B, and spread by 6.4 mm (1/4 in) at A",
        "front: cut from A to a hinge at B, and spread by 6.4 mm (1/4 in) at A",
    ]


def test_sentences_are_sentences(fit):
    for done in steps(fit):
        assert not title(done).endswith(".")
        for line in lines(done, places(done)):
            assert re.match("[A-Z]", line)
            assert line.endswith(".")


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_drawings_and_words_keep_to_the_page_and_off_one_another(fit, paper):
    width, height = PAPERS[paper]
    for page in work_sheet(altered(fit), "Ferryhand trousers", paper):
        boxes = [line.curve.bounds() for line in page.lines]
        assert all(x0 >= MARGIN - 1 and x1 <= width - MARGIN + 1 for x0, _, x1, _ in boxes)
        assert all(y0 >= MARGIN - 1 and y1 <= height - MARGIN + 1 for _, y0, _, y1 in boxes)
        drawn = [line.curve.bounds() for line in page.lines if line.kind in (Kind.EDGE, Kind.SLASH)]
        for words in page.words:
            if not words.left:
                continue  # the letters of the marks
            assert words.at.real + words.width <= width - MARGIN + 0.1
            for x0, y0, x1, y1 in drawn:
                over = words.at.real < x1 and words.at.real + words.width > x0
                assert not (over and y0 < words.at.imag and words.at.imag - words.size < y1)


def test_each_step_stands_beside_its_piece():
    done = steps("full-seat")[0]
    (page, *_) = work_sheet(altered("full-seat"), "Ferryhand trousers", "a4")
    x0, y0, x1, y1 = next(line.curve.bounds() for line in page.lines if line.kind is Kind.EDGE)
    assert x1 - x0 <= WIDE
    assert y1 - y0 <= HIGH
    letters = sorted(words.text for words in page.words if not words.left)
    assert letters == [mark.letter for mark in places(done)]
    slashes = [line for line in page.lines if line.kind is Kind.SLASH]
    assert len(slashes) == 1


def test_the_print_is_at_true_scale_with_the_cut_on_the_piece():
    whole = altered("full-seat")
    data, boxes = draw_picture(whole.trued, ".pdf", None, "a4", sheets=sheets(whole))
    assert boxes == ""
    pages = PdfReader(io.BytesIO(data)).pages
    text = " ".join(page.extract_text() for page in pages)
    assert "where it is cut, with a ring round the hinge" in text
    assert "Work sheet" in text
    assert "back: cut from A to a hinge at B" in " ".join(text.split())
    (done,) = steps("full-seat")
    subject = next(one for one in sheets(whole).subjects if one.name == "back")
    assert subject.cuts[0].length == pytest.approx(done.turned.cut.length)


def test_the_same_alteration_gives_the_same_bytes():
    whole = altered("sway-back")
    first, second = (draw_picture(whole.trued, ".pdf", None, "letter", sheets=sheets(whole))[0] for _ in range(2))
    assert first == second


def test_the_command_prints_it(tmp_path):
    path = tmp_path / "sheet.pdf"
    result = CliRunner().invoke(
        main, ["alter", str(FERRYHAND / "ferryhand.svg"), "full-seat", "--picture", str(path)]
    )
    assert result.exit_code == 0, result.output
    assert "rehearsed: nothing is written" in " ".join(result.stdout.split())
    assert "Work sheet" in PdfReader(path).pages[1].extract_text()
    again = CliRunner().invoke(main, ["alter", str(FERRYHAND / "ferryhand.svg"), "full-seat", "--picture", str(path)])
    assert again.exit_code == 2
    assert "the file exists already" in again.stderr


def test_a_dart_closed_into_another_place_is_told_as_hands_do_it():
    step = DartMove(piece="back", dart="dart-tip", into=AlongEdge("outseam", 90.0, "side-waist"))
    made = alter_file(
        str(FERRYHAND / "ferryhand.svg"),
        Recipe(steps=(step,)),
        Request(),
        plugins.load(Settings(), plugins=False),
        Settings(),
    )
    (done,) = made.sizes[0].steps
    assert title(done) == "back: close the dart of dart-tip, and open it at D"
    found = places(done)
    piece = done.before.pieces["back"]
    assert [mark.letter for mark in found] == ["A", "B", "C", "D"]
    assert abs(found[3].at - piece.edge("outseam").point(90.0)) < 1e-6
    cut, ring = cuts_of(done, 4.0)
    assert (cut.start, cut.end) == pytest.approx((found[3].at, piece.darts[0].points[1]))
    assert ring.is_closed
    (page,) = work_sheet(made, "Ferryhand trousers", "a4")
    words = " ".join(one.text for one in page.words)
    assert "until A lies on C" in words
    # Nothing is drawn anew: the part turned as it is.
    assert "the new line lies" not in words
    assert "past the old one" not in words
