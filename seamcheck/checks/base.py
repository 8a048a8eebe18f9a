"""What a check is, what it sees and what it says.

A check is a function with frozen metadata. It sees one size of a pattern, its seam graph and its walks, and yields
observations: how far something is from what it should be. Where nothing is measured it yields what it looked at. It neither parses files nor grades nor formats;
the engine turns observations into findings, by one rule for all checks (the bands).

observation  one thing that was measured or seen
code         a stable word for one way a check can fail
skip         one thing that could not be judged, and why
repetition   what another finding says already; it is left out once it is known that the other is said
band         up to half the tolerance: nothing; to the tolerance: note; to twice: warning; beyond: error; all wider where
             what is measured is uncertain

What differs by much is meant, what differs by little is a slip. A fold met at 62 degrees, an arrow at 30 degrees to
a fold, left and right that part by more than 1/2 in, one allowance twice its mate's: these are said as a note or
skipped with the reason, for no slip of a hand is so large.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING, TypeVar, cast

from seamcheck.amounts import Fact, Phrase, Unit, facts_in, spoken
from seamcheck.spelling import by_name, nearest

T = TypeVar("T")

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
    facts, and `facts` names all that they may speak of. `clauses` are further sentences that an observation may add to
    the message, by key. `severity` is
    set only where nothing is measured; where something is, the bands decide. `tolerance` and `unit` are set
    where this code measures something else than its check does.
    """

    name: str
    meaning: str
    message: str
    advice: str
    clauses: Mapping[str, str] = field(default_factory=dict)
    facts: tuple[str, ...] = ()
    severity: Severity | None = None
    tolerance: float | None = None
    unit: Unit | None = None

    @property
    def templates(self) -> Mapping[str, str]:
        """Every template of the code, by what it is."""
        clauses = {f"clause {key}": clause for key, clause in self.clauses.items()}
        return {"message": self.message, "advice": self.advice, **clauses}


# Where a tolerance comes from that no file states.
DEFAULT = "default"
NOT_ASKED = "not-asked"  # the reason of a check that runs only where it is asked for
TURNED_OFF = "turned-off"  # the reason of one that somebody does not want to be told of, which the verdict says
ROUNDED = "rounded grade rules"
OWN = "the check itself, by what it measures there"


@dataclass(frozen=True, slots=True)
class Tolerance:
    """A tolerance in mm or degrees, and its origin: "default", a file, rounded grade rules, the check itself.

    `holds_for` names the seam or the size that it is for; "" where it is for all.
    """

    value: float
    unit: Unit
    origin: str
    holds_for: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Repetition:
    """A finding that says the same already: of which check, by which of its codes, and of what.

    Without codes it may be any; what is None may be anything. `at` is exactly where that finding lies.
    """

    check: str
    codes: tuple[str, ...] = ()
    seam: str | None = None
    piece: str | None = None
    edge: str | None = None
    at: complex | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Observation:
    """Something a check measured or saw.

    `deviation` is signed, in the check's unit, and counts from the nearest end of what is allowed; None where
    nothing is measured. `uncertainty` is by how much it may be off because the line that it is measured on is traced in noisy
    chords; every band is that much wider. `tolerance` is set where this one place has a band of its own; as a mere number it is the check's.
    `subject` is what it is about where that is not just its seam, else its edges, else its pieces. It is not told where one of
    the findings that it `repeats` is. `cause` is what it is a sign of, as far as that is known once all checks have run.
    """

    code: str
    deviation: float | None = None
    uncertainty: float = 0.0
    tolerance: Tolerance | float | None = None
    allowed: tuple[float, float] | None = None
    at: complex | None = None
    seam: str | None = None
    pieces: tuple[str, ...] = ()
    edges: tuple[str, ...] = ()
    facts: Mapping[str, Fact] = field(default_factory=dict)
    clauses: tuple[str, ...] = ()
    subject: Subject | None = None
    repeats: tuple[Repetition, ...] = ()
    cause: str = ""

    @property
    def own_tolerance(self) -> float | None:
        """The tolerance of this one place as a number; None where it has none of its own."""
        return self.tolerance.value if isinstance(self.tolerance, Tolerance) else self.tolerance


@dataclass(frozen=True, slots=True, kw_only=True)
class Skip:
    """Something a check could not judge, and why: `reason` is a stable code, `why` the words, given as a phrase or as text.

    It is not told where one of the findings that it `repeats` is.

    It is about a `seam`, a `piece`, an `edge` of a piece or the `corners` of a junction ("piece.corner"), or about all that the
    check looks at.
    """

    why: Phrase | str
    reason: str = ""
    seam: str | None = None
    piece: str | None = None
    edge: str | None = None
    corners: tuple[str, ...] = ()
    repeats: tuple[Repetition, ...] = ()

    def __post_init__(self) -> None:
        """Fail here, where the plugin is known, for a phrase that speaks of a fact which is not given; ValueError."""
        deque(spoken(self.why), maxlen=0)


@dataclass(frozen=True, slots=True, kw_only=True)
class LookedAt:
    """Something that a check looked at, where what is as it should be gives no measure to observe.

    A check that yields nothing at all for a size is listed as skipped: silence must mean looked at.
    """

    seam: str | None = None
    piece: str | None = None
    edge: str | None = None
    subject: Subject | None = None


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
    known: dict[object, object] = field(default_factory=dict, repr=False, compare=False)
    together: tuple[str, ...] = ()  # the sizes that are judged together

    def pieces_together(self) -> list[Piece]:
        """The pieces of all sizes that are judged together, those of this one among them: what is asked of all costs less at once."""
        own = list(self.pieces.values())
        return own + [one for one in self.pattern.pieces if one.size in self.together and one.size != self.size]

    def once(self, what: object, make: Callable[[], T]) -> T:
        """What `make` tells of the whole pattern, worked out for the first of its sizes that asks and kept for the others.

        `what` names it, and is no one else's name. All sizes that are judged together share what is `known`.
        """
        if what not in self.known:
            self.known[what] = make()
        return cast("T", self.known[what])


CheckFunction = Callable[[Context], Iterable[Observation | LookedAt | Skip]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """A check and all that is said about it.

    `meaning` completes "holds when ..."; `why` says why it matters at the machine; `remedy` how to put it right
    by hand; `source` where the rule and its tolerance come from. `notes` are the codes of what the reading of a file
    remarks on and this check makes findings of, so that it is not said twice. `tolerance_like` names the check whose
    tolerance the shop sets for this one too, where it does not set its own. `repeats` names the checks, or one code of
    a check as "check/code", whose findings some of its own would only repeat: observe them all the same and say so there.
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
    repeats: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        """Refuse a tolerance of nothing, and a template that speaks of a fact which its code does not declare."""
        for what, tolerance, unit in (
            (f"check {self.name}", self.tolerance, self.unit),
            *((f"check {self.name}, code {one.name}", one.tolerance, one.unit or self.unit) for one in self.codes),
        ):
            if tolerance is not None and unit is None:
                raise ValueError(
                    f"{what}: there is a tolerance and no unit; give unit=Unit.LENGTH or unit=Unit.ANGLE"
                )
        for code in self.codes:
            for word, template in code.templates.items():
                for name in facts_in(template):
                    if name not in code.facts:
                        near = nearest(name, code.facts, "fact") if code.facts else "give it facts=(...)"
                        raise ValueError(
                            f'check {self.name}, code {code.name}: its {word} speaks of "{{{name}}}", which is not among '
                            f"the facts of the code; {near}"
                        )

    def code(self, name: str) -> Code:
        """The code of that name; UnknownNameError, a KeyError that names the nearest, when the check has none."""
        return by_name(self.codes, name, f"check {self.name}", "code")

    def may_repeat(self, repeated: Repetition) -> bool:
        """Whether it is declared that findings of this check repeat such a one."""
        named = {f"{repeated.check}/{code}" for code in repeated.codes}
        return repeated.check in self.repeats or (bool(named) and named <= set(self.repeats))

    def measures(self, code: Code) -> bool:
        """Whether a code is judged by a tolerance, and not only seen."""
        return code.severity is None and (code.unit or self.unit) is not None
