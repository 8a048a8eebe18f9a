"""From the files of a pattern to a new table."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from seamcheck.config.plan_file import parse_plan
from seamcheck.pairing.text import OPEN, plan_text
from seamcheck.report.table.page import proposed_text
from seamcheck.report.table.told import proposal_of, written
from seamcheck.watch.job import content, digest
from seamcheck.watch.refusals import kept
from seamcheck.watch.table import Table, changed_since

if TYPE_CHECKING:
    from seamcheck.engine.workspace import Shops
    from seamcheck.watch.job import Job
    from seamcheck.watch.pairs import Pairs


def judged(job: Job, shops: Shops, before: Table | None, version: int) -> Table:
    """Judge a pattern as it is now. What cannot be read leaves what was shown, with the sentence that says why."""
    drawing, plan = content(job.path), content(job.plan)
    request = replace(job.request, geometry=True, plan=job.plan if plan is not None else None)
    result = shops.judge(str(job.path), request)
    shown = proposal_of(result)
    if shown is None:
        trouble = str(result.failures[0]) if result.failures else f"{job.path}: no piece was found."
        empty = Table(version=version, drawing="", base=digest(plan), text="", result=result)
        return replace(before or empty, version=version, trouble=trouble)
    new = Table(
        version=version,
        drawing=digest(drawing),
        base=digest(plan),
        text=proposed_text(shown) if plan is None else plan.decode("utf-8-sig", "replace"),
        result=result,
        shown=shown,
    )
    if before is None:
        refusals = kept(job.plan)
        return replace(new, refused=refusals.refused, unknown=refusals.unknown)
    same = before.drawing == new.drawing
    new = replace(
        new,
        refused=before.refused,
        unknown=before.unknown,
        changed=before.changed if same else changed_since(before.shown, shown),
    )
    if not same or before.base != new.base:
        return new
    # The plan is what it was, with what a proposal names beyond it.
    more = before.shown is not None and len(before.shown.plan.pieces) > len(shown.plan.pieces)
    return replace(new, text=before.text, solved=before.solved, shown=before.shown if more else shown)


def is_open(table: Table) -> bool:
    """Whether more could be sewn than the plan says."""
    result, shown = table.result, table.shown
    if result is None or shown is None:
        return False
    return result.plan is None or bool(result.open_edges) or len({*result.pieces}) > len(shown.plan.pieces)


def paired(job: Job, table: Table, pairs: Pairs) -> Table:
    """A table with what is proposed beyond its plan; what the plan does not know is named."""
    there = parse_plan(table.text, str(job.plan)) if table.base else None
    proposal = pairs.proposal(there)
    text = table.text
    if there is None:
        sure = tuple(one for one in proposal.seams if one.standing not in OPEN)
        text = proposed_text(replace(proposal, seams=sure))
    elif len(proposal.plan.pieces) > len(there.pieces):
        text = plan_text(replace(proposal, seams=(), unnamed=()), job.path.name, table.text)
    plan = parse_plan(text, str(job.plan))
    return replace(
        table,
        text=text,
        shown=written(proposal.pattern, plan, proposal.open_edges),
        solved=pairs.solved(plan, table.refused, table.unknown),
    )
