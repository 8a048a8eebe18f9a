"""How checks, importers and reports come in: the hook specifications and the loading of plugins.

Hooks register; the engine runs. A plugin is a module that implements one or more of the four hooks below. It is
found by entry point (group `seamcheck`), or is a plain .py file that the shop's settings name under `plugins`.
A function of a hook's name is an implementation, with or without the mark `@hookimpl`; it may leave out
arguments that it does not use. The built-in parts come in by the same door.

Nothing is skipped in silence: a plugin that cannot be loaded, that implements no hook or a hook that does not
exist, and a name that is registered twice are each a PluginError.
"""

from __future__ import annotations

import importlib.metadata
import inspect
import re
import sys
import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from types import ModuleType
from typing import TYPE_CHECKING, Any, NoReturn, Protocol, TypeVar

import pluggy

from seamcheck.checks.base import Check
from seamcheck.errors import PluginError
from seamcheck.importers.base import Importer
from seamcheck.registry import PairingHint, Registry
from seamcheck.report.base import ReportFormat
from seamcheck.toml_tables import nearest

if TYPE_CHECKING:
    from seamcheck.model import Pattern
    from seamcheck.settings import Settings

PROJECT = "seamcheck"
BUILTIN = "builtin"

hookspec = pluggy.HookspecMarker(PROJECT)
hookimpl = pluggy.HookimplMarker(PROJECT)

_NAME = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*")


# Registration: called once for each plugin when a command starts, before any file is opened.


@hookspec
def seamcheck_register_checks(register: Callable[[Check], None]) -> None:
    """Register checks: call `register(check)` once for each.

    Called once per command, before any file is opened. The check's `run` is called later, once for each size of
    each file, apart from all others: what it raises ends no other check.
    """


@hookspec
def seamcheck_register_importers(register: Callable[[Importer], None]) -> None:
    """Register importers: call `register(importer)` once for each.

    Called once per command, before any file is opened; not called by commands that open none. An importer's
    `recognises` is called at most once for each file, its `read` for the files that it is the first, by name,
    to recognise.
    """


@hookspec
def seamcheck_register_reports(register: Callable[[ReportFormat], None]) -> None:
    """Register report formats: call `register(report)` once for each; its name is then a word for `--format`.

    Called once per command, before any file is opened; not called by commands that open none. Its `render` is
    called once at the end of a run, with the results of all files.
    """


# While a pattern is worked on.


@hookspec
def seamcheck_pairing_hints(pattern: Pattern, register: Callable[[PairingHint], None]) -> None:
    """Tell what is known about which edges are sewn together: call `register(hint)` once for each pair.

    Called once for each pattern that seams are proposed for, after all of its edges are found and before they are
    compared. Never called for a pattern whose plan lists the seams.
    """


class _Named(Protocol):
    @property
    def name(self) -> str: ...


_T = TypeVar("_T")
_N = TypeVar("_N", bound=_Named)


class _Manager(pluggy.PluginManager):
    """A plugin manager that takes every function `seamcheck_...` for a hook, so that a forgotten mark is no trap."""

    def parse_hookimpl_opts(self, plugin: object, name: str) -> Any:
        """Return the options of an implementation, or None for what is none."""
        options = super().parse_hookimpl_opts(plugin, name)
        if options is None and name.startswith(PROJECT + "_") and inspect.isroutine(getattr(plugin, name)):
            return {}
        return options


def load(settings: Settings, *, checks_only: bool = False) -> Registry:
    """Load every plugin and collect what they register; `checks_only` leaves importers and reports aside.

    PluginError names the plugin, and the file and line where one is to blame. SettingsError when the settings
    speak of a check that no plugin brings, or of a role that no mark has.
    """
    manager = _manager(settings)
    checks = _collect(manager, "seamcheck_register_checks", Check)
    settings.validate_checks([check.name for check, _ in checks])
    importers = reports = None
    if not checks_only:
        if settings.layers:
            from seamcheck.importers.roles import ROLE_WORDS

            settings.validate_layers(ROLE_WORDS)
        importers = _collect(manager, "seamcheck_register_importers", Importer)
        reports = _collect(manager, "seamcheck_register_reports", ReportFormat)
    return Registry(
        checks=tuple(one for one, _ in checks),
        importers=tuple(one for one, _ in importers or ()),
        reports=tuple(one for one, _ in reports or ()),
        plugin_of={check.name: plugin for check, plugin in checks},
        pairing_hints=lambda pattern: _pairing_hints(manager, pattern),
    )


def _manager(settings: Settings) -> pluggy.PluginManager:
    manager = _Manager(PROJECT)
    manager.add_hookspecs(sys.modules[__name__])
    entries = importlib.metadata.entry_points(group=PROJECT)
    # The built-in parts come first, so that where two clash it is the other plugin that is named.
    for entry in sorted(entries, key=lambda entry: (entry.name != BUILTIN, entry.name, entry.value)):
        with _blame(entry.name, None, "cannot be loaded"):
            plugin = entry.load()
        _add(manager, plugin, entry.name)
    if not manager.has_plugin(BUILTIN):  # run from a checkout that is not installed
        from seamcheck import builtin

        _add(manager, builtin, BUILTIN)
    for plugin in sorted(settings.plugins):
        if plugin.endswith(".py"):
            _add(manager, _module(Path(plugin)), Path(plugin).stem)
        elif not manager.has_plugin(plugin):
            installed = sorted(name for name, _ in manager.list_name_plugin())
            raise PluginError(
                f'the plugin "{plugin}" that the settings ask for is not installed',
                path=settings.path,
                remedy=f"install it, or correct its name: {nearest(plugin, installed, 'installed plugin')}",
            )
    return manager


def _add(manager: pluggy.PluginManager, plugin: object, name: str) -> None:
    """Register one plugin and see that it keeps to the hooks that there are."""
    file = _file(plugin)
    if manager.has_plugin(name):
        raise PluginError(f'there are two plugins "{name}"', path=file or "", remedy="give one another name")
    with _blame(name, file, "cannot be used"):
        manager.register(plugin, name)
        manager.check_pending()
    if not manager.get_hookcallers(plugin):
        _fail(
            f'plugin "{name}" implements no hook, so it would do nothing',
            file,
            remedy=f"name its function after one of the hooks: {', '.join(_hooks())}",
        )


def _hooks() -> list[str]:
    return sorted(name for name, one in globals().items() if hasattr(one, PROJECT + "_spec"))


def _module(file: Path) -> ModuleType:
    """Run a plain .py file as a module; nothing is written beside it."""
    name = file.stem
    module = ModuleType(f"{PROJECT}_plugin_{name}")
    module.__file__ = str(file)
    sys.modules[module.__name__] = module  # dataclasses look their own module up
    with _blame(name, str(file), "cannot be loaded"):
        exec(compile(file.read_bytes(), str(file), "exec"), module.__dict__)
    return module


def _collect(manager: pluggy.PluginManager, hook: str, kind: type[_N]) -> list[tuple[_N, str]]:
    """Call one hook on each plugin apart; what was registered with the plugin's name, sorted by its own name."""
    found: dict[str, tuple[_N, str]] = {}

    def add(plugin: str, one: _N) -> None:
        if not isinstance(one, kind):
            raise PluginError(f"it registers a {type(one).__name__} where a {kind.__name__} belongs")
        if not _NAME.fullmatch(one.name):
            raise PluginError(
                f'"{one.name}" is no name for a {kind.__name__}',
                remedy="use small letters and digits, with - between words",
            )
        if one.name in found:
            owner = found[one.name][1]
            whose = "by the plugin itself" if owner == plugin else f'by plugin "{owner}"'
            raise PluginError(f'"{one.name}" is already registered {whose}', remedy="give it another name")
        found[one.name] = one, plugin

    for plugin, call in _callers(manager, hook):
        call(register=lambda one, plugin=plugin: add(plugin, one))
    return [found[name] for name in sorted(found)]


def _pairing_hints(manager: pluggy.PluginManager, pattern: Pattern) -> tuple[PairingHint, ...]:
    hints: list[PairingHint] = []
    for _, call in _callers(manager, "seamcheck_pairing_hints"):
        call(pattern=pattern, register=hints.append)
    return tuple(sorted(hints, key=lambda hint: (hint.first, hint.second, hint.confidence, hint.why)))


def _callers(manager: pluggy.PluginManager, hook: str) -> Iterator[tuple[str, Callable[..., object]]]:
    """Each plugin's name and its implementation of a hook alone, whose failure becomes a PluginError."""
    plugins = manager.get_plugins()
    for name, plugin in manager.list_name_plugin():
        if hook not in {caller.name for caller in manager.get_hookcallers(plugin) or ()}:
            continue
        caller = manager.subset_hook_caller(hook, [other for other in plugins if other is not plugin])

        def call(*, name: str = name, plugin: object = plugin, caller: Any = caller, **arguments: object) -> object:
            with _blame(name, _file(plugin), f"fails in {hook}"):
                return caller(**arguments)

        yield name, call


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
    place = f"line {line}" if line else ""
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
