"""Code and leniency come from the one who runs the program: what a folder that came from elsewhere can do, and what it cannot."""

import json
import re
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from xml.etree import ElementTree

import pytest
from click.testing import CliRunner

import seamcheck
from seamcheck.cli.main import main
from seamcheck.config import trust, user_folders
from seamcheck.config.limits import Limits
from seamcheck.config.settings import VARIABLE, Settings, load_settings, named_settings
from seamcheck.engine import plugins
from seamcheck.errors import SettingsError
from seamcheck.testing import FAULTS, good_draft

PATTERN = "ferryhand-panels.svg"
EVIL = "from pathlib import Path\n(Path.home() / 'ran').touch()\ndef seamcheck_register_checks(register):\n    pass\n"
NAMED = 'plugins = ["evil.py"]\n'
ALL_COMMANDS = (
    ["check", PATTERN],
    ["pieces", PATTERN],
    ["compare", PATTERN, PATTERN],
    ["true", PATTERN],
    ["pair", PATTERN],
    ["explain"],
    ["plugins"],
)


@pytest.fixture
def home(tmp_path, monkeypatch):
    """A user who trusts nothing yet; code that is run leaves the file `ran` there."""
    home = tmp_path / "home"
    home.mkdir()
    monkeypatch.setenv("HOME", str(home))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(home / "config"))
    return home


@pytest.fixture
def supplier(tmp_path, home, monkeypatch):
    """What a supplier sent: a good pattern, and settings that name code."""
    folder = tmp_path / "inbox" / "supplier"
    folder.mkdir(parents=True)
    good_draft().save(folder)
    (folder / "evil.py").write_text(EVIL)
    (folder / "seamcheck.toml").write_text(NAMED)
    monkeypatch.chdir(folder)
    return folder


@pytest.fixture
def ran(home):
    """Whether the code was run since it was last asked."""

    def ran() -> bool:
        there = (home / "ran").exists()
        (home / "ran").unlink(missing_ok=True)
        return there

    return ran


def run(*arguments: str | Path):
    result = CliRunner().invoke(main, [str(one) for one in arguments])
    assert "Traceback" not in result.stderr
    return result


# code


@pytest.mark.parametrize("command", ALL_COMMANDS, ids=lambda command: command[0])
def test_code_of_a_folder_is_not_run_and_all_else_is_told(command, supplier, ran):
    result = run(*command)
    assert not ran()
    assert result.exit_code == 2
    (sentence,) = result.stderr.splitlines()
    assert sentence == (
        f'seamcheck: {supplier / "evil.py"}: the plugin "evil" that {supplier / "seamcheck.toml"} names is not trusted, so '
        f"it was not run; read it, then trust it with: seamcheck trust {supplier}; or name settings of your own with "
        "--settings"
    )
    assert result.stdout
    if command[0] == "check":
        assert "nothing to put right" in result.stdout


@pytest.mark.parametrize("command", ALL_COMMANDS, ids=lambda command: command[0])
def test_code_of_settings_that_are_named_is_run_and_told(command, supplier, ran):
    said = f"seamcheck: the plugin file {supplier / 'evil.py'} was run\n"
    result = run(*command, "--settings", "seamcheck.toml")
    assert (result.exit_code, result.stderr, ran()) == (0, said, True)
    result = CliRunner().invoke(main, command, env={VARIABLE: str(supplier / "seamcheck.toml")})
    assert (result.exit_code, result.stderr, ran()) == (0, said, True)


def test_settings_that_are_named_hold_in_the_stead_of_those_of_the_folder(supplier, tmp_path, ran):
    (supplier / "seamcheck.toml").write_text(NAMED + '[severity]\nlabels = "off"\n')
    (tmp_path / "own.toml").write_text("[tolerances]\nseam-length = 1.0\n")
    result = run("check", PATTERN, "--settings", tmp_path / "own.toml", "--format", "json")
    assert (result.exit_code, result.stderr) == (0, "")
    assert json.loads(result.stdout)["files"][0]["laxer"] == []
    assert not ran()


@pytest.mark.parametrize(
    ("text", "name", "said"),
    [
        (None, "own.toml", "own.toml: "),
        ("allowance = ", "own.toml", "line 1: this is not valid TOML"),
        ("[tool.other]\n", "pyproject.toml", "it has no [tool.seamcheck]"),
    ],
)
def test_settings_that_are_named_and_no_use_are_one_sentence(supplier, tmp_path, text, name, said):
    if text is not None:
        (tmp_path / name).write_text(text)
    result = run("check", PATTERN, "--settings", tmp_path / name)
    assert result.exit_code == 2
    (sentence,) = result.stderr.splitlines()
    assert said in sentence


def test_settings_of_a_project_file_may_be_named(supplier, tmp_path, ran):
    project = supplier / "pyproject.toml"
    project.write_text('[tool.seamcheck]\nplugins = ["evil.py"]\n')
    assert named_settings(str(project)).plugins == (str(supplier / "evil.py"),)
    assert run("check", PATTERN, "--settings", project).exit_code == 0
    assert ran()


def test_a_folder_is_trusted_once_and_for_the_bytes_that_were_there(supplier, ran, home):
    result = run("trust", supplier)
    assert (result.exit_code, result.stderr) == (0, "")
    # FIPS 180-4 by the standard library stands for the digest.
    digest = subprocess.run(
        [sys.executable, "-c", "import hashlib, sys; print(hashlib.sha256(open(sys.argv[1], 'rb').read()).hexdigest())", supplier / "evil.py"],
        capture_output=True, text=True, check=True,
    ).stdout.strip()  # fmt: skip
    assert f"  evil.py  SHA-256 {digest[:16]}" in result.stdout
    assert json.loads((home / "config" / "seamcheck" / "trusted.json").read_text()) == {
        str(supplier): {"evil.py": digest}
    }
    assert not ran()  # trusting runs nothing
    result = run("check", PATTERN)
    assert (result.exit_code, result.stderr) == (0, f"seamcheck: the plugin file {supplier / 'evil.py'} was run\n")
    assert ran()

    (supplier / "evil.py").write_text(EVIL + "# another line\n")
    result = run("check", PATTERN)
    assert result.exit_code == 2
    assert "was changed since it was trusted, so it was not run" in result.stderr
    assert not ran()

    run("trust", supplier)
    assert run("check", PATTERN).exit_code == 0
    assert ran()

    assert run("trust", "--forget", supplier).stdout == f"{supplier} is trusted no longer.\n"
    assert run("check", PATTERN).exit_code == 2
    assert not ran()


def test_what_settings_name_later_is_not_trusted(supplier, ran):
    (supplier / "seamcheck.toml").write_text("")
    assert "nothing to trust" in run("trust", supplier).stdout
    (supplier / "seamcheck.toml").write_text(NAMED)
    assert run("check", PATTERN).exit_code == 2
    assert not ran()


def test_a_folder_in_a_trusted_one_is_not_trusted(supplier, ran):
    run("trust", supplier)
    inner = supplier / "inner"
    inner.mkdir()
    good_draft().save(inner)
    assert run("check", inner / PATTERN).exit_code == 0  # by the settings above it
    assert ran()
    for name in ("evil.py", "seamcheck.toml"):
        (inner / name).write_bytes((supplier / name).read_bytes())
    assert run("check", inner / PATTERN).exit_code == 2
    assert not ran()


def test_trust_is_given_where_the_settings_stand(supplier, tmp_path):
    inner = supplier / "inner"
    inner.mkdir()
    result = run("trust", inner)
    assert result.exit_code == 2
    assert result.stderr == (
        f"seamcheck: {supplier / 'seamcheck.toml'}: the settings that hold there stand in a folder above it; read them, then "
        f"trust that folder: {supplier}\n"
    )
    assert "there is no such folder" in run("trust", tmp_path / "gone").stderr
    assert "no settings in it or above it" in run("trust", tmp_path).stderr


@pytest.mark.parametrize("name", ["../../evil.py", "../evil.py", "link.py", "far/evil.py", "ABSOLUTE"])
def test_code_outside_the_folder_of_the_settings_is_never_run(name, supplier, tmp_path, ran):
    for folder in (supplier.parent, tmp_path):
        (folder / "evil.py").write_text(EVIL)
    (supplier / "link.py").symlink_to(tmp_path / "evil.py")
    (supplier / "far").symlink_to(tmp_path)
    name = name.replace("ABSOLUTE", str(tmp_path / "evil.py"))
    (supplier / "seamcheck.toml").write_text(f'plugins = ["{name}"]\n')
    for command in (
        ["check", PATTERN],
        ["trust", supplier],
        ["check", PATTERN],
        ["check", PATTERN, "--settings", supplier / "seamcheck.toml"],
    ):
        result = run(*command)
        assert result.exit_code == 2
        (sentence,) = result.stderr.splitlines()
        assert (
            f'line 1: the plugin file "{name}" lies outside the folder of the settings; put it beside them'
            in sentence
        )
    assert not ran()
    assert not trust.store().exists()


def test_code_below_the_settings_or_linked_within_is_part_of_the_folder(supplier, ran):
    (supplier / "rules").mkdir()
    (supplier / "rules" / "ours.py").write_text(EVIL)
    (supplier / "linked.py").symlink_to(supplier / "rules" / "ours.py")
    (supplier / "seamcheck.toml").write_text('plugins = ["linked.py"]\n')
    run("trust", supplier)
    assert run("check", PATTERN).exit_code == 0
    assert ran()
    # The link is led elsewhere: other bytes, and another place.
    (supplier / "linked.py").unlink()
    (supplier / "linked.py").symlink_to(supplier / "evil.py")
    (supplier / "evil.py").write_text(EVIL + "# other\n")
    assert run("check", PATTERN).exit_code == 2
    assert not ran()


def test_many_processes_and_threads_run_no_more_than_one(supplier, ran):
    for k in range(3):
        (supplier / f"copy{k}.svg").write_bytes((supplier / PATTERN).read_bytes())
    names = sorted(supplier.glob("*.svg"))
    assert run("check", *names, "--jobs", "2", "--partial").exit_code == 2
    with ThreadPoolExecutor(2) as executor:
        report = seamcheck.check(names, executor=executor)
        assert all("is not trusted" in file.failures[0] for file in report.files)
        assert not ran()
        named = seamcheck.check(names, executor=executor, settings="seamcheck.toml")
        assert not any(file.failures for file in named.files)
    assert ran()
    assert run("check", *names, "--jobs", "2", "--partial", "--settings", "seamcheck.toml").exit_code == 0
    assert ran()


def test_a_program_is_told_and_may_name_settings(supplier, ran):
    report = seamcheck.check(PATTERN)
    assert report.failed
    assert "is not trusted" in report.files[0].failures[0]
    assert report.render("text")
    for call in (seamcheck.read, seamcheck.pair, seamcheck.true):
        with pytest.raises(seamcheck.SeamcheckError, match="is not trusted, so it was not run"):
            call(PATTERN)
        call(PATTERN, plugins=False)
    assert not ran()
    report = seamcheck.check(PATTERN, settings=Path("seamcheck.toml"))
    assert (report.failed, report.files[0].plugin_files) == (False, (str(supplier / "evil.py"),))
    assert ran()
    assert seamcheck.read(PATTERN, settings="seamcheck.toml").pieces


def test_what_lies_where_the_program_is_started_is_no_module_of_it(supplier, ran):
    for name in ("click", "numpy", "pluggy"):
        (supplier / f"{name}.py").write_text(EVIL)
    told = supplier / "evil-1.0.dist-info"
    told.mkdir()
    (told / "METADATA").write_text("Metadata-Version: 2.1\nName: evil\nVersion: 1.0\n")
    (told / "entry_points.txt").write_text("[seamcheck]\nevil = evil\n")
    result = subprocess.run(
        [sys.executable, "-m", "seamcheck", "--no-plugins", "pieces", PATTERN], capture_output=True, text=True
    )
    assert (result.returncode, ran()) == (0, False), result.stderr
    result = subprocess.run([sys.executable, "-m", "seamcheck", "plugins"], capture_output=True, text=True)
    assert "from the package evil" not in result.stdout
    assert not ran()


def test_a_spoiled_record_of_trust_is_one_sentence_and_trusts_nothing(supplier, ran):
    trust.store().parent.mkdir(parents=True)
    for spoiled in ("{", "[]", '{"a": ["b"]}', '{"a": {"b": 1}}', "[" * 100_000):
        trust.store().write_text(spoiled)
        for command in (["check", PATTERN], ["trust", supplier]):
            result = run(*command)
            assert result.exit_code == 2
            (sentence,) = result.stderr.splitlines()
            assert "this is not what seamcheck keeps of trusted folders; take it away" in sentence
    assert not ran()


def test_the_folders_of_the_user_are_those_of_the_platform(home):
    # Source: XDG Base Directory Specification 0.8: $XDG_CONFIG_HOME, else $HOME/.config; a relative path is to be ignored.
    at = user_folders.configuration_folder
    assert at({"XDG_CONFIG_HOME": "/etc/own"}, "linux") == Path("/etc/own/seamcheck")
    assert at({"XDG_CONFIG_HOME": "own"}, "linux") == home / ".config" / "seamcheck"
    assert at({}, "linux") == at({"XDG_CONFIG_HOME": ""}, "linux") == home / ".config" / "seamcheck"
    # Source: Apple's File System Programming Guide, and Microsoft's FOLDERID_RoamingAppData, both from memory.
    assert at({}, "darwin") == home / "Library" / "Application Support" / "seamcheck"
    assert at({"APPDATA": "/roaming"}, "win32") == Path("/roaming/seamcheck")
    at = user_folders.cache_folder
    assert at({"XDG_CACHE_HOME": "/var/own"}, "linux") == Path("/var/own/seamcheck")
    assert at({"XDG_CACHE_HOME": "own"}, "linux") == at({}, "linux") == home / ".cache" / "seamcheck"
    assert at({}, "darwin") == home / "Library" / "Caches" / "seamcheck"
    assert at({"LOCALAPPDATA": "/local"}, "win32") == Path("/local/Cache/seamcheck")


# limits


def test_a_folder_may_lower_limits_and_raises_them_only_where_it_is_trusted(supplier, tmp_path):
    (supplier / "seamcheck.toml").write_text("[limits]\ndepth = 12\n")
    assert load_settings(supplier).limits == Limits(depth=12)
    assert run("check", PATTERN).exit_code == 0
    (supplier / "seamcheck.toml").write_text("[limits]\ndepth = 12\nelements = 900_000\n")
    assert load_settings(supplier).limits == Limits(depth=12)
    for command in (["check", PATTERN], ["pieces", PATTERN]):
        result = run(*command)
        assert result.exit_code == 2
        assert (
            "it raises the limits of elements, and is not trusted, so the usual ones hold; read it" in result.stderr
        )
    assert "the limits that it raises, [limits]" in run("trust", supplier).stdout
    assert load_settings(supplier).limits == Limits(depth=12, elements=900_000)
    assert run("check", PATTERN).exit_code == 0
    (supplier / "seamcheck.toml").write_text("[limits]\ndepth = 12\nelements = 9_000_000\n")
    assert load_settings(supplier).limits == Limits(depth=12)
    assert named_settings(str(supplier / "seamcheck.toml")).limits == Limits(depth=12, elements=9_000_000)


# leniency

LAX = '[tolerances]\nseam-length = 50\n[severity]\nlabels = "off"\nnotch-match = "note"\n'
SAID = ("labels turned off by {}", "tolerance raised by {}: ", "notch-match weighed as a note only by {}")


def shown(text: str) -> str:
    """What a report shows, without markup and line ends."""
    return " ".join(re.sub(r"<[^>]*>", " ", text.replace("\\", "")).split())


FORMATS = [one.name for one in plugins.load(Settings(), plugins=False).reports]


@pytest.mark.parametrize("name", FORMATS)
def test_what_is_laxer_is_said_in_every_format(name, supplier):
    (supplier / "seamcheck.toml").write_text('[tolerances]\nseam-length = 1\n[severity]\nseam-length = "error"\n')
    told = shown(seamcheck.check(PATTERN).render(name)).lower()
    for word in ("tolerance raised", "turned off by", "weighed as", "less strictly", "judged as strictly"):
        assert word not in told
    if name == "junit":  # what it shows stands in attributes: the test below
        return
    (supplier / "seamcheck.toml").write_text(LAX)
    report = seamcheck.check(PATTERN)
    assert report.exit_code == 0
    told = shown(report.render(name)).lower()
    for said in SAID:
        assert said.partition(" by")[0].lower() in told


def test_the_verdict_names_the_file_that_is_laxer(supplier):
    (supplier / "seamcheck.toml").write_text(LAX)
    report = seamcheck.check(PATTERN)
    said = [one.format(supplier / "seamcheck.toml") for one in SAID]
    (file,) = json.loads(report.render("json"))["files"]
    assert len(file["laxer"]) == len(said)
    verdict = shown(report.render("text")).partition(" Looked at")[0]
    assert all(one in verdict for one in said)
    assert "seam-length to 50.0 mm (1 15/16 in)" in verdict
    (line, _) = map(json.loads, report.render("jsonl").splitlines())
    assert line["laxer"] == file["laxer"]
    notifications = json.loads(report.render("sarif"))["runs"][0]["invocations"][0]["toolExecutionNotifications"]
    told = [one["message"]["text"] for one in notifications if one["level"] == "warning"]
    assert sorted(one.lower().rstrip(".") for one in told) == sorted(one.lower() for one in file["laxer"])
    assert "Labels turned off by " in " ".join(told)


def test_junit_skips_the_case_that_all_was_judged_as_strictly_as_is_usual(supplier):
    (supplier / "seamcheck.toml").write_text(LAX)
    root = ElementTree.fromstring(seamcheck.check(PATTERN).render("junit"))
    (case,) = root.iterfind(".//testcase[@name='judged as strictly as is usual']")
    message = case.find("skipped").get("message")
    assert all(one.format(supplier / "seamcheck.toml") in message for one in SAID)


def test_a_plan_that_is_laxer_is_named(supplier):
    (supplier / "seamcheck.toml").unlink()
    plan = next(supplier.glob("*.seams.toml"))
    plan.write_text(plan.read_text().replace("format = 1\n", "format = 1\ntolerance = 40\n", 1))
    report = seamcheck.check(PATTERN)
    verdict = shown(report.render("text")).partition(" Looked at")[0]
    assert f"tolerance raised by {plan.name}: " in verdict
    assert "seam-length to 40.0 mm" in verdict


def test_the_sum_of_many_files_counts_those_that_are_laxer(supplier):
    (supplier / "copy.svg").write_bytes((supplier / PATTERN).read_bytes())
    (supplier / "copy.seams.toml").write_bytes(next(supplier.glob("*.seams.toml")).read_bytes())
    (supplier / "seamcheck.toml").write_text(LAX)
    assert "2 judged less strictly than is usual" in run("check", ".", "--quiet").stdout
    (supplier / "seamcheck.toml").write_text("")
    assert "strictly" not in run("check", ".").stdout


def test_true_does_not_call_right_what_is_only_allowed(supplier):
    (supplier / "seamcheck.toml").write_text(LAX)
    assert "labels turned off by" in shown(run("true", PATTERN).stdout)


def test_the_trust_model_is_told(supplier):
    (supplier / "seamcheck.toml").write_text("")
    told = shown(run("explain", "settings").stdout)
    for said in (
        "Whom to trust:",
        "--settings FILE",
        VARIABLE,
        "seamcheck trust FOLDER",
        "seamcheck trust --forget FOLDER",
    ):
        assert said in told


def test_a_refused_settings_file_is_a_settings_error(supplier):
    (supplier / "seamcheck.toml").write_text('plugins = ["../evil.py"]\n')
    (supplier.parent / "evil.py").write_text(EVIL)
    with pytest.raises(SettingsError, match="lies outside the folder"):
        load_settings(supplier)


def test_what_a_plan_accepts_is_no_silent_green(supplier):
    (supplier / "seamcheck.toml").unlink()
    (supplier / PATTERN).write_text(FAULTS["short-side"].change(good_draft()).svg())
    assert run("check", PATTERN).exit_code == 1
    plan = next(supplier.glob("*.seams.toml"))
    plan.write_text(plan.read_text() + '\n[[accepted]]\ncheck = "seam-length"\nwhy = "it stretches"\n')
    for command in (["check", PATTERN], ["check", ".", "--format", "markdown"]):
        result = run(*command)
        assert result.exit_code == 0
        assert f"; 1 finding accepted by {plan.name}" in shown(result.stdout)
    (case,) = ElementTree.fromstring(seamcheck.check(PATTERN).render("junit")).iterfind(
        ".//testcase[@name='judged as strictly as is usual']"
    )
    assert case.find("skipped").get("message") == f"1 finding accepted by {plan.name}"
