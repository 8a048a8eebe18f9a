"""A strip that was altered on one of its long edges alone: its end is ruled anew to where the corner was."""

import tomllib
from pathlib import Path

import drafted
import pytest

from seamcheck.config.settings import Settings
from seamcheck.engine import plugins
from seamcheck.engine.read import Request
from seamcheck.truing.propose import Wishes
from seamcheck.truing.run import true_file

DEMO = Path(__file__).parents[2] / "fixtures" / "ferryhand"
SETTINGS = Settings()
REGISTRY = plugins.load(SETTINGS)


def trued(slug: str):
    """The altered pattern of the corpus trued, and what its manifest says was altered."""
    folder = drafted.drafted("corpus")
    entry = tomllib.loads((folder / "manifest.toml").read_text(encoding="utf-8"))["patterns"][slug]
    request = Request(plan=folder / entry["plan"])
    (size,) = true_file(str(folder / entry["altered"]), request, REGISTRY, SETTINGS, Wishes()).sizes
    return size, entry["alteration"]


@pytest.mark.parametrize("slug", ["blade-cover", "chorus-half-circle-skirt", "cordage-drawstring-pouch"])
def test_a_long_edge_is_put_right_at_its_altered_corner_and_the_end_ruled_anew(slug):
    size, altered = trued(slug)
    (proposal,) = size.proposals
    first = proposal.alternatives[0]
    piece = altered["edge"].partition(".")[0]
    assert first.pieces == (piece,)
    assert (piece, altered["corner"]) in first.at
    assert "anew to the new corner" in first.what
    assert first.beyond < 0.05
    assert size.left.findings == ()


@pytest.mark.parametrize("slug", ["market-tote-gusset"])
def test_what_becomes_alike_from_both_its_ends_is_put_right_all_the_same(slug):
    size, altered = trued(slug)
    first = size.proposals[0].alternatives[0]
    assert (altered["edge"].partition(".")[0], altered["corner"]) in first.at
    assert [(one.check, one.code) for one in size.left.findings] == [("notch-place", "alike")]


def test_the_end_of_a_band_that_is_sewn_to_another_is_not_slanted():
    """Its end has to stay square to the line across the side seam."""
    request = Request(plan=DEMO / "ferryhand.seams.toml")
    path = DEMO / "altered" / "sway-back-quick-left.svg"
    (size,) = true_file(str(path), request, REGISTRY, SETTINGS, Wishes()).sizes
    offered = [one.what for proposal in size.proposals for one in proposal.alternatives]
    assert offered
    assert not [what for what in offered if "rule band-back.side anew" in what]


@pytest.mark.parametrize(
    ("altered", "offered"),
    [
        ((), True),  # its own kinks tell that the band was altered
        (("band-back",), True),
        (("facing-back",), False),
        (("band-back", "facing-back"), False),
    ],
)
def test_a_band_is_traced_from_its_facing_only_to_undo_what_was_done_to_the_band_alone(altered, offered):
    request = Request(plan=DEMO / "ferryhand.seams.toml")
    path = DEMO / "altered" / "gaping-band-left.svg"
    (size,) = true_file(str(path), request, REGISTRY, SETTINGS, Wishes(altered=frozenset(altered))).sizes
    traced = [one for one in size.proposals[0].alternatives if one.what.startswith("trace band-back anew")]
    assert bool(traced) == offered
    assert [one for one in size.proposals[0].alternatives if one.what.startswith("trace facing-back anew")]
