"""What a finding says is asked of its facts, and never of its sentences."""

import pytest

from seamcheck.amounts import Angle, Length, Listed, Name, Phrase, PlainLength, phrase
from seamcheck.checks.base import Severity
from seamcheck.engine.result import Finding
from seamcheck.engine.said import all_alike, form, names_said, tells


def finding(fault: Phrase, **changes) -> Finding:
    given = {
        "check": "seam-length",
        "code": "short",
        "severity": Severity.ERROR,
        "size": "40",
        "remedy": phrase("Give it back."),
        "seam": "side",
        "pieces": ("back", "front"),
        "edges": ("back.side", "-front.side"),
    }
    return Finding(fault=fault, **{**given, **changes})


@pytest.mark.parametrize(
    ("fault", "names"),
    [
        (phrase("{it} is short", it=Name("back.side")), {"back.side", "back", ""}),
        (phrase("{it} are off", it=Listed((Name("back"), phrase("{of}", of=Name("front"))))), {"back", "front", ""}),
        # A text is a name where it is one of the finding's own, whole.
        (phrase("{it} in {size}", it="front.side", size="40"), {"front.side", "front", "40", ""}),
        (phrase("{it} is off", it="back.waist"), {"back.waist", "back", ""}),
        # Neither words nor numbers nor a sentence that a fact holds are searched.
        (phrase("back.side in size 40 of side"), set()),
        (phrase("{it} off", it="back.side and front.side are"), set()),
        (phrase("{it} notches", it=40), set()),
        # What is not spoken of is not said.
        (Phrase("it is short", (("it", Name("back")),)), set()),
    ],
)
def test_the_names_that_a_finding_speaks_of(fault, names):
    assert names_said(finding(fault)) - {""} == names - {""}


@pytest.mark.parametrize(
    ("fault", "amount", "told"),
    [
        (phrase("{it} short", it=Length(6.35)), Length(6.35), True),
        (phrase("{it} short", it=Length(-6.35)), Length(6.35), True),
        (phrase("{it} short", it=phrase("by {it}", it=Length(6.35))), Length(6.35), True),
        (phrase("{it} short", it=Length(6.9)), Length(6.35), False),
        (phrase("{it} short", it=Angle(6.35)), Length(6.35), False),
        (phrase("{it} short", it="6.4 mm (1/4 in)"), Length(6.35), False),
        (phrase("6.4 mm (1/4 in) short"), Length(6.35), False),
    ],
)
def test_whether_a_finding_tells_an_amount(fault, amount, told):
    assert tells(finding(fault), amount) is told


@pytest.mark.parametrize(
    ("one", "other", "alike"),
    [
        (Length(6.34), Length(6.36), True),  # "6.3 mm" and "6.4 mm"
        (Length(6.34), Length(6.45), False),
        (Length(434.3), Length(433.6), False),  # both "434 mm", and another sixteenth
        (PlainLength(434.3, 0), PlainLength(433.6, 0), True),
        (Length(2.0), Angle(2.0), False),
        (2, 3, False),
        (Name("a"), Name("b"), False),
    ],
)
def test_what_is_said_alike(one, other, alike):
    assert all_alike([finding(phrase("{it} off", it=it)) for it in (one, other)]) is alike


def test_a_clause_more_is_something_else():
    one, other = (finding(phrase("{it} off", it=Length(2.0)), clauses=clauses) for clauses in ((), ("changed",)))
    assert not all_alike([one, other])


def test_pieces_are_numbered_as_they_come():
    pieces = {"left", "right"}
    here, there, turned = (
        form(finding(phrase("{a} on {b}", a=Name(a), b=Name(b))), pieces)
        for a, b in (("left.side", "right"), ("right.side", "left"), ("left", "right.side"))
    )
    assert here == there != turned
    assert form(finding(phrase("{a}", a=Name("left")))) != form(finding(phrase("{a}", a=Name("right"))))
