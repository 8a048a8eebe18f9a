"""The picture of a proposal: whole, legible without colour, and true to the plan."""

import re
import sys
import xml.etree.ElementTree as ET
from dataclasses import replace
from itertools import combinations, pairwise
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent))

from proposing import CORPUS, corpus, demo, proposed
from shapely.geometry import Polygon

from seamcheck.pairing.proposal import Proposal
from seamcheck.pattern.plan import EdgeUse, Plan
from seamcheck.report.lettering import text_width
from seamcheck.report.pairing import marks
from seamcheck.report.pairing.sheet import lay_out, thinned
from seamcheck.report.pairing.svg import pairing_svg

SVG = "{http://www.w3.org/2000/svg}"
PATTERNS = [
    "regatta-six-gore-skirt",  # apparel DXF, one edge six times in a row
    "bosun-six-panel-cap",  # plain DXF
    "portage-roll-top-bag",  # one edge in two seams
    "sculler-round-kit-bag",  # two halves of a circle against one edge
    "umpire-shirt",  # apparel DXF, every piece in coordinates of its own
]


def _proposal(name: str) -> Proposal:
    return demo("waist-back", form=f"{name}.svg") if name == "ferryhand" else corpus(name)


def _texts(svg: str) -> list[str]:
    return ["".join(text.itertext()) for text in ET.fromstring(svg).iter(f"{SVG}text")]


def _points(d: str) -> np.ndarray:
    numbers = [float(one) for one in re.findall(r"-?[\d.]+", d)]
    return np.array(numbers[::2]) + 1j * np.array(numbers[1::2])


@pytest.mark.parametrize("name", ["ferryhand", *PATTERNS])
def test_every_seam_bears_its_number_on_both_sides(name):
    proposal = _proposal(name)
    svg = pairing_svg(proposal)
    marks = [mark for mark in ET.fromstring(svg).iter(f"{SVG}g") if mark.get("data-seam")]
    for number, seam in enumerate(proposal.seams, 1):
        told = f"{number}{'?' if seam.standing == 'question' else ''}"
        for side, uses in enumerate(seam.seam.sides, 1):
            for use in uses:
                here = [
                    mark
                    for mark in marks
                    if (mark.get("data-seam"), mark.get("data-side")) == (str(number), str(side))
                    and mark.get("data-edge") == f"{use.piece}.{use.edge}"
                ]
                assert here, f"seam {number} is not shown on {use}"
                assert all("".join(mark.itertext()) == told for mark in here)


@pytest.mark.parametrize("name", ["ferryhand", *PATTERNS])
def test_every_name_that_the_plan_gives_is_written(name):
    proposal = _proposal(name)
    texts = _texts(pairing_svg(proposal))
    for piece in proposal.plan.pieces:
        assert piece.name in texts
        for corner in piece.corners:
            assert corner in texts
        for edge in piece.edges:
            role = "unsewn" if edge in piece.unsewn else "fold" if edge == piece.fold else ""
            assert (f"{edge} ({role})" if role else edge) in texts


@pytest.mark.parametrize("name", ["ferryhand", *PATTERNS])
def test_pieces_lie_apart_at_the_scale_that_is_told_as_they_are_drawn(name):
    proposal = _proposal(name)
    sheet = lay_out(proposal)
    shapes = [Polygon([(p.real, p.imag) for p in _points(piece.outline)]) for piece in sheet.pieces]
    assert not any(a.intersects(b) for a, b in combinations(shapes, 2))
    for piece, shape in zip(sheet.pieces, shapes, strict=True):
        true = next(p for p in proposal.pattern.in_size(sheet.size) if p.name == piece.name)
        x0, y0, x1, y1 = true.outline.bounds()
        drawn = [
            value * sheet.scale for value in (shape.bounds[2] - shape.bounds[0], shape.bounds[3] - shape.bounds[1])
        ]
        assert drawn == pytest.approx([x1 - x0, y1 - y0], abs=0.2 * sheet.scale)
        assert shape.area * sheet.scale**2 == pytest.approx(abs(true.outline.signed_area()), rel=0.01)
        # As it is seen: where the file has y up, what is high in the file is high on the sheet.
        start = true.outline.start
        share = (start.imag - y0) / (y1 - y0)
        high = share if true.y_down else 1 - share
        first = _points(piece.outline)[0]
        assert (first.imag - shape.bounds[1]) / (shape.bounds[3] - shape.bounds[1]) == pytest.approx(high, abs=0.02)


@pytest.mark.parametrize(
    "name", [path.stem for path in sorted(CORPUS.glob("*.svg"))[::9]] + ["ferryhand", "umpire-shirt"]
)
def test_nearly_every_name_has_a_place_of_its_own(name):
    proposal = demo() if name == "ferryhand" else _corpus_file(name)
    sheet = lay_out(proposal)
    labels = [label for piece in sheet.pieces for label in (piece.title, *(e.label for e in piece.edges))]
    labels += [label for piece in sheet.pieces for _, label in piece.corners]
    boxes = []
    for label in labels:
        turn = np.exp(1j * np.radians(label.angle))
        half = complex(text_width(label.text, label.size), label.size) / 2 * 0.95
        corners = [
            label.at + turn * complex(sx * half.real, sy * half.imag)
            for sx, sy in ((-1, -1), (1, -1), (1, 1), (-1, 1))
        ]
        boxes.append(Polygon([(c.real, c.imag) for c in corners]))
    crossing = [
        (labels[i].text, labels[j].text)
        for i, j in combinations(range(len(boxes)), 2)
        if boxes[i].intersects(boxes[j])
    ]
    assert len(crossing) <= 0.03 * len(labels), crossing
    for box in boxes:
        assert box.bounds[0] > -1
        assert box.bounds[2] < sheet.width + 1


def _corpus_file(name: str) -> Proposal:
    return corpus(name.removesuffix("-bare").removesuffix("-altered"))


def test_a_question_is_listed_with_its_reasons_and_what_else_it_could_be():
    told = " ".join(_texts(pairing_svg(demo("waist-back"))))
    for words in (
        "Questions",
        "6?",
        "waist-back",
        "the lengths agree within 0.1 mm (for)",
        "62% likely",
        "Otherwise: back.hem",
    ):
        assert words in told
    assert "Questions" not in _texts(pairing_svg(demo()))


def test_open_edges_are_told_apart_and_listed():
    proposal = demo()
    plan = replace(proposal.plan, seams=tuple(s for s in proposal.plan.seams if s.name != "inseam"))
    svg = pairing_svg(proposed(proposal.pattern, plan))
    texts = _texts(svg)
    assert texts.count("inseam (open)") == 2
    assert any("front.inseam, back.inseam" in text for text in texts)
    classes = {g.get("class") for g in ET.fromstring(svg).iter(f"{SVG}g")}
    assert {"edge open", "edge sewn", "edge unsewn", "edge fold"} <= classes


def test_names_from_a_file_stay_text():
    proposal = demo()
    bad = "<script>&\"'\x07\ufffe</text>"
    plan = replace(proposal.plan, name=bad, pieces=tuple(
        replace(piece, name=bad if piece.name == "pocket" else piece.name) for piece in proposal.plan.pieces
    ))  # fmt: skip
    pattern = replace(proposal.pattern, name=bad, pieces=tuple(
        replace(piece, name=bad if piece.name == "pocket" else piece.name) for piece in proposal.pattern.pieces
    ))  # fmt: skip
    svg = pairing_svg(proposed(pattern, plan))
    assert not list(ET.fromstring(svg).iter(f"{SVG}script"))
    assert any(text.startswith("<script>&\"'\N{REPLACEMENT CHARACTER}") for text in _texts(svg))


def test_a_seam_of_an_edge_that_the_drawing_lacks_is_listed_all_the_same():
    proposal = demo()
    pattern = replace(
        proposal.pattern,
        pieces=tuple(
            replace(piece, edges=tuple(edge for edge in piece.edges if edge.name != "inseam"))
            for piece in proposal.pattern.pieces
        ),
    )
    assert "front.inseam to back.inseam; 783 mm and 783 mm" in _texts(pairing_svg(replace(proposal, pattern=pattern)))


def test_a_pattern_without_a_piece_gives_a_picture_too():
    proposal = demo()
    empty = Proposal(pattern=replace(proposal.pattern, pieces=()), plan=Plan(), seams=())
    assert "0 pieces" in "".join(_texts(pairing_svg(empty)))


def test_the_same_proposal_gives_the_same_bytes_and_no_viewer_needs_more_than_plain_svg():
    svg = pairing_svg(demo("waist-back"))
    assert pairing_svg(demo("waist-back")) == svg
    assert "var(" not in svg
    assert "<script" not in svg


def test_which_way_a_seam_is_walked_is_shown_by_arrows_that_leave_the_ends_that_meet():
    """Turning a use round turns its arrows round."""
    proposal = demo()
    seam = proposal.seams[0]
    turned = replace(seam, seam=replace(seam.seam, sides=(seam.seam.sides[0], (EdgeUse("back", "outseam", True),))))

    def arrows(one):
        marks = ET.fromstring(pairing_svg(replace(proposal, seams=(one,)))).iter(f"{SVG}g")
        found = [g for g in marks if g.get("data-edge") == "back.outseam"]
        return [
            float(re.search(r"rotate\(([-\d.]+)\)", path.get("transform"))[1])
            for g in found
            for path in g.iter(f"{SVG}path")
            if path.get("class") == "arrow"
        ]

    before, after = arrows(seam), arrows(turned)
    assert before
    assert [(b - a) % 360 for a, b in zip(before, after, strict=True)] == [180.0] * len(before)


def test_ten_seams_differ_without_any_colour():
    looks = [marks.style(index)[:2] for index in range(10)]
    assert len(set(looks)) == 10


@pytest.mark.parametrize(
    ("paper", "hues"),
    [
        ("#ffffff", marks.HUES),
        ("#fbfaf6", marks.HUES),
        ("#171a1d", marks.HUES_ON_DARK),
        ("#1f2327", marks.HUES_ON_DARK),
    ],
)
def test_every_hue_stands_out_from_the_paper(paper, hues):
    """WCAG 2.2, success criterion 1.4.3: text has a contrast of at least 4.5 to 1; relative luminance as defined there."""

    def luminance(colour):
        parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
        return sum(weight * c for weight, c in zip((0.2126, 0.7152, 0.0722), linear, strict=True))

    for hue in hues:
        low, high = sorted([luminance(paper), luminance(hue)])
        assert (high + 0.05) / (low + 0.05) >= 4.5, hue


def test_thinning_keeps_the_line_within_what_can_be_seen():
    line = np.exp(1j * np.linspace(0, 3, 400)) * 40
    few = thinned(line)
    assert len(few) < 60
    t = np.linspace(0, 1, 50)
    dense = np.concatenate([a + (b - a) * t for a, b in pairwise(few)])
    assert np.abs(line[:, None] - dense[None, :]).min(axis=1).max() < 0.06
