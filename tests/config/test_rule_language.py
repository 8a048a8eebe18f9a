import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seamcheck.config.rule_expressions import ValueKind, places
from seamcheck.config.rule_expressions import places as all_places
from seamcheck.config.rule_language import RuleSyntaxError, named, parse_expression, parse_rule


def value(text: str) -> float:
    """What an expression of fixed amounts comes to, worked out by the tree that was read."""

    def work(node):
        if hasattr(node, "value"):
            return node.value
        if hasattr(node, "inner"):
            return -work(node.inner)
        if hasattr(node, "sign"):
            left, right = work(node.left), work(node.right)
            return {
                "+": lambda: left + right,
                "-": lambda: left - right,
                "*": lambda: left * right,
                "/": lambda: left / right,
            }[node.sign]()
        values = [work(one) for one in node.arguments]
        return {"abs": lambda *v: abs(v[0]), "min": min, "max": max}[node.function](*values)

    return work(parse_expression(text))


@pytest.mark.parametrize(
    ("text", "comes_to"),
    [
        ("1 + 2 * 3", 7),
        ("(1 + 2) * 3", 9),
        ("10 - 4 - 3", 3),
        ("12 / 4 / 3", 1),
        ("-2 * -3", 6),
        ("2 cm + 5 mm", 25),
        ("30mm", 30),
        ("1 in", 25.4),
        ("1/2 in", 12.7),
        ("1 1/2 in", 38.1),
        ("3/8in", 9.525),
        ("2 * 1/4 in", 12.7),
        ("6 mm / 2", 3),
        ("6 mm / 2 mm", 3),
        ("5 %", 0.05),
        ("min(3, 2, 4)", 2),
        ("max(1 cm, 3 mm)", 10),
        ("abs(2 mm - 1 cm)", 8),
        ("90 degrees", 90),
        ("2 mm + 0", 2),
    ],
)
def test_sums_are_read_as_they_are_written_on_paper(text, comes_to):
    assert value(text) == pytest.approx(comes_to, abs=1e-12)


numbers = st.integers(0, 99).map(str)
sums = st.recursive(
    numbers,
    lambda inner: st.one_of(
        st.tuples(inner, st.sampled_from([" + ", " - ", " * "]), inner).map("".join),
        inner.map(lambda text: f"({text})"),
        inner.map(lambda text: f"-({text})"),
    ),
    max_leaves=12,
)


@given(sums)
def test_sums_come_to_what_python_makes_of_them(text):
    """Both languages write these alike, so the one can be held against the other."""
    if math.isfinite(result := eval(text)):
        assert value(text) == pytest.approx(result, rel=1e-12)


@given(st.text(max_size=40) | st.text(alphabet="fb.ack waist-=<>+*/()0123mcin betwd,'\"%", max_size=40))
def test_whatever_is_written_is_read_or_refused_at_a_place_within_it(text):
    refused = None
    try:
        parse_rule(text)
    except RuleSyntaxError as error:
        refused = error
    assert refused is None or (refused.what and 0 <= refused.at <= len(text))


def test_names_may_hold_hyphens_and_quotes_hold_all_else():
    expression = parse_expression("""band-front.lower + 'Band back'."2 lower" + waist of front""")
    assert [str(place) for place in places(expression)] == ["band-front.lower", "Band back.2 lower", "front.waist"]


def test_a_word_in_quotes_is_a_name_even_if_it_is_a_word_of_the_language():
    assert [str(place) for place in places(parse_expression("'min'.'between'"))] == ["min.between"]


def test_the_unit_of_a_range_may_stand_at_its_upper_end():
    rule = parse_rule("back.inseam - front.inseam between -6 and 0 mm")
    assert (rule.right.value, rule.right.kind, rule.right_text) == (-6, ValueKind.LENGTH, "-6 mm")
    assert (rule.left_text, rule.upto.value, rule.upto_text) == ("back.inseam - front.inseam", 0, "0 mm")
    rule = parse_rule("front.hem between 40 and 50 cm")
    assert (rule.right.value, rule.upto.value) == (400, 500)


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("front.hem >= 340 mm", ValueKind.LENGTH),
        ("angle(front.crotch-point) = 90 degrees", ValueKind.ANGLE),
        ("back.crotch / front.crotch between 1.2 and 1.5", ValueKind.NUMBER),
        ("notches(front.outseam) = 2", ValueKind.NUMBER),
        ("front.hem - back.hem = 0", ValueKind.LENGTH),
        ("0 <= front.hem", ValueKind.LENGTH),
        ("difference('left side') between -1 and 1 mm", ValueKind.LENGTH),
        ("distance(front.a, front.b) <= 2 * width(front)", ValueKind.LENGTH),
    ],
)
def test_what_is_compared_is_known_from_the_rule_alone(text, kind):
    assert parse_rule(text).kind is kind


@pytest.mark.parametrize(
    ("text", "at", "what", "remedy"),
    [
        ("front.hem", 9, "compares nothing", "between A and B"),
        ("", 0, "the end of the rule stands where", "piece.edge"),
        ("front.hem == 3 mm", 10, '"==" is no comparison', "write ="),
        ("front.hem < 3 mm", 10, '"<" is no comparison', "write <="),
        ("front.hem = 340", 12, "a length and a plain number do not go together", "30 mm"),
        ("angle(front.a) = 3 mm", 0, "an angle and a length do not go together", ""),
        ("front.hem * back.hem = 3 mm", 10, "a length is multiplied by a length", "plain numbers"),
        ("2 / front.hem = 3 mm", 2, "a plain number is divided by a length", "plain numbers"),
        ("front.hem + 3 = 3 mm", 12, "a length and a plain number", "with its unit"),
        ("front.waist-back.waist = 3 mm", 6, '"waist-back" was read as one name', "spaces round it"),
        ("front.hem = 3,5 mm", 13, "comma", "with a point"),
        ("front.hem = (3 mm", 12, "not closed", "add a )"),
        ("front.hem = 3 mm)", 16, '")" stands where', ""),
        ("front.hem between 3 mm", 22, 'where "and" belongs', "between A and B"),
        ("front.hem between 9 and 3 mm", 18, "from 9 mm down to 3 mm", "smaller end first"),
        ("3 mm <= front.hem <= 9 mm", 18, "compares twice", "between A and B"),
        ("hem = 3 mm", 0, 'no measure "hem"', "[measures]"),
        ("lenght(front.hem) = 3 mm", 0, 'no function "lenght"', '"length"'),
        ("width(front, back) = 3 mm", 0, "takes 1 thing", "width(piece)"),
        ("distance(front.a) = 3 mm", 0, "takes 2 things", "distance(piece.corner, piece.corner)"),
        ("min(front.hem, 3) = 3 mm", 15, "a length and a plain number", ""),
        ("front.hem = 3 feet", 14, '"feet" is no unit', "mm, cm, in"),
        ("front.hem = 3ft", 12, '"3ft" is neither a number nor a name', "mm, cm, in"),
        ("front.hem = 'back", 12, "quotes are not closed", "close them"),
        ("front.'he\nm' = 3 mm", 6, "quotes are not closed", "close them"),
        ("front.hem = 3 mm; import os", 16, '";" means nothing', "the signs are"),
        ("front.hem = 3 mm / 0", 19, "divides by 0", ""),
        ("front.hem = 1/0 in", 12, "divides by 0", ""),
        ("front.hem = 99999999 mm", 12, "larger than any pattern", ""),
        ("notch(front.side) = 3 mm", 0, "notch() takes 2 things", "write notch(piece.edge, 1)"),
        ("notch(front.side, 1.5) = 3 mm", 18, '"1.5" stands where the number of a notch', "from 1 on"),
        ("notch(front.side, front.hem) = 3 mm", 18, "the number of a notch", "notch(front.outseam, 1)"),
        ("notches(front.side, 1/3) = 3", 0, "notches() takes 3 things", "notches(piece.edge, amount, amount)"),
        ("notches(front.side, 1/3, 20 mm) = 3", 25, "a plain number and a length", "30 mm"),
        ("notches(front.side, 1 degrees, 2 degrees) = 3", 20, "one share or length", "1/3 or 200 mm"),
        ("length(seam) = 3 mm", 11, '")" stands where "."', "piece.edge"),
        ("front. = 3 mm", 7, "where the name of an edge belongs", "quotes"),
        ("front.hem = " + "(" * 60, 52, "nested too deeply", "measures"),
        ("front.hem = " + "1 mm + " * 200, 1000, "longer than 1000 letters", "split"),
    ],
)
def test_what_is_wrong_is_said_with_its_place_and_what_to_do(text, at, what, remedy):
    with pytest.raises(RuleSyntaxError) as caught:
        parse_rule(text)
    assert what in caught.value.what
    assert remedy in caught.value.remedy
    assert caught.value.at == at


def test_a_measure_of_the_shop_goes_before_an_edge():
    hem = parse_expression("front.hem + back.hem")
    rule = parse_rule("hem.width >= 340 mm", lambda name, at: hem if name == "hem.width" else None)
    assert [str(place) for place in places(rule.left)] == ["front.hem", "back.hem"]
    assert rule.left_text == "hem.width"


@pytest.mark.parametrize(
    ("text", "at_hand", "places"),
    [
        ("length(seam) >= 1 mm", "seam", ["arm"]),
        ("seam >= 1 mm", "seam", ["arm"]),
        ("front.seam >= length(seam)", "seam", ["front.seam", "arm"]),
        ("seam of front >= length(seam)", "seam", ["front.seam", "arm"]),
        ("'seam'.hem >= length(seam)", "seam", ["seam.hem", "arm"]),
        ("width(piece) >= piece.hem + hem of piece", "piece", ["arm", "arm.hem"]),
        ("angle(piece.tip) = angle(tip of piece)", "piece", ["arm.tip"]),
        ("front.piece >= width(piece)", "piece", ["front.piece", "arm"]),
        ("edge >= notch(edge, 1)", "edge", ["arm"]),
        ("piece.hem >= edge", "edge", ["piece.hem", "arm"]),
    ],
)
def test_the_one_at_hand_is_told_from_a_name(text, at_hand, places):
    rule = parse_rule(text, at_hand=at_hand)
    assert [str(place) for place in rule.filled(("arm",)).places] == places
    told = named(text, at_hand, "arm")
    assert told.replace("arm", at_hand) == text
    assert told.count("arm") == sum(
        bool(place.at_hand) for part in (rule.left, rule.right) for place in all_places(part)
    )
