"""One door for plugins: what the packages in `plugins/` import, what the door hands on, and that its own example works."""

import ast
import importlib
import inspect
import re
import subprocess
import sys
from pathlib import Path
from textwrap import dedent

import pytest

import seamcheck
from seamcheck import plugin
from seamcheck.config.settings import Settings
from seamcheck.engine import plugins
from seamcheck.testing import assert_findings, check_draft, good_draft

CHECKOUT = Path(seamcheck.__file__).parents[1]
FILES = sorted((CHECKOUT / "plugins").rglob("*.py"))
PUBLIC = {"seamcheck.plugin", "seamcheck.testing"}


def imported(source: str) -> set[tuple[str, str]]:
    """What a file imports of seamcheck: each name with the module that it is imported from, "" for a module itself."""
    found = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            found |= {(alias.name, "") for alias in node.names if alias.name.split(".")[0] == "seamcheck"}
        elif isinstance(node, ast.ImportFrom) and (node.module or "").split(".")[0] == "seamcheck":
            found |= {(node.module, alias.name) for alias in node.names}
    return found


def python_in(readme: str) -> list[str]:
    return re.findall(r"```python\n(.*?)```", readme, re.DOTALL)


def test_an_inner_import_would_be_seen():
    assert imported("import seamcheck.config\nfrom seamcheck import api") == {
        ("seamcheck.config", ""),
        ("seamcheck", "api"),
    }


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(CHECKOUT)))
def test_a_plugin_imports_from_the_door_alone(path):
    assert {module for module, _ in imported(path.read_text(encoding="utf-8"))} <= PUBLIC


@pytest.mark.parametrize(
    "path", sorted((CHECKOUT / "plugins").glob("*/README.md")), ids=lambda path: path.parent.name
)
def test_a_readme_of_a_plugin_speaks_of_the_door_alone(path):
    text = path.read_text(encoding="utf-8")
    assert set(re.findall(r"\bseamcheck\.(?!toml\b)\w+", text)) <= PUBLIC
    for code in python_in(text):
        assert {module for module, _ in imported(code)} <= PUBLIC


def test_there_are_plugins_and_they_use_the_door():
    names = {name for path in FILES for module, name in imported(path.read_text()) if module == "seamcheck.plugin"}
    assert len(FILES) > 10
    assert {"Check", "Importer", "ReportFormat", "PairingHint"} <= names
    assert names <= set(plugin.__all__)


@pytest.mark.parametrize("name", plugin.__all__)
def test_each_name_is_there_and_says_what_it_is(name):
    thing = getattr(plugin, name)
    assert inspect.getdoc(thing)
    assert getattr(thing, "__module__", "seamcheck").startswith(("seamcheck", "pluggy"))


def test_the_door_says_each_name_once():
    told = plugin.__doc__.partition("\nA check  ")[2].partition("\nLengths are")[0]
    assert sorted(word for word in re.findall(r"\w+", told) if word in plugin.__all__) == sorted(plugin.__all__)


def test_types_and_names_agree():
    tree = ast.parse(Path(plugin.__file__).read_text(encoding="utf-8"))
    (typed,) = (node for node in tree.body if isinstance(node, ast.If))
    names = {alias.name: node.module for node in typed.body for alias in node.names}
    assert sorted(names) == sorted(plugin.__all__)
    for name, module in names.items():
        assert getattr(importlib.import_module(module), name) is getattr(plugin, name)


def test_what_is_not_handed_on_is_no_attribute():
    with pytest.raises(AttributeError, match="no attribute 'judge'"):
        plugin.judge  # noqa: B018


def test_the_door_itself_loads_nothing_and_what_a_check_is_made_of_no_heavy_library():
    code = (
        "import sys, seamcheck.plugin\n"
        "assert {name for name in sys.modules if name.startswith('seamcheck.')} == "
        "{'seamcheck.plugin', 'seamcheck.lazy', 'seamcheck.version'}\n"
        "from seamcheck.plugin import Check, Code, Context, Length, LookedAt, Observation, Severity, Skip, Unit\n"
        "assert not {'numpy', 'networkx', 'ezdxf', 'click'} & set(sys.modules)\n"
    )
    subprocess.run([sys.executable, "-c", code], check=True, cwd=CHECKOUT)


@pytest.mark.parametrize("package", ["seamcheck_trousers", "seamcheck_house_rules"])
def test_the_checks_of_a_package_load_no_heavy_library(package):
    code = (
        f"import sys, {package}\n{package}.seamcheck_register_checks(lambda check: None)\n"
        "assert not {'numpy', 'networkx', 'ezdxf'} & set(sys.modules)\n"
    )
    paths = [str(CHECKOUT), *(str(path) for path in sorted((CHECKOUT / "plugins").iterdir()))]
    subprocess.run([sys.executable, "-c", f"import sys; sys.path[:0] = {paths!r}\n{code}"], check=True)


class TestExample:
    """The whole check that stands in the docstring of the door."""

    @pytest.fixture
    def hem_width(self, tmp_path):
        source = plugin.__doc__.partition("names:\n\n")[2].partition("\nA check  ")[0]
        path = tmp_path / "hem_width.py"
        path.write_text(dedent(source), encoding="utf-8")
        registry = plugins.load(Settings(plugins=(str(path),)))
        return next(check for check in registry.checks if registry.plugin_of[check.name] == "hem_width")

    def test_it_holds_on_the_good_pattern(self, hem_width):
        result = check_draft(good_draft(), [hem_width])
        assert_findings(result)
        assert result.skipped == ()

    def test_it_finds_a_fault_once(self, hem_width):
        hem, centre = (good_draft().panel("back").edge(name).line for name in ("hem", "centre"))
        wider = good_draft().with_lines(
            "back",
            hem=plugin.Curve.line(hem.start + 6.0, hem.end),
            centre=plugin.Curve.line(centre.start, centre.end + 6.0),
        )
        assert_findings(check_draft(wider, [hem_width]), "hem-width/off piece=back severity=error")
