"""What every page we write is made of: its parts lie beside this module and are put into one file that needs nothing else."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from seamcheck.report.figures.looks import palette
from seamcheck.report.templates import part, trusted

if TYPE_CHECKING:
    from markupsafe import Markup


def style_of(*names: str, more: str = "") -> Markup:
    """The colours, by day and by night, style sheets as one, and more of our own behind them."""
    day, night = (f":root{{{palette(dark=dark)}}}" for dark in (False, True))
    return trusted(f"{day}\n@media (prefers-color-scheme:dark){{{night}}}\n" + "".join(map(part, names)) + more)


def script_of(*names: str) -> tuple[Markup, str]:
    """Scripts as one, and the hash by which the page's policy lets it run."""
    from base64 import b64encode
    from hashlib import sha256

    script = "\n" + "".join(map(part, names))
    digest = b64encode(sha256(script.encode()).digest()).decode()
    return trusted(script), f"sha256-{digest}"


def embedded(data: object) -> Markup:
    """JSON that may stand in a script element: nothing in it can end the element or begin a comment."""
    told = json.dumps(data, ensure_ascii=True, separators=(",", ":"), sort_keys=True)
    return trusted(told.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026"))
