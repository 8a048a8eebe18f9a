"""What `seamcheck explain` tells: a check, a code of one, or a topic.

Every topic is made from what the code itself declares, so that none of them can go stale: the keys of a plan from those
that its reader takes, the formats from what is registered.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, NamedTuple

from seamcheck.engine.report_format import RenderOptions
from seamcheck.errors import SeamcheckError
from seamcheck.report.explain import changes, checks, drawing, formats, plan, rules, runs, settings, words
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
    """A topic, the check of that name, one code of it ("seam-length/short"), or without a name what there is to explain.

    SeamcheckError, with the nearest name, where there is none of it.
    """
    if name is None:
        return f"{checks.overview(registry, settings, options)}\n{_topics(options)}\n"
    if name in TOPICS:
        return TOPICS[name].tell(registry, settings, options)
    of, slash, code = name.partition("/")
    check = next((one for one in registry.checks if one.name == of), None)
    if check is None:
        known = [*(one.name for one in registry.checks), *TOPICS]
        raise SeamcheckError(f'there is no check or topic "{of}"', remedy=nearest(of, known, "name"))
    codes = [one.name for one in check.codes]
    if slash and code not in codes:
        raise SeamcheckError(f'the check "{of}" has no code "{code}"', remedy=nearest(code, codes, "code"))
    return checks.explanation(check, code or None, registry, settings, options)


def _topics(options: RenderOptions) -> str:
    told = rows([(name, topic.meaning) for name, topic in TOPICS.items()], options)
    return "\n".join([wrap('"seamcheck explain TOPIC" tells of:', options), *told])
