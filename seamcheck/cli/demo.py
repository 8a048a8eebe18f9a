"""The demo: the Ferryhand trousers, their plan and one alteration, written to a folder, judged, and what to try with them.

The files lie in the package. The scripts under fixtures/ draft them and hold them equal to the fixtures of the tests.
"""

from __future__ import annotations

import shlex
import shutil
import sys
from importlib.resources import files
from pathlib import Path

from seamcheck.engine.jobs import judge_files
from seamcheck.engine.read import Request
from seamcheck.engine.report_format import RenderOptions
from seamcheck.engine.result import Report
from seamcheck.engine.workspace import Shops
from seamcheck.errors import SeamcheckError
from seamcheck.files import unwritten, write_text
from seamcheck.report.layout import paint, printable, wrap
from seamcheck.report.text import render
from seamcheck.truing.recipes import with_recipes

DRAFTED, PLAN, ALTERED = "ferryhand.svg", "ferryhand.seams.toml", "ferryhand-altered.svg"
MEANINGS = {
    DRAFTED: "the trousers of a rowing club's kit room, as drafted",
    PLAN: "their seam plan, which says what is sewn to what",
    ALTERED: "the same, with the back slashed for a prominent calf, and nothing trued yet",
}
REMEDY = "name another folder: seamcheck demo FOLDER"


def show(folder: str, options: RenderOptions, *, plugins: bool = True) -> tuple[str, tuple[str, ...]]:
    """Write the demo to a folder and judge it: what is told, and what could not be judged, one sentence each.

    SeamcheckError, and nothing is written, where a file of the demo is there already and says something else.
    """
    _write(folder)
    paths = {name: str(Path(folder) / name) for name in MEANINGS}
    drawings = [paths[DRAFTED], paths[ALTERED]]
    results = tuple(
        judge_files(
            drawings, Request(plan=Path(paths[PLAN])), shops=Shops(plugins=plugins, recipes=with_recipes), jobs=1
        )
    )
    program = called_as(sys.argv[0])
    parts = [
        "\n".join([wrap(f"In the folder {folder} there are now:", options), *_listed(options)]),
        paint(_line(program, "check", "--plan", paths[PLAN], *drawings), "strong", options),
        render(Report(files=results), options).rstrip("\n"),
        "\n".join(_next(program, paths, str(Path(folder) / "ferryhand-trued.svg"), options)),
    ]
    return "\n\n".join(parts) + "\n", tuple(failure for result in results for failure in result.failures)


def _write(folder: str) -> None:
    if Path(folder).is_file():
        raise SeamcheckError("this is a file, and the demo is written to a folder", path=folder, remedy=REMEDY)
    texts = {name: files("seamcheck").joinpath("demo", name).read_text(encoding="utf-8") for name in MEANINGS}
    try:
        Path(folder).mkdir(parents=True, exist_ok=True)
        for name, text in texts.items():
            path = Path(folder) / name
            if path.exists() and path.read_bytes() != text.encode("utf-8"):
                raise SeamcheckError("is there already, with something else in it", path=str(path), remedy=REMEDY)
    except (OSError, ValueError) as error:
        reason = error if isinstance(error, OSError) else OSError(str(error))
        raise unwritten(reason, folder, REMEDY) from None
    for name, text in texts.items():
        if not (Path(folder) / name).exists():
            write_text(text, str(Path(folder) / name), remedy=REMEDY)


def called_as(program: str) -> str:
    """How this program is called, so that what is shown can be typed: "seamcheck" wherever that word is enough."""
    path = Path(program)
    if path.name == "__main__.py":
        return f"{shlex.quote(sys.executable)} -m seamcheck"
    found = shutil.which("seamcheck")
    if path.stem != "seamcheck" or (found and Path(found).absolute() == path.absolute()):
        return "seamcheck"
    return shlex.quote(program)


def _line(program: str, *arguments: str) -> str:
    return f"    {program} {printable(shlex.join(arguments))}"


def _listed(options: RenderOptions) -> list[str]:
    width = max(map(len, MEANINGS))
    return [
        wrap(f"{name:{width}}  {meaning}", options, indent="  ", hanging=" " * (width + 4))
        for name, meaning in MEANINGS.items()
    ]


def _next(program: str, paths: dict[str, str], trued: str, options: RenderOptions) -> list[str]:
    plan, altered = ("--plan", paths[PLAN]), paths[ALTERED]
    page, picture = (str(Path(trued).with_name(name)) for name in ("report.html", "ferryhand-trued.pdf"))
    steps = {
        "Try next. What did the alteration change?": ("compare", paths[DRAFTED], altered),
        "The report as a page with drawings, to look at and to print:": ("check", *plan, altered, "--output", page),
        "Let the altered pattern be trued, and printed at true scale:": (
            *("true", *plan, altered, "--before", paths[DRAFTED], "--output", trued, "--picture", picture),
        ),
        "Is it true now?": ("check", *plan, trued),
        "Why does it matter, and how is it done by hand?": ("explain", "seam-length"),
        "With a drawing of your own, see first what is read of it:": ("pieces", "NAME.svg"),
    }
    return [line for words, step in steps.items() for line in (wrap(words, options), _line(program, *step))]
