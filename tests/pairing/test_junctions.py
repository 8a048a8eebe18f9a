"""What the pieces round a point say: made pieces whose seams close there, and look-alikes that must stay questions."""

from itertools import pairwise

import numpy as np
import pytest
from made_pieces import pattern, rectangle

from seamcheck.geometry.curve import Curve
from seamcheck.pairing.candidates import Field
from seamcheck.pairing.doubts import WHICH_ENDS
from seamcheck.pairing.junctions import CLOSES_FLAT, ITS_TWIN, THEY_CLOSE, Fans
from seamcheck.pairing.lines import Use, survey
from seamcheck.pairing.propose import solve_pattern

UPRIGHT = (100 + 300j, 100 + 100j)


def told(solution, *names):
    """The seams between edges of some pieces, by the names of their pieces."""
    return [
        seam
        for seam in solution.seams
        if {solution.parts[solution.lines[use.line].piece].name for use in (*seam.first, *seam.second)} == set(names)
    ]


def skirt(name, width, notch, cut="Cut 2", **more):
    """A skirt piece that widens to its hem on the right; its left edge is the centre."""
    outline = [0j, complex(width, 0), complex(width + 33.3, 500.7), complex(0, 500.7)]
    return {"name": name, "outline": outline, "grain": UPRIGHT, "cut": cut, "notches": [notch], **more}


def facing(name, width, cut="Cut 2"):
    return rectangle(name, width, 61.0, cut=cut)


def test_facings_are_joined_where_the_seam_between_their_pieces_ends():
    made = pattern(
        skirt("Skirt front", 181.3, 190 + 130j),
        skirt("Skirt back", 174.9, 183.5 + 130j),
        facing("Front facing", 181.3),
        facing("Back facing", 174.9),
    )
    found = solve_pattern(made)
    sides = told(found, "Skirt front", "Skirt back")
    assert any(seam.sure and any(term.kind == "notches" for term in seam.terms) for seam in sides)
    joined = [seam for seam in told(found, "Front facing", "Back facing") if seam.sure]
    assert joined
    assert all(seam.lengths[0] == pytest.approx(61.0, abs=0.01) for seam in joined)
    assert all(any(term.words == THEY_CLOSE and term.points > 0 for term in seam.terms) for seam in joined)
    # The corners of the hems meet too, but two square corners make no full circle.
    hems = {line.index for line in found.lines if (line.slant or 0.0) > 85.0}
    assert not any({use.line for use in (*seam.first, *seam.second)} <= hems for seam in sides)


def fans(*seams_of, pieces):
    """The fans over some seams of made pieces, given as pairs of uses by piece and edge number."""
    parts, lines = survey(pattern(*pieces).pieces)
    field = Field(parts, lines)

    def use(piece, edge, backwards=False):
        return Use(parts[piece].lines[edge], backwards)

    seams = [field.candidate("pair", [((use(*a),), (use(*b),))], []) for a, b in seams_of]
    return field, use, Fans(field, seams)


SQUARES = [rectangle(f"piece {name}", 200.0 + 7 * k, 300.0, cut="Cut 2") for k, name in enumerate("abcd")]


def test_four_square_corners_close_flat_with_the_last_seam():
    # Clockwise from the upper left corner: upper 0, right 1, lower 2, left 3. Four pieces laid round one point.
    around = [((0, 2), (1, 0, True)), ((0, 1), (2, 3, True)), ((2, 2), (3, 0, True))]
    field, use, found = fans(*around, pieces=SQUARES)
    last = field.candidate("pair", [((use(1, 1),), (use(3, 3, True),))], [])
    assert found.closing(last) == (CLOSES_FLAT, None)


def test_two_square_corners_do_not_close():
    field, use, found = fans(((0, 1), (1, 3, True)), pieces=SQUARES[:2])
    hem = field.candidate("pair", [((use(0, 2),), (use(1, 2, True),))], [])
    first, last = found.closing(hem)
    assert -CLOSES_FLAT in (first, last)  # a point of cloth, which only bags have


def test_a_line_meets_its_twin_where_the_line_beside_it_does():
    # The centre of the upper piece is sewn to its twin, and its lower edge to the piece below.
    around = [((0, 3), (0, 3)), ((0, 2), (1, 0, True))]
    field, use, found = fans(*around, pieces=SQUARES[:2])
    below = field.candidate("twin", [((use(1, 3),), (use(1, 3),))], [])
    assert CLOSES_FLAT + ITS_TWIN in found.closing(below)
    other_side = field.candidate("twin", [((use(1, 1),), (use(1, 1),))], [])
    assert found.closing(other_side) == (None, None)


@pytest.mark.parametrize("turned", [False, True])
def test_ends_that_only_the_way_up_tells_are_known_by_arrows_drawn_alike(turned):
    def shoulder(name, depth, turn):
        """A slanted edge that is square at both ends, above other edges that have no mate."""
        a, b = 62j, 137.3 + 0j
        down = 1j * (b - a) / abs(b - a)
        outline = [a, b, b + depth * down, 201.1 + depth * 3.1j, -12 + depth * 3.3j, a + 0.7 * depth * down]
        grain = UPRIGHT
        if turn:
            outline, grain = ([200 + 400j - point for point in points] for points in (outline, grain))
        return {"name": name, "outline": outline, "grain": tuple(grain), "cut": "Cut 2"}

    found = solve_pattern(pattern(shoulder("Front", 103.7, False), shoulder("Back", 131.9, turned)))
    (seam,) = [one for one in told(found, "Front", "Back") if abs(one.difference) < 0.01]
    assert seam.lengths[0] == pytest.approx(abs(137.3 - 62j), abs=0.01)
    assert seam.doubt == (WHICH_ENDS if turned else "")


def half(name, waist, fork, hem, inner_hem, cut="Cut 2"):
    """Half a pair of trousers: waist, hollow crotch, inseam, hem and an upright outseam at 0."""
    corners = [0j, waist, fork, inner_hem, hem]
    lines = [Curve.line(a, b).segments for a, b in pairwise([*corners, 0j])]
    square = 1j * (inner_hem - fork) / abs(inner_hem - fork)  # to the inseam
    lines[1] = np.array([[waist, waist + 14 + 130j, fork + 70 * square, fork]])
    return {
        "name": name,
        "outline": Curve(np.concatenate(lines)),
        "grain": (80 + 700j, 80 + 300j),
        "cut": cut,
        "notches": [0 + 400j, (fork + inner_hem) / 2],
    }


def half_trousers(*more):
    front = half("Trousers front", 190 + 0j, 252 + 262j, 0 + 981.7j, 232 + 981.7j)
    back = half("Trousers back", 214 + 0j, 330 + 268j, 0 + 981.7j, complex(330 - 62.9, 981.7 + 2.4))
    return solve_pattern(pattern(front, back, *more))


@pytest.mark.parametrize("fly", [False, True])
def test_a_front_crotch_is_asked_about_only_where_a_fly_is_among_the_pieces(fly):
    found = half_trousers(*([rectangle("Fly facing", 41.0, 190.0, cut="Cut 1")] if fly else []))
    (front,) = [seam for seam in told(found, "Trousers front") if seam.twin]
    assert front.sure is not fly
    assert (front.doubt == "a front may be open for a fly") is fly


def test_straight_edges_that_may_be_the_centres_are_asked_about():
    found = solve_pattern(pattern(skirt("Skirt front", 181.3, 190 + 130j), skirt("Skirt back", 174.9, 183.5 + 130j)))
    sides = told(found, "Skirt front", "Skirt back")
    assert any(seam.sure for seam in sides)  # the slanted ones, with a notch
    centres = [seam for seam in sides if seam.lengths[0] == pytest.approx(500.7, abs=0.01)]
    assert [seam.doubt for seam in centres] == ["both may be the centre of their piece"]


def test_the_ends_of_a_collar_are_never_sewn_for_sure():
    found = solve_pattern(
        pattern(
            skirt("Cape half", 314.2, 320 + 130j, cut="Cut 2"),
            rectangle("Collar", 314.2, 70.0, cut="Cut 1 on fold"),
        )
    )
    assert not any(seam.sure and seam.twin for seam in told(found, "Collar"))
