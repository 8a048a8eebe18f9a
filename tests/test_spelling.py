import pickle
from pathlib import Path

import pytest

import seamcheck
from seamcheck.spelling import UnknownNameError, nearest
from seamcheck.testing import good_draft

FERRYHAND = Path(seamcheck.__file__).parents[1] / "fixtures" / "ferryhand"


def test_nearest_names_the_closest_or_lists_them():
    assert nearest("outsem", ["inseam", "outseam"], "edge") == 'the nearest edge is "outseam"'
    assert nearest("zzz", ["ab", "cd"], "edge") == 'the edges are "ab", "cd"'
    assert nearest("zzz", [], "edge") == "there are no edges to choose from"
    assert nearest("zzz", [f"ab{n}" for n in range(20)], "edge").endswith('"ab11" and 8 more')


class TestUnknownName:
    """What is asked for by a name that is not there."""

    @pytest.mark.parametrize(
        ("ask", "sentence"),
        [
            (lambda draft: piece(draft).edge("sdie"), 'piece front has no edge "sdie"; the nearest edge is "side"'),
            (
                lambda draft: piece(draft).corner("side-wast"),
                'piece front has no corner "side-wast"; the nearest corner is "side-waist"',
            ),
            (
                lambda draft: draft.pattern().piece("fron"),
                'the pattern has no piece "fron"; the nearest piece is "front"',
            ),
            (
                lambda draft: draft.pattern().piece("front", "44"),
                'the pattern has no size "44"; the nearest size is "40"',
            ),
            (lambda draft: draft.plan.piece("bakc"), 'the plan has no piece "bakc"; the nearest piece is "back"'),
            (lambda draft: draft.panel("bakc"), 'the draft has no panel "bakc"; the nearest panel is "back"'),
            (
                lambda draft: draft.panel("back").edge("hme"),
                'panel back has no edge "hme"; the nearest edge is "hem"',
            ),
        ],
    )
    def test_the_nearest_name_is_told(self, ask, sentence):
        with pytest.raises(KeyError) as caught:
            ask(good_draft())
        assert str(caught.value) == sentence

    def test_it_comes_whole_out_of_another_process(self):
        error = UnknownNameError("piece front", "edge", "outsem", ("outseam", "inseam"))
        assert str(pickle.loads(pickle.dumps(error))) == str(error)


def piece(draft):
    return draft.pattern().piece("front")


def test_a_piece_in_several_sizes_is_not_guessed():
    pattern = seamcheck.read(FERRYHAND / "ferryhand-nest.dxf")
    assert pattern.piece("front", "42").size == "42"
    with pytest.raises(ValueError, match="piece front is there in 5 sizes; say which: 36, 38, 40, 42, 44"):
        pattern.piece("front")
