"""JUnit XML: valid by the schema that build servers use, read by a general library, and no finding lost."""

from collections import Counter
from functools import cache
from pathlib import Path

import junitparser
import pytest
import xmlschema

from seamcheck.amounts import phrase
from seamcheck.checks.base import Severity
from seamcheck.engine.report_format import RenderOptions
from seamcheck.engine.result import FileResult, Report, Skipped
from seamcheck.errors import Failure
from seamcheck.report.junit import render


@cache
def schema() -> xmlschema.XMLSchema10:
    return xmlschema.XMLSchema10(Path(__file__).parent / "schemas" / "junit-10.xsd")


def parsed(report: Report) -> junitparser.JUnitXml:
    text = render(report, RenderOptions())
    assert [error.reason for error in schema().iter_errors(text)] == []
    return junitparser.JUnitXml.fromstring(text.encode())


def cases(report: Report) -> dict[str, junitparser.TestCase]:
    (suite,) = parsed(report)
    found = {case.name: case for case in suite}
    assert len(found) == len(list(suite))  # a server tells cases by their names
    return found


def test_a_real_run_is_valid_and_holds_every_finding(run_of_all_kinds):
    xml = parsed(run_of_all_kinds)
    suites = list(xml)
    assert [suite.name for suite in suites] == [file.path for file in run_of_all_kinds.files]
    for suite, file in zip(suites, run_of_all_kinds.files, strict=True):
        told = "\n".join(
            [result.text or "" for case in suite for result in case.result]
            + [case.system_out or "" for case in suite]
        )
        for message, times in Counter(finding.message for finding in file.findings).items():
            assert told.count(message) >= times, message
        results = Counter(type(result).__name__ for case in suite for result in case.result)
        assert (suite.tests, suite.failures, suite.errors, suite.skipped) == (
            len(list(suite)),
            results["Failure"],
            results["Error"],
            results["Skipped"],
        )
    assert xml.failures == sum(suite.failures for suite in suites)
    assert suites[1].failures == suites[1].errors == 0
    assert len(list(suites[1])) > 40
    assert suites[-1].errors == 1
    assert "there is no such file" in next(iter(suites[-1])).result[0].message


def test_a_seam_in_a_size_is_a_case_that_fails_with_the_words_of_a_sewist(judged, finding):
    found = cases(Report(files=(judged(finding(size="L"), sizes=("M", "L")),)))
    assert found["seam outseam, size M"].result == []
    (failure,) = found["seam outseam, size L"].result
    assert isinstance(failure, junitparser.Failure)
    assert failure.type == "seam-length/short"
    assert failure.message == "The back is 6.4 mm (1/4 in) shorter than the front"
    assert "Do: lengthen the back below the knee." in failure.text


@pytest.mark.parametrize(
    ("changes", "case"),
    [
        ({}, "seam outseam"),
        ({"seam": None}, "piece back"),
        ({"seam": "no such seam"}, "piece back"),
        ({"seam": None, "pieces": ("gone", "front")}, "piece front"),
        ({"seam": None, "pieces": ()}, "check seam-length"),
        ({"seam": None, "pieces": (), "check": "house-rule"}, "check house-rule, size M"),
    ],
)
def test_a_finding_is_told_by_exactly_one_case(judged, finding, changes, case):
    found = cases(Report(files=(judged(finding(**changes)),)))
    assert [name for name, one in found.items() if one.result and isinstance(one.result[0], junitparser.Failure)] == [
        case
    ]


def test_what_does_not_fail_the_run_stands_in_the_output(judged, finding):
    file = judged(finding(severity=Severity.WARNING), finding(accepted="it is known"))
    case = cases(Report(files=(file,), fail_on=Severity.ERROR))["seam outseam"]
    assert case.result == []
    assert "Warning: " in case.system_out
    assert "Accepted, because: it is known." in case.system_out
    failing = cases(Report(files=(file,)))["seam outseam"]
    assert [type(one) for one in failing.result] == [junitparser.Failure]


def test_a_check_that_judged_nothing_is_skipped_and_a_place_it_did_not_judge_is_a_remark(judged):
    file = judged(
        skipped=(
            Skipped(check="seam-length", size="M", why=phrase("there is no seam")),
            Skipped(check="corner-blend", size="M", seam="outseam", why=phrase("its corner is not sure")),
        )
    )
    found = cases(Report(files=(file,)))
    (skipped,) = found["check seam-length"].result
    assert (type(skipped), skipped.message) == (junitparser.Skipped, "there is no seam")
    assert found["check corner-blend"].result == found["seam outseam"].result == []
    assert found["seam outseam"].system_out == "Skipped: corner-blend: its corner is not sure"


def test_edges_that_nobody_looked_at_are_skipped_and_not_passed(judged):
    assert "every edge looked at" not in cases(Report(files=(judged(open_edges=("back.hem",)),)))
    found = cases(Report(files=(judged(plan=None, open_edges=("back.hem",)),)))
    (skipped,) = found["every edge looked at"].result
    assert isinstance(skipped, junitparser.Skipped)
    assert skipped.message == "1 seam judged, 1 edge not looked at: say which seams they are (seamcheck pair)"


def test_what_could_not_be_judged_is_an_error_also_beside_what_was(judged):
    file = judged(
        failures=(
            Failure("the outline is open", "ferryhand.svg", "piece back"),
            Failure("a check crashed", "ferryhand.svg"),
        )
    )
    (error,) = cases(Report(files=(file,)))["judged"].result
    assert isinstance(error, junitparser.Error)
    assert error.text == "piece back: the outline is open\na check crashed"
    assert cases(Report(files=(FileResult(path="gone.svg", failures=(Failure("gone", "gone.svg"),)),))).keys() == {
        "judged"
    }


def test_letters_that_xml_cannot_hold_are_replaced(judged, finding):
    text = render(
        Report(files=(judged(finding(message="a\x07b\ud800\ufffe <&> \"'"), path="k\x00.svg"),)), RenderOptions()
    )
    assert [error.reason for error in schema().iter_errors(text)] == []
    (suite,) = junitparser.JUnitXml.fromstring(text.encode())
    assert suite.name == "k\ufffd.svg"
    assert "a\ufffdb\ufffd\ufffd <&> \"'" in text.replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&")
