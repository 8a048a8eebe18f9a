"""What can go wrong before anything is judged.

    SeamcheckError
      InputError      a pattern file cannot be read
      PlanError       a seam plan cannot be used
      SettingsError   the shop settings cannot be used
      PluginError     a plugin cannot be loaded or crashed

Every one carries one clear sentence for a sewist: which file, which place in it, what is wrong, what to do.
"""

from __future__ import annotations

from seamcheck.places import NOWHERE, Place


class Failure(str):
    """The sentence that says why something could not be judged, which knows the file and the line that it means.

    `path` is "" and `line` None where it is about no file or no one line of it; lines and columns count from 1.
    """

    path: str
    line: int | None
    column: int | None

    def __new__(cls, sentence: str, path: str = "", line: int | None = None, column: int | None = None) -> Failure:
        """A sentence with where it leads to."""
        failure = super().__new__(cls, sentence)
        failure.path, failure.line, failure.column = path, line, column
        return failure

    def __getnewargs__(self) -> tuple[str, str, int | None, int | None]:  # type: ignore[override]
        """What a copy in another process is made of."""
        return str(self), self.path, self.line, self.column


class SeamcheckError(Exception):
    """Something that stops the judging of a file; its text is one sentence for the person at the table."""

    def __init__(self, what: str, *, path: str = "", place: Place | str = "", remedy: str = "") -> None:
        """Keep the parts; `str()` joins those that are given to "path, place: what; remedy".

        A place that is mere words leads to no line.
        """
        self.path = path
        self.place = place
        self.what = what
        self.remedy = remedy
        super().__init__(what)

    def __str__(self) -> str:
        """Return the one sentence."""
        where = ", ".join(part for part in (self.path, str(self.place)) if part)
        sentence = f"{where}: {self.what}" if where else self.what
        return f"{sentence}; {self.remedy}" if self.remedy else sentence

    @property
    def failure(self) -> Failure:
        """The one sentence, with its file and line as far as the place knows them."""
        at = self.place if isinstance(self.place, Place) else NOWHERE
        return Failure(str(self), self.path, at.line, at.column)


class InputError(SeamcheckError):
    """A pattern file that cannot be read."""


class PlanError(SeamcheckError):
    """A seam plan that cannot be used."""


class SettingsError(SeamcheckError):
    """Shop settings that cannot be used."""


class PluginError(SeamcheckError):
    """A plugin that cannot be loaded, or that crashed."""


def internal_error(error: Exception, path: str = "") -> str:
    """The sentence for an exception that nobody foresaw."""
    trace(error)
    where = f"{path}: " if path else ""
    return (
        f"{where}seamcheck itself failed ({type(error).__name__}: {error}), which is a fault in the program and not "
        'in your pattern; please report it with what "seamcheck --debug ..." prints'
    )


def trace(error: Exception) -> None:
    """Tell with --debug where an exception comes from."""
    import logging

    logging.getLogger("seamcheck").debug("", exc_info=error)
