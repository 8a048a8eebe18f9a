"""The one rule that turns what a check observed into a finding, and the tolerances and severities it goes by.

A tolerance is, in this order: the place's own (a seam's, the plan's, that of rounded rules), the shop's for the code,
the code's, the shop's for the check or the one that it is like, the check's. A severity is the shop's for the code or
the check, else the code's, else that of the bands.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator, Mapping
from typing import Literal

from seamcheck.amounts import Angle, Length, Phrase, Unit, phrase, spoken
from seamcheck.checks.base import DEFAULT, OWN, Check, Code, Observation, Severity, Skip, Tolerance
from seamcheck.config.settings import Settings
from seamcheck.engine.result import CheckCode, Finding, InForce
from seamcheck.exact import EXACT, snapped, snapped_point
from seamcheck.pattern.subject import Subject

BANDS = "bands"
NONE = Settings()  # what holds by default
NOTICED = 0.1  # of a tolerance: what a traced line leaves uncertain beyond it widens the bands, and is said
UNSURE = "The lines are traced in chords that lie beside their curve, so this is known to within {uncertainty}, and every band is that much wider."


def tolerance_of(
    check: Check, code: Code, settings: Settings, own: Tolerance | float | None = None
) -> Tolerance | None:
    """The tolerance in force: `own` of the place, or else what `general_tolerance` says; None where nothing is measured."""
    unit = code.unit or check.unit
    if own is None or unit is None:
        return general_tolerance(check, code, settings)
    return own if isinstance(own, Tolerance) else Tolerance(own, unit, OWN)


def general_tolerance(check: Check, code: Code, settings: Settings) -> Tolerance | None:
    """The tolerance of places that have none of their own, from the settings file or by default; None where nothing is measured."""
    unit = code.unit or check.unit
    if unit is None:
        return None
    word: Literal["mm", "degrees"] = "mm" if unit is Unit.LENGTH else "degrees"
    by_code = settings.tolerance(f"{check.name}/{code.name}", word)
    if by_code is not None:
        return Tolerance(by_code, unit, settings.path)
    if code.tolerance is not None:
        return Tolerance(code.tolerance, unit, DEFAULT)
    for name in (check.name, check.tolerance_like):
        by_check = settings.tolerance(name, word) if name else None
        if by_check is not None:
            return Tolerance(by_check, unit, settings.path)
    return None if check.tolerance is None else Tolerance(check.tolerance, unit, DEFAULT)


def in_force(check: Check, settings: Settings) -> Iterator[InForce]:
    """The tolerances and severities of a check, once for all of its codes that share them."""
    shared: dict[tuple[Tolerance | None, Tolerance | None, str, str, str], list[str]] = {}
    for code in check.codes:
        # What is seen and not measured has none.
        tolerance, default = (
            None if code.severity is not None else general_tolerance(check, code, by) for by in (settings, NONE)
        )
        usual = BANDS if tolerance is not None else (code.severity or Severity.WARNING).value
        wanted = settings.severity(check.name, code.name)
        severity, graded = (wanted, settings.severity_from(check.name, code.name)) if wanted else (usual, DEFAULT)
        shared.setdefault((tolerance, default, severity, graded, usual), []).append(code.name)
    for (tolerance, default, severity, graded, usual), codes in shared.items():
        yield InForce(
            check=check.name,
            codes=tuple(codes),
            tolerance=tolerance.value if tolerance else None,
            unit=tolerance.unit.value if tolerance else None,
            tolerance_from=tolerance.origin if tolerance else DEFAULT,
            severity=severity,
            severity_from=graded,
            usual=default.value if default else None,
            usual_severity=usual,
        )


def own_tolerances(
    check: Check, observed: Iterable[tuple[str, Observation]], settings: Settings
) -> Iterator[InForce]:
    """The tolerances that places of a check had of their own, by where they come from; `observed` comes with the size."""
    places: dict[tuple[float, str, str, float], dict[str, None]] = {}
    for size, one in observed:
        if one.tolerance is None:
            continue
        code = check.code(one.code)
        general, own = (tolerance_of(check, code, settings, given) for given in (None, one.tolerance))
        if own is None or (general is not None and abs(own.value - general.value) <= EXACT):
            continue
        # A mere number is told with the size that it was found in.
        place = own.holds_for if isinstance(one.tolerance, Tolerance) else f"size {size}"
        default = general_tolerance(check, code, NONE)
        usual = own.value if default is None else default.value
        # Tolerances that come of lengths differ in their last bits where the lengths are the same.
        alike = (value for value, *rest in places if rest == [own.unit.value, own.origin, usual])
        value = next((value for value in alike if abs(value - own.value) <= EXACT), own.value)
        places.setdefault((value, own.unit.value, own.origin, usual), {})[place] = None
    for (value, unit, origin, usual), where in sorted(places.items()):
        yield InForce(
            check=check.name,
            tolerance=value,
            unit=unit,
            tolerance_from=origin,
            severity=BANDS,
            severity_from=DEFAULT,
            places=tuple(place for place in where if place),
            usual=usual,
            usual_severity=BANDS,
        )


def banded(deviation: float, tolerance: float, uncertainty: float = 0.0) -> Severity | None:
    """Up to half the tolerance nothing, to the tolerance a note, to twice a warning, beyond an error.

    Every band is wider by what the deviation may be off by.
    """
    share = max(abs(deviation) - uncertainty, 0.0) / tolerance
    # What is drawn exactly at a band's edge is not pushed over it by the last bit of a float.
    share -= 1e-9
    if share <= 0.5:
        return None
    if share <= 1.0:
        return Severity.NOTE
    return Severity.WARNING if share <= 2.0 else Severity.ERROR


def is_beyond(observation: Observation, check: Check, settings: Settings) -> bool:
    """Whether something was observed beyond its band, whatever the shop makes of it; what is not measured always is."""
    tolerance = tolerance_of(check, check.code(observation.code), settings, observation.tolerance)
    if observation.deviation is None or tolerance is None:
        return True
    widened = _widened(observation, tolerance)
    return banded(observation.deviation, tolerance.value, widened) is not None


def _widened(observation: Observation, tolerance: Tolerance) -> float:
    """By how much the bands of an observation are wider; what would hardly be noticed is left out."""
    return observation.uncertainty if observation.uncertainty > NOTICED * tolerance.value else 0.0


def uncertain(observation: Observation, check: Check, settings: Settings) -> Skip | None:
    """The skip of what is beyond its band, but by no more than it may be off because of the lines that it is measured on."""
    code = check.code(observation.code)
    tolerance, unit = tolerance_of(check, code, settings, observation.tolerance), code.unit or check.unit
    if observation.deviation is None or tolerance is None or settings.severity(check.name, code.name) == "off":
        return None
    widened = _widened(observation, tolerance)
    if banded(observation.deviation, tolerance.value) is None or banded(
        observation.deviation, tolerance.value, widened
    ):
        return None
    subject, amount = observation.subject, Angle if unit is Unit.ANGLE else Length
    return Skip(
        reason="uncertain",
        why=phrase(
            "it is off by {amount}, which the traced lines tell to within {uncertainty} only",
            amount=amount(abs(observation.deviation)),
            uncertainty=amount(widened),
        ),
        seam=observation.seam,
        piece=observation.pieces[0] if len(observation.pieces) == 1 else None,
        corners=subject.names if subject is not None and subject.kind == "junction" else (),
        repeats=observation.repeats,
    )


def grade(observation: Observation, check: Check, size: str, settings: Settings, plugin: str = "") -> Finding | None:
    """The finding an observation amounts to, or None when it is within its band or switched off."""
    code = check.code(observation.code)
    tolerance, unit = tolerance_of(check, code, settings, observation.tolerance), code.unit or check.unit
    if observation.deviation is None:
        tolerance = None
    severity, widened = code.severity or Severity.WARNING, 0.0
    if observation.deviation is not None and tolerance is not None:
        widened = _widened(observation, tolerance)
        found = banded(observation.deviation, tolerance.value, widened)
        if found is None:
            return None
        severity = found
    wanted = settings.severity(check.name, code.name)
    if wanted == "off":
        return None
    if wanted is not None:
        severity = Severity(wanted)
    sentences, facts = [code.message, *(code.clauses[name] for name in observation.clauses)], dict(observation.facts)
    if widened:
        sentences.append(UNSURE)
        facts["uncertainty"] = Angle(widened) if unit is Unit.ANGLE else Length(widened)
    fault = Phrase(" ".join(sentences), tuple(facts.items()))
    remedy = Phrase(code.advice, tuple(facts.items()))
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
        measured=None if observation.deviation is None else snapped(observation.deviation),
        unit=unit.value if unit is not None and observation.deviation is not None else None,
        allowed=observation.allowed,
        tolerance=tolerance.value if tolerance else None,
        uncertainty=widened,
        at=None if observation.at is None else snapped_point(observation.at),
        subject=observation.subject or Subject.named(observation.seam, observation.edges, observation.pieces),
        plugin=plugin,
        cause=observation.cause,
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
