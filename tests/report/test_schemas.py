"""All JSON that is written is what its published schema says, checked by a general validator."""

import json
from functools import cache
from pathlib import Path

import pytest
from click.testing import CliRunner
from drafted import drafted
from jsonschema import Draft202012Validator

from seamcheck.cli.main import main
from seamcheck.report.schemas import NAMES, schema

pytestmark = pytest.mark.usefixtures("read_once")

FERRYHAND = Path(__file__).parents[2] / "fixtures" / "ferryhand"
LOOKALIKES = FERRYHAND.parent / "lookalikes"
CORPUS = drafted("corpus")
PLAN = FERRYHAND / "ferryhand.seams.toml"
ALTERED = FERRYHAND / "altered"


def _closed(value):
    """A schema in which nothing may be that it does not name: the program must not say what is not published."""
    if isinstance(value, dict):
        value = {key: _closed(one) for key, one in value.items()}
        if "properties" in value and "allOf" not in value:
            value["additionalProperties"] = False
    elif isinstance(value, list):
        value = [_closed(one) for one in value]
    return value


@cache
def validator(name: str) -> Draft202012Validator:
    whole = schema(name)
    if name == "line":  # its lines are a report's file with two keys more
        return Draft202012Validator(whole)
    return Draft202012Validator(_closed(whole))


def written(*arguments: str | Path) -> str:
    result = CliRunner().invoke(main, [str(argument) for argument in arguments])
    assert result.stdout, result.stderr
    return result.stdout


def faults(name: str, value: object) -> list[str]:
    return [f"{error.json_path}: {error.message[:200]}" for error in validator(name).iter_errors(value)]


@pytest.mark.parametrize("name", NAMES)
def test_a_schema_is_one_and_says_what_it_describes(name):
    Draft202012Validator.check_schema(schema(name))
    assert schema(name)["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert schema(name)["title"]
    assert json.loads(written("schema", name)) == schema(name)
    assert f"{name}  " in written("schema")


RUNS = [
    ("report", ["check", FERRYHAND / "ferryhand.svg"]),
    ("report", ["check", LOOKALIKES / "nest.dxf"]),
    ("report", ["check", ALTERED / "full-seat-left.svg", "--plan", PLAN, "--before", FERRYHAND / "ferryhand.svg"]),
    ("report", ["check", LOOKALIKES / "sparse.dxf", LOOKALIKES / "careless.dxf"]),
    ("report", ["check", CORPUS / "steward-waistcoat-altered.svg", FERRYHAND / "gone.svg"]),
    ("pieces", ["pieces", FERRYHAND / "ferryhand.svg"]),
    ("pieces", ["pieces", LOOKALIKES / "nest.dxf"]),
    ("pieces", ["pieces", LOOKALIKES / "cad-sheet.dxf"]),
    ("pair", ["pair", CORPUS / "galley-apron-bare.svg"]),
    ("compare", ["compare", FERRYHAND / "ferryhand.svg", ALTERED / "full-seat-left.svg"]),
    ("compare", ["compare", CORPUS / "lifeboat-mitten.svg", CORPUS / "lifeboat-mitten-altered.svg"]),
    ("true", ["true", "--plan", PLAN, ALTERED / "sway-back-left.svg"]),
    ("plugins", ["plugins"]),
]


@pytest.mark.parametrize(("name", "arguments"), RUNS, ids=[f"{name}-{Path(run[-1]).stem}" for name, run in RUNS])
def test_what_is_written_is_what_the_schema_says(name, arguments):
    value = json.loads(written(*arguments, "--format", "json"))
    assert value["schema"] == f"seamcheck.{name}/1"
    assert faults(name, value) == []


def test_the_lines_of_a_run_are_what_the_schema_says():
    lines = written("check", FERRYHAND / "ferryhand.svg", FERRYHAND / "gone.svg", "--format", "jsonl").splitlines()
    values = [json.loads(line) for line in lines]
    assert [faults("line", value) for value in values] == [[]] * 3
    whole = json.loads(written("check", FERRYHAND / "ferryhand.svg", FERRYHAND / "gone.svg", "--format", "json"))
    assert [{k: v for k, v in value.items() if k not in ("schema", "kind")} for value in values[:2]] == whole["files"]
    assert (values[2]["files"], values[2]["failed"], values[2]["summary"]) == (2, 1, whole["summary"])


def test_the_rows_of_a_table_are_what_the_schema_says():
    files = [ALTERED / "prominent-calf-left.svg", FERRYHAND / "ferryhand.svg", FERRYHAND / "gone.svg", "--plan", PLAN]
    rows = [json.loads(line) for line in written("check", *files, "--format", "table").splitlines()]
    assert {fault for row in rows for fault in faults("table", row)} == set()
    columns = list(schema("table")["properties"])
    assert all(list(row) == columns for row in rows)  # a library for tables may go by the first
    told = json.loads(written("check", *files, "--format", "json"))["files"]
    for kind in ("seam", "junction", "finding", "failure"):
        assert sum(row["kind"] == kind for row in rows) == sum(len(file[f"{kind}s"]) for file in told) > 0
    short = next(row for row in rows if row["kind"] == "finding" and row["check"] == "seam-length")
    assert short == {**short, **{key: value for key, value in told[0]["findings"][0].items() if key in short}}


def test_a_record_of_known_findings_is_what_the_schema_says(tmp_path):
    record = tmp_path / "known.json"
    written("check", ALTERED / "prominent-calf-left.svg", "--plan", PLAN, "--record", record)
    value = json.loads(record.read_text(encoding="utf-8"))
    assert value["files"]
    assert faults("known", value) == []


@pytest.mark.parametrize("change", [{"files": 3}, {"extra": 1}, {"schema": "seamcheck.report/2"}])
def test_what_is_not_so_is_found(change):
    assert faults("report", {"schema": "seamcheck.report/1", "files": [], "summary": {}, **change})


def test_a_finding_without_its_place_is_found():
    value = json.loads(written("check", ALTERED / "prominent-calf-left.svg", "--plan", PLAN, "--format", "json"))
    del value["files"][0]["findings"][0]["place"]
    assert any("'place' is a required property" in fault for fault in faults("report", value))
