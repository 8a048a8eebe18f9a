"""The hook for commits and the step for a pipeline, run as pre-commit and a runner would run them."""

import os
import re
import shlex
import subprocess
import sys
import textwrap
from pathlib import Path

import pytest
from click.testing import CliRunner

import seamcheck
from seamcheck.cli.main import main
from seamcheck.testing import FAULTS, good_draft

ROOT = Path(seamcheck.__file__).parents[1]
HOOKS = (ROOT / ".pre-commit-hooks.yaml").read_text()
ACTION = (ROOT / ".github/actions/seamcheck/action.yml").read_text()
RECIPES = (ROOT / ".github/actions/seamcheck/README.md").read_text()


def hook(name: str) -> dict[str, str]:
    block = next(block for block in HOOKS.split("\n- id: ")[1:] if block.startswith(f"{name}\n"))
    return dict(re.findall(r"^  ([a-z_]+): (.*)$", block, re.MULTILINE))


@pytest.fixture
def repository(tmp_path, monkeypatch):
    """A good style, one with a short side, and a logo that is no pattern."""
    monkeypatch.chdir(tmp_path)
    for name, draft in (("good", good_draft()), ("short", FAULTS["short-side"].change(good_draft()))):
        (tmp_path / name).mkdir()
        draft.save(tmp_path / name)
    (tmp_path / "logo.svg").write_text('<svg xmlns="http://www.w3.org/2000/svg"/>')
    return tmp_path


@pytest.mark.parametrize(
    ("changed", "exit_code", "said"),
    [
        (["good/ferryhand-panels.svg", "logo.svg"], 0, "nothing to put right"),
        (["short/ferryhand-panels.svg"], 1, "too short"),
        (["short/ferryhand-panels.seams.toml"], 1, "too short"),
        (["logo.svg"], 0, ""),
        ([], 0, ""),
    ],
)
def test_the_hook_for_changed_files(repository, changed, exit_code, said):
    settings = hook("seamcheck")
    assert settings["require_serial"] == "true"
    assert all(re.search(settings["files"].strip("'"), path) for path in changed)
    command = shlex.split(settings["entry"])
    assert command.pop(0) == "seamcheck"
    result = CliRunner().invoke(main, [*command, *changed])
    assert result.exit_code == exit_code
    assert said in result.stdout


def test_the_hook_sees_that_a_pattern_was_deleted_and_its_plan_was_not(repository):
    """pre-commit passes no name of a file that is gone, so the hook is called without any."""
    settings = hook("seamcheck")
    assert settings["always_run"].startswith("true")
    (repository / "good/ferryhand-panels.svg").unlink()
    result = CliRunner().invoke(main, shlex.split(settings["entry"])[1:])
    assert result.exit_code == 2
    assert "good/ferryhand-panels.seams.toml: no pattern of this name lies beside the plan" in result.stderr


def test_the_hook_for_the_whole_project(repository):
    settings = hook("seamcheck-all")
    assert (settings["pass_filenames"], settings["args"]) == ("false", "['.']")
    command = [*shlex.split(settings["entry"])[1:], "."]
    assert CliRunner().invoke(main, command).exit_code == 1
    for path in (repository / "short").iterdir():
        path.unlink()
    assert CliRunner().invoke(main, command).exit_code == 0


def test_hooks_are_not_called_for_other_files():
    wanted = hook("seamcheck")["files"].strip("'")
    assert not re.search(wanted, "seamcheck.toml")
    assert not re.search(wanted, "styles/notes.svg.txt")


def step(name: str) -> str:
    """What a step of the action runs."""
    return textwrap.dedent(re.search(rf"name: {name}\n(?:.*\n)*?      run: \|\n((?: {{8}}.*\n)+)", ACTION)[1])


@pytest.mark.parametrize(
    ("patterns", "arguments", "exit_code"),
    [
        ("good", "", 0),
        (". ", "", 1),
        ('"our own" good', "", 1),
        ("*/*.svg", "", 1),
        ("short", "--format sarif --output more.sarif", 1),
        ("gone", "", 2),
    ],
)
def test_the_step_of_the_action(repository, patterns, arguments, exit_code):
    short = "short"
    if "our own" in patterns:
        short = "our own"
        (repository / "short").rename(repository / short)
    script = step("Check")
    tools = repository / "bin"
    tools.mkdir()
    (tools / "seamcheck").write_text(f'#!/bin/sh\nexec "{sys.executable}" -m seamcheck "$@"\n')
    (tools / "seamcheck").chmod(0o755)
    given = {
        "PATTERNS": patterns,
        "ARGUMENTS": arguments,
        "FORMAT": re.search(r"format:.*?default: (\w+)", ACTION, re.DOTALL)[1],
        "RUNNER_TEMP": str(tools),
        "GITHUB_STEP_SUMMARY": str(repository / "summary.md"),
    }
    assert set(re.findall(r"\$\{?([A-Z_]+)", script)) == given.keys()
    (repository / "summary.md").write_text("# of another step\n")
    environment = {**os.environ, **given, "PYTHONPATH": str(ROOT), "PATH": f"{tools}{os.pathsep}{os.environ['PATH']}"}
    run = subprocess.run(
        ["bash", "-e", "-c", script], capture_output=True, encoding="utf-8", env=environment, check=False, timeout=60
    )
    assert run.returncode == exit_code, run.stderr
    summary = (repository / "summary.md").read_text()
    assert summary.startswith("# of another step\n")
    if "gone" in patterns:
        assert "::error file=gone,title=not judged::there is no such file" in run.stdout
    else:
        assert (f"::error file={short}/ferryhand-panels.svg,line=" in run.stdout) == (exit_code > 0)
        assert (" error |" in summary) == (exit_code > 0)
    assert (repository / "more.sarif").exists() == ("sarif" in arguments)


NAMES = [
    ("", []),
    ("a  b\n c ", ["a", "b", "c"]),
    ('"our styles" \'men "s\'', ["our styles", 'men "s']),
    ('"men\'s trousers"\nb', ["men's trousers", "b"]),
    ("$(touch ran) `touch ran` ; *.svg", ["$(touch", "ran)", "`touch", "ran`", ";", "*.svg"]),
]


@pytest.mark.parametrize(("given", "names"), NAMES, ids=range(len(NAMES)))
@pytest.mark.parametrize(("step_name", "tool", "before"), [("Check", "seamcheck", 1), ("Install", "python", 5)])
def test_an_input_may_hold_names_with_spaces_and_nothing_of_it_is_run(
    tmp_path, given, names, step_name, tool, before
):
    (tmp_path / tool).write_text('#!/bin/sh\nfor word in "$@"; do echo "[$word]"; done\n')
    (tmp_path / tool).chmod(0o755)
    (tmp_path / "there.svg").write_text("")
    inputs = {"PATTERNS": given, "PLUGINS": given, "ARGUMENTS": "", "FORMAT": "github", "GITHUB_ACTION_PATH": "."}
    run = subprocess.run(
        ["bash", "--noprofile", "--norc", "-eo", "pipefail", "-c", step(step_name)],  # as a runner calls it
        capture_output=True,
        encoding="utf-8",
        cwd=tmp_path,
        env={**os.environ, **inputs, "RUNNER_TEMP": "tmp", "PATH": f"{tmp_path}{os.pathsep}{os.environ['PATH']}"},
        check=False,
        timeout=60,
    )
    assert run.returncode == 0, run.stderr
    words = re.findall(r"\[(.*)\]", run.stdout)
    assert words[before : before + len(names)] == names
    assert len(words) == before + len(names) + (6 if step_name == "Check" else 0)
    assert not (tmp_path / "ran").exists()


def test_quotes_that_are_not_closed_fail(tmp_path):
    inputs = {"PATTERNS": "men's", "ARGUMENTS": "", "FORMAT": "github", "RUNNER_TEMP": "tmp"}
    run = subprocess.run(
        ["bash", "-eo", "pipefail", "-c", step("Check")],
        env={**os.environ, **inputs},
        capture_output=True,
        check=False,
    )
    assert run.returncode == 2


def test_the_hook_can_be_widened_for_the_files_of_a_plugin():
    """A shop's own `files` goes before that of the hook (https://pre-commit.com/#config-files)."""
    widened = re.search(r"files: '(.*)'", RECIPES)[1]
    usual = hook("seamcheck")["files"].strip("'")
    for name in ("a.svg", "a.svgz", "a.dxf", "a.seams.toml"):
        assert re.search(usual, name)
        assert re.search(widened, name)
    assert re.search(widened, "a.our")
    assert not re.search(usual, "a.our")


def test_every_input_of_the_action_is_used():
    inputs = re.findall(r"^  ([a-z-]+):$", ACTION.split("inputs:")[1].split("runs:")[0], re.MULTILINE)
    assert set(re.findall(r"inputs\.([a-z-]+)", ACTION)) == set(inputs)


def test_the_recipes_speak_of_hooks_and_options_that_there_are():
    assert set(re.findall(r"- id: ([a-z-]+)", RECIPES)) == set(re.findall(r"^- id: ([a-z-]+)", HOOKS, re.MULTILINE))
    options = {option for parameter in main.commands["check"].params for option in parameter.opts}
    commands = re.findall(r"^ *-? *seamcheck (check .*?)(?:  #.*)?$", RECIPES, re.MULTILINE)
    assert len(commands) == 4
    given = re.search(r"arguments: (.*)", RECIPES)[1]
    for command in [*commands, given]:
        assert {word for word in command.split() if word.startswith("--")} <= options
    assert "--only-planned" in options
    inputs = re.findall(r"^    ([a-z-]+): (?!seamcheck)", RECIPES.split("with:")[1].split("```")[0], re.MULTILINE)
    assert set(inputs) <= set(re.findall(r"^  ([a-z-]+):$", ACTION, re.MULTILINE))


def test_the_recipe_for_pytest_runs(tmp_path):
    """Its test, with the demo beside it, is collected with the plan and passes."""
    (tmp_path / "test_boots.py").write_text(re.search(r"```python\n(.*?)```", RECIPES, re.DOTALL)[1])
    for path in (ROOT / "seamcheck" / "demo").glob("ferryhand.*"):
        (tmp_path / path.name).write_bytes(path.read_bytes())
    run = subprocess.run(
        [
            sys.executable,
            "-m",
            "pytest",
            "-v",
            "-p",
            "no:cacheprovider",
            "-o",
            "seamcheck_fail_on=error",
            str(tmp_path),
        ],
        capture_output=True,
        encoding="utf-8",
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        check=False,
    )
    assert run.returncode == 0, run.stdout
    assert "test_boots.py::test_a_boot_goes_through_the_hem PASSED" in run.stdout
    assert "ferryhand.seams.toml::ferryhand.svg::judged PASSED" in run.stdout
    assert "ferryhand.seams.toml::ferryhand.svg::outseam[40-seams] PASSED" in run.stdout


@pytest.mark.skipif(
    "SEAMCHECK_NETWORK" not in os.environ, reason="it installs the hook; set SEAMCHECK_NETWORK to run it"
)
def test_pre_commit_itself_installs_and_runs_the_hook(repository, monkeypatch):
    """The real thing: pre-commit clones this checkout, builds an environment and refuses the commit of a short side."""
    pytest.importorskip("pre_commit", reason="pre-commit is not installed")
    monkeypatch.setenv("PRE_COMMIT_HOME", str(repository / "home"))
    revision = subprocess.check_output(["git", "-C", str(ROOT), "rev-parse", "HEAD"], encoding="utf-8").strip()
    (repository / ".pre-commit-config.yaml").write_text(
        f"repos:\n- repo: {ROOT}\n  rev: {revision}\n  hooks:\n  - id: seamcheck\n"
    )
    subprocess.run(["git", "init", "-q"], check=True)
    subprocess.run(["git", "add", "good", "logo.svg"], check=True)
    pre_commit = [sys.executable, "-m", "pre_commit", "run", "seamcheck"]
    assert subprocess.run(pre_commit, check=False).returncode == 0
    subprocess.run(["git", "add", "short"], check=True)
    run = subprocess.run(pre_commit, capture_output=True, encoding="utf-8", check=False)
    assert run.returncode == 1
    assert "back.side is 6.4 mm (1/4 in) too short" in run.stdout
