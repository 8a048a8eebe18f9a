"""Which findings geometry can mend, and where what could be done about each is made.

Most files have none of them, and then nothing of what draws lines anew is imported.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from seamcheck.engine.result import Finding
    from seamcheck.truing.correction import Correction
    from seamcheck.truing.state import State

# By check, or by check and code: the module of this package, and its function.
_MAKERS: Mapping[str, tuple[str, str]] = {
    "seam-length": ("lengths", "length_candidates"),
    "seam-span": ("mends", "notch_candidates"),
    "notch-match/station": ("mends", "notch_candidates"),
    "notch-place/slanted": ("mends", "slant_candidates"),
    "corner-blend/pointed": ("mends", "corner_candidates"),
    "corner-blend/hollow": ("mends", "corner_candidates"),
    "edge-blend": ("mends", "kink_candidates"),
    "fold-straight": ("mends", "bow_candidates"),
    "dart-mouth": ("mends", "mouth_candidates"),
    "dart-legs": ("mends", "leg_candidates"),
    "grain-fold/fold": ("grain", "fold_candidates"),
    "grain-straight": ("grain", "grain_candidates"),
    "grain-inside": ("grain", "grain_candidates"),
    "grain-present/short": ("grain", "grain_candidates"),
}


def is_mended(finding: Finding) -> bool:
    """Whether a finding is of a kind that a line drawn anew can mend."""
    return _maker(finding) is not None


def candidates(state: State, finding: Finding) -> Iterator[Correction]:
    """All that could be tried about a finding, in no order; nothing where geometry cannot mend it."""
    maker = _maker(finding)
    if maker is not None:
        module, name = maker
        make: Callable[[State, Finding], Iterator[Correction]] = getattr(
            import_module(f"seamcheck.truing.{module}"), name
        )
        yield from make(state, finding)


def _maker(finding: Finding) -> tuple[str, str] | None:
    return _MAKERS.get(f"{finding.check}/{finding.code}") or _MAKERS.get(finding.check)
