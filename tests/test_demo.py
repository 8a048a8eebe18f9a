"""The Ferryhand trousers: sound in every form; each alteration, as left, brings what its geometry says and nothing else.

What must be found is worked out here from `expected.toml`, which the drafting scripts computed from their own
construction, and from the bands; nothing of it comes from the checks.
"""

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from golden import assert_told_as_committed
from judging import judged, registry

from seamcheck.checks.base import Severity
from seamcheck.config.settings import Settings
from seamcheck.engine.judge import check_file
from seamcheck.engine.read import Request
from seamcheck.engine.result import FileResult, Finding
from seamcheck.truing.recipes import with_recipes

DEMO = Path(__file__).parent.parent / "fixtures" / "ferryhand"
EXPECTED = tomllib.loads((DEMO / "expected.toml").read_text(encoding="utf-8"))
ALTERATIONS = sorted({name.rsplit("-", 1)[0] for name in EXPECTED})
HALF_BANDS = {"mm": 0.8, "degrees": 1.75, "grain": 0.5}


@dataclass(frozen=True)
class Form:
    """One way the demo is written to a file, and how exactly it can be measured there."""

    suffix: str
    plan: str
    mm: float
    degrees: float

    def path(self, name: str) -> Path:
        return DEMO / "altered" / f"{name}{self.suffix}"


FORMS = {
    "curves": Form(".svg", "ferryhand", 0.02, 0.05),
    "digitised": Form("-digitised.svg", "ferryhand-digitised", 0.15, 2.0),
    "cad": Form("-cad.dxf", "ferryhand-cad", 0.02, 0.05),
    "apparel": Form("-apparel.dxf", "ferryhand-nest", 0.02, 0.5),
}


def _check(path: Path, plan: str) -> FileResult:
    """A file of the demo, judged once for all tests, or one that a test made of it."""
    plan_path = DEMO / f"{plan}.seams.toml"
    if not path.is_relative_to(DEMO):
        return check_file(str(path), Request(plan=plan_path), registry(), Settings(), with_recipes)
    result = judged(path, plan=plan_path)
    assert_told_as_committed(path, result)
    return result


@pytest.mark.parametrize(
    "name", ["ferryhand.svg", "ferryhand-digitised.svg", "ferryhand-cad.dxf", "ferryhand-nest.dxf"]
)
def test_the_unaltered_pattern_is_quiet_in_every_form(name):
    result = judged(DEMO / name)
    assert_told_as_committed(DEMO / name, result)
    sizes = 5 if "nest" in name else 1
    assert (result.failures, result.findings) == ((), ())
    assert len(result.sizes) == sizes
    assert len(result.pieces) == 7
    assert len(result.seams) == 10 * sizes
    assert len(result.junctions) == 13 * sizes
    assert max(abs(seam.difference) for seam in result.seams) < (0.05 if "digitised" in name else 0.01)


@dataclass(frozen=True)
class Expected:
    """One finding to come: which check, on what, and how much, at first in mm or degrees beyond what is right."""

    check: str
    where: str
    amount: float
    half_band: float


def _expected(name: str) -> Iterator[Expected]:
    truth = EXPECTED[name]
    for seam in truth.get("seams", ()):
        yield Expected("seam-length", seam["name"], seam["difference"], HALF_BANDS["mm"])
    for kink in truth.get("kinks", ()):
        yield Expected("edge-blend", kink["edge"], kink["turn"], HALF_BANDS["degrees"])
    for junction in truth["junctions"]:
        check = "dart-mouth" if junction["name"] == "dart-mouth" else "corner-blend"
        yield Expected(check, " ".join(sorted(junction["corners"])), junction["sum"] - 180.0, HALF_BANDS["degrees"])
    for dart in truth.get("darts", ()):
        yield Expected("dart-legs", dart["piece"], dart["legs"][0] - dart["legs"][1], HALF_BANDS["mm"])
    for grain in truth.get("grain", ()):
        first, last = grain["directions"][0], grain["directions"][-1]
        yield Expected("grain-straight", grain["piece"], first - last, HALF_BANDS["grain"])


def _where(finding: Finding) -> str:
    if finding.check == "seam-length":
        return finding.seam or ""
    if finding.check == "edge-blend":
        return finding.edges[0]
    return finding.pieces[0] if finding.check in ("dart-legs", "grain-straight") else ""


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("alteration", ALTERATIONS)
def test_an_alteration_as_left_brings_what_its_geometry_says_and_nothing_else(alteration, form):
    how = FORMS[form]
    result = _check(how.path(f"{alteration}-left"), how.plan)
    assert result.failures == ()
    found = list(result.findings)
    for expected in _expected(f"{alteration}-left"):
        slack = how.mm if expected.half_band == HALF_BANDS["mm"] else how.degrees
        if abs(expected.amount) < expected.half_band - slack:
            continue
        match = next(
            (
                f
                for f in found
                if f.check == expected.check
                and _where(f) in (expected.where, "")
                and abs(abs(f.measured or 0.0) - abs(expected.amount)) <= slack
            ),
            None,
        )
        if match is None:
            assert abs(expected.amount) < expected.half_band + slack, f"{expected} was not found"
        else:
            found.remove(match)
    assert found == []


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("alteration", ALTERATIONS)
def test_an_alteration_once_trued_is_quiet(alteration, form):
    how = FORMS[form]
    result = _check(how.path(f"{alteration}-trued"), how.plan)
    assert (result.failures, result.findings) == ((), ())


def _moved(svg: str, piece: str, transform: str) -> str:
    """The drawing with one piece moved by an SVG transform."""
    head = f'inkscape:label="{piece}"'
    assert svg.count(head) == 1
    return svg.replace(head, f'{head} transform="{transform}"')


MOVES = {
    "moved": "translate(37.5, 1100)",
    "turned": "translate(200, 900) rotate(33 550 500)",
    "upside down": "translate(0, 1200) rotate(180 550 550)",
    "mirrored": "translate(1250, 1100) scale(-1, 1)",
    "mirrored and turned": "translate(1500, 1400) rotate(-71 550 500) scale(-1, 1)",
}


@pytest.mark.parametrize("form", ["curves", "digitised"])
@pytest.mark.parametrize("move", MOVES)
@pytest.mark.parametrize("alteration", ["prominent-calf", "sway-back-quick", "low-seat", "full-seat", "deep-torso"])
def test_a_piece_that_was_moved_turned_or_mirrored_keeps_its_names(alteration, move, form, tmp_path):
    how = FORMS[form]
    here = how.path(f"{alteration}-left")
    there = tmp_path / here.name
    there.write_text(_moved(here.read_text(encoding="utf-8"), "Back", MOVES[move]), encoding="utf-8")
    before, after = _check(here, how.plan), _check(there, how.plan)
    assert after.failures == ()

    def said(result: FileResult) -> list[tuple[str, str, str | None, tuple[str, ...]]]:
        return sorted((f.check, f.code, f.seam, f.edges) for f in result.findings)

    assert said(after) == said(before)
    for one, other in zip(before.seams, after.seams, strict=True):
        assert other.difference == pytest.approx(one.difference, abs=1e-4)


def test_the_calf_is_told_to_a_sewist_with_its_stretch_and_amount():
    result = _check(FORMS["curves"].path("prominent-calf-left"), "ferryhand")
    worst = result.findings[0]
    assert (worst.check, worst.seam, worst.severity) == ("seam-length", "outseam", Severity.ERROR)
    assert "back.outseam is 6.4 mm (1/4 in) too short" in worst.message
    assert "side-hem" in worst.message
    assert worst.at is not None
    assert worst.at.real == pytest.approx(690, abs=1)  # on the back's outseam, not the front's at x 80
