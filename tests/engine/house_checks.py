"""A check of one's own that always observes the same, for tests of what is made of observations."""

from seamcheck.amounts import Length, Unit
from seamcheck.checks.base import Check, Code, Observation, Severity
from seamcheck.config.settings import Settings
from seamcheck.engine.judge import judge
from seamcheck.testing import good_draft


def check(*observations, name="our-check", tolerance=2.0, unit=Unit.LENGTH, **code):
    """A check that always observes the same."""
    codes = [
        Code(
            **{
                "name": "off",
                "meaning": "m",
                "message": "It is {amount} off.",
                "advice": "Mend {amount}.",
                "facts": ("amount",),
            }
            | code
        ),
        Code(name="bare", meaning="m", message="the mark is bare.", advice="Mend it.", severity=Severity.NOTE),
        Code(name="turned", meaning="m", message="Turned.", advice="Turn.", tolerance=1.0, unit=Unit.ANGLE),
    ]
    return Check(
        name=name,
        family="ours",
        meaning="m",
        why="w",
        remedy="r",
        source="s",
        codes=tuple(codes),
        run=lambda context: observations,
        tolerance=tolerance,
        unit=unit,
    )


def off(deviation, code="off", **more):
    return Observation(code=code, deviation=deviation, facts={"amount": Length(abs(deviation))}, **more)


def judged(*checks, draft=None, settings=None, **more):
    draft = draft or good_draft()
    return judge(draft.pattern(), draft.plan, checks, settings or Settings(), **more)
