"""Results that are kept from one run to the next, so that a pattern that has not changed is not judged again.

A result is kept under a digest of all that it was made from: the bytes and names of the pattern, its plan, its rule tables, the
earlier file with its own, and the settings; what was asked for; the plugins with their versions and the bytes of their files; and
the program itself, by the bytes of its own files, with the versions of Python and of the libraries it computes with. Nothing is
ever looked up by time or by name, so that what is kept can never be out of date: it is found, or it is not. What was read is read
once more when a result is there, and where it is not the same any more the result is told and not kept. A record of known findings
is held against a result after it was judged or found, and is no part of it. What a report of many styles says of one result (its drawings,
above all) is kept as a text, under the digest of that result and of what else the text hangs on. Kept is only what was judged whole: what failed may have
failed for want of memory. What a plugin reads by itself, from elsewhere, cannot be seen: plugins/README.md says so.

It is kept in the user's own folder for caches, and not beside the patterns. A folder of patterns may come from a supplier, and a
result that lay in it could be made up: a green verdict that nobody judged. The folder is used only where it belongs to the user and
nobody else may write there. What is in a file of it is data and no more: it is read by an unpickler that makes nothing but plain
data and seamcheck's own nouns, and calls nothing else (Python's documentation of pickle, "Restricting Globals"); a file that is spoiled
is judged anew. A library for caches would have unpickled whatever lay there.

Each result is a file, written whole or not at all, so that two runs may share the folder. When there is more than MOST_BYTES of them, those that
were used longest ago go. A folder that cannot be written, or is full, is used as it is, and nothing is said: all is still judged.
"""

from __future__ import annotations

import contextlib
import importlib.metadata
import io
import os
import pickle
import stat
import sys
import zlib
from collections.abc import Callable, Generator, Iterator, Sequence
from functools import cache
from hashlib import sha256
from itertools import takewhile
from pathlib import Path
from string import ascii_letters, digits
from typing import TYPE_CHECKING, Any

from seamcheck.config.user_folders import cache_folder
from seamcheck.errors import SeamcheckError
from seamcheck.files import is_endless, is_seen, replacing
from seamcheck.version import __version__

if TYPE_CHECKING:
    from seamcheck.engine.plugins import PluginInfo
    from seamcheck.engine.read import Request
    from seamcheck.engine.result import FileResult
    from seamcheck.engine.workspace import Shops

MOST_BYTES = 256_000_000  # of all that is kept: some 50,000 styles as text, or some 1,000 with their curves
LARGEST = 16_000_000  # bytes of one result
LEFT = 0.8  # of MOST_BYTES when the oldest have gone, so that they need not go at every run
PROJECT = "seamcheck"
PACKAGE = Path(__file__).parents[1]
# Specification: https://bford.info/cachedir/ : a folder with this file in it is left out of backups.
TAG = "CACHEDIR.TAG", b"Signature: 8a477f597d28d172789f06886806bc55\n# Results that seamcheck keeps.\n"

PLAIN = {("builtins", "complex"), ("builtins", "frozenset"), ("builtins", "set")}
ARRAYS = ("dtype", "ndarray", "scalar", "_frombuffer", "_reconstruct")  # what numpy makes of the bytes of an array
NOUNS = ("amounts", "places", "errors", "engine.result", "checks.base")
PACKAGES = ("geometry", "pattern")  # of nouns alone
IN_NAMES = frozenset(f"{ascii_letters}{digits}._-")

Judge = Callable[[Sequence[str]], Generator["FileResult", None, None]]


class Cache:
    """The results that are kept for this user; `folder` is another place for them."""

    def __init__(self, folder: Path | None = None, most_bytes: int = MOST_BYTES) -> None:
        """Nothing is read or written yet."""
        self.folder = folder or cache_folder() / "results"
        self.most_bytes = most_bytes
        self._written = False
        self._told: dict[str, tuple[str, FileResult]] = {}  # the results of a run that are kept, by path
        self._plugins: dict[PluginInfo, tuple[str, ...]] = {}  # of one run, which loads each of them once

    def judged(
        self, paths: Sequence[str], request: Request, shops: Shops, judge: Judge, *, whole: bool = False
    ) -> Generator[FileResult, None, None]:
        """The results of files in their order: those that are kept, and of the others what `judge` finds, which is kept.

        With `whole` they are remembered until the end, so that `text` knows them again.
        """
        self._plugins = {}
        keys = {path: self.key(path, request, shops) for path in paths} if self._is_own() else {}
        missing = [path for path in paths if not is_seen(self._file(keys.get(path)))]
        with contextlib.closing(judge(missing)) as judged:
            anew = set(missing)
            for path in paths:
                key = keys.get(path)
                result = None if path in anew else self.kept(key, path)
                if result is None:
                    result = next(judged) if path in anew else next(judge([path]))
                    if key is not None and key != self.key(path, request, shops):
                        key = None  # it was saved while it was judged
                    self.keep(key, result)
                if whole and key is not None and not result.failures:
                    self._told[path] = key, result
                yield result
        self.let_go()

    def text(self, file: FileResult, what: object, make: Callable[[], str]) -> str:
        """What a report tells of a result of this run: what is kept, or what is made, which is kept.

        `what` is all that the text hangs on beside the result and the program. A result that was changed since it was judged is another.
        """
        key, result = self._told.get(file.path, ("", None))
        if result is not file:
            return make()
        kept = self._file(sha256(repr((key, what)).encode()).hexdigest())
        with contextlib.suppress(OSError, UnicodeDecodeError, zlib.error):
            data = _checked(kept.read_bytes())
            if data is not None:
                text = zlib.decompress(data).decode("utf-8", "surrogatepass")
                os.utime(kept)
                return text
        made = make()
        self._write(kept, zlib.compress(made.encode("utf-8", "surrogatepass"), 1))
        return made

    def key(self, path: str, request: Request, shops: Shops) -> str | None:
        """The digest of all that a result is made from; None where it can be known by none."""
        try:
            settings, registry = shops.tolerant(path)
            if registry.failures or (request.given is not None and request.given[0] == path):
                return None
            files = shops.read_for(path, request.plan)
            if request.before is not None:
                files += shops.read_for(str(request.before))
            if any(is_endless(file) or file.stat().st_size > settings.limits.bytes for file in files):
                return None
            parts: list[object] = [program(), path, request, settings.path, shops.plugins, shops.recipes is None]
            parts += [(str(file), sha256(file.read_bytes()).hexdigest()) for file in files]
            parts += [self._known_by(one) for one in registry.plugins if one.package != PROJECT]
        except (SeamcheckError, OSError, ValueError):
            return None  # what is wrong is told when it is judged
        return sha256("\n".join(map(repr, parts)).encode("utf-8", "backslashreplace")).hexdigest()

    def _known_by(self, plugin: PluginInfo) -> tuple[str, ...]:
        if plugin not in self._plugins:
            self._plugins[plugin] = _plugin(plugin)
        return self._plugins[plugin]

    def kept(self, key: str | None, path: str) -> FileResult | None:
        """The result that is kept under a digest; None where there is none that can be read."""
        file = self._file(key)
        try:
            found = _unpacked(_checked(file.read_bytes()))
            os.utime(file)
        except OSError:
            return None
        return found if found is not None and found.path == path else None

    def keep(self, key: str | None, result: FileResult) -> None:
        """Keep a result that was judged whole, where that can be done."""
        if result.failures or key is None:
            return
        with contextlib.suppress(Exception):  # what a plugin found may be no data
            data = _packed(result)
            if len(data) > LARGEST or _unpacked(data) != result:
                return
            self._write(self._file(key), data)

    def _write(self, file: Path, data: bytes) -> None:
        """Write data behind its digest, where that can be done."""
        with contextlib.suppress(OSError):
            self._make(file.parent)
            with replacing(file, sha256(data).digest() + data):
                pass
            self._written = True

    def _file(self, key: str | None) -> Path:
        return self.folder / (key or "-")[:2] / (key or "-")

    def _make(self, folder: Path) -> None:
        if not folder.is_dir():
            self.folder.parent.mkdir(parents=True, exist_ok=True)
            for one in (self.folder, folder):
                one.mkdir(mode=0o700, exist_ok=True)
            (self.folder / TAG[0]).write_bytes(TAG[1])

    def _is_own(self) -> bool:
        """Whether nobody but the user may write into the folder; one that is not there yet will be made so."""
        if not hasattr(os, "geteuid"):
            return True  # such a system keeps folders for caches apart for each user
        with contextlib.suppress(OSError):
            found = self.folder.stat()
            return found.st_uid == os.geteuid() and not found.st_mode & (stat.S_IWGRP | stat.S_IWOTH)
        return True

    def let_go(self) -> None:
        """Take out what was used longest ago, where something was written and there is more than may be kept."""
        if not self._written:
            return
        self._written = False
        found = []
        for file in self.folder.glob("??/*"):
            with contextlib.suppress(OSError):  # another run has taken it out
                state = file.stat()
                found.append((state.st_mtime_ns, state.st_size, file))
        size = sum(one for _, one, _ in found)
        if size <= self.most_bytes:
            return
        for _, one, file in sorted(found):
            if size <= LEFT * self.most_bytes:
                return
            with contextlib.suppress(OSError):
                file.unlink()
            size -= one


@cache
def program() -> tuple[object, ...]:
    """What the program is known by: its version and its own files, Python, and the libraries that it needs."""
    try:
        needed = importlib.metadata.requires(PROJECT) or []
    except importlib.metadata.PackageNotFoundError:  # a checkout that is not installed
        needed = []
    # A requirement begins with the name of what is required (PEP 508).
    names = ("".join(takewhile(IN_NAMES.__contains__, one)) for one in needed if "extra ==" not in one)
    versions = [(name, importlib.metadata.version(name)) for name in names]
    return __version__, sys.version, *versions, _digest_of(PACKAGE)


def _plugin(plugin: PluginInfo) -> tuple[str, ...]:
    """What a plugin is known by: its version, and the bytes of its file or, in a package, of all files of that."""
    file = Path(plugin.file)
    top = file
    while (top.parent / "__init__.py").is_file():
        top = top.parent
    return plugin.name, plugin.package, plugin.version, plugin.file, _digest_of(top) if plugin.file else ""


def _digest_of(top: Path) -> str:
    """The digest of a file, or of all files in a folder and below by their names."""
    files = sorted(_files(top)) if top.is_dir() else [top]
    told = [(str(file.relative_to(top)), sha256(file.read_bytes()).hexdigest()) for file in files]
    return sha256(repr(told).encode()).hexdigest()


def _files(top: Path) -> Iterator[Path]:
    for parent, folders, files in os.walk(top):
        folders[:] = [one for one in folders if one != "__pycache__"]
        yield from (Path(parent, one) for one in files)


def _packed(result: FileResult) -> bytes:
    return zlib.compress(pickle.dumps(result, protocol=5), 1)


def _checked(data: bytes) -> bytes | None:
    """What stands behind its digest; None where it is spoiled."""
    return data[32:] if sha256(data[32:]).digest() == data[:32] else None


def _unpacked(data: bytes | None) -> FileResult | None:
    """The result that the bytes hold; None where they are anything else."""
    from seamcheck.engine.result import FileResult

    if data is None:
        return None
    try:
        found = _OnlyData(io.BytesIO(zlib.decompress(data))).load()
    except Exception:  # bytes that were made up may raise anything
        return None
    return found if isinstance(found, FileResult) else None


class _OnlyData(pickle.Unpickler):
    """Makes data alone: seamcheck's own nouns, and arrays and numbers."""

    def find_class(self, module: str, name: str) -> Any:
        """The class of that name; UnpicklingError for what is no data."""
        if (module, name) in PLAIN or (module.partition(".")[0] == "numpy" and name in ARRAYS):
            return super().find_class(module, name)
        root, _, own = module.partition(".")
        if root == PROJECT and (own in NOUNS or own.partition(".")[0] in PACKAGES):
            found = super().find_class(module, name)
            if isinstance(found, type) and found.__module__ == module:
                return found
        raise pickle.UnpicklingError(f"{module}.{name} is no data")
