"""What every importer is made of: the options, the file in memory, and the budgets that it is read within.

source = read_source("ferryhand.svg", ReadOptions())
importer.recognises(source)    looks at the content, cheaply, and never fails
importer.read(source)          -> Drawing, or one InputError
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from seamcheck.config.limits import Limits, ReadOptions
from seamcheck.errors import InputError
from seamcheck.files import COPY_IT, NOT_A_FILE, at, is_endless

if TYPE_CHECKING:
    from seamcheck.pattern.drawing import Drawing


@dataclass(frozen=True, slots=True)
class Source:
    """A file in memory. `path` is as the user gave it."""

    path: str
    data: bytes = field(repr=False)
    options: ReadOptions = field(default_factory=ReadOptions)

    @property
    def limits(self) -> Limits:
        """The budgets to read it within."""
        return self.options.limits


@dataclass(frozen=True, slots=True)
class Importer:
    """One format: `recognises` looks at the content and never fails, `read` may raise InputError.

    `meaning` completes "save the pattern as ...", with its article: "an SVG drawing".
    """

    name: str
    meaning: str
    recognises: Callable[[Source], bool]
    read: Callable[[Source], Drawing]


def read_source(path: str, options: ReadOptions | None = None) -> Source:
    """Read a file whole, or take what is handed over of it; InputError when it is missing, unreadable, empty or over `limits.bytes`."""
    options = options or ReadOptions()
    handed = options.given is not None and options.given[0] == path
    data = options.given[1] if options.given and handed else _on_disk(path, options)
    options.limits.check("bytes", len(data), "bytes", path=path)
    if not data.strip(b"\x00 \t\r\n"):
        remedy = "see what writes it" if handed else "save the pattern again from the drawing program"
        raise InputError("nothing was handed over" if handed else "the file is empty", path=path, remedy=remedy)
    return Source(path, data, options)


def _on_disk(path: str, options: ReadOptions) -> bytes:
    file = at(path)
    try:
        if file.is_dir():
            raise InputError("this is a folder", path=path, remedy="name a DXF or SVG file in it")
        if is_endless(file):
            raise InputError(NOT_A_FILE, path=path, remedy=COPY_IT)
        # The size is asked first, so that an endless or huge file never comes into memory.
        options.limits.check("bytes", file.stat().st_size, "bytes", path=path)
        with file.open("rb") as stream:
            return stream.read(options.limits.bytes + 1)
    except FileNotFoundError:
        raise InputError("there is no such file", path=path, remedy="check the name and the folder") from None
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise InputError(
            f"the file cannot be opened ({reason.lower()})", path=path, remedy="check its name and its rights"
        ) from None
