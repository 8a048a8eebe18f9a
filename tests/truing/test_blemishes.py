"""How the blemishes that are blended together are named: by their distance, or by the corner at which one lies."""

import pytest

from seamcheck.amounts import Length, Name, phrase
from seamcheck.checks.base import Severity
from seamcheck.engine.result import Finding
from seamcheck.truing.mends import _in_words


@pytest.mark.parametrize(
    ("code", "facts", "said"),
    [
        (
            "kink",
            {"distance": Length(50.0), "end": Name("side-waist")},
            "the kink 50.0 mm (1 15/16 in) from side-waist",
        ),
        (
            "step",
            {"distance": Length(50.0), "end": Name("side-waist")},
            "the step 50.0 mm (1 15/16 in) from side-waist",
        ),
        ("corner", {"corner": Name("pocket.top-right")}, "the kink at pocket.top-right"),
    ],
)
def test_a_blemish_is_named_by_where_it_lies(code, facts, said):
    fault = phrase(" ".join(f"{{{name}}}" for name in facts), **facts)
    finding = Finding(check="edge-blend", code=code, severity=Severity.ERROR, size="", fault=fault, remedy=phrase(""))
    assert str(_in_words(finding)) == said
