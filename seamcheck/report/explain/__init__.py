"""What `seamcheck explain` tells: a check, a code of one, a fit, or a topic.

Every topic is made from what the code itself declares, so that none of them can go stale: the keys of a plan from those
that its reader takes, the formats from what is registered.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, NamedTuple

from seamcheck.amounts import listed
from seamcheck.engine.report_format import RenderOptions
from seamcheck.errors import SeamcheckError
from seamcheck.report.explain import (
    alter,
    changes,
    checks,
    drawing,
    fits,
    formats,
    plan,
    rules,
    runs,
    settings,
    words,
)
from seamcheck.report.explain.laid_out import rows
from seamcheck.report.layout import wrap
from seamcheck.spelling import nearest

if TYPE_CHECKING:
    from seamcheck.config.settings import Settings
    from seamcheck.engine.plugins import Registry


class Topic(NamedTuple):
    """What a topic is about, what tells it, and whether that asks for readers and reports beside the checks."""

    meaning: str
    tell: Callable[[Registry, Settings, RenderOptions], str]
    whole: bool = False


TOPICS = {
    "checks": Topic("every check, with its tolerance", checks.overview),
    "fits": Topic("alterations by name: what is seen in the cloth, and what is done for it", fits.tell),
    "alter": Topic("an alteration rehearsed and carried out: moves, places, every key of a recipe", alter.tell),
    "drawing": Topic("how to draw so that it is read", drawing.tell),
    "plan": Topic("the seam plan: every key that it may hold", plan.tell),
    "settings": Topic("a shop's own tolerances, severities, layers, limits and plugins", settings.tell),
    "rules": Topic("rules of your own, without programming", rules.tell),
    "runs": Topic("a run over many files: which are judged, by what, and what is kept", runs.tell),
    "formats": Topic("what is read and what is written, and what of it never changes", formats.tell, whole=True),
    "words": Topic("the words that messages use", words.tell),
    "changes": Topic("what each version brought, and what stays as it is", changes.tell),
}


def wants_all(name: str | None) -> bool:
    """Whether what is to be explained asks for the readers and reports of all plugins, not for their checks alone."""
    return name in TOPICS and TOPICS[name].whole


def explained(name: str | None, registry: Registry, settings: Settings, options: RenderOptions) -> str:
    """A topic, the check or fit of that name, one code of a check ("seam-length/short"), or without a name what there is to explain.

    SeamcheckError, with the nearest name, where there is none of it.
    """
    if name is None:
        return f"{checks.overview(registry, settings, options)}\n{_topics(options)}\n"
    if name in TOPICS:
        return TOPICS[name].tell(registry, settings, options)
    of, slash, code = name.partition("/")
    check = next((one for one in registry.checks if one.name == of), None)
    if check is None:
        fit = next((one for one in registry.fits if one.name == name), None)
        if fit is not None:
            return fits.explanation(fit, registry, options)
        known = [*(one.name for one in registry.checks), *(one.name for one in registry.fits), *TOPICS]
        raise SeamcheckError(f'there is no check, fit or topic "{of}"', remedy=nearest(of, known, "name"))
    codes = [one.name for one in check.codes]
    if slash and code not in codes:
        raise SeamcheckError(f'the check "{of}" has no code "{code}"', remedy=nearest(code, codes, "code"))
    return checks.explanation(check, code or None, registry, settings, options)


def drawn(name: str | None, registry: Registry) -> str:
    """The drawing of a fit as an SVG file; SeamcheckError for what is no fit, or one that brings no drawing."""
    from seamcheck.report.figures.base import standalone
    from seamcheck.report.figures.sketch import fit_figure

    fit = next((one for one in registry.fits if one.name == name), None)
    figure = fit_figure(fit) if fit else None
    if figure is None:
        pictured = [one.name for one in registry.fits if one.sketch]
        what = f'"{name}" has no picture' if name else "a picture is of one fit"
        raise SeamcheckError(what, remedy=f"name one of these: {listed(pictured)}")
    return standalone(figure)


def _topics(options: RenderOptions) -> str:
    told = rows([(name, topic.meaning) for name, topic in TOPICS.items()], options)
    return "\n".join([wrap('"seamcheck explain TOPIC" tells of:', options), *told])
