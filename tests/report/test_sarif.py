"""SARIF 2.1.0, held against the schema that OASIS publishes with the standard."""

import json
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from jsonschema import Draft7Validator, FormatChecker

from seamcheck import check
from seamcheck.amounts import phrase
from seamcheck.checks.base import Severity
from seamcheck.engine.report_format import RenderOptions
from seamcheck.engine.result import FileResult, Report, Skipped
from seamcheck.errors import Failure
from seamcheck.pattern.drawing import Place
from seamcheck.report.sarif import FINGERPRINT, render, uri

BROKEN = Path(__file__).parents[2] / "fixtures" / "lookalikes" / "broken"


@cache
def validator() -> Draft7Validator:
    text = (Path(__file__).parent / "schemas" / "sarif-schema-2.1.0.json").read_text(encoding="utf-8")
    return Draft7Validator(json.loads(text), format_checker=FormatChecker())


def run(report: Report) -> dict:
    log = json.loads(render(report, RenderOptions()))
    assert [f"{error.json_path}: {error.message[:200]}" for error in validator().iter_errors(log)] == []
    (one,) = log["runs"]
    return one


def one_result(report: Report) -> dict:
    (result,) = run(report)["results"]
    return result


def test_a_real_run_is_valid_and_holds_every_finding(run_of_all_kinds):
    log = run(run_of_all_kinds)
    findings = [finding for file in run_of_all_kinds.files for finding in file.findings]
    rules = log["tool"]["driver"]["rules"]
    results = [result for result in log["results"] if not result["ruleId"].startswith("not-")]
    failures = [failure for file in run_of_all_kinds.files for failure in file.failures]
    unjudged = [result["message"]["text"] for result in log["results"] if result["ruleId"] == "not-judged"]
    assert unjudged == failures != []
    assert len(results) == len(findings) > 1
    for result, finding in zip(results, findings, strict=True):
        assert rules[result["ruleIndex"]]["id"] == result["ruleId"] == f"{finding.check}/{finding.code}"
        assert finding.message in result["message"]["text"]
    assert len({rule["id"] for rule in rules}) == len(rules)
    assert all(rule["help"]["text"].startswith("Holds when ") for rule in rules if not rule["id"].startswith("not-"))
    in_part = [file for file in run_of_all_kinds.files if file.looked_at_in_part]
    assert len(in_part) == sum(result["ruleId"] == "not-looked-at" for result in log["results"]) > 0
    prints = {result["partialFingerprints"][FINGERPRINT] for result in log["results"]}
    assert len(prints) >= len(findings) + len(failures) + 1


def test_edges_that_nobody_looked_at_are_a_result(tmp_path):
    files = (FileResult(path="cut.dxf", sizes=("M",), pieces=("front",), open_edges=("front.hem", "front.side")),)
    for partial in (False, True):
        log = run(Report(files=files, partial=partial))
        (result,) = log["results"]
        assert result["message"]["text"].startswith("No seam judged, 2 edges not looked at")
        assert (result["ruleId"], result["level"]) == ("not-looked-at", "warning")
        assert log["tool"]["driver"]["rules"][result["ruleIndex"]]["id"] == "not-looked-at"
    planned = FileResult(path="cut.dxf", plan="cut.seams.toml", sizes=("M",), open_edges=("front.hem",))
    assert not run(Report(files=(planned,)))["results"]  # there it is a finding of its own


def test_the_schema_finds_what_is_not_so(run_of_all_kinds):
    log = json.loads(render(run_of_all_kinds, RenderOptions()))
    log["runs"][0]["results"][0]["level"] = "fatal"
    assert list(validator().iter_errors(log))


def test_a_region_carries_the_line_and_column_of_the_file(judged, finding):
    report = Report(files=(judged(finding(place=Place("element path7", 26, 3))),))
    (location,) = one_result(report)["locations"]
    assert location["physicalLocation"] == {
        "artifactLocation": {"uri": "ferryhand.svg", "index": 0},
        "region": {"startLine": 26, "startColumn": 3},
    }
    assert [one["fullyQualifiedName"] for one in location["logicalLocations"]] == [
        "seam outseam",
        "piece back",
        "edge front.outseam",
        "edge back.outseam",
    ]
    in_dxf = one_result(Report(files=(judged(finding(place=Place("line 210", 210))),)))
    assert in_dxf["locations"][0]["physicalLocation"]["region"] == {"startLine": 210}
    nowhere = one_result(Report(files=(judged(finding()),)))
    assert "region" not in nowhere["locations"][0]["physicalLocation"]


def test_what_was_measured_stands_in_the_properties(judged, finding):
    properties = one_result(Report(files=(judged(finding()),)))["properties"]
    assert [properties[key] for key in ("size", "measured", "allowed", "tolerance", "unit", "at")] == [
        "M",
        -6.35,
        [0.0, 0.0],
        1.6,
        "mm",
        [12.0, 34.0],
    ]


def test_what_the_shop_accepts_is_suppressed_with_the_reason(judged, finding):
    accepted = one_result(Report(files=(judged(finding(accepted="it is stretched on")),)))
    assert accepted["suppressions"] == [
        {"kind": "external", "status": "accepted", "justification": "it is stretched on"}
    ]
    assert one_result(Report(files=(judged(finding()),)))["suppressions"] == []


@pytest.mark.parametrize(
    ("changes", "code", "successful"),
    [
        ({}, 1, True),
        ({"findings": ()}, 0, True),
        ({"failures": (Failure("a check crashed", "ferryhand.svg"),)}, 2, False),
    ],
)
def test_the_invocation_tells_the_exit_code_and_what_failed(judged, finding, changes, code, successful):
    file = replace(judged(finding()), **changes)
    (invocation,) = run(Report(files=(file,)))["invocations"]
    assert (invocation["exitCode"], invocation["executionSuccessful"]) == (code, successful)
    errors = [one for one in invocation["toolExecutionNotifications"] if one["level"] == "error"]
    assert [one["message"]["text"] for one in errors] == list(file.failures)
    notes = [one["message"]["text"] for one in invocation["toolExecutionNotifications"] if one["level"] == "note"]
    assert notes == ["Skipped: grain-turned (back, front): no earlier file to compare with"]


@pytest.mark.parametrize(
    ("failure", "location"),
    [
        (
            Failure("it breaks off", "cut.dxf", Place("line 74", 74)),
            {"artifactLocation": {"uri": "cut.dxf", "index": 0}, "region": {"startLine": 74}},
        ),
        (
            Failure("an odd key", "shop/cut.seams.toml", Place("line 4, column 9", 4, 9)),
            {"artifactLocation": {"uri": "shop/cut.seams.toml"}, "region": {"startLine": 4, "startColumn": 9}},
        ),
        (Failure("gone", "cut.seams.toml"), {"artifactLocation": {"uri": "cut.dxf", "index": 0}}),
        (Failure("a check crashed", "cut.dxf"), {"artifactLocation": {"uri": "cut.dxf", "index": 0}}),
    ],
)
def test_what_could_not_be_judged_has_the_region_that_is_known(failure, location):
    (invocation,) = run(Report(files=(FileResult(path="cut.dxf", failures=(failure,)),)))["invocations"]
    (told,) = invocation["toolExecutionNotifications"]
    assert told["locations"] == [{"physicalLocation": location}]
    # SARIF 2.1.0, section 3.27.5 and 3.52.3: a result names a rule of the driver.
    log = run(Report(files=(FileResult(path="cut.dxf", failures=(failure,)),)))
    (result,) = log["results"]
    assert (result["level"], result["message"]["text"], result["locations"]) == ("error", failure, told["locations"])
    assert log["tool"]["driver"]["rules"][result["ruleIndex"]]["id"] == result["ruleId"] == "not-judged"
    assert told["message"]["text"] == failure


@pytest.mark.parametrize(
    ("pattern", "plan", "uri_end", "line"),
    [
        ("cut-off.dxf", "", "cut-off.dxf", 74),
        ("not-a-number.dxf", "", "not-a-number.dxf", 60),
        ("byte-order-mark.dxf", 'format = 1\n[pieces.front]\ncorner = "x"\n', "odd.seams.toml", 3),
    ],
)
def test_a_file_that_cannot_be_judged_leads_to_its_line(tmp_path, pattern, plan, uri_end, line):
    path = tmp_path / "odd.seams.toml"
    path.write_text(plan, encoding="utf-8")
    report = check(BROKEN / pattern, plan=path if plan else None)
    assert report.exit_code == 2
    (invocation,) = run(report)["invocations"]
    (location,) = invocation["toolExecutionNotifications"][0]["locations"]
    assert location["physicalLocation"]["artifactLocation"]["uri"].endswith(uri_end)
    assert location["physicalLocation"]["region"]["startLine"] == line


def test_fingerprints_stay_when_the_file_moves_and_the_amount_changes(judged, finding):
    def prints(*findings, **changes):
        results = run(Report(files=(judged(*findings, **changes),)))["results"]
        return [result["partialFingerprints"][FINGERPRINT] for result in results]

    moved = finding(measured=-9.0, message="more", place=Place("line 7", 7), severity=Severity.WARNING)
    assert prints(finding()) == prints(moved, path="old/styles/other.svg")
    others = [finding(size="L"), finding(code="long"), finding(seam="inseam"), finding(edges=("back.outseam",))]
    assert len({*prints(finding(), *others)}) == 5
    # Two of one kind on one edge are told apart by where they lie, whichever is the worse.
    here, there = finding(at=1 + 0j), finding(at=9 + 0j, measured=-8.0)
    assert prints(here, there) == prints(there, here)[::-1]
    assert len({*prints(here, there)}) == 2


def test_a_finding_without_a_known_rule_has_one_with_its_name_alone(judged, finding):
    log = run(Report(files=(judged(finding()),)))
    assert log["tool"]["driver"]["rules"] == [{"id": "seam-length/short"}]


def test_the_default_level_is_that_of_the_check(run_of_all_kinds):
    levels = {
        rule["id"]: rule["defaultConfiguration"]["level"] for rule in run(run_of_all_kinds)["tool"]["driver"]["rules"]
    }
    assert levels["grain-present/missing"] == "error"
    assert levels["labels/name"] == "note"
    assert levels["seam-length/short"] == "warning"


@pytest.mark.parametrize(
    ("path", "reference"),
    [
        ("styles/ferryhand.svg", "styles/ferryhand.svg"),
        ("Fähre 7%.svg", "F%C3%A4hre%207%25.svg"),
        ("a:b#c?.svg", "a%3Ab%23c%3F.svg"),
        ("/home/kit room/x.svg", "file:///home/kit%20room/x.svg"),
        ("odd\udcff.svg", "odd%FF.svg"),
    ],
)
def test_paths_are_references(path, reference):
    assert uri(path) == reference


def test_a_run_without_files_is_valid():
    assert run(Report(files=()))["results"] == []
    assert run(Report(files=(FileResult(path="gone.svg", failures=(Failure("gone", "gone.svg"),)),)))["invocations"]


def test_skipped_checks_are_notes(judged):
    file = judged(skipped=(Skipped(check="ease", size="M", why=phrase("the plan gives no seam ease")),))
    (note,) = run(Report(files=(file,)))["invocations"][0]["toolExecutionNotifications"]
    assert (note["level"], note["message"]["text"]) == ("note", "Skipped: ease: the plan gives no seam ease")
