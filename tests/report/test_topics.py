"""The topics of `explain`: each tells all that the code declares, and what it shows can be used as it stands."""

import re
import tomllib
from pathlib import Path

import click
import pytest

from seamcheck import plugin
from seamcheck.checks.base import Code
from seamcheck.cli.main import main
from seamcheck.config import plan_keys, settings
from seamcheck.config.keys import TableKeys
from seamcheck.config.plan_file import parse_plan
from seamcheck.config.rule_expressions import UNITS
from seamcheck.config.rule_keys import MEASURES, RULE
from seamcheck.config.rule_language import FUNCTIONS, parse_expression, parse_rule
from seamcheck.config.settings import Settings, parse_settings
from seamcheck.engine import plugins
from seamcheck.engine.judge import check_file
from seamcheck.engine.read import Request
from seamcheck.engine.report_format import SUFFIXES, RenderOptions
from seamcheck.errors import PlanError, SettingsError
from seamcheck.report import schemas
from seamcheck.report.explain import TOPICS, explained, wants_all
from seamcheck.report.explain import plan as plan_topic
from seamcheck.report.explain import rules as rules_topic
from seamcheck.report.explain.changes import CHANGES
from seamcheck.report.explain.words import WORDS
from seamcheck.version import __version__

SHOP = Settings()
REGISTRY = plugins.load(SHOP)
WIDE = RenderOptions(width=120)
DEMO = Path(__file__).parents[2] / "fixtures" / "ferryhand" / "ferryhand.svg"


def topic(name: str) -> str:
    return explained(name, REGISTRY, SHOP, WIDE)


def flat(text: str) -> str:
    return " ".join(text.split())


def table(text: str, keys: TableKeys) -> str:
    """The part of a topic that tells a table."""
    start = text.index(f"\n{keys.head}  " if keys.head else f"\nAt {keys.meaning}")
    return text[start:].split("\n\n")[0] + "\n"


def as_written(tables: tuple[TableKeys, ...]) -> str:
    """All keys of tables as they are shown, a TOML file."""
    return "\n".join(
        line for one in tables for line in (one.head, *(f"{name} = {key.value}" for name, key in one.keys.items()))
    )


def with_another_key(text: str, keys: TableKeys) -> str:
    """A TOML file with a key in one of its tables that means nothing."""
    return text.replace(keys.head, f"{keys.head}\nzzz = 1\n", 1)


@pytest.mark.parametrize("name", TOPICS)
@pytest.mark.parametrize("width", [40, 80, 120])
def test_a_topic_is_told_at_any_width_and_listed(name, width):
    text = explained(name, REGISTRY, SHOP, RenderOptions(width=width))
    assert text.endswith("\n")
    assert not text.endswith("\n\n")
    assert "\n\n\n" not in text
    assert f"\n  {name} " in explained(None, REGISTRY, SHOP, WIDE)
    prose = [line for line in text.split("\n") if line[:4].strip() and " = " not in line and "(" not in line]
    assert all(len(line) <= width for line in prose if not line.startswith("  "))


def test_only_what_asks_for_readers_has_them_loaded():
    assert [name for name in TOPICS if wants_all(name)] == ["formats"]
    assert not wants_all("seam-length")
    assert not wants_all(None)


# plan


@pytest.mark.parametrize("keys", [plan_keys.PLAN, *plan_keys.TABLES], ids=lambda keys: keys.head or "top")
def test_every_key_of_a_plan_is_told(keys):
    told = flat(table(topic("plan"), keys))
    for name, key in keys.keys.items():
        assert flat(f"{name} = {key.value} {key.meaning}") in told
        assert key.meaning or keys.open
    assert keys.meaning in told


def test_what_is_told_of_a_plan_is_all_that_is_taken_and_can_be_read():
    shown = as_written((plan_keys.PLAN, *plan_keys.TABLES))
    both = shown.replace("ratio = [1.9, 2.1]\n", "")  # it stands instead of ease
    plan = parse_plan(both)
    assert (len(plan.pieces), len(plan.darts), len(plan.pleats), len(plan.seams)) == (1, 1, 1, 1)
    with pytest.raises(PlanError, match="gives both ease and ratio"):
        parse_plan(shown)
    for keys in (plan_keys.PLAN, *plan_keys.TABLES):
        if not keys.open:
            with pytest.raises(PlanError, match='unknown key "zzz"'):
                parse_plan(with_another_key(both, keys))


def test_the_short_plan_serves_a_drawing_of_its_piece(tmp_path):
    (tmp_path / "skirt.seams.toml").write_text(plan_topic.SHORTEST)
    (tmp_path / "skirt.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="700mm" viewBox="0 0 300 700">'
        '<g id="front"><path d="M10 10H250V610H10Z"/><path id="grain" d="M130 100V500"/></g></svg>'
    )
    result = check_file(str(tmp_path / "skirt.svg"), Request(), REGISTRY, SHOP)
    assert (result.failures, result.findings) == ((), ())
    assert [seam.name for seam in result.seams] == ["centre"]
    assert plan_topic.SHORTEST.splitlines()[-1] in topic("plan")


# settings and rules


@pytest.mark.parametrize("keys", [settings.SETTINGS, *settings.TABLES], ids=lambda keys: keys.head or "top")
def test_every_key_of_settings_is_told(keys):
    told = flat(table(topic("rules" if keys in (MEASURES, RULE) else "settings"), keys))
    for name, key in keys.keys.items():
        assert key.meaning
        assert flat(f"{name} = {key.value} {key.meaning}") in told


def test_what_is_told_of_settings_is_all_that_is_taken_and_can_be_read(tmp_path):
    shown = as_written((settings.SETTINGS, *settings.TABLES))
    shown = shown.replace(
        '"hem.width >= 480 mm"', '"length(seam) <= 2 * hem.width"'
    )  # a rule for each seam speaks of it
    (tmp_path / "house_checks.py").touch()
    read = parse_settings(shown, tmp_path / "seamcheck.toml")
    known = {one.name: {code.name: one.measures(code) for code in one.codes} for one in REGISTRY.checks}
    read.validate_checks(known | {"room-for-a-boot": {"missing": False}})
    assert [rule.name for rule in read.rules] == ["room-for-a-boot"]
    assert read.limits == SHOP.limits  # those that are shown are the defaults
    for keys in (settings.SETTINGS, settings.LIMITS, RULE):
        with pytest.raises(SettingsError, match='unknown key "zzz"'):
            parse_settings(with_another_key(shown, keys), tmp_path / "seamcheck.toml")


def test_the_file_that_settings_come_from_is_told():
    assert "Here there are none" in topic("settings")
    told = explained("settings", REGISTRY, Settings(path="kit/seamcheck.toml"), WIDE)
    assert "Here they come from kit/seamcheck.toml." in told


def test_every_function_and_unit_of_the_rules_is_told_and_can_be_read():
    text = topic("rules")
    told = flat(text)
    for name, function in FUNCTIONS.items():
        assert function.example.startswith(f"{name}(")
        expression = parse_expression(function.example)
        assert expression.kind is (function.gives or expression.kind)
        assert f"{function.example} {function.meaning}" in told
    assert rules_topic.AMOUNTS.keys() == UNITS.keys()
    for unit, example in rules_topic.AMOUNTS.items():
        assert parse_expression(example).kind is UNITS[unit][0]
        assert f"{example} {UNITS[unit][0].value}" in told
    for sign in re.findall(r'"(=|<=|>=|between)"', text):
        assert f" {sign} B" in text


def test_the_example_rules_can_be_used_on_the_demo(tmp_path):
    example = tomllib.loads(rules_topic.EXAMPLE)
    for rule in example["rules"]:
        parse_rule(rule["holds"].replace("hem.width", "front.hem"), at_hand=rule.get("for-each", ""))
    shop = parse_settings(rules_topic.EXAMPLE, tmp_path / "seamcheck.toml")
    result = check_file(str(DEMO), Request(), plugins.load(shop, plugins=False), shop)
    assert [(finding.check, finding.code) for finding in result.findings] == [("room-for-a-boot", "less")]
    named = {rule.name for rule in shop.rules}
    assert [skipped for skipped in result.skipped if skipped.check in named] == []
    assert rules_topic.EXAMPLE.splitlines()[-1] in topic("rules")


# formats


def test_every_format_reader_and_schema_is_told():
    text = topic("formats")
    told = flat(text)
    for report in REGISTRY.reports:
        assert flat(f"{report.name} {report.meaning}. {report.details}") in told
        assert report.details.endswith(".")
    for importer in REGISTRY.importers:
        assert f"{importer.name} {importer.meaning}" in told
    for suffix, name in SUFFIXES.items():
        assert f".{suffix} {name}" in told
    for name, title in schemas.titles():
        assert f"{name} {title}" in told


def test_the_formats_of_every_command_are_told():
    told = flat(topic("formats"))
    for name, command in main.commands.items():
        for parameter in command.params:
            if "--format" in parameter.opts and isinstance(parameter.type, click.Choice):
                assert f"seamcheck {name} {', '.join(parameter.type.choices)}" in told


# words


def test_every_word_is_one_that_is_said():
    """In what a check says or advises, in what is asked of a plan, or by another word."""
    sentences = [
        said
        for check in REGISTRY.checks
        for said in (
            check.meaning,
            check.why,
            check.remedy,
            *(text for code in check.codes for text in (code.meaning, *Code.templates.fget(code).values())),
        )
    ]
    said = " ".join([*sentences, topic("plan"), topic("formats"), topic("rules")]).lower()
    words = [word for group in WORDS.values() for word in group]
    assert len(words) == len(set(words))
    assert [word for word in words if not re.search(rf"\b{word}", said)] == []
    told = flat(topic("words"))
    assert all(flat(f"{word} {meaning}") in told for group in WORDS.values() for word, meaning in group.items())


# changes


def test_this_version_has_its_entry():
    assert next(iter(CHANGES)) == __version__
    told = flat(topic("changes"))
    assert f"Version {__version__}:" in told
    assert all(change in told for changes in CHANGES.values() for change in changes)


def test_the_policy_is_that_of_the_door_for_plugins():
    for words in ("within a major version", "one minor version more"):
        assert words in flat(plugin.__doc__)
        assert words in flat(topic("changes"))
