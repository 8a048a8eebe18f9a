"""Annotations as the runner reads them: parsed here the way it does, so that escapes must come back as they were."""

import re

import pytest

from seamcheck.checks.base import Severity
from seamcheck.engine.report_format import RenderOptions
from seamcheck.engine.result import FileResult, Report
from seamcheck.errors import Failure
from seamcheck.pattern.drawing import Place
from seamcheck.report.github import MOST, render


def read(report: Report) -> tuple[list[tuple[str, dict[str, str], str]], list[str]]:
    """Commands and other lines; GitHub: "Workflow commands for GitHub Actions", and how its toolkit escapes them."""
    commands, log = [], []
    for line in render(report, RenderOptions()).split("\n")[:-1]:
        match = re.fullmatch(r"::(\w+) ?(.*?)::(.*)", line)
        if match is None:
            log.append(line)
            continue
        facts = dict(one.split("=", 1) for one in match[2].split(",")) if match[2] else {}
        plain = {key: value.replace("%3A", ":").replace("%2C", ",") for key, value in facts.items()}
        commands.append((match[1], {key: _data(value) for key, value in plain.items()}, _data(match[3])))
    return commands, log


def _data(text: str) -> str:
    return text.replace("%0D", "\r").replace("%0A", "\n").replace("%25", "%")


def test_a_finding_is_an_annotation_at_its_line(judged, finding):
    commands, log = read(Report(files=(judged(finding(place=Place("element path7", 26, 3))),)))
    ((command, facts, message),) = commands
    assert command == "error"
    assert facts == {
        "file": "ferryhand.svg",
        "line": "26",
        "col": "3",
        "title": "seam-length/short, seam outseam, front.outseam and back.outseam",
    }
    assert message == ("The back is 6.4 mm (1/4 in) shorter than the front.\nDo: lengthen the back below the knee.")
    assert log == [
        "seamcheck: ferryhand.svg: 1 thing to put right; 1 of 1 seam judged, every edge sewn, free or a fold"
    ]


@pytest.mark.parametrize("odd", ["50 % off", "a::b,c=d", "two\nlines", "100%25", "::error::x", "caf\u00e9 裤"])
def test_what_has_a_meaning_for_the_runner_comes_back_as_it_was(judged, finding, odd):
    commands, _ = read(Report(files=(judged(finding(message=odd, seam=None, edges=(odd,)), path=f"{odd}.svg"),)))
    ((command, facts, message),) = commands
    assert command == "error"
    assert facts["file"] == f"{odd}.svg"
    assert message.startswith(odd)


def test_no_name_in_a_file_is_a_command(judged):
    _, log = read(Report(files=(judged(path="##[error]x\n::error::y.svg"),)))
    assert log == [
        "seamcheck: ## [error]x ::error::y.svg: nothing to put right; 1 of 1 seam judged, every edge sewn, free or a fold"
    ]


def test_severities_are_the_kinds_and_accepted_findings_are_none(judged, finding):
    kinds = [finding(severity=severity, seam=f"s{severity}") for severity in Severity]
    commands, _ = read(Report(files=(judged(*kinds, finding(seam="known", accepted="it is")),)))
    assert [command for command, _, _ in commands] == ["error", "warning", "notice"]


def test_what_could_not_be_judged_comes_first(judged, finding):
    files = (judged(finding()), FileResult(path="gone.svg", failures=(Failure("there is no such file", "gone.svg"),)))
    commands, log = read(Report(files=files))
    assert commands[0] == ("error", {"file": "gone.svg", "title": "not judged"}, "there is no such file")
    assert log[-1].startswith("seamcheck: 2 files: 1 with something to put right, 1 not judged")


@pytest.mark.parametrize(
    ("failure", "facts", "message"),
    [
        (
            Failure("it breaks off", "cut.dxf", Place("line 74", 74)),
            {"file": "cut.dxf", "line": "74"},
            "line 74: it breaks off",
        ),
        (
            Failure("an odd key", "shop/cut.seams.toml", Place("line 4, column 9", 4, 9)),
            {"file": "shop/cut.seams.toml", "line": "4", "col": "9"},
            "line 4, column 9: an odd key",
        ),
        (
            Failure("there is no such file", "cut.seams.toml"),
            {"file": "cut.dxf"},
            "cut.seams.toml: there is no such file",
        ),
    ],
)
def test_what_could_not_be_judged_stands_at_the_line_that_is_known(failure, facts, message):
    commands, _ = read(Report(files=(FileResult(path="cut.dxf", failures=(failure,)),)))
    assert commands == [("error", facts | {"title": "not judged"}, message)]


def test_the_worst_are_shown_within_the_limits_and_the_rest_is_counted(judged, finding):
    many = [
        finding(severity=severity, seam=f"seam {k}", measured=1.6 * k, message=f"off by {k} of {severity}")
        for severity in Severity
        for k in range(1, MOST + 4)
    ]
    commands, _ = read(Report(files=(judged(*many[:20]), judged(*many[20:], path="other.svg"))))
    by_kind = {kind: [one for one in commands if one[0] == kind] for kind in ("error", "warning", "notice")}
    assert [len(of_kind) for of_kind in by_kind.values()] == [MOST] * 3
    assert by_kind["error"][0][2].startswith("off by 13 of error")
    assert by_kind["error"][-1][2].startswith("off by 4 of error")
    assert commands[-1] == (
        "notice",
        {"title": "seamcheck"},
        "3 errors, 3 warnings, 4 notices more than can be shown here; the log of this step says how much each file has",
    )


def test_exactly_as_many_as_are_shown_need_no_last_word(judged, finding):
    notes = [finding(severity=Severity.NOTE, seam=f"seam {k}", measured=float(k)) for k in range(MOST)]
    commands, _ = read(Report(files=(judged(*notes),)))
    assert len(commands) == MOST
    assert all(facts["file"] == "ferryhand.svg" for _, facts, _ in commands)


def test_a_real_run_stays_within_the_limits(run_of_all_kinds):
    commands, log = read(run_of_all_kinds)
    assert commands
    assert all(len([one for one in commands if one[0] == kind]) <= MOST for kind in ("error", "warning", "notice"))
    assert len(log) == len(run_of_all_kinds.files) + 1
    assert "line" in commands[1][1]
