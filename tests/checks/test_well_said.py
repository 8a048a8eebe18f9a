"""The rules that every sentence of a report is held to find what is broken, and nothing in what is not.

Where a test judges a fixture, `golden.py` holds all that is said of it to them.
"""

import pytest
from seeded_faults import FAULTS, PASSING, judged
from well_said import RULES, badly_said, mistakes

BROKEN = {
    "a space too many": "The seam  is short.",
    "a space too few": "The seam is short.The notch lies beside it.",
    "a word twice": "The hem of of the front is short.",
    "a brace, or nothing in brackets or quotes": "The {edge} is short.",
    "a value of the program": "The hem is None too short.",
    "two stops": "The hem is short..",
    "one of many": "It has 1 notches.",
    "many of one": "It has 3 notch.",
    "a verb for one": "The edges is short.",
    "a verb for many": "The edge are short.",
    "what takes two said of one": "Where waistband.c1 come together the angles add to 93.0°.",
    "the wrong article": "It makes an dip.",
    "no article": "The notch lies at waist end of the seam.",
    "a number for a name": "The whole difference lies between c5 / c9 and the notch.",
    "a nought counted": "There is no plan: 0 seams were judged.",
}
MORE = (
    " The hem is short.",
    "The hem is short .",
    'The piece "" is short.',
    "The piece () is short.",
    "The hem is short,. and bent.",
    "The hem is short: .",
    "there is 3 notches.",
    "The hem is short",
    "The hem is short. then it is bent.",
    "the hem is short.",
    "The hem (of the front is short.",
    "A edge is short.",
    "The a hem is short.",
    "Each seams is short.",
    "Both edge are short.",
    "It is off <Edge hem: 3>.",
)
WHOLE = (
    "front.hem is 6.4 mm (1/4 in) too short to be sewn to back.hem.",
    "Where front.side-hem and back.side-hem come together the angles add to 178.0° instead of 180.0°: 2.0° too little.",
    "If that is meant, write ease = ... for the seam in the plan.",
    'Write allowance = ... in the plan, or write "e2" under unsewn of piece front.',
    "It has 1 notch, and its mate has 2 notches: 1 of 3 seams meets.",
    "From low-hem the notch lies at 1 1/4 in; compare the two edge by edge.",
    "Text 2 2 1/4 in.",
    "The notch lies at the waist end of the seam.",
    "If the corner is meant, name it under [[shaped]] in the plan.",
)


@pytest.mark.parametrize("rule", [name for name, _ in RULES])
def test_every_rule_finds_what_it_is_for(rule):
    assert [found for found in mistakes(BROKEN[rule]) if found.startswith(rule)]


@pytest.mark.parametrize("said", MORE)
def test_a_broken_sentence_is_found(said):
    assert mistakes(said)


@pytest.mark.parametrize("said", WHOLE)
def test_a_whole_sentence_is_left_alone(said):
    assert mistakes(said, {"front.hem", "back.hem", "front", "back", "low-hem"}) == []


def test_a_clause_begins_small_and_has_no_stop():
    assert mistakes("no piece has a notch", clause=True) == []
    assert mistakes("no piece has a notch.", clause=True) == ["a stop behind a clause"]


@pytest.mark.parametrize("case", [*FAULTS, *PASSING], ids=str)
def test_what_is_said_of_a_case_is_well_said(case):
    assert list(badly_said(judged(case))) == []
