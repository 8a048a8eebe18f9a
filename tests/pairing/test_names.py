"""What the words on a piece tell; they are common practice, from memory."""

import pytest

from seamcheck.pairing.names import words_of


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("Halsriegel", "tab"),
        ("Sleeve tab", "tab"),
        ("Épaulette", "tab"),
        ("Poignet", "cuff"),
        ("Hosenbund", "band"),
        ("Belt loop", "loop"),
        ("Tie belt", "strap"),
        ("Heupstuk voor", "yoke"),
        ("Fourchette", "gusset"),
        ("Suela", "base"),
        ("Biais d'encolure", "strip"),
    ],
)
def test_a_word_tells_what_a_piece_is(name, kind):
    assert words_of(name, [], {}).kind == kind


@pytest.mark.parametrize("name", ["Bord-côte", "BORD-CÔTES", "bord côte", "Bord-côte bas"])
def test_ribbing_is_a_band_and_no_side(name):
    found = words_of(name, [], {})
    assert found.kind == "band"
    assert found.ribbed
    assert "side" not in found.qualities


def test_a_side_is_one_still():
    assert "side" in words_of("Côté devant", [], {}).qualities
