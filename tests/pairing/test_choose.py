"""The set that is taken, from likelihoods that are given by hand: what is learned has no say here."""

import numpy as np
import pytest
from made_pieces import pattern, rectangle

from seamcheck.pairing.alike import Classes
from seamcheck.pairing.candidates import Kind, simple
from seamcheck.pairing.choose import LIKELY, MOST_LAYERS, choose, possible
from seamcheck.pairing.lines import survey

ONCE, TWICE = (0.0, 1.0, 0.0), (0.0, 0.2, 0.8)


def skew(name, top, **more):
    return {"name": name, "outline": [0j, complex(top, 0), complex(top + 40, 400), 0 + 410j], **more}


class Trial:
    """Candidates of three unlike pieces and one rectangle, each as likely as it is told to be; all others are not."""

    def __init__(self, *pieces):
        self.classes = Classes(
            *survey(pattern(*(pieces or (skew("Front", 300), skew("Back", 310), skew("Side", 320)))).pieces)
        )
        self.candidates = simple(self.classes)
        self.likely = np.zeros(len(self.candidates))
        self.layers = np.array([ONCE] * len(self.classes.members))

    def line(self, piece, number):
        return self.classes.root(next(part for part in self.classes.parts if part.name == piece).lines[number])

    def pair(self, a, b, *, backwards=True):
        """The number of the candidate of two lines, each told by piece and number."""
        wanted = {self.line(*a), self.line(*b)}
        kind = Kind.TWIN if a == b else Kind.PAIR
        for k, one in enumerate(self.candidates):
            own = {use.line for side in one.seam for use in side}
            if one.kind is kind and own == wanted and (kind is Kind.TWIN or one.second[0].backwards is backwards):
                return k
        raise LookupError((a, b))

    def say(self, likely, a, b, **way):
        number = self.pair(a, b, **way)
        self.likely[number] = likely
        return number

    def layered(self, *line):
        self.layers[sorted(self.classes.members).index(self.line(*line))] = TWICE

    def choose(self, **more):
        return choose(self.classes, self.candidates, self.likely, self.layers, **more)


def test_the_likeliest_is_taken_and_every_line_once():
    trial = Trial()
    best = trial.say(0.9, ("Front", 0), ("Back", 0))
    second = trial.say(0.8, ("Front", 0), ("Side", 0))
    other = trial.say(0.7, ("Back", 1), ("Side", 1))
    choice = trial.choose()
    assert choice.taken == (best, other)
    assert choice.rivals[0] == second
    uses = [atom for k in choice.taken for atom in trial.candidates[k].atoms]
    assert len(uses) == len(set(uses))


def test_what_is_not_likely_is_not_taken():
    trial = Trial()
    trial.say(LIKELY - 0.01, ("Front", 0), ("Back", 0))
    assert trial.choose().taken == ()
    assert len(trial.choose(least=LIKELY - 0.02).taken) == 1


def test_a_line_is_taken_twice_only_where_it_is_likely_to_have_two_layers_and_both_seams_are_likely():
    trial = Trial()
    first, second = trial.say(0.9, ("Front", 0), ("Back", 0)), trial.say(0.8, ("Front", 0), ("Side", 0))
    assert trial.choose().taken == (first,)
    trial.layered("Front", 0)
    assert trial.choose().taken == (first, second)
    trial.say(LIKELY - 0.01, ("Front", 0), ("Side", 0))
    assert trial.choose().taken == (first,)


def test_the_same_two_lines_are_not_sewn_both_ways_round_whatever_their_layers():
    trial = Trial()
    first = trial.say(0.9, ("Front", 0), ("Back", 0))
    trial.say(0.8, ("Front", 0), ("Back", 0), backwards=False)
    trial.layered("Front", 0)
    trial.layered("Back", 0)
    assert trial.choose().taken == (first,)


def test_a_line_has_never_more_than_the_most_layers():
    names = ("Front", "Back", "Side", "Yoke", "Cuff")
    trial = Trial(*(skew(name, 300 + 10 * k) for k, name in enumerate(names)))
    numbers = [trial.say(0.9 - 0.05 * k, ("Front", 0), (name, 0)) for k, name in enumerate(names[1:])]
    for name in names:
        trial.layered(name, 0)
    assert trial.choose().taken == tuple(numbers[:MOST_LAYERS])


@pytest.mark.parametrize(
    ("cut", "has_one"), [("Cut 1", False), ("Cut 2", True), ("Cut 1 pair", True), ("", True), ("Cut 1 on fold", True)]
)
def test_a_piece_that_is_cut_once_has_no_twin(cut, has_one):
    trial = Trial(skew("Back", 300, cut=cut))
    number = trial.say(0.99, ("Back", 1), ("Back", 1))
    assert possible(trial.classes, trial.candidates[number]) is has_one or cut == ""
    assert trial.choose().taken == ((number,) if has_one else ())


def test_both_sides_of_a_piece_that_is_cut_once_may_be_sewn_together():
    trial = Trial(rectangle("Tube", 300, 400, cut="Cut 1"))
    number = trial.say(0.9, ("Tube", 1), ("Tube", 1))
    assert trial.choose().taken == (number,)


def test_what_is_fixed_is_taken_whatever_it_is_worth_and_its_rivals_are_not():
    trial = Trial()
    trial.say(0.99, ("Front", 0), ("Back", 0))
    fixed = trial.pair(("Front", 0), ("Side", 0))
    assert trial.choose(fixed={fixed}).taken == (fixed,)


def test_what_is_free_is_sewn_to_nothing():
    trial = Trial()
    trial.say(0.99, ("Front", 0), ("Back", 0))
    other = trial.say(0.6, ("Back", 0), ("Side", 0))
    assert trial.choose(free={trial.line("Front", 0)}).taken == (other,)
