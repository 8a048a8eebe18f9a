"""Each alteration of the demo, as left: what is found against what the drafting scripts did.

The truth are the moves that `fixtures/drafting` applied to the parts, and the amounts it was told to take or give.
"""

import sys
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest

from seamcheck.comparison import compare
from seamcheck.comparison.changes import PieceChange
from seamcheck.config.settings import Settings
from seamcheck.engine import plugins
from seamcheck.engine.read import Request, read
from seamcheck.geometry.curve import Affine
from seamcheck.pattern.model import Pattern

FIXTURES = Path(__file__).parents[2] / "fixtures"
sys.path.insert(0, str(FIXTURES))

from drafting.alterations import (  # noqa: E402
    ALTERATIONS,
    BAND_OVERLAP,
    CALF_OVERLAP,
    FLAT_SEAT,
    FULL_SEAT,
    QUICK_AMOUNT,
    SCOOP,
    SCOOP_LOW,
    SWAY_OVERLAP,
    TORSO,
    Altered,
    piece_of,
)
from drafting.shapes import Piece  # noqa: E402
from drafting.sheet import FERRYHAND_SHEET  # noqa: E402
from drafting.write_svg import svg  # noqa: E402

DEMO = FIXTURES / "ferryhand"
SETTINGS = Settings()
REGISTRY = plugins.load(SETTINGS)


@dataclass(frozen=True)
class Form:
    """One way the demo is written, and how near the truth must be met there: mm and degrees."""

    before: str
    suffix: str
    mm: float
    degrees: float
    chord: float | None = None  # mm: drawn here with such chords, the altered piece alone

    def draft_to_file(self, piece: str) -> Affine:
        if self.suffix.endswith(".svg"):
            return FERRYHAND_SHEET.hanging(piece)
        return FERRYHAND_SHEET.upright(piece) if "cad" in self.suffix else Affine.identity()


FORMS = {
    "curves": Form("ferryhand.svg", ".svg", 0.05, 0.05),
    "cad": Form("ferryhand-cad.dxf", "-cad.dxf", 0.05, 0.05),
    "apparel": Form("ferryhand-nest.dxf", "-apparel.dxf", 0.05, 0.05),
    "digitised": Form("ferryhand-digitised.svg", "-digitised.svg", 0.1, 0.05),
    "digitised coarsely": Form("ferryhand.svg", ".svg", 0.3, 0.05, chord=5.0),
}
CHORDS = (1.0, 3.0)  # mm: other ways of digitising what is told by where lines part
MOVED = {
    "prominent-calf": lambda moves: list(moves),
    "sway-back": lambda moves: list(moves),
    "full-seat": lambda moves: list(moves),
    "gaping-band": lambda moves: [moves[0], moves[1] @ moves[0]],
}
OPENED = {
    "prominent-calf": {"outseam": [-CALF_OVERLAP]},
    "sway-back": {"crotch": [-SWAY_OVERLAP]},
    "full-seat": {"crotch": [FULL_SEAT]},
    "gaping-band": {"upper": [-BAND_OVERLAP, -BAND_OVERLAP]},
}
HINGED = {
    "prominent-calf": ["crotch", "inseam"],
    "sway-back": ["outseam"],
    "full-seat": ["outseam"],
    "gaping-band": ["lower", "lower"],
}


@cache
def pattern(name: str, form: str) -> Pattern:
    plan = DEMO / f"{FORMS[form].before.rsplit('.', 1)[0]}.seams.toml"
    return read(str(DEMO / name), Request(plan=plan, sizes=("40",)), REGISTRY, SETTINGS)[0]


def digitised(piece: Piece, chord: float) -> Pattern:
    """One piece as a digitising table leaves it, a point every so many mm."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "one.svg"
        path.write_text(svg((piece,), FERRYHAND_SHEET, chord), encoding="utf-8")
        request = Request(plan=DEMO / "ferryhand.seams.toml", sizes=("40",))
        return read(str(path), request, REGISTRY, SETTINGS)[0]


@cache
def digitised_change(alteration: str, chord: float) -> PieceChange:
    piece = altered(alteration).piece
    (change,) = compare(digitised(piece_of(piece.key), chord), digitised(piece, chord)).pieces
    return change


@cache
def compared(alteration: str, form: str) -> PieceChange:
    chord = FORMS[form].chord
    if chord is not None:
        return digitised_change(alteration, chord)
    before = pattern(FORMS[form].before, form)
    after = pattern(f"altered/{alteration}-left{FORMS[form].suffix}", form)
    if form != "curves":  # in one form all pieces are compared; in the others that one alone, to be quick
        key = altered(alteration).piece.key
        before, after = (
            replace(one, pieces=tuple(piece for piece in one.pieces if piece.name == key)) for one in (before, after)
        )
    comparison = compare(before, after)
    (changed,) = [change for change in comparison.pieces if not change.unchanged]
    assert (comparison.added, comparison.removed, comparison.renamed) == ((), (), {})
    return changed


@cache
def altered(name: str) -> Altered:
    return ALTERATIONS[name]()


forms = pytest.mark.parametrize("form", FORMS)


@forms
@pytest.mark.parametrize("alteration", ALTERATIONS)
def test_only_the_altered_piece_changed(alteration: str, form: str) -> None:
    assert compared(alteration, form).name == altered(alteration).piece.key


@forms
@pytest.mark.parametrize("alteration", MOVED)
def test_every_part_moved_as_it_was_moved_on_the_table(alteration: str, form: str) -> None:
    change = compared(alteration, form)
    to_file = FORMS[form].draft_to_file(change.name)
    wanted = [
        to_file @ move @ to_file.inverse() for move in [Affine(), *MOVED[alteration](altered(alteration).moves)]
    ]
    outline = change.before.outline.polygon()
    assert len(change.parts) == len(wanted)
    for move in wanted:
        misses = [float(np.abs(part.motion.apply(outline) - move.apply(outline)).max()) for part in change.parts]
        assert min(misses) <= FORMS[form].mm
    assert abs(change.parts[0].turn) <= 1e-3


@forms
@pytest.mark.parametrize("alteration", ["prominent-calf", "sway-back", "full-seat", "gaping-band"])
def test_every_turn_is_the_drafted_turn(alteration: str, form: str) -> None:
    change = compared(alteration, form)
    turns = np.array(altered(alteration).turns)
    # The second slash of the band is turned against what the first has left.
    wanted = np.cumsum(turns) if alteration == "gaping-band" else turns
    found = np.array([part.turn for part in change.parts[1:]])
    assert sorted(found) == pytest.approx(sorted(wanted), abs=FORMS[form].degrees)


@forms
@pytest.mark.parametrize("alteration", OPENED)
def test_every_amount_is_the_drafted_amount(alteration: str, form: str) -> None:
    change = compared(alteration, form)
    opened: dict[str, list[float]] = {}
    for one in change.breaks:
        if one.amount:
            opened.setdefault(one.before.edge, []).append(one.amount)
    assert opened.keys() == OPENED[alteration].keys()
    for edge, amounts in OPENED[alteration].items():
        assert sorted(opened[edge]) == pytest.approx(sorted(amounts), abs=FORMS[form].mm)


@forms
@pytest.mark.parametrize("alteration", HINGED)
def test_every_hinge_is_the_drafted_hinge(alteration: str, form: str) -> None:
    change = compared(alteration, form)
    hinges = [cut.hinge for cut in change.cuts if cut.hinge is not None]
    assert sorted(hinge.before.edge for hinge in hinges) == HINGED[alteration]
    to_file = FORMS[form].draft_to_file(change.name)
    moves = [Affine(), *MOVED[alteration](altered(alteration).moves)]
    for cut in change.cuts:
        if cut.hinge is None:
            continue
        # What stayed where it was to both of two parts, by the drafted moves alone.
        fixed_points = [
            complex(to_file.apply(move.c / (1 - move.a)))
            for a in range(len(moves))
            for b in range(a)
            for move in [moves[b].inverse() @ moves[a]]
        ]
        assert cut.centre is not None
        assert min(abs(cut.centre - point) for point in fixed_points) <= FORMS[form].mm
        assert min(abs(cut.hinge.before.at - point) for point in fixed_points) <= FORMS[form].mm


@forms
def test_a_taper_is_told_from_the_crotch_point_to_the_knee(form: str) -> None:
    change = compared("flat-seat", form)
    (end,) = change.ends
    assert (end.edge, end.corner, end.kind) == ("crotch", "crotch-point", "shortened")
    assert end.amount == pytest.approx(-FLAT_SEAT, abs=FORMS[form].mm)
    (line,) = change.redrawn
    assert (line.edge, line.kind) == ("inseam", "taken-in")
    knee = change.before.edge("inseam").length - 440.0
    # In a line of points it is told by how the distance of the two lines grows.
    assert line.ends[1].along == pytest.approx(knee, abs=0.05 if form in ("curves", "cad") else 2.0)


@forms
def test_an_extension_is_told(form: str) -> None:
    change = compared("deep-torso", form)
    (end,) = change.ends
    assert (end.edge, end.corner, end.kind) == ("crotch", "crotch-point", "extended")
    assert end.amount == pytest.approx(TORSO, abs=FORMS[form].mm)
    (line,) = change.redrawn
    assert (line.edge, line.kind) == ("inseam", "let-out")
    assert line.offsets[0] == pytest.approx(TORSO, abs=FORMS[form].mm)


@forms
def test_a_scoop_is_told(form: str) -> None:
    change = compared("low-seat", form)
    (end,) = change.ends
    assert (end.edge, end.corner, end.kind) == ("inseam", "crotch-point", "shortened")
    assert end.amount == pytest.approx(-SCOOP_LOW, abs=FORMS[form].mm)
    (line,) = change.redrawn
    assert (line.edge, line.kind) == ("crotch", "scooped")
    # The middle is that of a stretch whose end a line of points does not mark.
    assert line.at_middle == pytest.approx(-SCOOP, abs=0.05 if form in ("curves", "cad") else 0.15)
    assert line.depth < -SCOOP


@pytest.mark.parametrize("chord", CHORDS)
def test_a_scoop_is_as_deep_however_closely_it_was_digitised(chord: float) -> None:
    (line,) = digitised_change("low-seat", chord).redrawn
    assert (line.edge, line.kind) == ("crotch", "scooped")
    assert line.at_middle == pytest.approx(-SCOOP, abs=0.1)
    assert line.ends[1].corner == "crotch-point"


@pytest.mark.parametrize("chord", CHORDS)
def test_a_taken_in_seam_ends_at_its_corner_however_closely_it_was_digitised(chord: float) -> None:
    change = digitised_change("sway-back-quick", chord)
    third = QUICK_AMOUNT / 3
    assert {end.corner: end.amount for end in change.ends} == pytest.approx(
        {"cb-waist": -third / 2, "dart-in": -third / 2, "dart-out": -third / 2}, abs=0.1
    )
    (line,) = change.redrawn
    assert (line.edge, line.kind, line.ends[0].along) == ("crotch", "taken-in", pytest.approx(0.0, abs=1e-6))


@forms
def test_a_dart_and_a_seam_that_took_more_are_told(form: str) -> None:
    change = compared("sway-back-quick", form)
    third = QUICK_AMOUNT / 3
    ends = {end.corner: end.amount for end in change.ends}
    assert ends == pytest.approx(
        {"cb-waist": -third / 2, "dart-in": -third / 2, "dart-out": -third / 2}, abs=FORMS[form].mm
    )
    (dart,) = change.darts
    assert dart.intake_after - dart.intake_before == pytest.approx(third, abs=max(0.05, FORMS[form].mm))
    (line,) = change.redrawn
    assert (line.edge, line.kind) == ("crotch", "taken-in")
