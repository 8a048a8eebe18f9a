"""One named fault for every way a check can fail, done to a skirt that trues, and the one finding it must give.

`amount` is what the fault was made to be, by construction and not by measuring: mm or degrees, with the sign that the
finding gives it. The skirts that must pass, `PASSING`, are right in ways that a careless check would take for wrong.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from functools import cache

import panel_faults
import piece_faults
import pytest
import seam_faults
from cases import Fault, Passing
from faulty_skirts import GOOD
from skirt_making import CHECKS, SHOP, Sheet

from seamcheck.checks.base import Check, Context, Observation, Skip
from seamcheck.comparison import Comparison
from seamcheck.engine import judge as judging_engine
from seamcheck.engine.evidence import explain
from seamcheck.engine.judge import judge
from seamcheck.engine.observe import Ran
from seamcheck.engine.result import FileResult
from seamcheck.pattern.model import Pattern
from seamcheck.pattern.plan import Plan

FAULTS: tuple[Fault, ...] = (*seam_faults.FAULTS, *panel_faults.FAULTS, *piece_faults.FAULTS)
PASSING: tuple[Passing, ...] = (*seam_faults.PASSING, *panel_faults.PASSING, *piece_faults.PASSING)


@cache
def done(case: Fault | Passing | None) -> tuple[Pattern, Plan, Comparison | None]:
    """The pattern and the plan of a case, or of the skirt as it is, and what was altered: read once for all tests."""
    sheet = case.sheet() if case else Sheet.of(GOOD)
    assert sheet.plan is not None
    return sheet.pattern(), sheet.plan, sheet.comparison() if isinstance(sheet, Sheet) else None


SAID: list[tuple[Check, Observation | Skip]] = []
SILENT: set[str] = set()


def _noted(check: Check) -> Check:
    """The check, which leaves its name in SILENT where it tells nothing."""

    def run(context: Context) -> Iterator[Observation | Skip]:
        nothing = True
        for item in check.run(context):
            nothing = False
            yield item
        if nothing:
            SILENT.add(check.name)

    return replace(check, run=run)


NOTED = tuple(map(_noted, CHECKS))


@cache
def judged(case: Fault | Passing | None) -> FileResult:
    """The result of a case, or of the skirt as it is: judged once for all tests."""
    pattern, plan, before = done(case)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(judging_engine, "explain", _explained)
        return judge(pattern, plan, NOTED, SHOP, before=before)


def _explained(context: Context, ran: Iterable[Ran]) -> list[Ran]:
    """What the engine makes of all that was observed; it is left in SAID."""
    explained = list(explain(context, ran))
    SAID.extend((one.check, item) for one in explained for item in (*one.observations, *one.skips))
    return explained


@cache
def said() -> list[tuple[Check, Observation | Skip]]:
    """All that the checks observe, and leave aside, in all the skirts of the table."""
    for case in (None, *FAULTS, *PASSING):
        judged(case)
    return SAID


@cache
def observed() -> dict[tuple[str, str], list[Observation]]:
    """All that they observe, by check and code."""
    seen: dict[tuple[str, str], list[Observation]] = {}
    for check, item in said():
        if isinstance(item, Observation):
            seen.setdefault((check.name, item.code), []).append(item)
    return seen


def silent() -> set[str]:
    """The checks that yield nothing at all for some size of some skirt of the table."""
    said()
    return SILENT
