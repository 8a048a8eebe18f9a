"""The one rule that turns what a check observed into a finding, and the tolerances and severities it goes by.

A tolerance is, in this order: the place's own (a seam's, the plan's, that of rounded rules), the shop's for the code,
the code's, the shop's for the check or the one that it is like, the check's. A severity is the shop's for the code or
the check, else the code's, else that of the bands.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING, Literal

from seamcheck.amounts import Phrase, Unit, spoken
from seamcheck.checks.base import Check, Code, Observation, Severity
from seamcheck.engine.result import CheckCode, Finding, InForce

if TYPE_CHECKING:
    from seamcheck.config.settings import Settings
    from seamcheck.pattern.plan import Plan

DEFAULT = "default"
BANDS = "bands"
ROUNDED = "rounded grade rules"
OWN = "the check itself, by what it measures there"


def tolerance_of(
    check: Check, code: Code, settings: Settings, own: float | None = None
) -> tuple[float | None, Unit | None]:
    """The tolerance in force and its unit: `own` of the place, or else what `general_tolerance` says."""
    unit = code.unit or check.unit
    if own is not None and unit is not None:
        return own, unit
    return general_tolerance(check, code, settings)[0], unit


def general_tolerance(check: Check, code: Code, settings: Settings) -> tuple[float | None, str]:
    """The tolerance of places that have none of their own, and where it comes from: "default" or the settings file."""
    unit = code.unit or check.unit
    if unit is None:
        return None, DEFAULT
    word: Literal["mm", "degrees"] = "mm" if unit is Unit.LENGTH else "degrees"
    by_code = settings.tolerance(f"{check.name}/{code.name}", word)
    if by_code is not None:
        return by_code, settings.path
    if code.tolerance is not None:
        return code.tolerance, DEFAULT
    for name in (check.name, check.tolerance_like):
        by_check = settings.tolerance(name, word) if name else None
        if by_check is not None:
            return by_check, settings.path
    return check.tolerance, DEFAULT


def in_force(check: Check, settings: Settings) -> Iterator[InForce]:
    """The tolerances and severities of a check, once for all of its codes that share them."""
    shared: dict[tuple[float | None, str | None, str, str, str], list[str]] = {}
    for code in check.codes:
        tolerance, origin = general_tolerance(check, code, settings)
        unit = code.unit or check.unit
        if code.severity is not None or tolerance is None or unit is None:  # seen, not measured
            tolerance, unit, origin = None, None, DEFAULT
        usual = BANDS if tolerance is not None else (code.severity or Severity.WARNING).value
        wanted = settings.severity(check.name, code.name)
        severity, graded = (wanted, settings.path) if wanted else (usual, DEFAULT)
        key = (tolerance, unit.value if unit else None, origin, severity, graded)
        shared.setdefault(key, []).append(code.name)
    for (tolerance, word, origin, severity, graded), codes in shared.items():
        yield InForce(
            check=check.name,
            codes=tuple(codes),
            tolerance=tolerance,
            unit=word,
            tolerance_from=origin,
            severity=severity,
            severity_from=graded,
        )


def own_tolerances(
    check: Check, observed: Iterable[tuple[str, Observation]], settings: Settings, plan: Plan | None, *, rounded: bool
) -> Iterator[InForce]:
    """The tolerances that places of a check had of their own, by where they come from.

    `observed` comes with the size. `rounded` tells that sizes were computed from rounded rules.
    """
    stated = {seam.name: seam.tolerance for seam in plan.seams} if plan else {}
    places: dict[tuple[float, str, str], dict[str, None]] = {}
    for size, one in observed:
        code = check.code(one.code)
        general, unit = tolerance_of(check, code, settings)
        if one.tolerance is None or unit is None or one.tolerance == general:
            continue
        if one.seam is not None and stated.get(one.seam) == one.tolerance:
            origin, place = f"{plan.path if plan else ''}, seam {one.seam}", f"seam {one.seam}"
        elif plan is not None and plan.states_tolerance and plan.tolerance == one.tolerance:
            origin, place = plan.path, ""
        else:
            origin, place = (ROUNDED if rounded else OWN), f"size {size}"
        places.setdefault((one.tolerance, unit.value, origin), {})[place] = None
    for (tolerance, unit_word, origin), where in sorted(places.items()):
        yield InForce(
            check=check.name,
            tolerance=tolerance,
            unit=unit_word,
            tolerance_from=origin,
            severity=BANDS,
            severity_from=DEFAULT,
            places=tuple(place for place in where if place),
        )


def banded(deviation: float, tolerance: float) -> Severity | None:
    """Up to half the tolerance nothing, to the tolerance a note, to twice a warning, beyond an error."""
    share = abs(deviation) / tolerance
    # What is drawn exactly at a band's edge is not pushed over it by the last bit of a float.
    share -= 1e-9
    if share <= 0.5:
        return None
    if share <= 1.0:
        return Severity.NOTE
    return Severity.WARNING if share <= 2.0 else Severity.ERROR


def is_beyond(observation: Observation, check: Check, settings: Settings) -> bool:
    """Whether something was observed beyond its band, whatever the shop makes of it; what is not measured always is."""
    tolerance, _ = tolerance_of(check, check.code(observation.code), settings, observation.tolerance)
    if observation.deviation is None or tolerance is None:
        return True
    return banded(observation.deviation, tolerance) is not None


def grade(observation: Observation, check: Check, size: str, settings: Settings, plugin: str = "") -> Finding | None:
    """The finding an observation amounts to, or None when it is within its band or switched off."""
    code = check.code(observation.code)
    tolerance, unit = tolerance_of(check, code, settings, observation.tolerance)
    measured = observation.deviation is not None and tolerance is not None
    if measured:
        assert observation.deviation is not None  # for the type checker: `measured` says so
        assert tolerance is not None
        severity = banded(observation.deviation, tolerance)
        if severity is None:
            return None
    else:
        severity = code.severity or Severity.WARNING
    wanted = settings.severity(check.name, code.name)
    if wanted == "off":
        return None
    if wanted is not None:
        severity = Severity(wanted)
    facts = tuple(observation.facts.items())
    fault = Phrase(" ".join([code.message, *(code.clauses[name] for name in observation.clauses)]), facts)
    remedy = Phrase(code.advice, facts)
    for said in (fault, remedy):
        deque(spoken(said), maxlen=0)  # it fails here, where its plugin is known, and not in a report
    return Finding(
        check=check.name,
        code=code.name,
        severity=severity,
        size=size,
        fault=fault,
        remedy=remedy,
        clauses=observation.clauses,
        seam=observation.seam,
        pieces=observation.pieces,
        edges=observation.edges,
        measured=observation.deviation,
        unit=unit.value if unit is not None and observation.deviation is not None else None,
        allowed=observation.allowed,
        tolerance=tolerance if measured else None,
        at=observation.at,
        plugin=plugin,
    )


def rules_of(checks: Iterable[Check], plugin_of: Mapping[str, str]) -> Iterator[CheckCode]:
    """What checks can find, a rule for each code, as they are by default."""
    for check in checks:
        for code in check.codes:
            unit = code.unit or check.unit
            measured = check.measures(code)
            yield CheckCode(
                check=check.name,
                code=code.name,
                family=check.family,
                holds=check.meaning,
                meaning=code.meaning,
                why=check.why,
                remedy=check.remedy,
                source=check.source,
                severity=code.severity,
                tolerance=(check.tolerance if code.tolerance is None else code.tolerance) if measured else None,
                unit=unit.value if unit is not None and measured else None,
                plugin=plugin_of.get(check.name, ""),
            )
