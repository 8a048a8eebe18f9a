"""What `explain` tells of fits: each whole, with its amounts, its source and its drawing."""

import re
import xml.etree.ElementTree as ElementTree
from pathlib import Path

import pytest
from click.testing import CliRunner

from seamcheck.amounts import length
from seamcheck.cli.main import main
from seamcheck.config.settings import Settings
from seamcheck.engine.plugins import load
from seamcheck.engine.report_format import RenderOptions
from seamcheck.fits.sketch import PIECES
from seamcheck.report.explain import drawn, explained
from seamcheck.report.explain.fits import UNDER_THE_SEAT
from seamcheck.report.figures.sketch import BOTTOM, TOP, answer_figure, fit_figure

SHOP = Settings()
REGISTRY = load(SHOP, checks_only=True)
OPTIONS = RenderOptions(width=100)
NAMES = [fit.name for fit in REGISTRY.fits]
SVG = "{http://www.w3.org/2000/svg}"


def flat(text: str) -> str:
    return " ".join(text.split())


def told(name: str) -> str:
    return flat(explained(name, REGISTRY, SHOP, OPTIONS))


@pytest.fixture(params=REGISTRY.fits, ids=NAMES)
def fit(request):
    return request.param


def test_those_that_come_with_seamcheck_are_there_without_any_plugin():
    assert {
        "prominent-calf", "sway-back", "sway-back-quick", "gaping-waistband", "flat-seat", "low-seat", "deep-torso", "full-seat",
        "full-tummy", "front-crotch", "knock-knees", "bow-legs", "full-thigh", "crotch-depth", "leg-length",
    } == {fit.name for fit in load(SHOP, checks_only=True, plugins=False).fits}  # fmt: skip


def test_a_fit_is_explained_whole(fit):
    text = told(fit.name)
    for sentence in (*fit.seen, *fit.done, *fit.given_back, *fit.followed, *fit.warnings, fit.source):
        assert flat(sentence) in text
    for name, how in fit.alike:
        assert f"{name} {how}" in text
    assert length(fit.first) in text
    assert length(fit.most) in text
    assert "photograph" in text
    assert "cheap cloth" in text


def test_a_fit_says_what_one_needs_to_know(fit):
    assert fit.seen
    assert fit.done
    assert fit.given_back
    assert fit.followed
    assert fit.amount
    assert 0 < fit.first < fit.most
    assert fit.source
    assert fit.sketch is not None
    assert fit.sketch.piece == fit.role


def test_its_sentences_are_sentences(fit):
    for sentence in (*fit.seen, *fit.done, *fit.given_back, *fit.followed, *fit.warnings):
        assert re.match(r"[A-Z]", sentence)
        assert sentence.endswith(".")
    for words in (fit.source, fit.amount, *(how for _, how in fit.alike)):
        assert not words.endswith(".")
    assert re.search("common practice, no source|from memory|\\.com|\\.net|Garment Cutting", fit.source)


def test_what_looks_like_a_fit_is_there_and_mostly_knows_it_back(fit):
    names = [name for name, _ in fit.alike]
    assert set(names) <= set(NAMES) - {fit.name}
    assert len(names) == len(set(names))


def test_amounts_are_round_in_inches(fit):
    for amount in (fit.first, fit.most):
        assert amount / 25.4 * 8 == pytest.approx(round(amount / 25.4 * 8), abs=1e-9)


def test_every_fit_is_in_the_list():
    text = explained("fits", REGISTRY, SHOP, OPTIONS)
    assert re.findall(r"^  ([a-z-]+)  ", text.partition("Folds under the seat, and")[0], re.MULTILINE) == [
        fit.name for fit in sorted(REGISTRY.fits, key=lambda fit: (len(fit.also), fit.role, fit.name))
    ]
    for seen, fit in UNDER_THE_SEAT:
        assert flat(seen) in flat(text)
        assert fit.partition(":")[0] in NAMES


def test_an_unknown_name_is_answered_with_the_nearest_fit():
    result = CliRunner().invoke(main, ["explain", "flat-saet"])
    assert result.exit_code == 2
    assert 'there is no check, fit or topic "flat-saet"; the nearest name is "flat-seat"' in result.stderr


class TestDrawing:
    def test_it_is_an_svg_that_says_what_it_shows(self, fit):
        root = ElementTree.fromstring(drawn(fit.name, REGISTRY))
        texts = flat(" ".join("".join(one.itertext()) for one in root.iter(f"{SVG}text")))
        assert fit.title in texts
        assert root.find(f"{SVG}desc").text == " ".join(fit.done)
        assert f"the {fit.role}" in texts

    def test_every_cut_is_drawn_and_every_slash_has_its_hinge(self, fit):
        body = fit_figure(fit).body
        cuts = fit.sketch.cuts
        assert body.count('class="hinge"') == sum(cut.what == "slash" for cut in cuts)
        for word in ("spread", "overlap"):
            assert body.count(f">{word}<") == sum(cut.opens == word for cut in cuts)
        slashes = sum(2 for cut in cuts if cut.what != "line") + any(cut.what != "line" for cut in cuts)
        assert body.count('class="slash"') == slashes

    def test_folds_are_drawn_on_both_legs_and_lie_on_the_garment(self, fit):
        body, creases = fit_figure(fit).body, fit.sketch.creases
        for cloth in ("tight", "loose"):
            mine = [crease for crease in creases if crease.cloth == cloth]
            assert body.count(f'class="{cloth}"') == sum(1 + crease.both for crease in mine) + bool(mine)
        for point in (point for crease in creases for point in crease.points):
            assert abs(point.real) <= 21.5
            assert TOP < point.imag < BOTTOM

    def test_a_hinge_lies_on_an_edge_of_the_piece(self, fit):
        from seamcheck.report.figures.sketch import SHARP, _smooth

        piece = fit.sketch.piece
        edges = [_smooth(points, sharp=k in SHARP[piece]) for k, points in enumerate(PIECES[piece])]
        for cut in fit.sketch.cuts:
            if cut.what == "slash":
                assert min(edge.nearest(cut.points[-1]).distance for edge in edges) < 1.0

    def test_the_pieces_close(self):
        for edges in PIECES.values():
            for one, other in zip(edges, (*edges[1:], edges[0]), strict=True):
                assert one[-1] == other[0]

    def test_answers_are_drawn_where_they_have_a_sketch(self):
        from seamcheck.fits.which import questions

        answers = [answer for question in questions(REGISTRY.fits) for answer in question.answers]
        figures = [answer_figure(answer) for answer in answers]
        assert [figure is not None for figure in figures] == [answer.sketch is not None for answer in answers]
        assert sum(figure is not None for figure in figures) > 15

    def test_a_check_has_no_picture(self, tmp_path):
        result = CliRunner().invoke(main, ["explain", "seam-length", "--picture", str(tmp_path / "p.svg")])
        assert result.exit_code == 2
        assert '"seam-length" has no picture' in result.stderr

    def test_it_is_written_where_one_says(self, tmp_path):
        path = Path(tmp_path) / "full-seat.svg"
        result = CliRunner().invoke(main, ["explain", "full-seat", "--picture", str(path)])
        assert result.exit_code == 0
        assert path.read_text(encoding="utf-8") == drawn("full-seat", REGISTRY)
