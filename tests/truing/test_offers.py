"""The order in which findings are taken up."""

from dataclasses import replace
from types import SimpleNamespace

import pytest

from seamcheck.amounts import phrase
from seamcheck.checks.base import Severity
from seamcheck.engine.result import Finding
from seamcheck.truing import propose
from seamcheck.truing.propose import Alternative, Wishes, true_up


def finding(check):
    return Finding(
        check=check, code="x", severity=Severity.ERROR, size="40", fault=phrase(""), remedy=phrase(""), at=0j
    )


def state(*checks):
    return SimpleNamespace(judged=SimpleNamespace(findings=tuple(finding(check) for check in checks)))


@pytest.mark.parametrize(
    ("needs", "taken", "left"),
    [
        ({"seam-length": "edge-blend"}, ["edge-blend", "seam-length"], []),
        ({"seam-length": "never"}, ["edge-blend"], ["seam-length"]),
    ],
)
def test_what_cannot_be_drawn_is_tried_again_once_something_else_has_been(monkeypatch, needs, taken, left):
    tried = []

    def offers(now, result, target, wishes):
        tried.append(target.check)
        here = [one.check for one in result.findings]
        if needs.get(target.check) in (*here, "never"):
            return ()
        after = state(*(check for check in here if check != target.check))
        return (Alternative(said="", pieces=(), remains=0.0, bending=0.0, state=after),)

    monkeypatch.setattr(propose, "offers", offers)
    truing = true_up(state("seam-length", "edge-blend"), Wishes())
    assert [proposal.finding.check for proposal in truing.proposals] == taken
    assert [one.check for one in truing.left.findings] == left
    assert len(tried) == 3


def test_what_is_only_uncertain_is_never_redrawn(monkeypatch):
    """A traced line that is off by no more than it may be off."""
    unsure = replace(finding("seam-length"), measured=-1.0, uncertainty=1.2)
    asked = []
    monkeypatch.setattr(propose, "offers", lambda now, result, target, wishes: asked.append(target) or ())
    truing = true_up(SimpleNamespace(judged=SimpleNamespace(findings=(unsure,))), Wishes())
    assert (truing.proposals, asked) == ((), [])
