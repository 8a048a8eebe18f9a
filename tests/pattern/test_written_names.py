"""What is written on a piece and is, or is not, its name; the words are common practice, from memory."""

import pytest

from seamcheck.pattern.names import written_name


@pytest.mark.parametrize(
    "words",
    [
        "Cut 1 on fold", "1x im Stoffbruch", "2x zuschneiden", "Couper 1 fois au pli", "Cortar 1 al doblez",
        "Tagliare 1 sulla piega", "1x knippen aan de stofvouw", "2x knippen",
    ],
)  # fmt: skip
def test_what_says_how_a_piece_is_cut_is_no_name(words):
    assert written_name(words) == ""


@pytest.mark.parametrize(
    ("words", "name"), [("Polsino (dx)", "Polsino (dx)"), ("(Front)", "Front"), ("Front (", "Front")]
)
def test_brackets_are_kept_where_they_close_within_the_name(words, name):
    assert written_name(words) == name
