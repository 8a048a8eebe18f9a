"""Nests of the demo with one size that was drawn or graded wrong, as apparel DXF beside the demo's plan."""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path

from seamcheck.config.settings import Settings
from seamcheck.engine.plugins import load
from seamcheck.engine.read import Request
from seamcheck.engine.read import read as read_pattern
from seamcheck.pattern.model import Pattern
from seamcheck.pattern.plan import Plan

FIXTURES = Path(__file__).parents[2] / "fixtures"
sys.path.insert(0, str(FIXTURES))

from drafting.ferryhand import SAMPLE, STYLE, back, ferryhand, front, measures  # noqa: E402
from drafting.shapes import Piece  # noqa: E402
from drafting.write_apparel_dxf import apparel_dxf  # noqa: E402

PLAN = FIXTURES / "ferryhand" / "ferryhand-nest.seams.toml"
SHOP = Settings()
REGISTRY = load(SHOP)
FIVE = ("36", "38", "40", "42", "44")
MANY = tuple(str(size) for size in range(30, 58))

Change = Callable[[Piece], Piece]


def longer_back(amount: float) -> Change:
    """The back with a leg longer by some mm above the knee, drawn for a front that is so too."""

    def change(piece: Piece) -> Piece:
        m = measures(piece.size)
        m = replace(m, crotch_height=m.crotch_height + amount)
        return back(m, front(m))

    return change


def of_size(other: str) -> Change:
    """The piece of another size under the label of this one."""
    return lambda piece: replace(
        next(one for one in ferryhand(other) if one.key == piece.key), size=piece.size, texts=piece.texts
    )


def nest(sizes: tuple[str, ...] = FIVE, changes: Mapping[tuple[str, str], Change] | None = None) -> str:
    """The demo in some sizes; `changes` go by size and piece."""
    given = changes or {}
    drawn = {
        size: tuple(given.get((size, piece.key), lambda piece: piece)(piece) for piece in ferryhand(size))
        for size in sizes
    }
    return apparel_dxf(STYLE, drawn, SAMPLE)


def read(text: str, folder: Path) -> tuple[Pattern, Plan]:
    path = folder / "nest.dxf"
    path.write_text(text, encoding="utf-8")
    pattern, plan = read_pattern(str(path), Request(plan=PLAN), REGISTRY, SHOP)
    assert plan is not None
    return pattern, plan
