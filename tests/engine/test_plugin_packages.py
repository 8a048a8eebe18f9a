"""The packages under `plugins/`, loaded together beside the built-in parts as their entry points would load them."""

import re
import tomllib
from importlib.metadata import EntryPoint
from pathlib import Path

import pytest

from seamcheck.config.settings import Settings
from seamcheck.engine import plugins

PLUGINS = Path(__file__).parents[2] / "plugins"
PROJECTS = {path.parent.name: tomllib.loads(path.read_text()) for path in sorted(PLUGINS.glob("*/pyproject.toml"))}


def entry(project: dict) -> EntryPoint:
    ((name, value),) = project["project"]["entry-points"]["seamcheck"].items()
    return EntryPoint(name, value, "seamcheck")


@pytest.fixture
def registry(monkeypatch):
    entries = [entry(project) for project in PROJECTS.values()]
    monkeypatch.setattr(plugins.importlib.metadata, "entry_points", lambda group: entries)
    return plugins.load(Settings(plugins=tuple(one.name for one in entries)))


def test_they_bring_what_they_say_and_clash_with_nothing(registry):
    brought = {plugin.name: plugin for plugin in registry.plugins}
    assert brought.keys() == {"builtin", "house-rules", "trousers"}
    assert len(brought["trousers"].checks) == 10
    assert brought["trousers"].hints
    assert len(brought["house-rules"].checks) == 3
    assert brought["house-rules"].importers == ("kit-layers",)
    assert brought["house-rules"].reports == ("ticket",)
    assert brought["house-rules"].fits == ("room-for-boots",)


@pytest.mark.parametrize("folder", PROJECTS)
def test_the_version_is_told_once(folder, registry):
    project = PROJECTS[folder]["project"]
    plugin = next(one for one in registry.plugins if one.name == entry(PROJECTS[folder]).name)
    assert plugin.version == project["version"]


@pytest.mark.parametrize("folder", PROJECTS)
def test_every_part_is_in_the_readme(folder, registry):
    readme = (PLUGINS / folder / "README.md").read_text()
    plugin = next(one for one in registry.plugins if one.name == entry(PROJECTS[folder]).name)
    if folder == "trousers":
        assert sorted(re.findall(r"^\| `([a-z-]+)` \|", readme, re.MULTILINE)) == sorted(plugin.checks)
    else:
        files = {path.name for path in (PLUGINS / folder / "seamcheck_house_rules").glob("[a-z]*.py")}
        assert set(re.findall(r"^\| `([a-z_]+\.py)` \|", readme, re.MULTILINE)) == files


@pytest.mark.parametrize("folder", PROJECTS)
def test_checks_of_a_package_are_written_like_our_own(folder, registry):
    name = entry(PROJECTS[folder]).name
    for check in registry.checks:
        if registry.plugin_of[check.name] == name:
            for words in (check.meaning, check.why, check.remedy, check.source):
                assert len(words.split()) >= 3
            assert check.why.endswith(".")
            assert check.remedy.endswith(".")
            assert not check.meaning.endswith(".")
            assert all(code.message.endswith(".") and code.advice.endswith(".") for code in check.codes)
