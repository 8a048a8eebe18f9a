"""The forms in which an alteration is told, by the word that asks for each."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING

from seamcheck.report.altering.picture import render_svg
from seamcheck.report.altering.told import render_json, render_text

if TYPE_CHECKING:
    from seamcheck.altering.rehearse import Rehearsal
    from seamcheck.engine.report_format import RenderOptions

RENDERERS: Mapping[str, Callable[[Rehearsal, RenderOptions, Sequence[str]], str]] = {
    "text": render_text,
    "json": render_json,
    "svg": render_svg,
}
