"""The one environment that fills our HTML pages, by jinja2 (BSD, 0.5 MB, imported for HTML alone).

All HTML stands in templates beside the modules of `report/`. What is put into one is escaped where it is put in, also between
quotes, and letters that could steer a browser are taken out and those that turn the reading escaped: so no page can forget it. What must stay
as it is goes through `trusted`, and nothing else may be marked so.
"""

from __future__ import annotations

from importlib.resources import files
from typing import TYPE_CHECKING, Any

from seamcheck.report import pen

if TYPE_CHECKING:
    from jinja2 import Environment
    from markupsafe import Markup


def trusted(made: str) -> Markup:
    """What this package made itself: drawings, whose words its pens escape, scripts, style sheets, data for a script."""
    from markupsafe import Markup

    return Markup(made)


def part(name: str) -> str:
    """The text of a file of this package."""
    return files("seamcheck.report").joinpath(name).read_text(encoding="utf-8")


def environment(**given: Any) -> Environment:
    """An environment for templates of this package in which some names stand for functions of Python."""
    from jinja2 import Environment, FunctionLoader, StrictUndefined

    from seamcheck.report.compiled import Compiled

    made = Environment(
        loader=FunctionLoader(part),
        autoescape=True,
        finalize=finalized,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        auto_reload=False,
        optimized=False,  # what our functions make of a constant is not to be compiled into a template that is kept
        bytecode_cache=Compiled(),
    )
    made.globals.update(given)
    return made


def finalized(value: object) -> object:
    """A value as it is put into a page; jinja2 asks this of every one."""
    return value if hasattr(value, "__html__") else trusted(pen.words(str(value)))
