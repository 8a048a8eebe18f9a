import json

import pytest
from click.testing import CliRunner

from seamcheck.amounts import phrase
from seamcheck.checks.base import Severity
from seamcheck.cli.main import main
from seamcheck.engine.record import read_known, recorded
from seamcheck.engine.result import FileResult, Finding, Report
from seamcheck.errors import Failure, SeamcheckError
from seamcheck.testing import FAULTS, good_draft


def finding(severity="error", seam="side", code="long", **changes) -> Finding:
    return Finding(
        check="seam-length",
        code=code,
        severity=Severity(severity),
        size="40",
        fault=phrase(""),
        remedy=phrase(""),
        seam=seam,
        **changes,
    )


def report(tmp_path, *findings, failures=(), name="styles/a.svg") -> Report:
    return Report(files=(FileResult(path=str(tmp_path / name), findings=findings, failures=failures),))


@pytest.fixture
def known(tmp_path):
    """A record of these findings in one style, written and read again."""

    def known(*findings):
        record = recorded(tmp_path / "known.json", report(tmp_path, *findings))
        record.path.write_text(record.text())
        read = read_known(record.path)
        assert read == record
        return read

    return known


def new(record, seen) -> list[Finding]:
    return list(record.set_aside(seen).findings)


def test_what_is_recorded_does_not_count_and_is_told_as_known(known, tmp_path):
    record = known(finding(), finding("warning", seam="waist"))
    seen = record.set_aside(report(tmp_path, finding("warning", seam="waist"), finding()))
    assert seen.findings == ()
    assert {(one.known, one.accepted) for file in seen.files for one in file.findings} == {(True, None)}
    assert seen.summary["known"] == 2
    assert seen.summary["accepted"] == 0


@pytest.mark.parametrize(
    "other",
    [
        finding(seam="waist"),
        finding(code="short"),
        finding(seam=None, edges=("front.side",)),
        finding(seam=None, pieces=("front",)),
        finding(seam=None),
    ],
)
def test_another_object_or_code_is_new(known, tmp_path, other):
    assert new(known(finding()), report(tmp_path, finding(), other)) == [other]


def test_more_of_a_kind_are_all_told_for_nobody_knows_which_is_new(known, tmp_path):
    record = known(finding())
    assert len(new(record, report(tmp_path, finding(), finding()))) == 2
    assert new(known(finding(), finding()), report(tmp_path, finding())) == []


def test_what_became_graver_is_new_and_what_became_less_is_not(known, tmp_path):
    record = known(finding("warning"), finding("note"))
    assert new(record, report(tmp_path, finding("note"), finding("note"))) == []
    assert len(new(record, report(tmp_path, finding("warning"), finding("warning")))) == 2
    assert len(new(record, report(tmp_path, finding("error")))) == 1


def test_another_file_is_new(known, tmp_path):
    assert len(new(known(finding()), report(tmp_path, finding(), name="styles/b.svg"))) == 1


def test_what_the_plan_accepts_is_neither_recorded_nor_counted(known, tmp_path):
    assert known(finding(accepted="stretched on with the iron")).files == {}


def test_a_record_only_shrinks(known, tmp_path):
    (tmp_path / "styles").mkdir()
    (tmp_path / "styles/a.svg").touch()
    record = known(finding(), finding(), finding("warning", seam="waist"), finding(seam="hem"))
    seen = report(tmp_path, finding(), finding("error", seam="waist"), finding(seam="yoke"))
    shrunk = record.shrunk(seen)
    assert shrunk.files["styles/a.svg"] == {
        ("seam-length/long", "seam side"): (Severity.ERROR,),
        ("seam-length/long", "seam waist"): (Severity.WARNING,),
    }
    assert record.shrunk(report(tmp_path)).files == {}


def test_a_file_that_was_not_judged_keeps_what_is_known_of_it(known, tmp_path):
    record = known(finding())
    assert record.shrunk(report(tmp_path, failures=(Failure("not judged"),))) == record
    (tmp_path / "styles").mkdir()
    (tmp_path / "styles/a.svg").touch()
    assert record.shrunk(report(tmp_path, name="styles/b.svg")) == record
    (tmp_path / "styles/a.svg").unlink()
    assert record.shrunk(report(tmp_path, name="styles/b.svg")).files == {}


def test_a_record_is_json_with_a_line_for_each_object(known):
    text = known(finding(), finding("warning", seam='the "side"')).text()
    assert json.loads(text)["files"]["styles/a.svg"]["seam-length/long"]["seam side"] == ["error"]
    assert '        "seam side": ["error"],\n' in text
    assert known().text() == '{\n  "schema": "seamcheck.known/1",\n  "files": {}\n}\n'


@pytest.mark.parametrize(
    "text",
    ["", "[]", "{}", '{"schema": "x"}', '{"schema": "seamcheck.known/1", "files": {"a": {"b": {"c": ["bad"]}}}}'],
)
def test_what_is_no_record_is_one_sentence(tmp_path, text):
    path = tmp_path / "known.json"
    path.write_text(text)
    with pytest.raises(
        SeamcheckError, match="this is no record of known findings; make it with: seamcheck check --record"
    ):
        read_known(path)


class TestCommand:
    """A shop with an old style that has a fault, from the first record to the mended style."""

    @pytest.fixture
    def run(self, tmp_path, monkeypatch):
        monkeypatch.chdir(tmp_path)
        self.path = FAULTS["short-side"].change(good_draft()).save(tmp_path)
        return lambda *arguments: CliRunner().invoke(main, ["check", *arguments])

    def test_from_the_first_record_to_the_mended_style(self, run, tmp_path):
        assert run("ferryhand-panels.svg").exit_code == 1
        first = run(".", "--record", "known.json")
        assert (first.exit_code, first.stderr) == (0, "")
        assert "nothing new; 1 known: 1 error; " in " ".join(first.stdout.split())
        second = run(".", "--only-new", "known.json")
        assert second.exit_code == 0
        assert second.stdout == first.stdout
        for word in ("put right", "Accepted", "too short"):
            assert word not in first.stdout
        told = run(".", "--only-new", "known.json", "--verbose")
        assert "Known, seam side: back.side is 6.4 mm (1/4 in) too short" in " ".join(told.stdout.split())
        self.path.write_text(FAULTS["moved-notch"].change(FAULTS["short-side"].change(good_draft())).svg())
        again = run(".", "--only-new", "known.json")
        assert again.exit_code == 1
        assert "1 thing to put right; 1 known: 1 error;" in " ".join(again.stdout.split())
        kept = json.loads((tmp_path / "known.json").read_text())["files"]
        assert run(".", "--record", "known.json").exit_code == 1
        assert json.loads((tmp_path / "known.json").read_text())["files"] == kept
        self.path.write_text(good_draft().svg())
        assert run(".", "--record", "known.json").exit_code == 0
        assert json.loads((tmp_path / "known.json").read_text())["files"] == {}

    def test_a_file_that_was_renamed_keeps_what_is_known_of_it(self, run, tmp_path):
        run(".", "--record", "known.json")
        plan = self.path.with_name(f"{self.path.stem}.seams.toml")
        (tmp_path / "old").mkdir()
        for new in ("renamed", "old/renamed"):
            plan = plan.rename(tmp_path / f"{new}.seams.toml")
            self.path = self.path.rename(tmp_path / f"{new}.svg")
            moved = run(".", "--only-new", "known.json")
            assert moved.exit_code == 0
            assert "1 known, recorded as ferryhand-panels.svg: 1 error" in " ".join(moved.stdout.split())
        self.path.write_text(self.path.read_text().replace("<svg", "<!-- another save --><svg"))
        assert run(".", "--only-new", "known.json").exit_code == 0
        assert run(".", "--record", "known.json").exit_code == 0
        record = json.loads((tmp_path / "known.json").read_text())
        assert [*record["files"]] == [*record["patterns"]] == ["old/renamed.svg"]
        assert run(".", "--only-new", "known.json", "--format", "json").exit_code == 0
        good = good_draft().save(tmp_path)
        good.write_text(self.path.read_text())
        assert run(".", "--only-new", "known.json").exit_code == 1  # a copy is new while the other is there

    def test_formats_tell_what_is_known_as_known(self, run):
        run(".", "--record", "known.json")

        def told(name):
            result = run(".", "--only-new", "known.json", "--format", name)
            assert result.exit_code == 0
            return result.stdout

        finding = json.loads(told("json"))["files"][0]["findings"][0]
        assert (finding["known"], finding["accepted"]) == (True, None)
        sarif = json.loads(told("sarif"))["runs"][0]["results"][0]
        # SARIF 2.1.0, section 3.27.24: "unchanged" is what was in the baseline run as well.
        assert (sarif["baselineState"], sarif["suppressions"]) == ("unchanged", [])
        assert "It is known: the record has it." in told("junit")
        for name in ("markdown", "html", "github"):
            assert "othing new; 1 known: 1 error" in told(name)

    def test_a_record_that_is_not_there_is_one_sentence(self, run):
        result = run("ferryhand-panels.svg", "--only-new", "known.json")
        assert (result.exit_code, result.stdout) == (2, "")
        assert "known.json: there is no record of known findings; make it with" in result.stderr


class TestWhatIsMeant:
    """Files, plans and folders on the command line."""

    @pytest.fixture
    def run(self, tmp_path, monkeypatch):
        monkeypatch.chdir(tmp_path)
        (tmp_path / "styles/old").mkdir(parents=True)
        (tmp_path / ".cache").mkdir()
        for folder in ("styles", "styles/old", ".cache"):
            good_draft().save(tmp_path / folder)
        (tmp_path / "styles/ferryhand-panels.pdf").write_bytes(b"%PDF-1.4")
        (tmp_path / "logo.svg").write_text("<svg xmlns='http://www.w3.org/2000/svg'/>")
        return lambda *arguments: CliRunner().invoke(main, ["check", "--format", "json", *arguments])

    @staticmethod
    def judged(result) -> list[str]:
        return [file["path"] for file in json.loads(result.stdout)["files"]]

    def test_a_folder_stands_for_all_patterns_that_have_a_plan(self, run):
        result = run(".")
        assert result.exit_code == 0
        assert self.judged(result) == ["styles/ferryhand-panels.svg", "styles/old/ferryhand-panels.svg"]

    def test_a_plan_stands_for_the_patterns_beside_it_and_nothing_is_judged_twice(self, run):
        result = run("styles/ferryhand-panels.seams.toml", "styles/ferryhand-panels.svg")
        assert self.judged(result) == ["styles/ferryhand-panels.svg"]

    def test_what_has_no_plan_may_be_left_aside(self, run):
        assert self.judged(run("logo.svg", "styles/ferryhand-panels.svg", "--only-planned")) == [
            "styles/ferryhand-panels.svg"
        ]
        mixed = run("logo.svg", "styles/ferryhand-panels.svg", "--only-planned")
        assert json.loads(mixed.stdout)["summary"]["without_plan"] == 1
        nothing = run("logo.svg", "--only-planned")
        assert nothing.exit_code == 0
        assert json.loads(nothing.stdout)["files"] == []
        assert nothing.stderr == "seamcheck: no file has a plan of its name beside it, so nothing was judged\n"

    def test_a_folder_without_any_plan_is_no_success(self, run, tmp_path):
        (tmp_path / "empty").mkdir()
        result = run("empty")
        assert result.exit_code == 2
        assert "empty: no pattern in this folder has a seam plan" in result.stderr

    def test_a_plan_without_a_pattern_is_no_success(self, run, tmp_path):
        (tmp_path / "styles/ferryhand-panels.svg").unlink()
        result = run("styles/ferryhand-panels.seams.toml")
        assert result.exit_code == 2
        assert "no pattern of this name lies beside the plan" in result.stderr
        assert run("styles/ferryhand-panels.seams.toml", "--only-planned").exit_code == 2
        whole = run(".")  # the others are judged all the same
        assert whole.exit_code == 2
        files = json.loads(whole.stdout)["files"]
        assert [(file["path"], len(file["failures"])) for file in files] == [
            ("styles/ferryhand-panels.seams.toml", 1),
            ("styles/old/ferryhand-panels.svg", 0),
        ]

    def test_an_empty_folder_does_not_stop_the_others(self, run, tmp_path):
        (tmp_path / "empty").mkdir()
        result = run("empty", "styles/old", "gone.svg")
        assert result.exit_code == 2
        assert self.judged(result) == ["empty", "styles/old/ferryhand-panels.svg", "gone.svg"]

    def test_plans_whose_pattern_is_gone_are_looked_for_without_judging_the_others(self, run, tmp_path):
        nothing = run("--plans-in", ".", "--only-planned")
        assert (nothing.exit_code, self.judged(nothing)) == (0, [])
        (tmp_path / "styles/ferryhand-panels.svg").unlink()
        lost = run("--plans-in", ".", "--only-planned", "styles/old/ferryhand-panels.svg")
        assert lost.exit_code == 2
        assert self.judged(lost) == ["styles/old/ferryhand-panels.svg", "styles/ferryhand-panels.seams.toml"]
        assert run().exit_code == 2

    @pytest.mark.parametrize(
        ("name", "told"),
        [
            ("text", "2 files: none with something to put right, 1 drawing without a plan left aside (logo.svg)."),
            ("markdown", "1 drawing without a plan left aside (logo.svg)"),
            ("github", "1 drawing without a plan left aside (logo.svg)"),
            ("html", "1 drawing without a plan left aside (logo.svg)"),
            ("json", '"without_plan": 1'),
            ("jsonl", '"without_plan": 1'),
            ("junit", '<testcase name="logo.svg" classname="drawings without a plan">'),
            ("sarif", "No plan of its name lies beside this drawing"),
        ],
    )
    @pytest.mark.usefixtures("run")
    def test_every_format_tells_of_drawings_without_a_plan(self, tmp_path, name, told):
        (tmp_path / "styles/ferryhand-panels.pairs.svg").touch()  # the picture of a plan is none
        result = CliRunner().invoke(main, ["check", ".", "--format", name])
        assert result.exit_code == 0
        assert told in " ".join(result.stdout.split())
