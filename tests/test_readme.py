"""What the README shows is what the program does."""

import doctest
import re
import subprocess
import sys
from pathlib import Path

from seamcheck.config.plan_file import parse_plan
from seamcheck.config.rule_language import FUNCTIONS, parse_expression
from seamcheck.config.settings import Settings, parse_settings
from seamcheck.engine import plugins
from seamcheck.engine.judge import check_file
from seamcheck.engine.read import Request

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")


def _commands() -> list[str]:
    return re.findall(r"^    (python3 -m venv .*)$", README, re.MULTILINE)


def test_there_are_exactly_two_set_up_commands():
    assert len(_commands()) == 2


def test_the_printed_run_is_what_the_first_command_prints():
    (shown,) = re.findall(r"```text\n(.*?)```", README, re.DOTALL)
    arguments = re.search(r"\.venv/bin/seamcheck (.*?);", _commands()[0])[1].split()
    run = subprocess.run(
        [sys.executable, "-m", "seamcheck", *arguments], cwd=ROOT, capture_output=True, encoding="utf-8", check=False
    )
    assert run.stdout == shown
    assert (run.returncode, run.stderr) == (1, "")


def test_the_printed_comparison_is_what_the_command_prints():
    ((arguments, shown),) = re.findall(r"```console\n\$ seamcheck (compare .*?)\n(.*?)```", README, re.DOTALL)
    run = subprocess.run(
        [sys.executable, "-m", "seamcheck", *arguments.split()],
        cwd=ROOT,
        capture_output=True,
        encoding="utf-8",
        check=False,
    )
    assert run.stdout == shown
    assert (run.returncode, run.stderr) == (0, "")


def test_the_checks_table_says_what_the_checks_say():
    rows = re.findall(r"^\| `([\w-]+)` \| (.*?) \| (.*?) \|$", README, re.MULTILINE)
    checks = plugins.load(Settings(), checks_only=True).checks
    wanted = [
        (
            check.name,
            check.meaning,
            "seen, not measured" if check.tolerance is None else f"{check.tolerance:g} {check.unit.value}",
        )
        for check in checks
    ]
    assert rows == wanted


def test_the_example_settings_can_be_used(tmp_path):
    example = README.split("## Settings of a shop")[1]
    text = re.search(r"```toml\n(.*?)```", example, re.DOTALL)[1]
    (tmp_path / "house_checks.py").write_text("", encoding="utf-8")
    settings = parse_settings(text, tmp_path / "seamcheck.toml")
    assert settings.tolerances == {"seam-length": 1.6}


def test_the_example_plan_is_right_as_far_as_it_goes():
    """The front piece of the example is whole; what refers to the pieces it leaves out is left out here."""
    example = README.split("## How to write a plan")[1]
    text = re.search(r"```toml\n(.*?)```", example, re.DOTALL)[1]
    front = text.split("# [pieces.back]")[0]
    crotch = next(part for part in text.split("[[seams]]") if "front.crotch" in part)
    plan = parse_plan(f"{front}\n[[seams]]{crotch}")
    assert [seam.name for seam in plan.seams] == ["crotch"]
    assert len(plan.piece("front").edges) == 5


def test_the_example_rules_can_be_used_on_the_demo(tmp_path):
    example = README.split("### Rules of your own")[1]
    text = re.search(r"```toml\n(.*?)```", example, re.DOTALL)[1]
    settings = parse_settings(text, tmp_path / "seamcheck.toml")
    registry = plugins.load(settings, plugins=False)
    result = check_file(str(ROOT / "fixtures" / "ferryhand" / "ferryhand.svg"), Request(), registry, settings)
    assert [(finding.check, finding.code) for finding in result.findings] == [("room-for-a-boot", "less")]
    named = {rule.name for rule in settings.rules}
    assert [skipped for skipped in result.skipped if skipped.check in named] == []


def test_the_table_of_the_rule_language_holds_all_functions_and_what_it_shows_can_be_read():
    table = README.split("### Rules of your own")[1].split("\n## ")[0]
    shown = re.findall(r"`([a-z]+\([^`]*\)|[a-z.-]+ of [a-z]+|[\d /.]+(?:mm|cm|in|degrees|%))`", table)
    for text in shown:
        if "..." not in text:
            parse_expression(text)
    assert {text.split("(")[0] for text in shown if "(" in text} == FUNCTIONS.keys() - {"length"}


def test_the_python_example_runs(monkeypatch):
    monkeypatch.chdir(ROOT / "fixtures" / "ferryhand")
    example = re.search(r"```python\n(>>>.*?)```", README, re.DOTALL)[1]
    said: list[str] = []
    test = doctest.DocTestParser().get_doctest(example, {}, "README.md", None, None)
    doctest.DocTestRunner().run(test, out=said.append)
    assert (len(test.examples), said) == (11, [])
