"""Judging a file as its shop wants it: by the settings and plugins that hold in the folder it lies in."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from seamcheck.errors import SeamcheckError, our_fault, trace

if TYPE_CHECKING:
    from seamcheck.engine import Request
    from seamcheck.registry import Registry
    from seamcheck.result import FileResult
    from seamcheck.settings import Settings


class Shops:
    """The settings that hold for a file, and what their plugins bring: loaded once for each settings file.

    Without `plugins` only the built-in checks, importers and reports are used.
    """

    def __init__(self, *, plugins: bool = True) -> None:
        """Nothing is loaded yet."""
        self.plugins = plugins
        self._registries: dict[str, Registry] = {}

    def of(self, path: str) -> tuple[Settings, Registry]:
        """Settings and registry for a file; SeamcheckError when either cannot be used, or a plugin fails."""
        settings, registry = self.apart(path)
        for plugin in registry.plugins:
            if plugin.error is not None:
                raise plugin.error
        return settings, registry

    def apart(self, path: str) -> tuple[Settings, Registry]:
        """The same, but with a plugin that fails the others stay: `registry.failures` tells of it."""
        from seamcheck import hooks
        from seamcheck.settings import load_settings

        settings = load_settings(Path(path).parent)
        if settings.path not in self._registries:
            self._registries[settings.path] = hooks.load_apart(settings, plugins=self.plugins)
        return settings, self._registries[settings.path]

    def judge(self, path: str, request: Request) -> FileResult:
        """Judge one file; whatever stops the judging is in its `failures`, one sentence each."""
        from seamcheck import engine
        from seamcheck.result import FileResult

        try:
            settings, registry = self.apart(path)
            result = engine.check_file(path, request, registry, settings)
            return replace(result, failures=(*registry.failures, *result.failures))
        except SeamcheckError as error:
            trace(error)
            return FileResult(path=path, failures=(str(error),))
        except Exception as error:  # the other files are still to be judged
            return FileResult(path=path, failures=(our_fault(error, path),))
