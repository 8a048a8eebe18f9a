"""Pieces that are alike in form, and the pieces of one pattern that answer to those of another; outlines made here, so that all is known."""

import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "pairing"))

from made_pieces import pattern

from seamcheck.comparison.like_pieces import LikePieces
from seamcheck.comparison.likeness import Form, answering, same_course, ways
from seamcheck.geometry.curve import Curve
from seamcheck.pattern.plan import EdgeUse, SeamPlan

LEG = [(0, 0), (180, 10), (190, 120), (240, 200), (210, 900), (20, 900)]  # clockwise as seen, y down
BAND = [(0, 0), (300, 0), (300, 40), (0, 40)]
KITE = [(0, 0), (120, 30), (150, 160), (30, 110)]


def piece(points, name="one", turn=0.0, over=False, larger=1.0):
    """A piece of these points, turned by some degrees, perhaps turned over, and so many times as large."""
    at = np.array([complex(x, y) for x, y in points]) * larger * np.exp(1j * np.radians(turn))
    if over:
        at = -at.conj()[::-1]
    return pattern({"name": name, "outline": [complex(p) for p in at]}).pieces[0]


@pytest.mark.parametrize("turn", [0.0, 37.0, 180.0])
@pytest.mark.parametrize("over", [False, True])
@pytest.mark.parametrize("larger", [1.0, 1.3])
def test_a_piece_is_found_again_however_it_lies_and_in_any_size(turn, over, larger):
    one, other = piece(LEG), piece(LEG, turn=turn, over=over, larger=larger)
    answer = answering(Form(one), Form(other))[0]
    assert answer.over is over
    assert answer.misfit < 0.05
    assert len(answer.corners) == len(LEG)
    for a, b in zip(one.corners, one.corners[1:], strict=False):
        there = [other.corners[answer.corners[name]].at for name in (a.name, b.name)]
        assert abs(there[1] - there[0]) == pytest.approx(larger * abs(b.at - a.at), abs=0.01)


def test_another_form_does_not_answer():
    leg, band, kite = (Form(piece(points)) for points in (LEG, BAND, KITE))
    assert ways(leg, leg)[0].misfit < 0.001
    assert ways(leg, band)[0].misfit > 0.1  # both are long and narrow
    assert ways(kite, band)[0].misfit > 0.3


def test_a_corner_that_only_one_of_them_has_is_passed_over():
    """A corner is cut off: the two that took its place answer to none, or one of them to it; the others are found."""
    cut = [*LEG[:4], (210, 840), (160, 900), LEG[5]]
    one, other = piece(LEG), piece(cut)
    answer = answering(Form(one), Form(other))[0]
    right = [corner.name for corner in one.corners if corner.name in answer.corners]
    kept = {complex(x, y) - complex(*LEG[0]) for x, y in LEG if (x, y) in cut}
    origin = one.corners[0].at, other.corners[0].at
    found = 0
    for name in right:
        here = one.corner(name).at - origin[0]
        if min(abs(here - place) for place in kept) < 0.1:
            found += abs(other.corners[answer.corners[name]].at - origin[1] - here) < 0.1
    assert found == len(LEG) - 1


def test_an_edge_that_bends_otherwise_or_is_too_long_is_not_the_same():
    straight, larger = piece(BAND), piece(BAND, larger=1.2)
    upper = straight.edges[0].name
    bow = Curve.through([0j, 150 - 60j, 300 + 0j])
    rest = Curve.polyline([300 + 0j, 300 + 40j, 40j, 0j])
    bent = pattern({"name": "one", "outline": Curve.join([bow, rest])}).pieces[0]
    curved = next(edge.name for edge in bent.edges if abs(edge.runs[0].turning()) > 45.0)
    assert same_course(straight, larger, upper, ratio=1.2, over=False)
    assert not same_course(straight, piece(BAND, larger=3.0), upper, ratio=1.0, over=False)
    assert not same_course(bent, straight, curved, ratio=1.0, over=False)


# Pieces of a pattern


def test_a_strip_is_no_leg():
    assert found(sheet(("leg", LEG)), sheet(("p1", BAND)))[0] == {}


def sheet(*pieces):
    return pattern(*({"name": name, "outline": [complex(x, y) for x, y in points]} for name, points in pieces)).pieces


def found(pieces, others, seams=(), names=None):
    costs = np.zeros((len(pieces), len(others))) if names is None else np.array(names)
    like = LikePieces(
        pieces, seams, others, costs, (-0.1, -0.3), lambda k, answer: (k, tuple(sorted(answer.corners.items())))
    )
    return {one.piece.name: others[one.other].name for one in like.found()}, like.found()


def test_pieces_are_told_by_form_in_any_order():
    one = sheet(("leg", LEG), ("band", BAND), ("kite", KITE))
    other = sheet(("p1", KITE), ("p2", LEG), ("p3", BAND))
    assert found(one, other)[0] == {"leg": "p2", "band": "p3", "kite": "p1"}


def test_a_name_that_tells_otherwise_is_believed():
    one, other = sheet(("leg", LEG)), sheet(("p1", LEG))
    assert found(one, other, names=[[np.inf]])[0] == {}
    assert found(one, other)[0] == {"leg": "p1"}


def test_seams_tell_strips_apart_that_were_graded_past_each_other():
    """By length the short strip is nearest to the other one's long strip; but each is as long as the edge that it is sewn to."""

    def tall(width):
        return [(0, 0), (width, 0), (width + 30, 500), (0, 500)]

    def wide(width):
        return [(0, 0), (width, 0), (width - 40, 300), (20, 420)]

    def strip(width):
        return [(0, 0), (width, 0), (width, 40), (0, 40)]

    one = sheet(("tall", tall(200)), ("wide", wide(160)), ("long", strip(200)), ("short", strip(160)))
    other = sheet(("t", tall(260)), ("w", wide(205)), ("s", strip(205)), ("l", strip(260)))
    top = {piece.name: piece.edges[0].name for piece in one}
    seams = [
        SeamPlan(name=a, sides=((EdgeUse(a, top[a]),), (EdgeUse(b, top[b]),)))
        for a, b in (("tall", "long"), ("wide", "short"))
    ]
    assert found(one, other, seams)[0] == {"tall": "t", "wide": "w", "long": "l", "short": "s"}


def test_of_two_that_are_the_same_none_is_alone():
    one, other = sheet(("leg", LEG), ("band", BAND)), sheet(("p1", LEG), ("p2", BAND), ("p3", BAND))
    alone = {row.piece.name: row.alone for row in found(one, other)[1]}
    assert alone["leg"]
    names, _ = found(one, other)
    assert names["band"] in ("p2", "p3")
