"""How checks, importers, reports and fits come in: the loading of plugins.

A plugin is a module that implements one or more of the hooks of `hookspecs`. It is found by entry point (group `seamcheck`), or is a plain .py file that the shop's settings name under `plugins`.
The built-in parts come in by the same door. A file that settings name which were found in a folder is run only where the user trusts its very bytes.

Nothing is skipped in silence: a plugin that cannot be loaded, that implements no hook or a hook that does not
exist, and a name that is registered twice are each a PluginError. Such a plugin takes no other with it: `load_tolerant`
gives what the rest bring, all else is judged, and the run ends with exit code 2 and the plugin's name, file and line. Commands
that judge nothing stop at it.
"""

from __future__ import annotations

import importlib.metadata
import inspect
import re
import shlex
import sys
import traceback
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path
from types import ModuleType
from typing import TYPE_CHECKING, Any, NoReturn

import pluggy

from seamcheck.checks.base import Check
from seamcheck.config.trust import digest
from seamcheck.engine import hookspecs
from seamcheck.engine.hookspecs import PROJECT
from seamcheck.engine.report_format import ReportFormat
from seamcheck.errors import Failure, PluginError, SettingsError, UntrustedError
from seamcheck.files import at
from seamcheck.fits.fit import Fit
from seamcheck.pairing.hints import PairingHint
from seamcheck.places import Place
from seamcheck.reading.base import Importer
from seamcheck.spelling import nearest
from seamcheck.version import __version__

if TYPE_CHECKING:
    from seamcheck.pattern.model import Pattern


if TYPE_CHECKING:
    from seamcheck.config.settings import Settings
    from seamcheck.pattern.model import Pattern

BUILTIN = "builtin"


_NAME = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*")


# What each of the registering hooks may register.
_BRINGS: Mapping[str, type[Any]] = {
    "seamcheck_register_checks": Check,
    "seamcheck_register_importers": Importer,
    "seamcheck_register_reports": ReportFormat,
    "seamcheck_register_alterations": Fit,
}

_TOLD = ("seamcheck_register_checks", "seamcheck_register_alterations")  # what is explained, and loads nothing heavy


class _Manager(pluggy.PluginManager):
    """A plugin manager that takes every function `seamcheck_...` for a hook, so that a forgotten mark is no trap."""

    def parse_hookimpl_opts(self, plugin: object, name: str) -> Any:
        """Return the options of an implementation, or None for what is none."""
        options = super().parse_hookimpl_opts(plugin, name)
        if options is None and name.startswith(PROJECT + "_") and inspect.isroutine(getattr(plugin, name)):
            return {}
        return options


def load(settings: Settings, *, checks_only: bool = False, plugins: bool = True) -> Registry:
    """Load every plugin and collect what they register; `checks_only` leaves importers and reports aside.

    PluginError for the first plugin that cannot be used: it names the plugin, and the file and line where one is to
    blame. SettingsError when the settings speak of a check that no plugin brings, or of a role that no mark has.
    Without `plugins` only the built-in parts are loaded.
    """
    registry = load_tolerant(settings, checks_only=checks_only, plugins=plugins)
    registry.require_all()
    return registry


def load_tolerant(settings: Settings, *, checks_only: bool = False, plugins: bool = True) -> Registry:
    """The same, but a plugin that cannot be used takes no other with it: it brings nothing, and says why."""
    manager = _Manager(PROJECT)
    manager.add_hookspecs(hookspecs)
    found: dict[str, dict[str, tuple[Any, str]]] = {hook: {} for hook in _BRINGS}
    hooks = [hook for hook in _BRINGS if not checks_only or hook in _TOLD]
    infos = []
    for info, get in _candidates(settings, plugins=plugins):
        try:
            plugin = get()
            _add(manager, plugin, info.name)
        except PluginError as error:
            infos.append(replace(info, error=error))
            continue
        named = replace(info, file=_file(plugin) or "", version=info.version or getattr(plugin, "__version__", ""))
        try:
            brought = {hook: _collect(manager, hook, info.name, found[hook]) for hook in hooks}
        except PluginError as error:
            manager.unregister(plugin)
            infos.append(replace(named, error=error))
            continue
        for hook, things in brought.items():
            found[hook] |= {thing.name: (thing, info.name) for thing in things}
        names = [tuple(sorted(thing.name for thing in brought.get(hook, ()))) for hook in _BRINGS]
        hints = _implements(manager, plugin, "seamcheck_pairing_hints")
        brings = replace(named, checks=names[0], importers=names[1], reports=names[2], fits=names[3])
        infos.append(replace(brings, hints=hints))
    _add_rules(settings, found["seamcheck_register_checks"])
    checks, importers, reports, fits = ([things[name] for name in sorted(things)] for things in found.values())
    if plugins and not any(info.error for info in infos):  # else a name may be that of a check that is missing now
        settings.validate_checks(
            {check.name: {c.name: check.measures(c) for c in check.codes} for check, _ in checks}
        )
        settings.validate_options([info.name for info in infos if info.name != BUILTIN])
    if settings.layers and not checks_only:
        from seamcheck.pattern.words import ROLE_WORDS

        settings.validate_layers(ROLE_WORDS)
    return Registry(
        checks=tuple(one for one, _ in checks),
        importers=tuple(one for one, _ in importers),
        reports=tuple(one for one, _ in reports),
        fits=tuple(one for one, _ in fits),
        plugin_of={check.name: plugin for check, plugin in checks},
        pairing_hints=lambda pattern: _pairing_hints(manager, pattern),
        plugins=tuple(infos),
        left_out=() if plugins else tuple(_left_out(settings)),
        held=tuple(_held(settings)),
    )


def _add_rules(settings: Settings, found: dict[str, tuple[Any, str]]) -> None:
    """The shop's own rules are checks, too; the settings file stands for the plugin that brings them."""
    if not settings.rules:
        return
    from seamcheck.checks.house_rules import rule_check

    for rule in settings.rules:
        if rule.name in found:
            raise SettingsError(
                f'the rule "{rule.name}" has the name of a check that the plugin "{found[rule.name][1]}" brings',
                path=settings.path,
                place=rule.place,
                remedy="give the rule another name",
            )
        found[rule.name] = rule_check(rule, settings.path), Path(settings.path).name


def _candidates(settings: Settings, *, plugins: bool) -> Iterator[tuple[PluginInfo, Callable[[], object]]]:
    """Every plugin there is, in the order of loading, and how it is got.

    The built-in parts come first, so that where two clash it is the other plugin that is named.
    """
    entries = sorted(importlib.metadata.entry_points(group=PROJECT), key=lambda entry: (entry.name, entry.value))
    # They are there in a checkout that is not installed, too.
    yield PluginInfo(name=BUILTIN, package=PROJECT, version=__version__), _builtin
    if not plugins:
        return
    others = [entry for entry in entries if entry.value != f"{PROJECT}.{BUILTIN}"]
    for entry in others:
        package, version = (entry.dist.name, entry.dist.version) if entry.dist else ("", "")
        required = entry.name in settings.plugins
        yield PluginInfo(name=entry.name, package=package, version=version, required=required), partial(_entry, entry)
    installed = [BUILTIN, *(entry.name for entry in others)]
    for plugin in sorted(settings.plugins):
        if plugin.endswith(".py"):
            info = PluginInfo(name=Path(plugin).stem, file=plugin, required=True)
            yield info, partial(_file_module, Path(plugin), settings)
        elif plugin not in installed:
            yield PluginInfo(name=plugin, required=True), partial(_missing, plugin, settings.path, sorted(installed))


def _builtin() -> object:
    return importlib.import_module(f"{PROJECT}.{BUILTIN}")


def _entry(entry: importlib.metadata.EntryPoint) -> object:
    with _blame(entry.name, None, "cannot be loaded"):
        return entry.load()


def _missing(name: str, path: str, installed: Sequence[str]) -> NoReturn:
    raise PluginError(
        f'the plugin "{name}" that the settings ask for is not installed',
        path=path,
        remedy=f"install it, or correct its name: {nearest(name, installed, 'installed plugin')}",
    )


def _left_out(settings: Settings) -> Iterator[Failure]:
    for plugin in sorted(settings.plugins):
        name = Path(plugin).stem if plugin.endswith(".py") else plugin
        yield PluginError(
            f'the plugin "{name}" that the settings ask for was left out',
            path=settings.path,
            remedy="run without --no-plugins to judge by all of the shop's rules",
        ).failure


def _add(manager: pluggy.PluginManager, plugin: object, name: str) -> None:
    """Register one plugin and see that it keeps to the hooks that there are."""
    file = _file(plugin)
    if manager.has_plugin(name):
        raise PluginError(f'there are two plugins "{name}"', path=file or "", remedy="give one another name")
    try:
        with _blame(name, file, "cannot be used"):
            manager.register(plugin, name)
            manager.check_pending()
    except PluginError:
        if manager.is_registered(plugin):
            manager.unregister(plugin)
        raise
    if not manager.get_hookcallers(plugin):
        manager.unregister(plugin)
        _fail(
            f'plugin "{name}" implements no hook, so it would do nothing',
            file,
            remedy=f"name its function after one of the hooks: {', '.join(_hooks())}",
        )


def _hooks() -> list[str]:
    return sorted(name for name, one in vars(hookspecs).items() if hasattr(one, PROJECT + "_spec"))


def _held(settings: Settings) -> Iterator[Failure]:
    if settings.held:
        names = ", ".join(settings.held)
        yield UntrustedError(
            f"it raises the limits of {names}, and is not trusted, so the usual ones hold",
            path=settings.path,
            remedy=_how_to_trust(settings),
        ).failure


def _how_to_trust(settings: Settings) -> str:
    folder = shlex.quote(str(Path(settings.path).parent))
    return f"read it, then trust it with: seamcheck trust {folder}; or name settings of your own with --settings"


def _file_module(file: Path, settings: Settings) -> ModuleType:
    """Run a plain .py file that settings name; UntrustedError where nobody who runs the program has trusted it as it is now."""
    with _blame(file.stem, str(file), "cannot be read"):
        data = at(file).read_bytes()
    if settings.trusted is not None:
        known = settings.trusted.get(str(file))
        if known != digest(data):
            what = "is not trusted" if known is None else "was changed since it was trusted"
            raise UntrustedError(
                f'the plugin "{file.stem}" that {settings.path} names {what}, so it was not run',
                path=str(file),
                remedy=_how_to_trust(settings),
            )
    return _module(file, data)


def _module(file: Path, data: bytes) -> ModuleType:
    """Run the bytes of a plain .py file as a module; nothing is written beside it."""
    name = file.stem
    module = ModuleType(f"{PROJECT}_plugin_{name}")
    module.__file__ = str(file)
    sys.modules[module.__name__] = module  # dataclasses look their own module up
    with _blame(name, str(file), "cannot be loaded"):
        exec(compile(data, str(file), "exec"), module.__dict__)
    return module


def _collect(
    manager: pluggy.PluginManager, hook: str, plugin: str, found: Mapping[str, tuple[Any, str]]
) -> list[Any]:
    """What one plugin registers by one hook; `found` is what others have registered before."""
    kind = _BRINGS[hook]
    own: dict[str, Any] = {}

    def add(one: Any) -> None:
        if not isinstance(one, kind):
            raise PluginError(f"it registers a {type(one).__name__} where a {kind.__name__} belongs")
        if not _NAME.fullmatch(one.name):
            raise PluginError(
                f'"{one.name}" is no name for a {kind.__name__}',
                remedy="use small letters and digits, with - between words",
            )
        if one.name in own or one.name in found:
            whose = "by the plugin itself" if one.name in own else f'by plugin "{found[one.name][1]}"'
            raise PluginError(f'"{one.name}" is already registered {whose}', remedy="give it another name")
        own[one.name] = one

    for name, call in _callers(manager, hook):
        if name == plugin:
            call(register=add)
    return list(own.values())


def _pairing_hints(manager: pluggy.PluginManager, pattern: Pattern) -> tuple[PairingHint, ...]:
    hints: list[PairingHint] = []
    for _, call in _callers(manager, "seamcheck_pairing_hints"):
        call(pattern=pattern, register=hints.append)
    return tuple(sorted(hints, key=lambda hint: (hint.first, hint.second, hint.confidence, hint.why)))


def _callers(manager: pluggy.PluginManager, hook: str) -> Iterator[tuple[str, Callable[..., object]]]:
    """Each plugin's name and its implementation of a hook alone, whose failure becomes a PluginError."""
    plugins = manager.get_plugins()
    for name, plugin in manager.list_name_plugin():
        if not _implements(manager, plugin, hook):
            continue
        caller = manager.subset_hook_caller(hook, [other for other in plugins if other is not plugin])

        def call(*, name: str = name, plugin: object = plugin, caller: Any = caller, **arguments: object) -> object:
            with _blame(name, _file(plugin), f"fails in {hook}"):
                return caller(**arguments)

        yield name, call


def _implements(manager: pluggy.PluginManager, plugin: object, hook: str) -> bool:
    return hook in {caller.name for caller in manager.get_hookcallers(plugin) or ()}


@contextmanager
def _blame(name: str, file: str | None, what: str) -> Iterator[None]:
    """Turn whatever a plugin raises into a PluginError with its name, its file and the line in it."""
    try:
        yield
    except pluggy.PluginValidationError as error:
        _fail(f'plugin "{name}" {what}: {_validation(error)}', file)
    except PluginError as error:
        path, line = _place(error, file)
        _fail(f'plugin "{name}" {what}: {error.what}', path, line, remedy=error.remedy)
    except (Exception, SystemExit) as error:
        path, line = _place(error, file)
        text = error.msg if isinstance(error, SyntaxError) else str(error)
        reason = " ".join(f"{type(error).__name__}: {text}".split())
        _fail(f'plugin "{name}" {what}: {reason}', path, line)


def _fail(what: str, path: str | None, line: int | None = None, remedy: str = "") -> NoReturn:
    place = Place(f"line {line}", line) if line else ""
    raise PluginError(what, path=path or "", place=place, remedy=remedy) from sys.exception()


def _file(plugin: object) -> str | None:
    return getattr(plugin, "__file__", None)


def _place(error: BaseException, file: str | None) -> tuple[str | None, int | None]:
    """The file and line to blame: the last in the plugin's own file, or the last outside the loading machinery."""
    if isinstance(error, SyntaxError) and error.filename:
        return error.filename, error.lineno
    frames = [(frame.filename, frame.lineno) for frame in traceback.extract_tb(error.__traceback__)]
    if file:
        own = [frame for frame in frames if frame[0] == file]
        return own[-1] if own else (file, None)
    machinery = (__file__, importlib.metadata.__file__, importlib.__file__)
    others = [frame for frame in frames if frame[0] not in machinery and not frame[0].startswith("<")]
    return others[-1] if others else (None, None)


def _validation(error: pluggy.PluginValidationError) -> str:
    """What the plugin manager objects to, in one line."""
    text = " ".join(str(error).split())
    unknown = re.search(r"unknown hook '(\w+)'", text)
    if unknown:
        return f'there is no hook "{unknown[1]}"; {nearest(unknown[1], _hooks(), "hook")}'
    wrong = re.search(r"hook '(\w+)'.*hookimpl definition: (.*?) Argument\(s\) (\{.*?\})", text)
    if wrong:
        return f"{wrong[2]} has arguments that the hook does not give: {wrong[3]}"
    return text


@dataclass(frozen=True, slots=True, kw_only=True)
class PluginInfo:
    """One plugin: where it comes from, what it brought, and why it could not be used where it could not.

    `package` is the installed package that brings it, "" for a plain file; `file` is where its code lies;
    `version` is "" where it has none. `required` says that the settings name it. A plugin with an `error` brought nothing.
    """

    name: str
    package: str = ""
    version: str = ""
    file: str = ""
    required: bool = False
    checks: tuple[str, ...] = ()
    importers: tuple[str, ...] = ()
    reports: tuple[str, ...] = ()
    fits: tuple[str, ...] = ()
    hints: bool = False
    error: PluginError | None = None


def _no_hints(_: Pattern) -> tuple[PairingHint, ...]:
    return ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Registry:
    """All checks, importers, report formats and fits, each sorted by name.

    `plugin_of` says which plugin a check comes from. `pairing_hints` asks every plugin about one pattern and
    raises PluginError when one fails. `plugins` are all that were found; `failures` say, one sentence each, which
    of them could not be used or were left out although the settings require them: without those nothing is judged whole. `held` says
    so of limits that the settings raise and the user does not trust.
    """

    checks: tuple[Check, ...]
    importers: tuple[Importer, ...]
    reports: tuple[ReportFormat, ...]
    fits: tuple[Fit, ...] = ()
    plugin_of: Mapping[str, str] = field(default_factory=dict)
    pairing_hints: Callable[[Pattern], tuple[PairingHint, ...]] = _no_hints
    plugins: tuple[PluginInfo, ...] = ()
    left_out: tuple[Failure, ...] = ()
    held: tuple[Failure, ...] = ()

    def require_all(self, *, trusted: bool = True) -> None:
        """Raise the error of the first plugin that could not be used; of those that are not trusted only with `trusted`."""
        for plugin in self.plugins:
            if plugin.error is not None and (trusted or not isinstance(plugin.error, UntrustedError)):
                raise plugin.error

    @property
    def untrusted(self) -> tuple[Failure, ...]:
        """What the settings ask for and the user does not trust, a sentence each."""
        errors = (plugin.error for plugin in self.plugins if isinstance(plugin.error, UntrustedError))
        return (*(error.failure for error in errors), *self.held)

    @property
    def plugin_files(self) -> tuple[str, ...]:
        """The plain files that were run as plugins."""
        return tuple(one.file for one in self.plugins if one.file and not one.package and one.error is None)

    @property
    def failures(self) -> tuple[Failure, ...]:
        """Why a run by this registry is not all that the shop asks for."""
        errors = (plugin.error for plugin in self.plugins if plugin.error)
        return (*(error.failure for error in errors), *self.left_out, *self.held)
