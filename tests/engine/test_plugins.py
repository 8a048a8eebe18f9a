import sys
from pathlib import Path

import pytest

from seamcheck import builtin
from seamcheck.config.settings import Settings
from seamcheck.engine import hookspecs, plugins
from seamcheck.engine.report_format import ReportFormat
from seamcheck.errors import PluginError, SettingsError
from seamcheck.pairing.hints import PairingHint
from seamcheck.reading.base import Importer

GOOD = """
from seamcheck.plugin import Check, Code, Severity

CHECK = Check(
    name="loop-count",
    family="house",
    meaning="the band has as many loops as its size wants",
    why="loops are cut from the same strip",
    remedy="draw the missing loops",
    source="house rule of the kit room",
    codes=(Code(name="few", meaning="loops are missing", message="{n} loops", advice="draw them",
                facts=("n",), severity=Severity.WARNING),),
    run=lambda context: (),
)

def seamcheck_register_checks(register):
    register(CHECK)
"""


@pytest.fixture
def bare(monkeypatch):
    """Loading with neither built-in parts nor installed plugins, so that a test says all there is."""
    for part in ("CHECKS", "IMPORTERS", "REPORTS"):
        monkeypatch.setattr(builtin, part, ())
    monkeypatch.setattr(plugins.importlib.metadata, "entry_points", lambda group: ())


@pytest.fixture
def load(bare, tmp_path):
    """Load the given .py files as a shop's settings would; what is not a keyword is the file `our_rules`."""

    def load(source: str = "", **others: str):
        files = {"our_rules": source, **others} if source else others
        paths = []
        for stem, text in files.items():
            path = tmp_path / f"{stem}.py"
            path.write_text(text, encoding="utf-8")
            paths.append(str(path))
        return plugins.load(Settings(path=str(tmp_path / "seamcheck.toml"), plugins=tuple(paths)))

    return load


def refusal(load, *sources: str, **files: str) -> PluginError:
    with pytest.raises(PluginError) as caught:
        load(*sources, **files)
    assert "\n" not in str(caught.value)
    return caught.value


def test_a_plain_file_brings_its_checks(load):
    registry = load(GOOD)
    assert [check.name for check in registry.checks] == ["loop-count"]
    assert registry.plugin_of == {"loop-count": "our_rules"}


def test_a_mark_may_be_given_or_left_out(load):
    marked = GOOD.replace("def seamcheck", "from seamcheck.plugin import hookimpl\n@hookimpl\ndef seamcheck")
    assert load(marked).plugin_of == load(GOOD).plugin_of


def test_registered_things_are_sorted_whatever_the_order(load):
    def named(*names: str) -> str:
        return GOOD.replace(
            "register(CHECK)",
            f"import dataclasses; [register(dataclasses.replace(CHECK, name=n)) for n in {names!r}]",
        )

    registry = load(zebra=named("c-rule", "a-rule"), ant=named("d-rule", "b-rule"))
    assert [check.name for check in registry.checks] == ["a-rule", "b-rule", "c-rule", "d-rule"]
    assert registry.plugin_of["c-rule"] == "zebra"
    assert registry.plugin_of["d-rule"] == "ant"


def test_importers_and_reports_come_by_the_same_door(load):
    registry = load(
        """
from seamcheck.reading.base import Importer
from seamcheck.engine.report_format import ReportFormat

def seamcheck_register_importers(register):
    register(Importer("tape", "a digitiser tape", lambda source: False, lambda source: None))

def seamcheck_register_reports(register):
    register(ReportFormat("ticket", "one line for the cutting ticket", lambda report, options: ""))
"""
    )
    assert [type(one) for one in (*registry.importers, *registry.reports)] == [Importer, ReportFormat]


def test_checks_alone_leave_importers_and_reports_unasked(load, tmp_path):
    path = tmp_path / "our_rules.py"
    path.write_text(GOOD + "\ndef seamcheck_register_importers(register):\n    raise RuntimeError\n")
    settings = Settings(plugins=(str(path),))
    registry = plugins.load(settings, checks_only=True)
    assert [check.name for check in registry.checks] == ["loop-count"]
    assert registry.importers == registry.reports == ()
    with pytest.raises(PluginError):
        plugins.load(settings)


def test_a_name_registered_twice_names_both_plugins(load, tmp_path):
    error = refusal(load, first=GOOD, second=GOOD)
    assert error.path == str(tmp_path / "second.py")
    assert str(error.place) == f"line {GOOD.splitlines().index('    register(CHECK)') + 1}"
    assert 'plugin "second"' in error.what
    assert '"loop-count" is already registered by plugin "first"' in error.what


def test_a_name_registered_twice_by_one_plugin(load):
    assert "is already registered by the plugin itself" in refusal(load, GOOD + "    register(CHECK)\n").what


def test_a_misspelt_hook_is_refused_with_the_nearest(load, tmp_path):
    error = refusal(load, GOOD.replace("def seamcheck_register_checks", "def seamcheck_register_cheks"))
    assert error.path == str(tmp_path / "our_rules.py")
    assert 'no hook "seamcheck_register_cheks"' in error.what
    assert '"seamcheck_register_checks"' in error.what


def test_an_argument_that_no_hook_gives_is_refused(load):
    error = refusal(load, GOOD.replace("(register)", "(register, colour)", 1))
    assert "seamcheck_register_checks(register, colour)" in error.what
    assert "colour" in error.what


def test_a_plugin_without_any_hook_is_refused(load):
    error = refusal(load, "answer = 42\n")
    assert "implements no hook" in error.what
    assert "seamcheck_register_checks" in error.remedy


def test_a_plugin_that_fails_at_import_is_named_with_its_line(load, tmp_path):
    error = refusal(load, "import os\n\nspan = 1 / 0\n")
    assert (error.path, str(error.place)) == (str(tmp_path / "our_rules.py"), "line 3")
    assert error.what == 'plugin "our_rules" cannot be loaded: ZeroDivisionError: division by zero'


def test_a_missing_module_is_blamed_on_the_line_that_asks_for_it(load):
    error = refusal(load, "\nimport kit_room_that_is_not_there\n")
    assert str(error.place) == "line 2"
    assert "kit_room_that_is_not_there" in error.what


def test_a_syntax_error_is_named_with_its_line(load, tmp_path):
    error = refusal(load, "x = 1\ndef broken(:\n")
    assert (error.path, str(error.place)) == (str(tmp_path / "our_rules.py"), "line 2")
    assert "SyntaxError" in error.what


def test_a_plugin_that_ends_the_process_is_only_refused(load):
    assert "SystemExit" in refusal(load, "import sys\nsys.exit(3)\n").what


def test_a_failing_registration_names_plugin_and_line_and_hook(load, tmp_path):
    error = refusal(load, good=GOOD, house="def seamcheck_register_checks(register):\n    raise KeyError('tape')\n")
    assert (error.path, str(error.place)) == (str(tmp_path / "house.py"), "line 2")
    assert error.what == "plugin \"house\" fails in seamcheck_register_checks: KeyError: 'tape'"


@pytest.mark.parametrize(
    ("registered", "said"),
    [
        ('register("loop-count")', "a str where a Check belongs"),
        ('import dataclasses; register(dataclasses.replace(CHECK, name="Loop count"))', '"Loop count" is no name'),
        ('import dataclasses; register(dataclasses.replace(CHECK, name="a/b"))', '"a/b" is no name'),
    ],
)
def test_what_is_no_check_is_refused(load, registered, said):
    assert said in refusal(load, GOOD.replace("register(CHECK)", registered)).what


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('"{n} loops"', '"{m} loops"', 'its message speaks of "{m}"; the facts are "n"'),
        ('"draw them"', '"draw {number}"', 'its advice speaks of "{number}"; the facts are "n"'),
        ('"{n} loops"', '"{n:.1f} loops"', 'its message speaks of "{n:.1f}"; the facts are "n"'),
        ('"{n} loops"', '"{n loops"', 'its message speaks of "{}"; the facts are "n"'),
        ("facts=", 'clauses={"so": "{n} of {all}"}, facts=', 'its clause so speaks of "{all}"; the facts are "n"'),
        ('facts=("n",), ', "", 'its message speaks of "{n}"; give it facts=(...)'),
    ],
)
def test_a_template_that_names_a_missing_fact_is_refused(load, old, new, told):
    speaks, near = told.split("; ")
    error = refusal(load, GOOD.replace(old, new))
    assert error.what == (
        'plugin "our_rules" cannot be loaded: ValueError: check loop-count, code few: '
        f"{speaks}, which is not among the facts of the code; {near}"
    )
    assert str(error.place).startswith("line ")


def test_two_files_of_one_name_are_refused(bare, tmp_path):
    paths = []
    for folder in ("a", "b"):
        (tmp_path / folder).mkdir()
        path = tmp_path / folder / "our_rules.py"
        path.write_text(GOOD.replace("loop-count", f"loop-count-{folder}"))
        paths.append(str(path))
    with pytest.raises(PluginError, match='there are two plugins "our_rules"'):
        plugins.load(Settings(plugins=tuple(paths)))


def test_nothing_is_written_beside_a_plain_file(load, tmp_path):
    load(GOOD)
    assert [path.name for path in tmp_path.iterdir()] == ["our_rules.py"]


def test_a_plain_file_may_hold_dataclasses(load):
    load("import dataclasses\n@dataclasses.dataclass\nclass Tape:\n    length: 'float'\n" + GOOD)


def test_settings_that_speak_of_an_unknown_check_are_refused(bare):
    with pytest.raises(SettingsError, match='no check "seam-lenght"'):
        plugins.load(Settings(path="seamcheck.toml", tolerances={"seam-lenght": 2.0}))


def test_pairing_hints_come_from_every_plugin_and_name_the_one_that_fails(load, tmp_path):
    source = """
from seamcheck.pairing.hints import PairingHint

def seamcheck_pairing_hints(pattern, register):
    if pattern is None:
        raise ValueError("no pattern")
    register(PairingHint(first=pattern + ".side", second="back.side", confidence=0.9, why="same name"))
"""
    registry = load(zebra=source, ant=source)
    assert registry.pairing_hints("front") == 2 * (
        PairingHint(first="front.side", second="back.side", confidence=0.9, why="same name"),
    )
    with pytest.raises(PluginError, match='plugin "ant" fails in seamcheck_pairing_hints') as caught:
        registry.pairing_hints(None)
    assert (caught.value.path, str(caught.value.place)) == (str(tmp_path / "ant.py"), "line 6")


class TestInstalledPlugins:
    """Plugins found by entry point, from a distribution laid out on the path."""

    @pytest.fixture
    def install(self, monkeypatch, tmp_path):
        for part in ("CHECKS", "IMPORTERS", "REPORTS"):
            monkeypatch.setattr(builtin, part, ())
        monkeypatch.syspath_prepend(tmp_path)

        def install(module: str, source: str, entry: str = "kit-room") -> Path:
            info = tmp_path / f"{module}-1.dist-info"
            info.mkdir()
            (info / "METADATA").write_text(f"Metadata-Version: 2.1\nName: {module}\nVersion: 1\n")
            (info / "entry_points.txt").write_text(f"[seamcheck]\n{entry} = {module}\n")
            path = tmp_path / f"{module}.py"
            path.write_text(source)
            monkeypatch.delitem(sys.modules, module, raising=False)
            return path

        return install

    def test_is_loaded(self, install):
        install("kit_room_checks", GOOD)
        assert plugins.load(Settings()).plugin_of == {"loop-count": "kit-room"}

    def test_is_named_with_file_and_line_when_it_fails(self, install):
        path = install("kit_room_broken", "import os\n\nspan = 1 / 0\n")
        with pytest.raises(PluginError, match='plugin "kit-room" cannot be loaded: ZeroDivisionError') as caught:
            plugins.load(Settings())
        assert (caught.value.path, str(caught.value.place)) == (str(path), "line 3")

    def test_is_refused_when_its_module_is_missing(self, install):
        install("kit_room_gone", GOOD).unlink()
        with pytest.raises(PluginError, match=r'plugin "kit-room" cannot be loaded: .*kit_room_gone'):
            plugins.load(Settings())

    def test_is_told_of_with_package_version_and_file(self, install):
        path = install("kit_room_told", GOOD)
        (built_in, plugin) = plugins.load(Settings()).plugins
        assert built_in.name == "builtin"
        assert (plugin.name, plugin.package, plugin.version) == ("kit-room", "kit_room_told", "1")
        assert (plugin.file, plugin.required, plugin.checks) == (str(path), False, ("loop-count",))

    def test_takes_no_other_with_it_when_it_fails(self, install):
        install("kit_room_sound", GOOD, "sound")
        install("kit_room_failing", GOOD.replace("loop-count", "loop-width") + "    raise KeyError\n", "failing")
        registry = plugins.load_tolerant(Settings(tolerances={"loop-width": 2.0}))
        assert [check.name for check in registry.checks] == ["loop-count"]
        assert [(one.name, one.error is None) for one in registry.plugins[1:]] == [
            ("failing", False),
            ("sound", True),
        ]
        (failure,) = registry.failures
        assert 'plugin "failing" fails in seamcheck_register_checks: KeyError' in failure

    def test_is_left_out_on_demand(self, install):
        install("kit_room_unwanted", GOOD)
        registry = plugins.load(Settings(tolerances={"loop-count": 2.0}), plugins=False)
        assert (registry.checks, registry.failures) == ((), ())
        required = plugins.load(Settings(path="seamcheck.toml", plugins=("kit-room",)), plugins=False)
        assert required.failures == (
            'seamcheck.toml: the plugin "kit-room" that the settings ask for was left out; '
            "run without --no-plugins to judge by all of the shop's rules",
        )

    def test_may_be_asked_for_by_the_settings(self, install):
        install("kit_room_wanted", GOOD)
        assert plugins.load(Settings(plugins=("kit-room",))).plugin_of == {"loop-count": "kit-room"}

    def test_is_missed_when_the_settings_ask_for_it(self, install):
        install("kit_room_other", GOOD)
        with pytest.raises(PluginError, match='"kit-rom" that the settings ask for is not installed') as caught:
            plugins.load(Settings(path="seamcheck.toml", plugins=("kit-rom",)))
        assert caught.value.path == "seamcheck.toml"
        assert '"kit-room"' in caught.value.remedy

    def test_cannot_take_the_name_of_another(self, install):
        install("kit_room_one", GOOD)
        install("kit_room_two", GOOD.replace("loop-count", "loop-width"))
        with pytest.raises(PluginError, match='there are two plugins "kit-room"'):
            plugins.load(Settings())

    def test_the_built_in_parts_are_there_without_being_installed(self, monkeypatch):
        monkeypatch.setattr(plugins.importlib.metadata, "entry_points", lambda group: ())
        monkeypatch.setattr(builtin, "CHECKS", ())
        monkeypatch.setattr(builtin, "IMPORTERS", ())
        assert {"json", "text"} <= {report.name for report in plugins.load(Settings()).reports}


def test_every_hook_says_when_it_is_called():
    specified = [getattr(hookspecs, name) for name in plugins._hooks()]
    assert [one.__name__ for one in specified] == [
        "seamcheck_pairing_hints",
        "seamcheck_register_alterations",
        "seamcheck_register_checks",
        "seamcheck_register_importers",
        "seamcheck_register_reports",
    ]
    assert all("Called once" in one.__doc__ for one in specified)
