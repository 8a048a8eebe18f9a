"""Files that are written whole or not at all: by way of a temporary one beside them, which takes their place.

And where a file lies that another machine names.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from pathlib import Path

from seamcheck.errors import SeamcheckError

REMEDY = "choose another place"
NOT_A_FILE = "this is a device or a pipe, not a file"
COPY_IT = "copy what it holds into a file, and name that"

_elsewhere: ContextVar[tuple[Path, Path] | None] = ContextVar("elsewhere", default=None)


def at(name: str | Path) -> Path:
    """Where a file of this name lies: for names of another machine (`named_in`) where they lie on this one."""
    found = _elsewhere.get()
    if found is None:
        return Path(name)
    folder, below = found
    absolute = Path(os.path.normpath(folder / name))
    return below / absolute.relative_to(absolute.anchor)


@contextmanager
def named_in(folder: str, below: str = os.sep) -> Iterator[None]:
    """Take names as a machine gives them that works in `folder`; its files lie in `below` under their whole names."""
    token = _elsewhere.set((Path(folder), Path(below)))
    try:
        yield
    finally:
        _elsewhere.reset(token)


def write_text(text: str | Iterable[str], path: str, *, remedy: str = REMEDY) -> None:
    """Write a text, or one part of it after another, in UTF-8 with plain line ends; SeamcheckError with the remedy when that cannot be done."""
    parts = (text,) if isinstance(text, str) else text
    data = (part.encode("utf-8", errors="backslashreplace") for part in parts)
    try:
        # A link stays a link: the file that it points to is what is replaced.
        target = Path(path).resolve()
        if target.exists() and not target.is_file():  # a device or a named pipe; a folder raises OSError
            with target.open("wb") as file:
                file.writelines(data)
            return
        with replacing(target, data):
            pass
    except OSError as error:
        raise unwritten(error, path, remedy) from None


def is_endless(path: Path) -> bool:
    """Whether a path is a device or a named pipe, which may never end; False where there is nothing."""
    return path.exists() and not path.is_file() and not path.is_dir()


def is_seen(path: Path) -> bool:
    """Whether a file is there; `Path.is_file` raises where its folder may not be looked into."""
    return os.path.isfile(path)  # noqa: PTH113


@contextmanager
def replacing(target: Path, data: bytes | Iterable[bytes]) -> Iterator[Path]:
    """A temporary file beside the target, which takes its place when all within went well; OSError when it cannot."""
    # Two runs may write the same at once, and on a shared folder have the same number on two machines.
    part = target.with_name(f".{target.stem}.{os.getpid()}.{os.urandom(4).hex()}.part{target.suffix}")
    try:
        with part.open("wb") as file:
            file.writelines((data,) if isinstance(data, bytes) else data)
        yield part
        if target.exists():
            shutil.copymode(target, part)
        part.replace(target)
    finally:
        part.unlink(missing_ok=True)


def unwritten(error: OSError, path: str, remedy: str = REMEDY) -> SeamcheckError:
    """The one sentence for what cannot be written."""
    reason = (error.strerror or str(error)).lower()
    return SeamcheckError(f"cannot be written ({reason})", path=path, remedy=remedy)
