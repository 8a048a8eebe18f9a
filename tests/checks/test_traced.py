"""Patterns traced by hand: a slice of tests/benchmarks/bench_traced.py, and what is said of what noise leaves uncertain."""

import json
import re

import numpy as np
import pytest
from click.testing import CliRunner
from seeded_kinds import KINDS
from seeded_patterns import Spoilt, clean, judged, written
from traced_cases import FAULTY, NUMBERS, SETS, Case, cases, judge, traced

import seamcheck
from seamcheck.builtin import builtin_importer, seamcheck_register_checks
from seamcheck.cli.main import main
from seamcheck.config.plan_file import parse_plan
from seamcheck.config.settings import Settings
from seamcheck.engine.judge import judge as judge_pattern
from seamcheck.testing import read_drawing

CHECKS = []
seamcheck_register_checks(CHECKS.append)

SLICE = [
    Case("straight", 2.0, 0.1, 43),
    Case("half_circle", 3.0, 0.1, 72),
    Case("frilled", 1.0, 0.05, 7),
    Case("straight", 5.0, 0.0, 5),
]


def test_the_cases_are_spread_over_chords_noises_and_faults():
    for name in SETS:
        every = list(cases(name))
        assert len(every) == 120
        assert len({(case.chord, case.noise) for case in every}) == 20
        assert sum(bool(case.fault) for case in every) >= 30
    names = [{case.pattern for case in cases(name)} for name in SETS]
    assert sum(map(len, names)) == len(set().union(*names))


@pytest.mark.parametrize("case", SLICE, ids=lambda case: f"{case.pattern}-{case.chord:g}-{case.noise:g}")
def test_what_is_traced_is_judged_as_its_curves_are(case):
    seen = judge(case)
    assert (seen.false, seen.missed) == ((), False)
    assert seen.length_off < 0.5
    assert seen.within


@pytest.mark.parametrize("fault", FAULTY)
def test_a_fault_in_a_traced_pattern_is_found(fault):
    name = next(one for one in ("half_circle", "frilled", "straight") if KINDS[NUMBERS[fault]].places(clean(one)))
    seen = judge(Case(name, 2.0, 0.05, 11, fault))
    assert (seen.false, seen.missed) == ((), False)


def corner_turned(degrees, case, folder):
    """The straight skirt with a corner turned, traced."""
    kind, pattern = next(one for one in KINDS if one.name == "corner with a point"), clean("straight")
    return judged(traced(kind.make(pattern, kind.places(pattern)[0], degrees), case), "curves", folder)


def test_what_is_off_by_no_more_than_it_may_be_is_left_aside_and_said(tmp_path):
    case = Case("straight", 2.0, 0.2, 3)
    result = corner_turned(3.0, case, tmp_path)
    assert [one for one in result.findings if one.check == "corner-blend"] == []
    unsure = [one for one in result.skipped if one.reason == "uncertain" and one.check == "corner-blend"]
    assert unsure
    assert all(
        one.corners and re.search(r"it is off by .*°, which the traced lines tell to within .*° only", str(one.why))
        for one in unsure
    )


def test_what_is_off_by_more_says_how_surely(tmp_path):
    case = Case("straight", 2.0, 0.1, 3)
    found = [one for one in corner_turned(14.0, case, tmp_path).findings if one.check == "corner-blend"]
    assert [one.severity.value for one in found] == ["error"]
    assert 0.35 < found[0].uncertainty < 5
    assert "every band is that much wider" in found[0].message


def test_nothing_is_redrawn_that_is_only_uncertain(tmp_path):
    pattern, case = clean("straight"), Case("straight", 2.0, 0.2, 5)
    drawing, plan = written(traced(Spoilt(pattern, pattern.pieces), case), "curves")
    path = tmp_path / "skirt.svg"
    path.write_text(drawing, encoding="utf-8")
    path.with_suffix(".seams.toml").write_text(plan, encoding="utf-8")
    told = CliRunner().invoke(main, ["true", str(path), "--format", "json"])
    assert told.exit_code == 0, told.output
    whole = json.loads(told.stdout)
    assert (whole["proposals"], whole["changes"]) == ([], [])


def test_pieces_tell_both_lengths_and_the_noise(tmp_path):
    pattern, case = clean("straight"), Case("straight", 2.0, 0.2, 5)
    drawing, plan = written(traced(Spoilt(pattern, pattern.pieces), case), "curves")
    path = tmp_path / "skirt.svg"
    path.write_text(drawing, encoding="utf-8")
    path.with_suffix(".seams.toml").write_text(plan, encoding="utf-8")
    side = seamcheck.read(path).piece("front").edge("side")
    true = clean("straight").pieces["front"].length("side")
    assert abs(side.length - true) < 0.6 < side.length - side.chord_difference - true
    assert side.noise == pytest.approx(0.2, rel=0.25)
    told = " ".join(CliRunner().invoke(main, ["pieces", str(path)]).stdout.split())
    chords = side.length - side.chord_difference
    assert re.search(
        rf"side +{side.length:.1f} mm .*?length by the curve that noisy chords sample; the chords are {chords:.1f} mm long and lie 0\.\d\d mm beside it",
        told,
    )
    edge = next(
        e
        for p in json.loads(CliRunner().invoke(main, ["pieces", str(path), "--format", "json"]).stdout)["pieces"]
        if p["name"] == "front"
        for e in p["edges"]
        if e["name"] == "side"
    )
    assert edge["noise"] == pytest.approx(side.noise)
    assert edge["chord_difference"] == pytest.approx(side.chord_difference, abs=1e-6)


def strap(number, end=(), noise=0.1):
    """A strap of 300 by 18 mm as a hand traces it, 3 mm apart on its long sides and 4.5 on its ends, whose vertices may be moved by `end`."""
    chance = np.random.default_rng(number)
    corners = [10 + 10j, 310 + 10j, 310 + 28j, 10 + 28j]
    rows = []
    for k, (a, b) in enumerate(zip(corners, [*corners[1:], corners[0]], strict=True)):
        steps = 4 if k % 2 else 100
        row = a + (b - a) * np.arange(steps) / steps
        if k == 1 and len(end):
            row[1:] += end
        rows.append(row)
    drawn = np.concatenate(rows)
    drawn += noise * (chance.standard_normal(len(drawn)) + 1j * chance.standard_normal(len(drawn)))
    path = "L".join(f"{point.real:.3f} {point.imag:.3f}" for point in drawn)
    names = [f"{name} = [{at.real}, {at.imag}]" for name, at in zip("abcd", corners, strict=True)]
    plan = ["format = 1", "[pieces.strap]", 'unsewn = ["upper", "lower"]', "[pieces.strap.corners]", *names]
    plan += [
        "[pieces.strap.edges]",
        'upper = ["a", "b"]',
        'right = ["b", "c"]',
        'lower = ["c", "d"]',
        'left = ["d", "a"]',
    ]
    plan += ["[[seams]]", 'name = "ends"', 'sew = ["strap.right", "-strap.left"]']
    sheet = f'<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="60mm" viewBox="0 0 400 60"><path id="strap" d="M{path}Z"/></svg>'
    parsed = parse_plan("\n".join(plan), "strap.seams.toml")
    pattern = read_drawing(sheet.encode(), builtin_importer("svg"), parsed, "strap.svg")
    return pattern.pieces[0], judge_pattern(pattern, parsed, CHECKS, Settings()).findings


def blends(findings):
    return [(one.code, one.edges) for one in findings if one.check == "edge-blend"]


def test_a_short_edge_is_as_unsteady_as_the_rest_of_its_piece():
    """Four chords of 4.5 mm tell no noise: 0.1 mm turns each joint between them by 3 degrees (one standard error, by geometry)."""
    for number in range(20):
        piece, findings = strap(number)
        assert blends(findings) == []
        assert [one.code for one in findings if one.check in ("corner-blend", "seam-length")] == []
    assert piece.edge("right").noise == piece.noise == pytest.approx(0.1, rel=0.25)
    assert all(corner.uncertainty > 1.0 for corner in piece.corners)


def test_a_kink_in_a_short_edge_that_no_noise_makes_is_found():
    """Its middle put 6 mm outwards: 3 joints that turn by up to 106 degrees."""
    found = blends(strap(3, end=(0, 6, 0))[1])
    assert ("kink", ("strap.right",)) in found or ("step", ("strap.right",)) in found


def test_a_short_edge_of_a_piece_that_is_not_traced_is_as_sure_as_it_is_drawn():
    """0.4 mm beside the line at 4.5 mm turn it by 5, 10 and 5 degrees."""
    assert blends(strap(3, end=(0, 0.4, 0), noise=0.0)[1]) != []
    assert strap(3, noise=0.0)[0].edge("right").uncertainty == 0.0


def test_an_edge_of_some_chords_that_happens_to_look_quiet_is_as_unsteady_as_its_piece(tmp_path):
    """28 chords of which the vertices lie 0.03 mm beside their places by their own differences, and 0.1 mm by those of the other edges."""
    kind, pattern = next(one for one in KINDS if one.name == "edge shortened at a sewn end"), clean("fly_trousers")
    spoilt = kind.make(pattern, kind.places(pattern)[9], 6.35)
    found = judged(traced(spoilt, Case("fly_trousers", 3.0, 0.1, 7063)), "curves", tmp_path).findings
    (seam,) = [one for one in found if one.check == "seam-length"]
    assert blends(found) == []
    assert "altered" not in seam.facts
