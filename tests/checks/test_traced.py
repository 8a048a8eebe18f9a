"""Patterns traced by hand: a slice of tests/benchmarks/bench_traced.py, and what is said of what noise leaves uncertain."""

import json
import re

import pytest
from click.testing import CliRunner
from seeded_kinds import KINDS
from seeded_patterns import Spoilt, clean, judged, written
from traced_cases import FAULTY, NUMBERS, SETS, Case, cases, judge, traced

import seamcheck
from seamcheck.cli.main import main

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
