"""Every check run on every size, apart from the others, and what came of each."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from seamcheck.checks.base import Check, Context, LookedAt, Observation, Skip
from seamcheck.engine.acceptance import PLAN_CHECK
from seamcheck.errors import Failure, SeamcheckError
from seamcheck.pattern.junctions import UNPAIRED

NO_PLAN = 'the seams were inferred, so there is no plan to compare with; "seamcheck pair" writes one to confirm'
OURS = ("", "builtin")  # the plugins that seamcheck itself brings
SAW_NOTHING = "saw nothing here to judge"


@dataclass(frozen=True, slots=True, kw_only=True)
class Ran:
    """One check run on one size: what it observed and what it could not judge, or the sentence that says why it failed."""

    check: Check
    plugin: str
    size: str
    observations: tuple[Observation, ...] = ()
    skips: tuple[Skip, ...] = ()
    failure: Failure | None = None
    crashed: bool = False


def observe(context: Context, checks: Iterable[Check], plugin_of: Mapping[str, str]) -> list[Ran]:
    """Run every check on one size, apart from the others: what one of them does wrong is its own failure."""
    return [_run(check, context, plugin_of.get(check.name, "")) for check in checks]


def _run(check: Check, context: Context, plugin: str) -> Ran:
    ran = Ran(check=check, plugin=plugin, size=context.size)
    if context.inferred and check.name == PLAN_CHECK:
        return replace(ran, skips=(Skip(reason="inferred", why=NO_PLAN),))
    if plugin not in OURS and _is_off(check, context):
        return ran  # what a plugin brings is not run at all; what comes along is evidence for other checks
    try:
        seen = [_declared(one, check) for one in check.run(context)]
    except (Exception, SystemExit) as error:  # a plugin must not end the run as if all were good
        return failed(ran, context.pattern.path, error)
    # Silence must mean looked at: who looked and found all as it should be says so.
    seen = seen or [Skip(reason="saw-nothing", why=SAW_NOTHING)]
    skips = tuple(_told_once(one, context) for one in seen if isinstance(one, Skip))
    observations = tuple(one for one in seen if not isinstance(one, Skip | LookedAt))
    return Ran(check=check, plugin=plugin, size=context.size, observations=observations, skips=skips)


def _is_off(check: Check, context: Context) -> bool:
    return all(context.settings.severity(check.name, code.name) == "off" for code in check.codes)


def _declared(seen: Observation | LookedAt | Skip, check: Check) -> Observation | LookedAt | Skip:
    """What was seen; ValueError where it repeats what its check does not name under `repeats`."""
    for one in () if isinstance(seen, LookedAt) else seen.repeats:
        if not check.may_repeat(one):
            raise ValueError(f"it repeats {one.check} and does not name it under `repeats`")
    return seen


def failed(ran: Ran, path: str, error: BaseException) -> Ran:
    """A run that came to nothing. Say options of a plugin that cannot be used are told in its words; a house check may raise anything."""
    bare = replace(ran, observations=(), skips=())
    if isinstance(error, SeamcheckError):
        return replace(bare, failure=error.failure)
    return replace(bare, failure=_crashed(path, ran.check, ran.plugin, ran.size, error), crashed=True)


def _crashed(path: str, check: Check, plugin: str, size: str, error: BaseException) -> Failure:
    import logging
    import traceback

    logging.getLogger("seamcheck").debug("", exc_info=error)
    frames = traceback.extract_tb(error.__traceback__)
    # The last line of the check's own file: what it called may have failed, but it is there that it can be put right.
    own = getattr(getattr(check.run, "__code__", None), "co_filename", None)
    last = next((frame for frame in reversed(frames) if frame.filename == own), None)
    where = f"{Path(last.filename).name} line {last.lineno}" if last else Path(own or frames[-1].filename).name
    return Failure(
        f"check {check.name} of plugin {plugin or 'unknown'} crashed in {where} "
        f"({type(error).__name__}: {error}); the other checks ran, report this to whoever wrote the plugin",
        path,
        f"size {size}",
    )


def _told_once(skip: Skip, context: Context) -> Skip:
    """One reason for all the corners that no inferred seam reaches, so that they are told in one line."""
    if not context.inferred or skip.reason != UNPAIRED:
        return skip
    return Skip(reason=UNPAIRED, why="corners where an edge was not paired", repeats=skip.repeats)
