"""Judging a file as its shop wants it: by the settings and plugins that hold in the folder it lies in."""

from __future__ import annotations

import contextlib
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from seamcheck.errors import InputError, SeamcheckError, internal_error, trace

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

    def afresh(self) -> Shops:
        """The same with nothing loaded, for another process."""
        return Shops(settings=self.settings, plugins=self.plugins, recipes=self.recipes)

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

    def patterns(self, named: Sequence[str], *, planned: bool = False) -> tuple[str, ...]:
        """The patterns that are meant by files and folders, each once, in order.

        A plan stands for the patterns of its name beside it, a folder for those of all plans in it and below. With
        `planned` a pattern without a plan beside it is left aside. InputError for a plan or a folder without any pattern.
        """
        found: dict[str, None] = {}
        for name in named:
            path = Path(name)
            if path.is_dir():
                plans = sorted(plan for plan in path.rglob(f"*{SUFFIX}") if not _hidden(plan.relative_to(path)))
                below = [str(pattern) for plan in plans for pattern in self.beside(plan)]
                if not below:
                    raise InputError(
                        "no pattern in this folder has a seam plan of its name beside it",
                        path=name,
                        remedy="name the patterns themselves, or write a plan for each",
                    )
                found |= dict.fromkeys(below)
            elif name.endswith(SUFFIX) and path.is_file():
                beside = self.beside(path)
                if not beside and not planned:
                    raise InputError("no pattern of this name lies beside the plan", path=name, remedy="put it there")
                found |= dict.fromkeys(str(pattern) for pattern in beside)
            elif not planned or has_plan(name):
                found[name] = None
        return tuple(found)

    def read_for(self, path: str, plan: Path | None = None) -> list[Path]:
        """The files that judging a pattern reads, as far as they are known before: pattern, plan, rule tables, settings."""
        from seamcheck.config.plan_file import find_plan

        file, read = Path(path), [Path(path)]
        read += [one for one in (plan or find_plan(path),) if one is not None]
        with contextlib.suppress(OSError):
            read += sorted(one for one in file.parent.iterdir() if one.suffix.lower() == ".rul")
        with contextlib.suppress(SeamcheckError):  # what is wrong with settings is told when the file is judged
            settings = self.tolerant(path)[0]
            read += [Path(settings.path)] if settings.path else []
        return read

    def judge(self, path: str, request: Request) -> FileResult:
        """Judge one file; whatever stops the judging is in its `failures`, one sentence each."""
        from seamcheck.engine import judge
        from seamcheck.engine.result import FileResult

        try:
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


def _hidden(path: Path) -> bool:
    return any(part.startswith(".") for part in path.parts)
