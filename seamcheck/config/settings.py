"""The shop's settings: `seamcheck.toml`, or `[tool.seamcheck]` of a pyproject.toml, nearest folder first, or a file that is named.

Who runs the program answers for the file that is named. What is found in a folder may come from elsewhere: code that it names
is run, and a limit that it raises is taken, only where the user trusts them (`trust`).

The keys are declared below, those of `[measures]` and `[[rules]]` in `rules`; `seamcheck explain settings` tells them.
`[options.PLUGIN]` is a table of a plugin's own; `Settings.options_of` hands it out.

Which checks and roles exist is known only once plugins are loaded: `validate_checks` and `validate_layers` then
look for misspelled ones.
"""

from __future__ import annotations

import os
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from pathlib import Path
from typing import TYPE_CHECKING, Literal, NoReturn

from seamcheck.amounts import UNITS
from seamcheck.config.keys import Key, TableKeys, below
from seamcheck.config.limits import Limits
from seamcheck.config.rule_keys import ERROR, MEASURES, MISSING, RULE
from seamcheck.config.toml import Table, parse, read_text
from seamcheck.errors import SettingsError
from seamcheck.places import Place
from seamcheck.spelling import nearest

if TYPE_CHECKING:
    from seamcheck.config.rules import Rule
    from seamcheck.config.trust import Trusted

FILE_NAME = "seamcheck.toml"
VARIABLE = "SEAMCHECK_SETTINGS"  # names the settings as `--settings` does
SEVERITIES = ("error", "warning", "note", "off")
USUAL = "usual"  # a severity that an option gives back: what holds where no file says another
SETTINGS = TableKeys(
    "",
    "the top of the file",
    {
        "units": Key(
            '"mm"', 'Of the lengths in this file, and of drawings that do not say theirs: "mm", "cm" or "in".'
        ),
        "allowance": Key("10", "How wide the seam allowance is where neither file nor plan says it."),
        "plugins": Key(
            '["house_checks.py"]',
            "Python files in this folder or below, or names of installed plugins. A run without one of them ends with exit "
            "code 2, and all that could be judged is still told. An installed plugin is used without being named.",
        ),
    },
)
TOLERANCES = TableKeys(
    "[tolerances]",
    "by check: lengths in the units above, angles in degrees",
    {
        "seam-length": Key("1.6", "The tolerance of a check. Those of spans and notches follow that of the seam."),
        '"edge-blend/step"': Key("0.5", "Of one code of a check."),
    },
    open=True,
)
SEVERITY = TableKeys(
    "[severity]",
    "by check or code, whatever the amount",
    {
        "labels": Key('"off"', 'Of a check: "error", "warning", "note" or "off".'),
        '"seam-length/short"': Key('"error"', "Of one code of a check; it goes before the check's own."),
    },
    open=True,
)
LAYERS = TableKeys(
    "[layers]",
    "what the shop's own layers and labels are for, where their names do not say it",
    {"sew-line": Key('["NET*", "7"]', "Names of layers or labels; * stands for anything.")},
    open=True,
)
LIMITS = TableKeys(
    "[limits]",
    "how much of a file is read before it is refused as too large; these are the defaults",
    {
        limit.name: Key(f"{limit.default:_}", f"{meaning[:1].upper()}{meaning[1:]}.")
        for limit, meaning in ((one, one.metadata["meaning"]) for one in fields(Limits))
    },
)
OPTIONS = TableKeys(
    "[options.house-rules]",
    "what a plugin asks the shop: its own README says the keys",
    {"cloth": Key("1400", "An example.")},
    open=True,
)
TABLES = (TOLERANCES, SEVERITY, LAYERS, LIMITS, MEASURES, RULE, OPTIONS)


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """What a shop sets for all its patterns; `path` is "" when no settings file was found.

    `allowance` is in mm. `tolerances` are as written: ask `tolerance` for one in mm or degrees. `severities`
    go by check or "check/code". `layers` maps role words, lower case with spaces ("sew line"), to patterns.
    Plugins that are files are absolute paths. `trusted` are the digests of those that may be run, by path, and None where all
    may be: the one who runs the program has named these settings. `held` are the limits that they raise and nobody trusts.
    `turned_off` names the option of a run that has turned a "check/code" off, where one has.
    """

    path: str = ""
    units: str | None = None
    allowance: float | None = None
    plugins: tuple[str, ...] = ()
    tolerances: Mapping[str, float] = field(default_factory=dict)
    severities: Mapping[str, str] = field(default_factory=dict)
    layers: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    limits: Limits = field(default_factory=Limits)
    rules: tuple[Rule, ...] = ()
    options: Mapping[str, Table] = field(default_factory=dict)
    trusted: Trusted | None = field(default=None, compare=False)
    held: tuple[str, ...] = ()
    turned_off: Mapping[str, str] = field(default_factory=dict)
    places: Mapping[tuple[str, str], Place] = field(default_factory=dict, compare=False)

    def tolerance(self, check: str, unit: Literal["mm", "degrees"]) -> float | None:
        """The tolerance the shop sets for a check whose findings are measured in `unit`; None when it sets none."""
        value = self.tolerances.get(check)
        if value is None or unit != "mm":
            return value
        return value * UNITS[self.units or "mm"]

    def severity(self, check: str, code: str) -> str | None:
        """The severity the shop gives one way a check can fail, or the whole check; None when it gives none."""
        given = self.severities.get(f"{check}/{code}", self.severities.get(check))
        return None if given == USUAL else given

    def severity_from(self, check: str, code: str) -> str:
        """Who gives that severity: the settings file, or an option of the run."""
        return self.turned_off.get(f"{check}/{code}", self.path)

    def narrowed(
        self, codes: Mapping[str, Collection[str]], select: Sequence[str], ignore: Sequence[str]
    ) -> Settings:
        """The same for a run that asks for the checks and codes in `select` alone, all where it is empty, and for none in `ignore`.

        `codes` are those of every check. What is asked for by name is looked at, also where the file turns it off.
        """
        if not select and not ignore:
            return self
        severities, turned_off = dict(self.severities), {}
        for check, code in ((check, code) for check, those in codes.items() for code in those):
            name, given = f"{check}/{code}", self.severity(check, code)
            if ignore and not {check, name}.isdisjoint(ignore):
                severities[name], turned_off[name] = "off", "--ignore"
            elif select and {check, name}.isdisjoint(select):
                severities[name], turned_off[name] = "off", "--select"
            elif given == "off" and select:
                severities[name] = USUAL
            elif given:
                severities[name] = given
        return replace(self, severities=severities, turned_off=turned_off)

    def options_of(self, plugin: str) -> Table:
        """The options of a plugin, an empty table where there are none: its getters say what is wrong, with the line."""
        empty = Table({}, ("options", plugin), self.path, {}, SettingsError)
        return self.options.get(plugin, empty)

    @property
    def unit(self) -> float:
        """How many mm are one of the settings' units: what a length in a plugin's options is multiplied by."""
        return UNITS[self.units or "mm"]

    def validate_options(self, known: Collection[str]) -> None:
        """Raise a SettingsError for the first options of a plugin that does not exist."""
        for plugin, table in self.options.items():
            if plugin not in known:
                raise table.wrong(f'there is no plugin "{plugin}"', remedy=nearest(plugin, known, "plugin"))

    def validate_checks(self, known: Mapping[str, Mapping[str, bool]]) -> None:
        """Raise a SettingsError for the first tolerance or severity of a check that does not exist, or that does nothing.

        `known` tells of every check its codes, and which of them are measured.
        """
        for table, named in (("tolerances", self.tolerances), ("severity", self.severities)):
            for key in named:
                check, slash, code = key.partition("/")
                if check not in known:
                    self._wrong(table, key, f'there is no check "{check}"', nearest(check, known, "check"))
                codes = known[check]
                if slash and code not in codes:
                    self._wrong(table, key, f'"{check}" has no code "{code}"', nearest(code, codes, "code"))
                if table == "tolerances" and not (codes[code] if slash else any(codes.values())):
                    self._wrong(
                        table,
                        key,
                        f'"{key}" measures nothing, so that it has no tolerance',
                        "take it out; what weighs more or less is set in [severity]",
                    )

    def validate_layers(self, known: Collection[str]) -> None:
        """Raise a SettingsError for the first role in `[layers]` that does not exist."""
        for role in self.layers:
            if role not in known:
                self._wrong("layers", role, f'there is no role "{role}"', nearest(role, known, "role"))

    def _wrong(self, table: str, key: str, what: str, remedy: str) -> NoReturn:
        raise SettingsError(what, path=self.path, place=self.places.get((table, key), ""), remedy=remedy)


def settings_for(start: str | Path, named: str | None) -> Settings:
    """The settings in the file that is `named`, and where none is those that hold for a file or folder."""
    return load_settings(start) if named is None else named_settings(named)


def settings_named(named: str | None) -> str | None:
    """The file that is to be gone by: `named`, or what the user's environment says, or None."""
    return named or os.environ.get(VARIABLE) or None


def named_settings(named: str) -> Settings:
    """The settings in a file that the one who runs the program has named, and answers for; SettingsError when there are none."""
    path = Path(named).absolute()
    text = read_text(path, SettingsError, "settings file")
    top = parse(text, str(path), SettingsError)
    if path.name != "pyproject.toml":
        return _settings(top, path)
    tool = top.table("tool")
    if "seamcheck" not in tool.values:
        raise SettingsError("it has no [tool.seamcheck]", path=str(path), remedy="name another file after --settings")
    return _settings(tool.table("seamcheck"), path)


def load_settings(start: str | Path) -> Settings:
    """The settings that hold for a file or folder: those in the nearest folder on the way up.

    In one folder `seamcheck.toml` goes before pyproject.toml. Settings are never mixed. Without any, all defaults. Of code and
    raised limits only what the user trusts holds. SettingsError for a file that cannot be used.
    """
    return _as_trusted(settings_found(start))


def _as_trusted(settings: Settings) -> Settings:
    """Settings that were found, with no more of them than the user trusts."""
    usual = Limits()
    raised = {name: limit for name, limit in _each(usual) if getattr(settings.limits, name) > limit}
    if not raised and not any(plugin.endswith(".py") for plugin in settings.plugins):
        return settings
    from seamcheck.config import trust

    folder = Path(settings.path).parent
    known = trust.trusted_in(folder)
    settings = replace(
        settings, trusted={str(folder / name): digest for name, digest in known.items() if name != trust.LIMITS}
    )
    if not raised or known.get(trust.LIMITS) == trust.digest_of_limits(settings.limits):
        return settings
    return replace(settings, limits=replace(settings.limits, **raised), held=tuple(raised))


def _each(limits: Limits) -> list[tuple[str, int]]:
    return [(one.name, getattr(limits, one.name)) for one in fields(limits)]


def to_trust(settings: Settings) -> Trusted:
    """What the user would have to trust of settings that were found: the digests of their plugin files and raised limits, by name."""
    from seamcheck.config import trust

    folder = Path(settings.path).parent
    files = [Path(plugin) for plugin in settings.plugins if plugin.endswith(".py")]
    found = {_name(file, folder): trust.digest(file.read_bytes()) for file in files}
    if any(getattr(settings.limits, name) > limit for name, limit in _each(Limits())):
        found[trust.LIMITS] = trust.digest_of_limits(settings.limits)
    return found


def pinned(settings: Settings) -> Settings:
    """The same for another machine: of the plugin files that may be run here, none may be run there that is another than here."""
    from seamcheck.config import trust

    files = [plugin for plugin in settings.plugins if plugin.endswith(".py")]
    if settings.trusted is not None or not files:
        return settings
    return replace(
        settings, trusted={file: trust.digest(Path(file).read_bytes()) for file in files if Path(file).is_file()}
    )


def _name(file: Path, folder: Path) -> str:
    return str(file.relative_to(folder)) if file.is_relative_to(folder) else str(file)


def settings_found(start: str | Path) -> Settings:
    """The settings in the nearest folder on the way up as they are written, whoever wrote them: nothing is judged by them."""
    here = Path(start).absolute()
    for folder in (here, *here.parents):
        own = folder / FILE_NAME
        if own.is_file():
            return parse_settings(read_text(own, SettingsError, "settings file"), own)
        project = folder / "pyproject.toml"
        if project.is_file():
            settings = _from_project(project)
            if settings is not None:
                return settings
    return Settings()


def _from_project(path: Path) -> Settings | None:
    text = read_text(path, SettingsError, "project file")
    if "seamcheck" not in text:
        return None  # whatever else may be wrong with it is not ours to judge
    tool = parse(text, str(path), SettingsError).table("tool")
    return _settings(tool.table("seamcheck"), path) if "seamcheck" in tool.values else None


def parse_settings(text: str, path: Path) -> Settings:
    """Read and validate the text of a settings file; plugin files are looked for beside `path`."""
    return _settings(parse(text, str(path), SettingsError), path)


def _settings(top: Table, path: Path) -> Settings:
    top.only(*SETTINGS.keys, *below(TABLES))
    units = top.choice("units", UNITS)
    allowance = top.number("allowance")
    if allowance is not None and allowance < 0:
        raise top.wrong(f'"allowance" is {allowance:g}, below 0', "allowance", remedy="write a number of 0 or more")
    places: dict[tuple[str, str], Place] = {}
    tolerances, severities, layers = top.table("tolerances"), top.table("severity"), top.table("layers")
    limits = top.table("limits")
    limits.only(*LIMITS.keys)
    for table in (tolerances, severities, layers):
        name = str(table.keys[-1])
        places |= {(name, _role(key) if table is layers else key): table.place(key) for key in table.values}
    rules = _rules(top, units)
    return Settings(
        path=str(path),
        units=units,
        allowance=None if allowance is None else allowance * UNITS[units or "mm"],
        plugins=tuple(_plugin(top, index, one, path.parent) for index, one in enumerate(top.texts("plugins"))),
        tolerances={check: _tolerance(tolerances, check) for check in tolerances.values},
        # A rule's own severity holds unless the table of severities speaks of it.
        severities=_severities_of(rules, severities.values)
        | {check: severities.choice(check, SEVERITIES) or "" for check in severities.values},
        layers={_role(role): _patterns(layers, role) for role in layers.values},
        limits=Limits(**{name: limits.count(name) for name in limits.values}),
        rules=rules,
        options=dict(top.table("options").subtables()),
        places=places,
    )


def _rules(top: Table, units: str | None) -> tuple[Rule, ...]:
    """The shop's own rules; what they are read by is loaded only where there are any."""
    if not (top.values.keys() & {"measures", "rules"}):
        return ()
    from seamcheck.config.rules import read_rules

    return read_rules(top, units, SEVERITIES)


def _severities_of(rules: Sequence[Rule], told: Collection[str]) -> dict[str, str]:
    """The severities that the rules themselves give; `told` are the names that the table of severities speaks of."""
    if not rules:
        return {}
    found = {}
    for rule in rules:
        if rule.severity:
            found[rule.name] = rule.severity
        # How grave a deviation is says nothing of a name that is not there.
        if rule.missing == ERROR and rule.severity != "off" and rule.name not in told:
            found[f"{rule.name}/{MISSING}"] = ERROR
    return found


def _role(key: str) -> str:
    return key.strip().lower().replace("-", " ").replace("_", " ")


def _tolerance(table: Table, check: str) -> float:
    value = table.number(check) or 0.0
    if value <= 0:
        raise table.wrong(
            f'the tolerance of "{check}" is {value:g}',
            check,
            remedy='write a number greater than 0, or turn the check off with "off" in [severity]',
        )
    return value


def _patterns(table: Table, role: str) -> tuple[str, ...]:
    patterns = table.texts(role)
    for index, pattern in enumerate(patterns):
        if not pattern.strip():
            raise table.wrong(
                f'a pattern for "{role}" is empty', role, index, remedy="write a layer name or label, * allowed"
            )
    return patterns


def _plugin(table: Table, index: int, name: str, folder: Path) -> str:
    if not name.strip():
        raise table.wrong(
            "a plugin has an empty name", "plugins", index, remedy="write a .py file or a plugin's name"
        )
    if not name.endswith(".py"):
        return name
    path = folder / name
    if not path.is_file():
        files = sorted(one.name for one in folder.glob("*.py"))
        raise table.wrong(
            f'there is no plugin file "{name}" beside the settings',
            "plugins",
            index,
            remedy=nearest(path.name, files, "file"),
        )
    # By a link, too: what lies elsewhere is no part of the folder that is trusted.
    if not path.resolve().is_relative_to(folder.resolve()):
        raise table.wrong(
            f'the plugin file "{name}" lies outside the folder of the settings',
            "plugins",
            index,
            remedy="put it beside them, or install it as a package",
        )
    return str(path)
