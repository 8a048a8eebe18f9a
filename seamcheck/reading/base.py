"""What every importer is made of: the options, the file in memory, and the budgets that it is read within.

source = read_source("ferryhand.svg", ReadOptions())
importer.recognises(source)    looks at the content, cheaply, and never fails
importer.read(source)          -> Drawing, or one InputError
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from seamcheck.errors import InputError

if TYPE_CHECKING:
    from seamcheck.pattern.drawing import Drawing


@dataclass(frozen=True, slots=True)
class Limits:
    """How much of a file is read before it is refused; each is a setting `limits.NAME`."""

    bytes: int = 64_000_000  # of the file, and of what a compressed file unpacks to
    elements: int = 200_000  # elements of an SVG, entities of a DXF
    depth: int = 200  # elements inside elements, blocks inside blocks
    expanded: int = 100_000  # the same elements after every use or insert is followed
    commands: int = 1_000_000  # numbers in path data, vertices of polylines
    tags: int = 4_000_000  # pairs of group code and value in a DXF
    attribute: int = 4_000_000  # characters in one attribute or one text

    def check(self, name: str, amount: int, what: str, *, path: str, place: str = "") -> None:
        """Raise InputError when `amount` of `what` (say "elements") is over the limit `name`."""
        limit: int = getattr(self, name)
        if amount > limit:
            raise InputError(
                f"{amount} {what} are more than the {limit} that are read",
                path=path,
                place=place,
                remedy=f"if the file is honest, set limits.{name} to {amount} or more in seamcheck.toml",
            )


@dataclass(frozen=True, slots=True)
class ReadOptions:
    """What the user or the shop says about the files.

    `units` ("mm", "cm" or "in") overrides what a DXF states; `dpi` is the number of px per inch of an SVG;
    `encoding` is that of the texts of a DXF; `layers` maps role words ("sew line", "notch" ...) to the layer
    or label patterns (`*` allowed, case ignored) that the shop draws them on.
    """

    units: str | None = None
    dpi: float | None = None
    encoding: str | None = None
    layers: Mapping[str, Sequence[str]] = field(default_factory=dict)
    limits: Limits = field(default_factory=Limits)


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
    """Read a file whole; InputError when it is missing, unreadable, empty or over `limits.bytes`."""
    options = options or ReadOptions()
    file = Path(path)
    try:
        if file.is_dir():
            raise InputError("this is a folder", path=path, remedy="name a DXF or SVG file in it")
        # The size is asked first, so that an endless or huge file never comes into memory.
        options.limits.check("bytes", file.stat().st_size, "bytes", path=path)
        with file.open("rb") as stream:
            data = stream.read(options.limits.bytes + 1)
    except FileNotFoundError:
        raise InputError("there is no such file", path=path, remedy="check the name and the folder") from None
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise InputError(
            f"the file cannot be opened ({reason.lower()})", path=path, remedy="check its name and its rights"
        ) from None
    options.limits.check("bytes", len(data), "bytes", path=path)
    if not data.strip(b"\x00 \t\r\n"):
        raise InputError("the file is empty", path=path, remedy="save the pattern again from the drawing program")
    return Source(path, data, options)
