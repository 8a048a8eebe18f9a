"""One drawing of a piece: what it shows is the same everywhere, and its names keep off its lines."""

import sys
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent))

from pages import DEMO, judged
from proposing import corpus, demo

import seamcheck
from seamcheck.pattern.junction_layout import upright
from seamcheck.report.figures.drawn import lines, lines_to_cut, roles, ticks
from seamcheck.report.figures.looks import LOOKS, TONES, Kind, Tone, rule
from seamcheck.report.figures.piece import piece_figure
from seamcheck.report.lettering import EDGE_TEXT, text_width
from seamcheck.report.pairing.sheet import lay_out

GILET = DEMO.parent / "sewline" / "gilet.svg"
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def back():
    return next(piece for piece in seamcheck.read(DEMO / "ferryhand.svg").pieces if piece.name == "back")


def _kinds(drawn):
    return {kind: sum(line.kind is kind for line in drawn) for kind in Kind}


def test_a_piece_has_all_its_lines_whoever_draws_it(back):
    looked_at, cut = _kinds(list(lines(back, 8.0))), _kinds(list(lines_to_cut(back, 1.0)))
    assert looked_at[Kind.EDGE] == sum(len(edge.runs) for edge in back.edges)
    assert cut[Kind.EDGE] == 1
    for kind in (Kind.NOTCH, Kind.GRAIN):
        assert looked_at[kind] == cut[kind]
    # The legs of the dart are a part of its outline.
    assert (looked_at[Kind.INNER], cut[Kind.INNER]) == (2 * len(back.darts), 0) == (2, 0)
    assert looked_at[Kind.NOTCH] == sum(notch.count for edge in back.edges for notch in edge.notches) > 0
    assert looked_at[Kind.GRAIN] == 2 * len(back.grainlines) > 0  # the shaft and the barbs


def test_a_notch_is_square_into_the_cloth_and_no_shorter_than_can_be_cut(back):
    for paper, long in ((1.0, 6.0), (10.0, 24.0)):
        for tick in ticks(back, paper):
            assert tick.curve.length == pytest.approx(long)
            assert back.outline.contains(tick.curve.end)
            near = back.outline.nearest(tick.curve.start)
            assert near.distance < 0.5 * paper  # a double notch stands on both sides of its place
            along = (tick.curve.end - tick.curve.start) / long
            assert abs((along * back.outline.tangent(near.station).conjugate()).real) < 0.2


def test_where_there_are_both_lines_the_one_that_scissors_follow_is_heavy_only_to_cut_by():
    piece = next(one for one in seamcheck.read(GILET, plan=GILET.with_suffix(".seams.toml")).pieces)
    assert piece.drawn is not piece.outline
    (heavy,) = (line.curve for line in lines_to_cut(piece, 1.0) if line.kind is Kind.EDGE)
    assert heavy is piece.drawn
    (cut,) = (line.curve for line in lines(piece, 1.0) if line.kind is Kind.CUT)
    assert cut is piece.drawn
    assert LOOKS[Kind.CUT].width < LOOKS[Kind.EDGE].width
    for line in lines(piece, 1.0):
        if line.kind is Kind.NOTCH:
            assert piece.drawn.nearest(line.curve.start).distance < 1e-6
            assert piece.outline.nearest(line.curve.end).distance < 1e-6


def test_a_plan_says_what_becomes_of_an_edge(back):
    file = judged(DEMO / "ferryhand.svg", DEMO / "ferryhand.seams.toml")
    plan = next(one for one in file.geometry.plan.pieces if one.name == "back")
    told = roles(back, plan, ("crotch",))
    assert (told["hem"], told["crotch"], told["inseam"]) == (Kind.UNSEWN, Kind.OPEN, Kind.EDGE)
    band = next(one for one in file.geometry.plan.pieces if one.fold)
    piece = next(one for one in file.geometry.pieces if one.name == band.name)
    told = roles(piece, band)
    assert told[band.fold] is Kind.FOLD
    # Nothing that is drawn below the fold fills its dashes.
    assert piece.folds
    assert not [line for line in lines(piece, 4.0, told) if line.kind is Kind.INNER]


def test_lines_differ_without_their_colours():
    looks = [(look.width, look.dashes) for look in LOOKS.values()]
    assert len(set(looks)) == len(looks)
    assert set(LOOKS) == set(Kind)
    assert (
        rule(".x", Kind.OLD) == ".x{fill:none;stroke:var(--faint,#5b636b);stroke-width:0.25;stroke-dasharray:2 1.5}"
    )


def test_every_colour_stands_out_from_its_paper():
    """WCAG 2.2, success criterion 1.4.3: a contrast of 4.5 to 1; relative luminance as defined there."""

    def luminance(colour):
        parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
        return float(np.dot((0.2126, 0.7152, 0.0722), linear))

    for tone in Tone:
        for own, paper in zip(TONES[tone], ("#ffffff", "#171a1d"), strict=True):
            low, high = sorted((luminance(own), luminance(paper)))
            assert (high + 0.05) / (low + 0.05) >= 4.5, tone


# Names


def _over(points, at: complex, half: complex, angle: float) -> bool:
    """Whether one of some points lies in a box round a point."""
    local = (points - at) * np.exp(-1j * np.radians(angle))
    return bool(((np.abs(local.real) < half.real) & (np.abs(local.imag) < half.imag)).any())


def _dense(points, step: float = 0.1):
    """The polyline as points 0.1 mm of paper apart."""
    return np.concatenate([np.linspace(a, b, max(2, int(abs(b - a) / step))) for a, b in pairwise(points)])


def _half(words: str, size: float) -> complex:
    """Half of the box that the letters themselves take."""
    return complex(text_width(words, size) * 0.9, size * 0.7) / 2


@pytest.mark.parametrize("name", ["ferryhand", "umpire-shirt", "bosun-six-panel-cap", "sculler-round-kit-bag"])
def test_on_the_page_to_confirm_no_name_lies_over_an_outline_and_none_is_longer_than_its_edge(name):
    proposal = demo(form="ferryhand.svg") if name == "ferryhand" else corpus(name)
    sheet = lay_out(proposal)
    over = []
    for piece in sheet.pieces:
        outline = [(own.key, _dense(run)) for own in piece.edges for run in own.runs]
        assert outline
        for edge in piece.edges:
            label = edge.label
            if label.size == EDGE_TEXT:  # along its edge
                assert text_width(label.text, label.size) <= edge.drawn_length
            half = _half(label.text, label.size)
            over += [
                f"{edge.key} over {key}" for key, points in outline if _over(points, label.at, half, label.angle)
            ]
    assert over == []


@pytest.mark.parametrize("compact", [False, True])
@pytest.mark.parametrize("name", ["front", "back", "band-front", "pocket"])
def test_in_a_report_no_name_lies_over_an_outline(name, compact):
    file = judged(DEMO / "ferryhand.svg", DEMO / "ferryhand.seams.toml")
    figure = piece_figure(file, name, file.sizes[0], {}, compact=compact)
    root = ElementTree.fromstring(f'<svg xmlns="http://www.w3.org/2000/svg">{figure.body}</svg>')
    piece = next(one for one in file.geometry.pieces if one.name == name)
    outline = next(path for path in root.iter(f"{SVG}path") if path.get("class") == "outline")
    start = complex(*map(float, outline.get("d")[1:].replace("L", " ").replace("C", " ").split()[:2]))
    scale = float(figure.description.split("1 : ")[1].split(",")[0])
    turned = piece.outline.transformed(upright(piece))
    points = start + (_dense(turned.polygon(0.05), 0.1 * scale) - turned.start) / scale
    texts = [text for text in root.iter(f"{SVG}text") if "middle" in (text.get("class") or "")]
    assert len(texts) >= len(piece.edges)
    for text in texts:
        size, said = float(text.get("font-size")), "".join(text.itertext())
        angle = float((text.get("transform") or "rotate(0 ").removeprefix("rotate(").split()[0])
        base = complex(float(text.get("x")), float(text.get("y")))
        at = base - 0.35j * size * np.exp(1j * np.radians(angle))
        assert not _over(points, at, _half(said, size), angle), said
