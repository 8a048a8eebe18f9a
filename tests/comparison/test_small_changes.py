"""What is easily missed, and what is easily taken for a change: dart tips, narrow bands, another hand at the digitiser."""

import re
import sys
from pathlib import Path

import numpy as np
import pytest
from pattern_making import line_mark, loop, pattern
from skirt_making import Sheet, skirt

from seamcheck.comparison import compare
from seamcheck.comparison.changes import PieceChange
from seamcheck.config.settings import Settings
from seamcheck.engine import plugins
from seamcheck.engine.read import Request, read
from seamcheck.geometry.curve import Affine, Curve
from seamcheck.report.comparison.told import sentences

FIXTURES = Path(__file__).parents[2] / "fixtures"
sys.path.insert(0, str(FIXTURES))

from drafting.alterations import piece_of  # noqa: E402
from drafting.sheet import FERRYHAND_SHEET  # noqa: E402
from drafting.write_svg import svg  # noqa: E402

SETTINGS = Settings()
REGISTRY = plugins.load(SETTINGS)
GOOD = skirt()
BAND = """
[pieces.band]
in-file = "Band"
unsewn = ["upper", "right", "lower", "left"]
[pieces.band.corners]
a = [0, 0]
b = [{length}, 0]
c = [{length}, {width}]
d = [0, {width}]
[pieces.band.edges]
upper = ["a", "b"]
right = ["b", "c"]
lower = ["c", "d"]
left = ["d", "a"]
"""


def tip_moved(by: complex) -> PieceChange:
    """The skirt's back with its dart tip moved, its mouth left as it was."""
    back = GOOD.panel("back")
    first, last = back.edge("leg-before").line, back.edge("leg-behind").line
    tip = first.end + by
    moved = GOOD.with_lines(
        "back", **{"leg-before": Curve.line(first.start, tip), "leg-behind": Curve.line(tip, last.end)}
    )
    return next(
        one for one in compare(Sheet.of(GOOD).pattern(), Sheet.of(moved).pattern()).pieces if one.name == "back"
    )


@pytest.mark.parametrize("by", [4, -4, 4j, -6 + 3j, 9 - 5j, -12 + 1j, -22j])
def test_a_dart_tip_that_moved_is_a_change(by):
    change = tip_moved(by)
    assert not change.unchanged
    assert any("dart" in one for one in sentences(change))


def test_a_dart_tip_that_stayed_is_none():
    assert tip_moved(0j).unchanged


@pytest.mark.parametrize("length", [200, 400, 700])
@pytest.mark.parametrize("width", [15, 20, 25, 40])
def test_a_narrow_band_that_was_slashed_and_spread_is_known_again(length, width):
    """The right half turned by 5.6 degrees about the lower edge: the upper one opens by 2 width sin(2.8 degrees)."""
    middle = length / 2
    turned = Affine.rotation(5.6, complex(middle, width))
    corners = [complex(turned.apply(at)) for at in (middle + 0j, length + 0j, complex(length, width))]
    plan = BAND.format(length=length, width=width)
    old = loop(0j, length + 0j, complex(length, width), complex(0, width))
    new = loop(0j, middle + 0j, *corners, complex(middle, width), complex(0, width))
    (change,) = compare(*(pattern([line_mark(line, label="Band")], plan) for line in (old, new))).pieces
    (cut,) = change.cuts
    assert abs(cut.turn) == pytest.approx(5.6, abs=0.01)
    opened = max(one.amount for one in cut.breaks)
    assert opened == pytest.approx(2 * width * np.sin(np.radians(2.8)), abs=0.02)


def digitised(piece: str, chord: float, noise: float, seed: int, folder: Path):
    """One piece of the demo as a hand digitises it: a point every so many mm, beside the line by some noise."""
    random = np.random.default_rng(seed)

    def shaken(path: re.Match[str]) -> str:
        return re.sub(r"\d+(?:\.\d+)?", lambda number: f"{float(number[0]) + random.normal(0.0, noise):.3f}", path[0])

    text = svg((piece_of(piece),), FERRYHAND_SHEET, chord)
    path = folder / f"{seed}.svg"
    path.write_text(re.sub(r'(?<= d=")[^"]{200,}', shaken, text), encoding="utf-8")
    plan = FIXTURES / "ferryhand" / "ferryhand.seams.toml"
    return read(str(path), Request(plan=plan, sizes=("40",)), REGISTRY, SETTINGS)[0]


@pytest.mark.parametrize("chords", [(3.0, 5.0), (2.0, 2.3), (8.0, 5.0)])
@pytest.mark.parametrize("noise", [0.0, 0.05])
@pytest.mark.parametrize("piece", ["front", "back", "band-front"])
def test_a_piece_that_was_digitised_twice_is_unchanged(piece, noise, chords, tmp_path):
    old, new = (digitised(piece, chord, noise, seed, tmp_path) for seed, chord in enumerate(chords))
    change = next(one for one in compare(old, new).pieces if one.name == piece)
    assert change.unchanged, list(sentences(change))
