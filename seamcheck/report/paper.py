"""What every page we write is made of: its parts lie beside this module and are put into one file that needs nothing else."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from collections.abc import Mapping
from importlib.resources import files

from seamcheck.report import pen
from seamcheck.report.layout import printable


def part(name: str) -> str:
    """The text of a file of this package."""
    return files("seamcheck.report").joinpath(name).read_text(encoding="utf-8")


def filled(name: str, fields: Mapping[str, str]) -> str:
    """The head of a page and its body of that name with their fields put in.

    It is done in one pass, so that nothing in a name is taken for a field.
    """
    template = part("page_head.html") + part(name)
    return re.sub(r"\{\{([a-z-]+)\}\}", lambda field: fields[field[1]], template)


def script_of(*names: str) -> tuple[str, str]:
    """Scripts as one, and the hash by which the page's policy lets it run."""
    script = "\n" + "".join(part(name) for name in names)
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    return script, f"sha256-{digest}"


def embedded(data: object) -> str:
    """JSON that may stand in a script element: nothing in it can end the element or begin a comment."""
    told = json.dumps(data, ensure_ascii=True, separators=(",", ":"), sort_keys=True)
    return told.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def words(text: str) -> str:
    """A text as it may stand in HTML, also between quotes."""
    return pen.words(printable(text))
