"""An arrow is short by what its piece has room for where it stands, not by how far a bent piece reaches."""

import pytest
from test_meant_corners import drawn, panel

HALF_RING = "M0 0A300 300 0 0 0 600 0H560A260 260 0 0 1 40 0Z"


def short(outline: str, arrow: str) -> list[str]:
    """What is said of the arrow of a piece that lies 100 mm down and right, beside a square with an arrow of its own."""
    square = panel(
        "square",
        {"a": (0, 0), "b": (60, 0), "c": (60, 60), "d": (0, 60)},
        {"upper": "a b", "far": "b c", "lower": "c d", "near": "d a"},
        unsewn="upper far lower near",
    )
    facing = (
        f'<path id="facing" transform="translate(100 20)" d="{outline}"/>',
        "[pieces.facing]",
    )
    marks = f'<path id="grain" d="M30 50V10"/><path id="grain-2" transform="translate(100 20)" d="{arrow}"/>'
    found = drawn(square, facing, seams={}, marks=marks).findings
    return [one.message for one in found if (one.check, one.code) == ("grain-present", "short")]


def test_an_arrow_across_a_bent_facing_is_as_long_as_that_is_wide():
    """30 of 40 mm at the bottom of a half ring that is 300 mm high."""
    assert short(HALF_RING, "M300 295V265") == []


@pytest.mark.parametrize("arrow", ["M300 285V275", "M20 40V20"])
def test_an_arrow_that_has_more_room_is_short(arrow):
    """10 of 40 mm; 20 mm upright in the end of the half ring, which is 120 mm or more high there."""
    (said,) = short(HALF_RING, arrow)
    assert "it is hard to lay straight by" in said
