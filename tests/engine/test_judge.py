import dataclasses
import math
import os
import subprocess
import sys

import pytest
from house_checks import check, judged, off

from seamcheck.amounts import Angle, Name, Unit, phrase, worded
from seamcheck.checks.base import LookedAt, Observation, Severity, Skip, Tolerance
from seamcheck.checks.plans import PLAN_COMPLETE
from seamcheck.checks.seams import SEAM_LENGTH
from seamcheck.config.settings import Settings
from seamcheck.engine.grading import banded, grade, tolerance_of
from seamcheck.engine.judge import check_file, judge
from seamcheck.engine.observe import SAW_NOTHING
from seamcheck.engine.plugins import load
from seamcheck.engine.read import Request, read
from seamcheck.engine.result import Report
from seamcheck.errors import InputError
from seamcheck.geometry.curve import Affine, Curve
from seamcheck.pattern.junctions import UNPAIRED
from seamcheck.pattern.plan import AcceptedPlan
from seamcheck.testing import FAULTS, Draft, check_draft, good_draft

REGISTRY = load(Settings())


def severity_of(observation, settings=None, **more):
    finding = grade(observation, check(**more), "M", settings or Settings())
    return finding and finding.severity


# Bands


@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize("tolerance", [1.6, 3.5, 1.0, 0.1, 1 / 3])
def test_what_lies_on_a_band_belongs_to_the_milder_one(tolerance, sign):
    def graded(share):
        return banded(sign * share * tolerance, tolerance)

    assert graded(0.0) is None
    assert graded(0.5) is None
    assert graded(0.501) is Severity.NOTE
    assert graded(1.0) is Severity.NOTE
    assert graded(1.001) is Severity.WARNING
    assert graded(2.0) is Severity.WARNING
    assert graded(2.001) is Severity.ERROR


def test_a_band_is_not_left_by_the_last_bit_of_a_number():
    assert banded(0.1 + 0.2, 0.3) is Severity.NOTE
    assert banded(math.nextafter(3.2, 4), 1.6) is Severity.WARNING


def test_an_observation_becomes_a_finding():
    observation = off(-5.0, seam="side", pieces=("front",), edges=("front.side",), at=1 + 2j, allowed=(0.0, 1.0))
    finding = grade(observation, check(), "M", Settings(), "ours")
    assert finding is not None
    assert (finding.message, finding.advice) == ("It is 5.0 mm (3/16 in) off.", "Mend 5.0 mm (3/16 in).")
    assert finding.facts == {"amount": 5.0}
    assert dataclasses.asdict(finding) == {
        "check": "our-check",
        "code": "off",
        "severity": Severity.ERROR,
        "size": "M",
        "fault": {"template": "It is {amount} off.", "facts": (("amount", 5.0),)},
        "remedy": {"template": "Mend {amount}.", "facts": (("amount", 5.0),)},
        "clauses": (),
        "seam": "side",
        "pieces": ("front",),
        "edges": ("front.side",),
        "measured": -5.0,
        "unit": "mm",
        "allowed": (0.0, 1.0),
        "tolerance": 2.0,
        "at": 1 + 2j,
        "accepted": None,
        "known": False,
        "uncertainty": 0.0,
        "plugin": "ours",
        "place": None,
        "subject": {"kind": "seam", "names": ("side",), "number": None},
        "cause": "",
        "recipe": None,
    }


def test_what_is_not_measured_has_the_severity_of_its_code():
    finding = grade(Observation(code="bare"), check(), "M", Settings())
    assert finding is not None
    assert (finding.severity, finding.measured, finding.tolerance, finding.unit) == (Severity.NOTE, None, None, None)
    assert finding.message == "The mark is bare."


def test_clauses_are_added_to_the_message():
    one = check(clauses={"where": "It lies at {amount}."})
    finding = grade(off(5, clauses=("where",)), one, "M", Settings())
    assert finding is not None
    assert finding.message == "It is 5.0 mm (3/16 in) off. It lies at 5.0 mm (3/16 in)."


# Tolerances: the place's own, the shop's for the code, the code's, the shop's for the check, the check's


@pytest.mark.parametrize(
    ("code", "own", "shop", "expected"),
    [
        ("off", None, {}, 2.0),
        ("off", None, {"our-check": 3.0}, 3.0),
        ("off", None, {"our-check": 3.0, "our-check/off": 4.0}, 4.0),
        ("off", 5.0, {"our-check": 3.0, "our-check/off": 4.0}, 5.0),
        ("turned", None, {}, 1.0),
        ("turned", None, {"our-check": 3.0}, 1.0),
        ("turned", None, {"our-check/turned": 6.0}, 6.0),
    ],
)
def test_the_nearest_tolerance_is_in_force(code, own, shop, expected):
    one = check()
    assert tolerance_of(one, one.code(code), Settings(tolerances=shop), own).value == expected


def test_a_shop_writes_lengths_in_its_own_units_and_angles_in_degrees():
    one = check()
    settings = Settings(units="in", tolerances={"our-check/off": 0.125, "our-check/turned": 2.0})
    assert tolerance_of(one, one.code("off"), settings).value == pytest.approx(3.175)
    assert tolerance_of(one, one.code("turned"), settings) == Tolerance(2.0, Unit.ANGLE, "")


def test_a_check_that_measures_nothing_has_no_tolerance():
    one = check(unit=None, tolerance=None)
    assert tolerance_of(one, one.code("off"), Settings()) is None


# Severities


@pytest.mark.parametrize(
    ("severities", "expected"),
    [
        ({}, Severity.ERROR),
        ({"our-check": "note"}, Severity.NOTE),
        ({"our-check": "off"}, None),
        ({"our-check": "off", "our-check/off": "warning"}, Severity.WARNING),
        ({"our-check/off": "off"}, None),
        ({"our-check/bare": "off"}, Severity.ERROR),
        ({"another": "off"}, Severity.ERROR),
    ],
)
def test_a_shop_may_weigh_a_check_or_one_of_its_codes_otherwise(severities, expected):
    assert severity_of(off(9.0), Settings(severities=severities)) is expected


def test_raising_a_severity_finds_nothing_within_the_band():
    assert severity_of(off(0.9), Settings(severities={"our-check": "error"})) is None


# Running the checks


def test_a_crashing_check_stops_no_other_and_is_a_failure():
    def crash(context):
        yield off(9.0)
        raise ZeroDivisionError("by nought")

    bad = dataclasses.replace(check(name="bad-check"), run=crash)
    result = judged(bad, check(off(9.0)), plugin_of={"bad-check": "house_checks"})
    assert [finding.check for finding in result.findings] == ["our-check"]
    (failure,) = result.failures
    assert "check bad-check of plugin house_checks crashed in test_judge.py line" in failure
    assert "ZeroDivisionError: by nought" in failure
    assert "the other checks ran" in failure


def test_a_check_that_names_an_unknown_code_is_a_failure_too():
    result = judged(
        check(off(9.0, code="unheard-of")), check(off(9.0), name="z-check"), plugin_of={"our-check": "house"}
    )
    assert [finding.check for finding in result.findings] == ["z-check"]
    assert "our-check of plugin house" in result.failures[0]


def test_a_message_without_its_fact_is_a_failure_too():
    result = judged(check(Observation(code="off", deviation=9.0)), check(off(9.0), name="z-check"))
    assert [finding.check for finding in result.findings] == ["z-check"]
    assert len(result.failures) == 1


def test_what_was_skipped_is_listed_once():
    skip = Skip(why="nothing to judge by", seam="side")
    result = judged(check(skip, skip))
    (only,) = result.skipped
    assert (only.check, only.message, only.seam, only.size) == ("our-check", "nothing to judge by", "side", "40")
    assert (only.reason, only.why) == ("", worded("nothing to judge by"))


def test_a_skip_keeps_its_code_its_facts_and_its_corners():
    why = phrase("{corner} turns by {angle}", corner=Name("front.tip"), angle=Angle(12.34))
    skip = Skip(reason="turns", why=why, corners=("front.tip", "back.tip"))
    (only,) = judged(check(skip)).skipped
    assert (only.reason, only.why, only.corners) == ("turns", why, ("front.tip", "back.tip"))
    assert only.message == "front.tip and back.tip: front.tip turns by 12.3°"


def test_a_skip_without_its_fact_is_a_failure_of_its_check():
    def run(context):
        yield Skip(reason="turns", why=phrase("it turns by {angle}"))

    result = judged(dataclasses.replace(check(), run=run), check(off(9.0), name="z-check"))
    assert [finding.check for finding in result.findings] == ["z-check"]
    assert "our-check" in result.failures[0]


def test_corners_that_no_inferred_seam_reaches_are_told_once_by_their_code_and_others_by_themselves():
    """What the words say is nothing to go by."""
    words = "neither sewn nor unsewn in the plan"
    skips = [
        *(Skip(reason=UNPAIRED, why="an edge is left over", corners=(corner,)) for corner in ("a.b", "c.d")),
        Skip(reason="other", why=words, corners=("e.f",)),
    ]
    draft = good_draft()
    told = judge(draft.pattern(), draft.plan, (check(*skips),), Settings(), inferred={}).skipped
    assert [(one.reason, one.message) for one in told] == [
        (UNPAIRED, "corners where an edge was not paired"),
        ("other", f"e.f: {words}"),
    ]
    written = judge(draft.pattern(), draft.plan, (check(*skips),), Settings()).skipped
    assert [one.corners for one in written] == [("a.b",), ("c.d",), ("e.f",)]


@pytest.mark.parametrize(
    ("severities", "why"),
    [
        ({"our-check": "off"}, "turned off by shop.toml"),
        ({"our-check/off": "off", "our-check/bare": "off"}, "off and bare turned off by shop.toml"),
        ({"our-check": "note"}, None),
    ],
)
def test_what_is_turned_off_is_skipped(severities, why):
    result = judged(check(off(9.0)), settings=Settings(path="shop.toml", severities=severities))
    assert [str(one.why) for one in result.skipped if one.reason == "turned-off"] == ([why] if why else [])


def test_edges_that_no_seam_and_no_plan_knows_are_open_edges():
    assert judged(SEAM_LENGTH).open_edges == ()
    draft = good_draft()
    plan = dataclasses.replace(
        draft.plan, pieces=tuple(dataclasses.replace(one, unsewn=(), fold=None) for one in draft.plan.pieces)
    )
    named = {edge for piece in draft.plan.pieces for edge in (*piece.unsewn, piece.fold) if edge}
    found = judged(SEAM_LENGTH, draft=dataclasses.replace(draft, plan=plan))
    assert {edge.partition(".")[2] for edge in found.open_edges} == named != set()
    assert (found.planned, found.judged_seams) == (("side",), ("side",))


def test_a_check_that_yields_nothing_is_skipped_and_one_that_looked_is_not():
    result = judged(check(name="silent-check"), check(LookedAt(seam="side"), name="a-check"), check(off(0.0)))
    assert (result.findings, result.failures) == ((), ())
    assert [(one.check, one.size, one.reason, str(one.why)) for one in result.skipped] == [
        ("silent-check", "40", "saw-nothing", SAW_NOTHING)
    ]


def test_findings_come_in_one_order_the_worst_first():
    observations = [off(3.0, seam="a"), off(9.0, seam="b"), off(5.0, seam="c"), off(-9.0, seam="a"), off(1.5)]
    forwards = judged(check(*observations)).findings
    backwards = judged(check(*observations[::-1])).findings
    assert forwards == backwards
    assert [(one.severity, one.seam) for one in forwards] == [
        (Severity.ERROR, "a"),
        (Severity.ERROR, "b"),
        (Severity.ERROR, "c"),
        (Severity.WARNING, "a"),
        (Severity.NOTE, None),
    ]


def test_a_result_says_what_was_walked():
    result = judged(*REGISTRY.checks)
    assert result.sizes == ("40",)
    assert result.pieces == ("front", "back")
    assert result.checks == tuple(one.name for one in REGISTRY.checks)
    (seam,) = result.seams
    assert (seam.name, seam.size, seam.first.edges, seam.second.edges) == (
        "side",
        "40",
        ("front.side",),
        ("back.side",),
    )
    assert seam.difference == pytest.approx(0, abs=1e-9)
    assert {one.corners for one in result.junctions} == {
        ("back.side-hem", "front.side-hem"),
        ("back.side-waist", "front.side-waist"),
    }


def test_without_a_plan_nothing_is_walked_and_the_checks_say_so():
    result = judge(good_draft().pattern(), None, REGISTRY.checks, Settings())
    assert result.seams == ()
    assert result.plan is None
    assert [(one.reason, one.message) for one in result.skipped if one.check == "plan-complete"] == [
        ("no-plan", "there is no plan; write one, or name one with --plan")
    ]


# What the shop accepts


def short(*accepted):
    draft = FAULTS["short-side"].change(good_draft())
    return dataclasses.replace(draft, plan=dataclasses.replace(draft.plan, accepted=accepted))


ACCEPTED = AcceptedPlan(check="seam-length", seam="side", why="stretched on with the iron")


def test_an_accepted_finding_keeps_its_place_and_its_reason():
    result = judged(SEAM_LENGTH, PLAN_COMPLETE, draft=short(ACCEPTED))
    (finding,) = result.findings
    assert (finding.check, finding.accepted) == ("seam-length", "stretched on with the iron")
    report = Report(files=(result,))
    assert report.findings == ()
    assert report.summary == {
        "error": 0,
        "warning": 0,
        "note": 0,
        "accepted": 1,
        "known": 0,
        "without_plan": 0,
        "skipped": len(result.skipped),
    }


@pytest.mark.parametrize(
    "change",
    [
        {},
        {"code": "long"},
        {"piece": "back"},
        {"edge": "side"},
        {"edge": "back.side"},
        {"size": "40"},
        {"seam": None, "size": "40"},
    ],
)
def test_an_entry_may_say_as_much_as_it_likes(change):
    result = judged(SEAM_LENGTH, PLAN_COMPLETE, draft=short(dataclasses.replace(ACCEPTED, **change)))
    assert [finding.accepted for finding in result.findings] == ["stretched on with the iron"]


@pytest.mark.parametrize("change", [{"code": "short"}, {"piece": "front", "edge": "front.hem"}, {"edge": "hem"}])
def test_an_entry_that_matches_nothing_is_a_finding(change):
    result = judged(SEAM_LENGTH, PLAN_COMPLETE, draft=short(dataclasses.replace(ACCEPTED, **change)))
    assert {(one.check, one.code, one.accepted) for one in result.findings} == {
        ("seam-length", "long", None),
        ("plan-complete", "accepted-unused", None),
    }


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"check": "seam-lenght"}, 'no check "seam-lenght"'),
        ({"code": "shorter"}, 'no code "shorter" of seam-length'),
        ({"seam": "sied"}, 'no seam "sied"'),
        ({"piece": "sleeve"}, 'no piece "sleeve"'),
        ({"edge": "front.sied"}, 'no edge "front.sied"'),
        ({"edge": "sied"}, 'no edge "sied"'),
    ],
)
def test_an_entry_that_names_what_is_not_there_is_told_from_a_stale_one(change, told):
    result = judged(SEAM_LENGTH, PLAN_COMPLETE, draft=short(dataclasses.replace(ACCEPTED, **change)))
    found = {one.code: one for one in result.findings}
    assert set(found) == {"long", "accepted-unknown"}
    assert told in found["accepted-unknown"].message
    assert "the nearest" in found["accepted-unknown"].advice or "s are " in found["accepted-unknown"].advice


@pytest.mark.parametrize(
    ("change", "settings", "why"),
    [
        ({"size": "52"}, {}, "the file has no size 52"),
        ({"code": "short"}, {"severities": {"seam-length": "off"}}, "seam-length is turned off"),
    ],
)
def test_an_entry_that_was_not_judged_is_not_called_stale(change, settings, why):
    draft = short(dataclasses.replace(ACCEPTED, **change))
    result = judge(draft.pattern(), draft.plan, (PLAN_COMPLETE, SEAM_LENGTH), Settings(**settings))
    assert [one.check for one in result.findings if one.accepted is None] in ([], ["seam-length"])
    assert [one.reason for one in result.skipped if why in one.message] == ["entry-not-judged"]


def test_an_entry_of_a_check_that_crashed_is_not_called_stale():
    def crash(context):
        raise RuntimeError("no")

    result = judged(dataclasses.replace(SEAM_LENGTH, run=crash), PLAN_COMPLETE, draft=short(ACCEPTED))
    assert result.findings == ()
    assert [one.message for one in result.skipped if "seam-length crashed" in one.message]


def test_an_entry_without_a_reason_accepts_and_is_a_finding_itself():
    result = judged(SEAM_LENGTH, PLAN_COMPLETE, draft=short(dataclasses.replace(ACCEPTED, why="")))
    assert {(one.code, one.accepted is None) for one in result.findings} == {
        ("long", False),
        ("accepted-without-why", True),
    }


# Files


def test_a_file_is_judged_from_disk(tmp_path):
    path = good_draft().save(tmp_path)
    result = check_file(str(path), Request(), REGISTRY, Settings())
    assert (result.failures, result.findings) == ((), ())
    assert result.plan == str(path.with_suffix(".seams.toml"))
    assert result.path == str(path)


def test_a_plan_may_be_named(tmp_path):
    path = good_draft().save(tmp_path)
    other = path.with_suffix(".seams.toml").rename(tmp_path / "other.toml")
    assert check_file(str(path), Request(), REGISTRY, Settings()).plan is None
    assert check_file(str(path), Request(plan=other), REGISTRY, Settings()).plan == str(other)


def test_a_size_that_the_file_has_is_chosen_whatever_its_case(tmp_path):
    path = good_draft().save(tmp_path)
    path.write_text(path.read_text().replace("Size 40", "Size XL"))
    pattern, _ = read(str(path), Request(sizes=("xl",)), REGISTRY, Settings())
    assert pattern.sizes == ("XL",)
    with pytest.raises(InputError, match='no size "S"; its sizes are XL'):
        read(str(path), Request(sizes=("S",)), REGISTRY, Settings())


def nest() -> Draft:
    """The good draft, its panels doubled as a second size beside it, longer by 5 mm on the front only."""
    draft = good_draft()
    shift = Affine.translation(2000 + 0j)
    grown = []
    for panel in draft.panels:
        edges = tuple(dataclasses.replace(edge, line=edge.line.transformed(shift)) for edge in panel.edges)
        panel_grain = tuple(shift.apply(point) for point in panel.grain)
        texts = tuple(text.replace("40", "42") for text in panel.texts)
        grown.append(dataclasses.replace(panel, edges=edges, grain=panel_grain, texts=texts))
    front = grown[0]
    side, hem, centre = (front.edge(name).line for name in ("side", "hem", "centre"))
    grown[0] = front.with_lines(
        side=Curve.join([side, Curve.line(side.end, side.end + 5j)]),
        hem=Curve.line(hem.start + 5j, hem.end + 5j),
        centre=Curve.line(centre.start + 5j, centre.end),
    )
    return dataclasses.replace(draft, panels=(*draft.panels, *grown))


def test_every_size_is_judged_apart():
    result = check_draft(nest(), [SEAM_LENGTH])
    assert result.failures == ()
    assert result.sizes == ("40", "42")
    assert [(seam.size, round(seam.difference, 4)) for seam in result.seams] == [("40", 0.0), ("42", 5.0)]
    assert [(one.size, round(one.measured, 4)) for one in result.findings] == [("42", 5.0)]


def test_a_chosen_size_leaves_the_others_out(tmp_path):
    path = nest().save(tmp_path)
    result = check_file(str(path), Request(sizes=("40",)), REGISTRY, Settings())
    assert result.sizes == ("40",)
    assert {seam.size for seam in result.seams} == {"40"}
    assert result.findings == ()


def open_draft(name="front"):
    draft = good_draft()
    centre = draft.panel(name).edge("centre").line
    short_of = Curve.line(centre.start, centre.point(centre.length - 3))
    return draft.with_panel(name, edges=draft.panel(name).with_lines(centre=short_of).edges, closed=False)


def test_an_open_outline_is_a_finding_and_keeps_the_file_from_being_judged():
    result = check_draft(open_draft())
    assert ("outline-closed", "open") in {(one.check, one.code) for one in result.findings}
    (failure,) = result.failures
    assert "front: the outline is open by 3.0 mm" in failure
    assert failure.endswith("join the two ends in the drawing program")


def test_a_file_without_pieces_cannot_be_judged(tmp_path):
    path = tmp_path / "empty.svg"
    path.write_text('<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100"/>')
    (failure,) = check_file(str(path), Request(), REGISTRY, Settings()).failures
    assert "no piece was found" in failure


def test_a_corner_without_a_place_keeps_the_file_from_being_judged():
    draft = good_draft()
    front, back = draft.plan.pieces
    lost = dataclasses.replace(
        front, corners={**front.corners, "vent": 5000 + 5000j}, edges={**front.edges, "slit": ("side-hem", "vent")}
    )
    changed = dataclasses.replace(draft, plan=dataclasses.replace(draft.plan, pieces=(lost, back)))
    result = check_draft(changed, [PLAN_COMPLETE])
    assert [one.code for one in result.findings] == ["corner-unsure"]
    assert 'plan corner "vent"' in result.failures[0]


def test_a_piece_that_the_file_lacks_keeps_it_from_being_judged_whole():
    draft = good_draft()
    plan = dataclasses.replace(
        draft.plan,
        pieces=tuple(
            dataclasses.replace(one, in_file="Forepart") if one.name == "front" else one for one in draft.plan.pieces
        ),
    )
    pattern = dataclasses.replace(draft, plan=plan).pattern()
    result = judge(pattern, plan, (PLAN_COMPLETE,), Settings())
    assert [one.code for one in result.findings if one.pieces == ("front",)] == ["piece-missing"]
    assert result.failures == (
        f'{pattern.path}: the plan\'s piece "front" (in-file = "Forepart") is not there; '
        "correct in-file in the plan, or add the piece to the file",
    )
    assert Report(files=(result,)).exit_code == 2


def test_a_piece_that_one_size_lacks_is_named_with_the_size():
    draft = nest()
    pattern = draft.pattern()
    pieces = tuple(one for one in pattern.pieces if (one.name, one.size) != ("front", pattern.sizes[1]))
    result = judge(dataclasses.replace(pattern, pieces=pieces), draft.plan, (PLAN_COMPLETE,), Settings())
    (failure,) = result.failures
    assert f'piece "front" (in-file = "front") is not there in size {pattern.sizes[1]};' in failure


def test_the_same_input_gives_the_same_result():
    assert check_draft(FAULTS["short-side"].change(good_draft())) == check_draft(
        FAULTS["short-side"].change(good_draft())
    )


def test_the_order_of_sets_does_not_show(tmp_path):
    draft = FAULTS["short-side"].change(FAULTS["slanted-hem"].change(FAULTS["lost-notch"].change(good_draft())))
    path = draft.save(tmp_path)
    outputs = set()
    for seed in ("1", "2", "77"):
        command = [sys.executable, "-m", "seamcheck", "check", "--format", "json", path.name]
        ran = subprocess.run(command, cwd=tmp_path, env={**os.environ, "PYTHONHASHSEED": seed}, capture_output=True)
        assert ran.returncode == 1, ran.stderr
        outputs.add(ran.stdout)
    assert len(outputs) == 1


def test_a_file_that_is_told_still_counts(tmp_path):
    draft = good_draft()
    paths = [
        draft.save(tmp_path),
        FAULTS["short-side"].change(dataclasses.replace(draft, name="short")).save(tmp_path),
    ]
    bare = tmp_path / "bare.svg"
    bare.write_text(paths[1].read_text())
    files = [
        *(check_file(str(path), Request(), REGISTRY, Settings()) for path in [*paths, bare, tmp_path / "gone.svg"])
    ]
    first = files[1].findings[0]
    files.append(dataclasses.replace(files[1], findings=(dataclasses.replace(first, accepted="meant"),)))
    assert files[2].looked_at_in_part
    for file in files:
        for fail_on in Severity:
            whole, counted = (Report(files=(one,), fail_on=fail_on) for one in (file, file.counted()))
            assert counted.summary == whole.summary
            assert (counted.exit_code, counted.failed) == (whole.exit_code, whole.failed)
        rules = [[(one.check, one.code) for one in each.findings] for each in (file, file.counted())]
        assert rules[0] == rules[1]
        assert file.counted().failures == file.failures
