"""The settings and plugins of a run: those that its user named, or those of the folders as far as the user trusts them."""

from __future__ import annotations

import contextlib
import sys
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from seamcheck.cli.options import SETTINGS
from seamcheck.cli.output import stdout_kept_clean, warn
from seamcheck.config.limits import Limits
from seamcheck.errors import SeamcheckError, internal_error

if TYPE_CHECKING:
    from seamcheck.config.settings import Settings
    from seamcheck.engine.plugins import Registry
    from seamcheck.engine.read import Request
    from seamcheck.engine.workspace import Shops

LEFT_OUT = "seamcheck.left-out"  # where the context of a run keeps that a plugin was not trusted


def shops_of_run() -> Shops:
    """The shops of a run, with or without their plugins, by the settings that were named or those of the folders."""
    from seamcheck.engine.workspace import Shops
    from seamcheck.truing.recipes import with_recipes

    return Shops(settings=_named(), plugins=plugins_wanted(), recipes=with_recipes)


def shop_of(path: str) -> tuple[Settings, Registry]:
    """The shop of one file for a command that stops at a plugin which fails; one that is not trusted is left out, and told."""
    settings, registry = shops_of_run().tolerant(path)
    require_all(registry)
    return settings, registry


def require_all(registry: Registry) -> None:
    """Stop at a plugin that fails; say what is not trusted, which is left out and makes the exit code 2."""
    registry.require_all(trusted=False)
    for sentence in registry.untrusted:
        click.get_current_context().meta[LEFT_OUT] = True
        warn(sentence)
    tell_plugin_files(registry.plugin_files)


def tell_plugin_files(files: Iterable[str]) -> None:
    """Say of which files code was run."""
    for file in dict.fromkeys(files):
        click.echo(f"seamcheck: the plugin file {file} was run", err=True)


def settings_here() -> Settings:
    """The settings that hold in the folder in which the program was started."""
    from seamcheck.config.settings import settings_for, settings_named

    return settings_for(Path(), settings_named(_named()))


def _named() -> str | None:
    named: str | None = click.get_current_context().meta.get(SETTINGS)
    return named


def plugins_wanted() -> bool:
    """Whether the user wants more than seamcheck itself brings."""
    return not click.get_current_context().find_root().params["no_plugins"]


def read_for(*files: str) -> list[Path]:
    """The files that judging these reads."""
    with stdout_kept_clean():
        shops = shops_of_run()
        return [one for file in files for one in shops.read_for(file)]


def request_of(reading: dict[str, Any], given: tuple[str, bytes] | None = None) -> Request:
    """What the options of `reading_options` ask for; `given` is what came by stdin."""
    from seamcheck.engine.read import Request

    paths = {key: reading.get(key) for key in ("plan", "before")}
    named = {key: None if path is None else Path(path) for key, path in paths.items()}
    return Request(**{**reading, **named, "given": given})


@contextlib.contextmanager
def faults_named(path: str) -> Iterator[None]:
    """Name the file in the sentence about an exception that nobody foresaw."""
    try:
        yield
    except (SeamcheckError, click.ClickException, BrokenPipeError):
        raise
    except Exception as error:
        raise SeamcheckError(internal_error(error, path)) from None


STDIN = "-"


def from_stdin(named: Sequence[str], name: str | None) -> tuple[str, bytes] | None:
    """What comes by stdin, with its name, where it is among the files; None where it is not."""
    context = click.get_current_context()
    if STDIN not in named:
        if name is not None:
            raise click.UsageError("--stdin-name is the name of what comes by stdin; give - as the file", context)
        return None
    name = name or STDIN
    try:
        most = shops_of_run().tolerant(name)[0].limits.bytes
    except SeamcheckError:  # what is wrong with the shop is told when the file is judged
        most = Limits().bytes
    return name, sys.stdin.buffer.read(most + 1)
