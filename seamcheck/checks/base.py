"""What a check is, what it sees and what it says.

A check is a function with frozen metadata. It sees one size of a pattern, its seam graph and its walks, and yields
observations: how far something is from what it should be. It neither parses files nor grades nor formats;
the engine turns observations into findings, by one rule for all checks (the bands).

observation  one thing that was measured or seen
code         a stable word for one way a check can fail
skip         one thing that could not be judged, and why
band         up to half the tolerance: nothing; to the tolerance: note; to twice: warning; beyond: error
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING

from seamcheck.amounts import Fact, Phrase, Unit, spoken

if TYPE_CHECKING:
    from seamcheck.comparison import Comparison
    from seamcheck.config.settings import Settings
    from seamcheck.pattern.model import Pattern, Piece
    from seamcheck.pattern.plan import Plan
    from seamcheck.pattern.seam_graph import SeamGraph
    from seamcheck.pattern.subject import Subject
    from seamcheck.pattern.walk import Walk


class Severity(StrEnum):
    """How much a finding weighs; errors first."""

    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"

    @property
    def rank(self) -> int:
        """0 for an error, 1 for a warning, 2 for a note."""
        return list(Severity).index(self)


@dataclass(frozen=True, slots=True, kw_only=True)
class Code:
    """One way a check can fail.

    `message` and `advice` are templates in the words of a sewist; `{name}` is filled in from an observation's
    facts. `clauses` are further sentences that an observation may add to the message, by key. `severity` is
    set only where nothing is measured; where something is, the bands decide. `tolerance` and `unit` are set
    where this code measures something else than its check does.
    """

    name: str
    meaning: str
    message: str
    advice: str
    clauses: Mapping[str, str] = field(default_factory=dict)
    severity: Severity | None = None
    tolerance: float | None = None
    unit: Unit | None = None


# Where a tolerance comes from that no file states.
DEFAULT = "default"
ROUNDED = "rounded grade rules"
OWN = "the check itself, by what it measures there"


@dataclass(frozen=True, slots=True)
class Tolerance:
    """A tolerance in mm or degrees, and its origin: "default", a file, a seam of a plan, rounded grade rules, the check itself.

    `holds_for` names the seam or the size that it is for; "" where it is for all.
    """

    value: float
    unit: Unit
    origin: str
    holds_for: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Observation:
    """Something a check measured or saw.

    `deviation` is signed, in the check's unit, and counts from the nearest end of what is allowed; None where
    nothing is measured. `tolerance` is set where this one place has a band of its own; as a mere number it is the check's.
    `subject` is what it is about where that is not just its seam, else its edges, else its pieces.
    """

    code: str
    deviation: float | None = None
    tolerance: Tolerance | float | None = None
    allowed: tuple[float, float] | None = None
    at: complex | None = None
    seam: str | None = None
    pieces: tuple[str, ...] = ()
    edges: tuple[str, ...] = ()
    facts: Mapping[str, Fact] = field(default_factory=dict)
    clauses: tuple[str, ...] = ()
    subject: Subject | None = None

    @property
    def own_tolerance(self) -> float | None:
        """The tolerance of this one place as a number; None where it has none of its own."""
        return self.tolerance.value if isinstance(self.tolerance, Tolerance) else self.tolerance


@dataclass(frozen=True, slots=True, kw_only=True)
class Skip:
    """Something a check could not judge, and why: `reason` is a stable code, `why` the words, given as a phrase or as text.

    It is about a `seam`, a `piece`, an `edge` of a piece or the `corners` of a junction ("piece.corner"), or about all that the
    check looks at.
    """

    why: Phrase | str
    reason: str = ""
    seam: str | None = None
    piece: str | None = None
    edge: str | None = None
    corners: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        """Fail here, where the plugin is known, for a phrase that speaks of a fact which is not given; ValueError."""
        deque(spoken(self.why), maxlen=0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Context:
    """What a check sees: one size of one pattern, and what changed against an earlier file where one was named.

    `inferred` tells that nobody wrote the plan, so that what is meant to be unusual could not be said there.
    """

    pattern: Pattern
    size: str
    pieces: Mapping[str, Piece]
    plan: Plan | None
    graph: SeamGraph
    walks: tuple[Walk, ...]
    settings: Settings
    before: Comparison | None = None
    inferred: bool = False


CheckFunction = Callable[[Context], Iterable[Observation | Skip]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """A check and all that is said about it.

    `meaning` completes "holds when ..."; `why` says why it matters at the machine; `remedy` how to put it right
    by hand; `source` where the rule and its tolerance come from. `notes` are the codes of what the reading of a file
    remarks on and this check makes findings of, so that it is not said twice. `tolerance_like` names the check whose
    tolerance the shop sets for this one too, where it does not set its own.
    """

    name: str
    family: str
    meaning: str
    why: str
    remedy: str
    source: str
    codes: tuple[Code, ...]
    run: CheckFunction
    tolerance: float | None = None
    unit: Unit | None = None
    notes: tuple[str, ...] = ()
    tolerance_like: str = ""

    def __post_init__(self) -> None:
        """Refuse a tolerance of nothing, which would make a finding of everything that is measured."""
        for what, tolerance, unit in (
            (f"check {self.name}", self.tolerance, self.unit),
            *((f"check {self.name}, code {one.name}", one.tolerance, one.unit or self.unit) for one in self.codes),
        ):
            if tolerance is not None and unit is None:
                raise ValueError(
                    f"{what}: there is a tolerance and no unit; give unit=Unit.LENGTH or unit=Unit.ANGLE"
                )

    def code(self, name: str) -> Code:
        """The code of that name; KeyError when the check has none."""
        for code in self.codes:
            if code.name == name:
                return code
        raise KeyError(f"{self.name} has no code {name!r}")

    def measures(self, code: Code) -> bool:
        """Whether a code is judged by a tolerance, and not only seen."""
        return code.severity is None and (code.unit or self.unit) is not None
