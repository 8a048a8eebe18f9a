import json
import math

from seamcheck.checks.base import Severity
from seamcheck.engine.report_format import RenderOptions
from seamcheck.engine.result import FileResult, Report
from seamcheck.errors import Failure
from seamcheck.report.json import render

# The keys that other programs rely on; more may be added, none renamed or taken away.
FILE = {"path", "pattern", "units", "plan", "sizes", "notes", "seams", "junctions", "skipped", "findings"}
SEAM = {"name", "size", "inferred", "confidence", "first", "second", "difference", "allowed"}
FINDING = {
    *("check", "code", "severity", "size", "seam", "pieces", "edges", "measured", "allowed", "tolerance", "at"),
    *("message", "advice", "accepted", "known"),
}


def text(*files: FileResult) -> str:
    return render(Report(files=files), RenderOptions())


def test_all_keys_are_there(judged, finding):
    report = json.loads(text(judged(finding(), finding(accepted="known"))))
    assert report.keys() >= {"schema", "files", "summary"}
    assert report["schema"] == "seamcheck.report/1"
    (file,) = report["files"]
    assert file.keys() >= FILE
    assert file["seams"][0].keys() >= SEAM
    assert file["seams"][0]["first"] == {"edges": ["front.outseam"], "length": 1043.21}
    assert file["junctions"] == [
        {"corners": ["front.side-waist", "back.side-waist"], "size": "M", "angle": 179.8, "expected": 180.0}
    ]
    assert file["skipped"][0].keys() >= {"check", "size", "piece", "why"}
    assert file["notes"] == [{"code": "no-test-square", "message": "there is no test square in the file"}]
    first, second = file["findings"]
    assert first.keys() >= FINDING
    assert (first["severity"], first["measured"], first["at"]) == ("error", -6.35, [12.0, 34.0])
    assert (first["allowed"], first["tolerance"], first["accepted"]) == ([0.0, 0.0], 1.6, None)
    assert second["accepted"] == "known"
    assert report["summary"] == {
        "error": 1,
        "warning": 0,
        "note": 0,
        "accepted": 1,
        "known": 0,
        "without_plan": 0,
        "skipped": 2,
    }


def test_what_is_not_known_is_null(judged, finding):
    bare = finding(seam=None, measured=None, unit=None, allowed=None, tolerance=None, at=None)
    (file,) = json.loads(text(judged(bare, plan=None)))["files"]
    assert file["plan"] is None
    assert [file["findings"][0][key] for key in ("seam", "measured", "allowed", "tolerance", "at")] == [None] * 5


def test_numbers_have_six_decimals_and_no_negative_zero(judged, finding, seam):
    file = judged(
        finding(measured=-1 / 3, at=complex(-0.0, 1e-9), allowed=(-1e-9, 2)),
        seams=(seam(difference=-0.0),),
    )
    (file,) = json.loads(text(file))["files"]
    (found,) = file["findings"]
    assert (found["measured"], found["at"], found["allowed"]) == (-0.333333, [0.0, 0.0], [0.0, 2.0])
    assert math.copysign(1, file["seams"][0]["difference"]) == math.copysign(1, found["allowed"][0]) == 1
    assert "-0.0," not in text(judged(finding(measured=-0.0)))


def test_what_is_not_finite_is_null_and_the_text_is_json_still(judged, finding):
    def refuse(word):
        raise AssertionError(word)

    report = json.loads(text(judged(finding(measured=math.inf, at=complex(math.nan, 1)))), parse_constant=refuse)
    assert report["files"][0]["findings"][0]["measured"] is None


def test_numpy_numbers_are_plain_numbers(judged, finding):
    import numpy as np

    found = finding(measured=np.float64(2.5), at=np.complex128(1 + 2j))
    (file,) = json.loads(text(judged(found)))["files"]
    assert (file["findings"][0]["measured"], file["findings"][0]["at"]) == (2.5, [1.0, 2.0])


def test_lengths_are_written_as_fractions_even_when_whole(judged, finding):
    assert '"measured": 3.0,' in text(judged(finding(measured=3, severity=Severity.WARNING)))


def test_the_same_result_gives_the_same_bytes_in_the_given_order(judged, finding):
    files = [judged(finding(seam=name), path=f"{name}.svg") for name in ("waist", "crotch")]
    assert text(*files) == text(*files)
    assert [file["path"] for file in json.loads(text(*files))["files"]] == ["waist.svg", "crotch.svg"]


def test_failures_are_told(judged):
    (file,) = json.loads(text(FileResult(path="gone.svg", failures=(Failure("there is no such file", "gone.svg"),))))[
        "files"
    ]
    assert file["failures"] == ["gone.svg: there is no such file"]


def test_letters_of_every_script_are_themselves(judged):
    assert '"path": "Hosenbein–änderung 裤.svg"' in text(judged(path="Hosenbein–änderung 裤.svg"))
