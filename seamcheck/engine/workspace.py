"""Judging a file as its shop wants it: by the settings and plugins that hold in the folder it lies in."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from seamcheck.engine.searching import Search, is_mask
from seamcheck.errors import InputError, SeamcheckError, internal_error, trace
from seamcheck.files import at

if TYPE_CHECKING:
    from seamcheck.config.settings import Settings
    from seamcheck.engine.judge import Recipes
    from seamcheck.engine.plugins import Registry
    from seamcheck.engine.read import Request
    from seamcheck.engine.report_format import ReportFormat
    from seamcheck.engine.result import CheckCode, FileResult


SUFFIX = ".seams.toml"


DRAWINGS = (".svg", ".svgz", ".dxf")


def has_plan(path: str) -> bool:
    """Whether a pattern has a plan of its name beside it."""
    return Path(path).with_name(Path(path).stem + SUFFIX).is_file()


class Shops:
    """The settings that hold for a file, and what their plugins bring: loaded once for each folder and settings file.

    `settings` is a file that holds in the stead of those of the folders; the user's environment may name it, too. Without `plugins`
    only the built-in checks, importers and reports are used. `recipes` finds how each cause is put right; without
    it the advice of the checks stands.
    """

    def __init__(self, *, settings: str | None = None, plugins: bool = True, recipes: Recipes | None = None) -> None:
        """Nothing is loaded yet."""
        from seamcheck.config.settings import settings_named

        self.settings = settings_named(settings)
        self.plugins = plugins
        self.recipes = recipes
        self._settings: dict[Path, Settings] = {}
        self._registries: dict[str, Registry] = {}
        self._tables: dict[tuple[Path, int], list[Path]] = {}

    def afresh(self) -> Shops:
        """The same with nothing loaded, for another process."""
        return Shops(settings=self.settings, plugins=self.plugins, recipes=self.recipes)

    def sent(self, paths: Sequence[str]) -> Shops:
        """The same for another machine: with the settings of these files as they hold here, and nothing of its own.

        Of the code that they name only what lies here now is run there. SeamcheckError where a shop cannot be used.
        """
        from seamcheck.config.settings import pinned

        there = self.afresh()
        there.settings = self.settings
        there._settings = {Path(path).parent: pinned(self.tolerant(path)[0]) for path in paths}
        return there

    def of(self, path: str) -> tuple[Settings, Registry]:
        """Settings and registry for a file; SeamcheckError when either cannot be used, or a plugin fails."""
        settings, registry = self.tolerant(path)
        registry.require_all()
        return settings, registry

    def tolerant(self, path: str) -> tuple[Settings, Registry]:
        """The same, but with a plugin that fails the others stay: `registry.failures` tells of it."""
        from seamcheck.config.settings import settings_for
        from seamcheck.engine import plugins

        folder = Path(path).parent
        if folder not in self._settings:
            self._settings[folder] = settings_for(folder, self.settings)
        settings = self._settings[folder]
        if settings.path not in self._registries:
            self._registries[settings.path] = plugins.load_tolerant(settings, plugins=self.plugins)
        return settings, self._registries[settings.path]

    def rules(self, paths: Sequence[str]) -> tuple[CheckCode, ...]:
        """All that the shops of files could find, by name; what is wrong with a shop is told when its file is judged."""
        from seamcheck.engine.grading import rules_of

        found: dict[tuple[str, str], CheckCode] = {}
        for path in paths:
            with contextlib.suppress(SeamcheckError):
                registry = self.tolerant(path)[1]
                found = {
                    (rule.check, rule.code): rule for rule in rules_of(registry.checks, registry.plugin_of)
                } | found
        return tuple(found[name] for name in sorted(found))

    def formats(self, paths: Sequence[str]) -> Sequence[ReportFormat]:
        """Every report format that the shop of a file has, in their order; what is wrong with a shop is told elsewhere."""
        found: list[ReportFormat] = []
        for path in paths:
            with contextlib.suppress(SeamcheckError):
                found += self.tolerant(path)[1].reports
        return found

    def beside(self, plan: Path) -> list[Path]:
        """The patterns that a plan is for: files of its name beside it that some importer takes for a drawing."""
        from seamcheck.config.limits import ReadOptions
        from seamcheck.reading.base import read_source

        stem = plan.name.removesuffix(SUFFIX)
        found = []
        for path in sorted(plan.parent.iterdir()):
            if path.stem != stem or not path.is_file():
                continue
            try:
                source = read_source(str(path), ReadOptions())
                importers = self.tolerant(str(path))[1].importers
            except SeamcheckError:
                # What is wrong with the settings, or a drawing that cannot be read, is told when it is judged.
                if path.suffix.lower() in DRAWINGS:
                    found.append(path)
                continue
            if any(importer.recognises(source) for importer in importers):
                found.append(path)
        return found

    def meant(
        self, named: Sequence[str], *, planned: bool = False, search: Search | None = None
    ) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """The patterns that are meant by files and folders, each once, in order; and the drawings that are left aside.

        A plan stands for the patterns of its name beside it, a folder for those of all plans in it and below, a pattern with * for what it
        matches. With `planned` a pattern without a plan beside it is left aside, as is one in a folder. A plan without a pattern, and a folder
        without a plan or that cannot be read, stand for themselves: what is wrong with them is told when they are judged. `search` says what
        is left out, and notes it.
        """
        search = search or Search()
        found: dict[str, None] = {}
        aside: dict[str, None] = {}
        for name in (one for given in named for one in _each(given, search)):
            path = Path(name)
            if path.is_dir():
                below, unplanned = self._below(path, search)
                found |= dict.fromkeys(below or [name])
                aside |= dict.fromkeys(unplanned)
            elif name.endswith(SUFFIX) and path.is_file():
                found |= dict.fromkeys(self._of_plan(path))
            elif not planned or has_plan(name):
                found[name] = None
            elif path.exists():
                aside[name] = None
        return tuple(found), tuple(name for name in aside if name not in found)

    def lost_plans(self, folder: str, search: Search | None = None) -> list[str]:
        """The plans in a folder and below that have no pattern beside them, and the folders that cannot be read."""
        below, _ = self._below(Path(folder), search or Search())
        return [one for one in below if one.endswith(SUFFIX) or Path(one).is_dir()]

    def _of_plan(self, plan: Path) -> list[str]:
        return [str(pattern) for pattern in self.beside(plan)] or [str(plan)]

    def _below(self, folder: Path, search: Search) -> tuple[list[str], list[str]]:
        """What the plans in a folder and below stand for, with each folder that cannot be read; and the drawings without a plan."""
        below, unplanned = [], []

        def unread(error: OSError) -> None:
            below.append(str(Path(error.filename)))

        for parent, files in search.walked(folder, unread):
            plans = {one.removesuffix(SUFFIX) for one in files if one.endswith(SUFFIX)}
            for stem in plans:
                below += [one for one in self._of_plan(Path(parent, f"{stem}{SUFFIX}")) if search.takes(one)]
            for one in map(Path, files):
                # What pair draws of a plan is no pattern.
                stem = one.stem.removesuffix(".pairs") if one.suffix == ".svg" else one.stem
                if one.suffix.lower() in DRAWINGS and stem not in plans:
                    unplanned.append(str(Path(parent, one)))
        return sorted(below), sorted(unplanned)

    def read_for(self, path: str, plan: Path | None = None) -> list[Path]:
        """The files that judging a pattern reads, as far as they are known before: pattern, plan, rule tables, settings."""
        from seamcheck.config.plan_file import find_plan

        file, read = Path(path), [Path(path)]
        read += [one for one in (plan or find_plan(path),) if one is not None]
        with contextlib.suppress(OSError):
            read += self._tables_in(file.parent)
        with contextlib.suppress(SeamcheckError):  # what is wrong with settings is told when the file is judged
            settings = self.tolerant(path)[0]
            read += [Path(settings.path)] if settings.path else []
        return read

    def _tables_in(self, folder: Path) -> list[Path]:
        """The rule tables in a folder, looked for again once something was added to it or taken out."""
        state = folder, folder.stat().st_mtime_ns
        if state not in self._tables:
            self._tables[state] = sorted(one for one in folder.iterdir() if one.suffix.lower() == ".rul")
        return self._tables[state]

    def judge(self, path: str, request: Request) -> FileResult:
        """Judge one file; whatever stops the judging is in its `failures`, one sentence each."""
        from seamcheck.engine import judge
        from seamcheck.engine.result import FileResult

        try:
            _refuse_no_pattern(path)
            settings, registry = self.tolerant(path)
            result = judge.check_file(path, request, registry, settings, self.recipes)
            return replace(
                result, failures=(*registry.failures, *result.failures), plugin_files=registry.plugin_files
            )
        except SeamcheckError as error:
            trace(error)
            return FileResult(path=path, failures=(error.failure,))
        except Exception as error:  # the other files are still to be judged
            return FileResult(path=path, failures=(internal_error(error, path),))


def _each(name: str, search: Search) -> list[str]:
    """What a name stands for that may have * in it; one that matches nothing stands for itself."""
    if is_mask(name):
        return search.matching(name) or [name]
    return [name] if search.takes(name) else []


def _refuse_no_pattern(name: str) -> None:
    """Raise for a plan that lies there without a pattern, for a folder that no pattern was found in, and for a name with * that matches nothing."""
    if is_mask(name):
        raise InputError("no file has a name like this", path=name, remedy="check the name and the folder")
    path = at(name)
    if path.is_dir():
        try:
            os.scandir(path).close()
        except OSError as error:
            why = (error.strerror or str(error)).lower()
            raise InputError(f"this folder cannot be read ({why})", path=name) from None
        raise InputError(
            "no pattern in this folder has a seam plan of its name beside it",
            path=name,
            remedy="name the patterns themselves, or write a plan for each",
        )
    if path.name.endswith(SUFFIX) and path.is_file():
        remedy = "put it there, or delete the plan with it"
        raise InputError("no pattern of this name lies beside the plan", path=name, remedy=remedy)
