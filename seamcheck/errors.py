"""What can go wrong before anything is judged.

    SeamcheckError
      InputError      a pattern file cannot be read
      PlanError       a seam plan cannot be used
      RecipeError     the recipe of an alteration cannot be used
      SettingsError   the shop settings cannot be used
      PluginError     a plugin cannot be loaded or crashed
        UntrustedError  a plugin was not loaded, since nobody who runs the program has trusted it

Every one carries one clear sentence for a sewist: which file, which place in it, what is wrong, what to do.
"""

from __future__ import annotations

from seamcheck.places import NOWHERE, Place


class Failure(str):
    """The sentence that says why something could not be judged: "path, place: what".

    `path` is "" where it is about no file; a place that is mere words leads to no line. Lines and columns count from 1.
    """

    what: str
    path: str
    place: Place | str

    def __new__(cls, what: str, path: str = "", place: Place | str = "") -> Failure:
        """A sentence with where it leads to; a name in it may hold line ends, and the sentence holds none."""
        what = " ".join(what.splitlines())
        where = ", ".join(part for part in (path, str(place)) if part)
        failure = super().__new__(cls, f"{where}: {what}" if where else what)
        failure.what, failure.path, failure.place = what, path, place
        return failure

    def __getnewargs__(self) -> tuple[str, str, Place | str]:  # type: ignore[override]
        """What a copy in another process is made of."""
        return self.what, self.path, self.place

    @property
    def at(self) -> Place:
        """The place in the file, as far as it is more than words."""
        return self.place if isinstance(self.place, Place) else NOWHERE

    def where_named(self, path: str) -> str:
        """The sentence for where the file of that path is named already."""
        return Failure(self.what, "" if path == self.path else self.path, self.place)


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
        return str(self.failure)

    @property
    def failure(self) -> Failure:
        """The one sentence, which knows where it leads to."""
        return Failure(f"{self.what}; {self.remedy}" if self.remedy else self.what, self.path, self.place)


class InputError(SeamcheckError):
    """A pattern file that cannot be read."""


class PlanError(SeamcheckError):
    """A seam plan that cannot be used."""


class RecipeError(SeamcheckError):
    """A recipe of an alteration that cannot be used."""


class SettingsError(SeamcheckError):
    """Shop settings that cannot be used."""


class PluginError(SeamcheckError):
    """A plugin that cannot be loaded, or that crashed."""


class UntrustedError(PluginError):
    """A plugin that was not loaded: a folder's own settings name it, and the user has not trusted it."""


def internal_error(error: Exception, path: str = "") -> Failure:
    """The sentence for an exception that nobody foresaw."""
    trace(error)
    if isinstance(error, MemoryError):
        return Failure(
            "there is not enough memory to judge this; give the program more of it, close other programs, or part the pattern "
            "into smaller files",
            path,
        )
    return Failure(
        f"seamcheck itself failed ({type(error).__name__}: {error}), which is a fault in the program and not "
        'in your pattern; please report it with what "seamcheck --debug ..." prints',
        path,
    )


def trace(error: Exception) -> None:
    """Tell with --debug where an exception comes from."""
    import logging

    logging.getLogger("seamcheck").debug("", exc_info=error)
