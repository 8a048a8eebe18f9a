import sys
from pathlib import Path
from subprocess import run

import pytest

from seamcheck.config.limits import Limits
from seamcheck.config.settings import Settings, load_settings, named_settings, parse_settings
from seamcheck.errors import SettingsError

GOOD = """\
units = "in"
allowance = 0.5
plugins = ["house_checks.py", "ferryhand"]
[tolerances]
seam-length = 0.1
corner-blend = 3
[severity]
labels = "off"
seam-length = "warning"
"seam-length/short" = "error"
[layers]
sew-line = ["NET*", "naht"]
"Notch" = ["K 4"]
[limits]
bytes = 1_000_000_000
depth = 12
"""


@pytest.fixture
def shop(tmp_path):
    (tmp_path / "house_checks.py").write_text("")
    (tmp_path / "seamcheck.toml").write_text(GOOD)
    return tmp_path


def test_good_settings(shop):
    settings = named_settings(str(shop / "seamcheck.toml"))
    assert settings == Settings(
        path=str(shop / "seamcheck.toml"),
        units="in",
        allowance=12.7,
        plugins=(str(shop / "house_checks.py"), "ferryhand"),
        tolerances={"seam-length": 0.1, "corner-blend": 3.0},
        severities={"labels": "off", "seam-length": "warning", "seam-length/short": "error"},
        layers={"sew line": ("NET*", "naht"), "notch": ("K 4",)},
        limits=Limits(bytes=10**9, depth=12),
    )
    assert settings.tolerance("seam-length", "mm") == pytest.approx(2.54)
    assert settings.tolerance("corner-blend", "degrees") == 3.0
    assert settings.tolerance("labels", "mm") is None
    assert settings.severity("seam-length", "short") == "error"
    assert settings.severity("seam-length", "long") == "warning"
    assert settings.severity("scale", "off-scale") is None


def test_without_any_file_everything_is_left_open(tmp_path):
    assert load_settings(tmp_path / "none") == Settings()


def test_the_nearest_folder_wins_and_settings_are_never_mixed(shop):
    inner = shop / "trousers" / "sizes"
    inner.mkdir(parents=True)
    pattern = inner / "a.svg"
    pattern.write_text("")
    assert load_settings(pattern).path == str(shop / "seamcheck.toml")
    (inner.parent / "pyproject.toml").write_text("[tool.other]\na = 1\n")
    assert load_settings(pattern).path == str(shop / "seamcheck.toml")
    (inner.parent / "pyproject.toml").write_text("[tool.seamcheck]\nallowance = 7\n")
    settings = load_settings(pattern)
    assert (settings.path, settings.allowance, settings.units) == (str(inner.parent / "pyproject.toml"), 7.0, None)
    (inner.parent / "seamcheck.toml").write_text("allowance = 8\n")
    assert load_settings(pattern).allowance == 8.0


def test_a_foreign_project_file_is_not_judged(shop):
    inner = shop / "inner"
    inner.mkdir()
    (inner / "pyproject.toml").write_text("this = is = broken")
    assert load_settings(inner).units == "in"
    (inner / "pyproject.toml").write_text("[tool.seamcheck]\nthis = is = broken")
    with pytest.raises(SettingsError, match=r"pyproject\.toml, line 2: this is not valid TOML"):
        load_settings(inner)


@pytest.mark.parametrize(
    ("old", "new", "line", "words"),
    [
        ('units = "in"', 'unit = "in"', 1, ['unknown key "unit"', 'nearest known key is "units"']),
        ('units = "in"', 'units = "inch"', 1, ['"mm" or "cm" or "in"']),
        ("allowance = 0.5", "allowance = -1", 2, ["below 0"]),
        ("allowance = 0.5", "allowance = nan", 2, ["is nan"]),
        ("house_checks.py", "house_check.py", 3, ['"house_check.py"', '"house_checks.py"']),
        ('"ferryhand"', '""', 3, ["empty name"]),
        ('["house_checks.py", "ferryhand"]', '"ferryhand"', 3, ["list of texts"]),
        ("seam-length = 0.1", "seam-length = 0", 5, ["greater than 0", '"off"']),
        ("seam-length = 0.1", 'seam-length = "wide"', 5, ["is a text where a number belongs"]),
        ('labels = "off"', 'labels = "none"', 8, ['"error" or "warning" or "note" or "off"']),
        ('["NET*", "naht"]', '["NET*", ""]', 12, ["is empty"]),
        ('["NET*", "naht"]', '"NET*"', 12, ["list of texts"]),
        ("[layers]", "[layer]", 11, ['unknown key "layer"', '"layers"']),
        ("depth = 12", "deep = 12", 16, ['unknown key "deep" in [limits]', 'nearest known key is "depth"']),
        ("depth = 12", "depth = 0", 16, ["is 0, below 1", "1 or more"]),
        ("depth = 12", "depth = 1.5", 16, ["is a number where a whole number belongs"]),
        ("depth = 12", "depth = true", 16, ["is true or false where a whole number belongs"]),
        ("depth = 12", 'depth = "deep"', 16, ["is a text where a whole number belongs"]),
    ],
)
def test_wrong_settings_are_one_sentence_with_their_line(shop, old, new, line, words):
    assert old in GOOD
    with pytest.raises(SettingsError) as caught:
        parse_settings(GOOD.replace(old, new, 1), shop / "seamcheck.toml")
    assert str(caught.value).startswith(f"{shop / 'seamcheck.toml'}, line {line}: ")
    for word in words:
        assert word in str(caught.value)


def test_unknown_checks_and_roles_are_named_with_their_line(shop):
    settings = load_settings(shop)
    known = {"seam-length": {"short": True}, "corner-blend": {"pointed": True}, "labels": {"missing": False}}
    settings.validate_checks(known)
    settings.validate_layers(["sew line", "notch"])
    others = {name: codes for name, codes in known.items() if name != "seam-length"}
    with pytest.raises(
        SettingsError, match=r'line 5: there is no check "seam-length"; the nearest check is "seam-len"'
    ):
        settings.validate_checks({"seam-len": {}, **others})
    with pytest.raises(SettingsError, match=r'line 8: there is no check "labels"'):
        settings.validate_checks({name: codes for name, codes in known.items() if name != "labels"})
    with pytest.raises(SettingsError, match=r'"seam-length" has no code "short"; the nearest code is "shorter"'):
        settings.validate_checks({**known, "seam-length": {"shorter": True}})
    with pytest.raises(SettingsError, match=r'line 5: "seam-length" measures nothing'):
        settings.validate_checks({**known, "seam-length": {"short": False}})
    with pytest.raises(SettingsError, match=r'line 13: there is no role "notch"; the nearest role is "notches"'):
        settings.validate_layers(["sew line", "notches"])


def test_reading_settings_needs_no_heavy_library():
    code = "import sys, seamcheck.config.settings; print(sorted({'numpy', 'ezdxf', 'networkx'} & set(sys.modules)))"
    result = run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=Path(__file__).parents[2]
    )
    assert result.stdout.strip() == "[]"


def test_options_of_a_plugin_are_handed_out_as_a_table(shop):
    settings = parse_settings('units = "cm"\n[options.trousers]\nwaist = 76\n', shop / "seamcheck.toml")
    assert settings.options_of("trousers").number("waist") == 76
    assert settings.unit == 10
    assert settings.options_of("skirts").number("waist") is None
    with pytest.raises(SettingsError, match=r'line 3: unknown key "waist" in \[options.trousers\]'):
        settings.options_of("trousers").only("hem")


def test_options_of_a_plugin_that_does_not_exist_are_refused(shop):
    settings = parse_settings("[options.trowsers]\nwaist = 76\n", shop / "seamcheck.toml")
    with pytest.raises(
        SettingsError, match='there is no plugin "trowsers"; the nearest plugin is "trousers"'
    ) as caught:
        settings.validate_options(["trousers"])
    assert str(caught.value.place) == "line 1"
