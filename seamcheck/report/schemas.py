"""The JSON Schemas (2020-12) of all JSON that seamcheck writes: one file for each in the folder `schemas`."""

from __future__ import annotations

import json
from importlib import resources
from typing import Any

NAMES = ("alter", "compare", "known", "line", "pair", "pieces", "plugins", "report", "table", "true", "which")
TITLED = "title"


def schema(name: str) -> dict[str, Any]:
    """The schema of that name, one of NAMES; a schema that it refers to stands in its `$defs`, so that it is whole."""
    value = _read(name)
    if name == "line":
        value["$defs"] = {"report": _read("report")}
    return value


def schema_text(name: str) -> str:
    """The schema of that name as it is printed."""
    return json.dumps(schema(name), ensure_ascii=False, indent=2) + "\n"


def overview() -> str:
    """Every name with what its schema describes, a line each."""
    width = max(map(len, NAMES))
    return "".join(f"{name:{width}}  {title}\n" for name, title in titles())


def titles() -> list[tuple[str, str]]:
    """Every name with what its schema describes."""
    return [(name, _read(name)[TITLED]) for name in NAMES]


def _read(name: str) -> dict[str, Any]:
    file = resources.files("seamcheck") / "schemas" / f"{name}.json"
    value: dict[str, Any] = json.loads(file.read_text(encoding="utf-8"))
    return value
