"""What is measured of a candidate is the same whichever end it is told from, and all of it is a number."""

import numpy as np
import pytest
from made_pieces import pattern, rectangle

from seamcheck.pairing.alike import Classes
from seamcheck.pairing.candidates import Candidate, simple
from seamcheck.pairing.features import NONE, Measures
from seamcheck.pairing.lines import survey

FRONT = {
    "name": "Front",
    "outline": [0j, 300 + 0j, 350 + 500j, 20 + 520j],
    "notches": [320 + 200j, 150 + 0j],
    "grain": (150 + 400j, 150 + 100j),
}
BACK = {"name": "Back", "outline": [0j, 320 + 0j, 340 + 500j, -30 + 505j], "notches": [0 + 210j]}


@pytest.fixture(scope="module")
def classes():
    return Classes(*survey(pattern(FRONT, BACK, rectangle("Band", 620, 40)).pieces))


def turned(side):
    return tuple(use.turned() for use in reversed(side))


def test_a_candidate_measures_the_same_from_its_other_end(classes):
    found = simple(classes)
    again = [Candidate(one.kind, turned(one.first), turned(one.second), one.links, one.atoms) for one in found]
    plain, other = (Measures(classes).table(some) for some in (found, again))
    assert np.allclose(plain.seams, other.seams, atol=1e-9)


def test_all_that_is_measured_is_finite(classes):
    table = Measures(classes).table(simple(classes))
    for name in ("sides", "ends", "words", "seams"):
        assert np.isfinite(getattr(table, name)).all()


def test_every_candidate_wants_the_lines_that_it_is_made_of(classes):
    found = simple(classes)
    table = Measures(classes).table(found)
    roots = sorted(classes.members)
    for number, one in enumerate(found):
        wanted = {roots[k] for k in table.wants[table.wants[:, 0] == number, 1]}
        assert wanted == {classes.root(use.line) for side in one.seam for use in side}


def test_a_closed_line_has_nothing_beside_it():
    from seamcheck.geometry.curve import Curve

    disc = {"name": "Disc", "outline": Curve.arc(0j, 100.0, start=0.0, sweep=-360.0)}
    classes = Classes(*survey(pattern(disc, rectangle("Strip", 628.3, 60)).pieces))
    table = Measures(classes).table(simple(classes))
    closed = [k for k, line in enumerate(sorted(classes.members)) if classes.lines[line].closed]
    assert closed
    assert all((table.beside[table.whole[k]] == NONE).all() for k in closed)


def test_nothing_is_measured_of_a_pattern_without_pieces():
    table = Measures(Classes((), ())).table([])
    assert len(table.first) == len(table.sides) == len(table.piece) == 0
