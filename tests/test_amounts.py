from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seamcheck.amounts import (
    Angle,
    Length,
    Listed,
    Name,
    Number,
    PlainAngle,
    PlainLength,
    PlanPoint,
    Point,
    Share,
    angle,
    fact,
    inches,
    joined,
    length,
    listed,
    millimetres,
    opened,
    phrase,
    spoken,
    worded,
)


@pytest.mark.parametrize(
    ("mm", "words"),
    [
        (0, "0 in"),
        (0.3, "under 1/32 in"),
        (0.39, "under 1/32 in"),
        (0.4, "1/32 in"),  # 1/64 in is 0.397 mm
        (0.8, "1/32 in"),
        (1.6, "1/16 in"),
        (2.4, "3/32 in"),
        (2.77, "3/32 in"),  # 7/64 in is 2.778 mm
        (2.79, "1/8 in"),
        (3.2, "1/8 in"),
        (6.35, "1/4 in"),
        (-6.35, "1/4 in"),
        (9.5, "3/8 in"),
        (12.7, "1/2 in"),
        (15.9, "5/8 in"),
        (25.4, "1 in"),
        (30.1, "1 3/16 in"),
        (38.1, "1 1/2 in"),
        (1043.21, "41 1/16 in"),
    ],
)
def test_inches_are_the_nearest_sixteenth_or_below_an_eighth_the_nearest_thirty_second_in_lowest_terms(mm, words):
    assert inches(mm) == words


@pytest.mark.parametrize(
    ("mm", "words"),
    [
        (0, "0.00 mm"),
        (0.456, "0.46 mm"),
        (0.99, "0.99 mm"),
        (0.996, "1.0 mm"),
        (1.04, "1.0 mm"),
        (-6.35, "6.4 mm"),
        (6.36, "6.4 mm"),
        (99.94, "99.9 mm"),
        (99.96, "100 mm"),
        (100.4, "100 mm"),
        (1043.6, "1044 mm"),
    ],
)
def test_millimetres_have_as_many_digits_as_a_sewist_can_use(mm, words):
    assert millimetres(mm) == words


@pytest.mark.parametrize("unit", [1.6, 3.2])
def test_a_tolerance_and_its_half_and_its_double_are_told_apart(unit):
    # These are the bounds that findings are graded by: two of them that read alike would say nothing.
    told = [inches(part * unit) for part in (0.5, 1.0, 2.0)]
    assert len(set(told)) == 3


@given(st.floats(0.01, 4000.0))
def test_what_is_told_is_within_half_a_step_of_the_amount(mm):
    told = inches(mm)
    said = 0.0 if told.startswith("under") else 25.4 * float(sum(map(Fraction, told.removesuffix(" in").split())))
    assert abs(said - mm) <= 25.4 / (64 if mm < 2.75 else 32) + 1e-5


def test_a_length_is_said_as_both():
    assert length(6.36) == "6.4 mm (1/4 in)"
    assert fact(Length(-12.7)) == "12.7 mm (1/2 in)"


def test_an_angle_has_one_decimal():
    assert angle(1.94) == "1.9°"
    assert fact(Angle(182.0)) == "182.0°"


def test_other_facts_are_said_as_they_are():
    assert fact("front.side") == "front.side"
    assert fact(3) == "3"


@pytest.mark.parametrize(
    ("given", "words"),
    [
        (PlainLength(249.6, 0), "250 mm"),
        (PlainAngle(44.6), "45°"),
        (Share(0.564), "56 %"),
        (Number(1.25), "1.25"),
        (Number(2.0), "2"),
        (Point(120 + 35.46j), "(120.0, 35.5)"),
        (PlanPoint(120 + 35.46j), "[120.0, 35.5]"),
    ],
)
def test_what_is_said_shortly_keeps_its_exact_value(given, words):
    told = phrase("it is {given}", given=given)
    assert str(told) == f"it is {words}"
    assert dict(told.facts)["given"] is given
    assert fact(given) == words


def test_a_plain_amount_is_a_length_or_an_angle_to_a_report():
    (_, amount) = spoken(phrase("at {amount}", amount=PlainLength(249.6, 0)))
    assert (isinstance(amount, Length), amount) == (True, 249.6)
    assert isinstance(PlainAngle(1.0), Angle)


@pytest.mark.parametrize(
    ("between", "words"),
    [({}, "a, b and c"), ({"last": " or "}, "a, b or c"), ({"between": " + ", "last": " + "}, "a + b + c")],
)
def test_a_list_says_how_it_is_joined(between, words):
    assert str(Listed((Name("a"), Name("b"), Name("c")), **between)) == words


def test_text_is_words_as_it_stands_braces_and_all():
    assert str(worded("a {name} in braces")) == "a {name} in braces"
    assert worded(phrase("as it is")) == phrase("as it is")


def test_a_sentence_is_filled_in():
    facts = {"piece": "front", "amount": Length(3.2), "turn": Angle(4)}
    told = phrase("{piece} is {amount} off and {turn} round.", **facts)
    assert str(told) == "front is 3.2 mm (1/8 in) off and 4.0° round."


def test_facts_inside_phrases_and_lists_stay_facts():
    stretches = Listed(tuple(phrase("{by} before {end}", by=Length(k), end=Name("hem")) for k in (1.0, 2.0, 3.0)))
    told = phrase("It is spread: {stretches}.", stretches=stretches)
    assert [part for part in spoken(told) if isinstance(part, Length)] == [1.0, 2.0, 3.0]
    assert str(told) == (
        "It is spread: 1.0 mm (1/32 in) before hem, 2.0 mm (3/32 in) before hem and 3.0 mm (1/8 in) before hem."
    )
    assert hash(told) == hash(phrase("It is spread: {stretches}.", stretches=stretches))


@pytest.mark.parametrize(
    ("text", "told"), [("the edge", "The edge"), ("theatre.e1 is short", "theatre.e1 is short"), ("back", "back")]
)
def test_a_sentence_begins_with_a_capital_unless_a_name_begins_it(text, told):
    assert str(opened(text)) == told
    assert str(opened(phrase("{it} runs on", it=text))) == f"{told} runs on"


def test_a_name_stays_as_it_is_at_the_head_of_a_sentence():
    assert str(opened(phrase("{it} is short", it=Name("the yoke")))) == "the yoke is short"


def test_a_length_in_millimetres_alone_has_the_decimals_that_it_was_given():
    assert fact(PlainLength(0.354, None)) == "0.35 mm"
    assert fact(PlainLength(434.4, 0)) == "434 mm"
    assert fact(PlainLength(1.25, 3)) == "1.250 mm"
    assert str(joined((PlainLength(5.0), Length(6.35)), " {and} ")) == "5 mm {and} 6.4 mm (1/4 in)"


@pytest.mark.parametrize(
    ("names", "words"), [([], ""), (["a"], "a"), (["a", "b"], "a and b"), (("a", "b", "c"), "a, b and c")]
)
def test_names_are_listed_as_a_person_does(names, words):
    assert listed(names) == words


def test_a_fact_that_is_not_given_is_named():
    with pytest.raises(ValueError, match="speaks of 'deep', which is not among the facts"):
        str(phrase("{piece} is {deep}", piece="back"))
