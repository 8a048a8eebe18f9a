"""At which end of a seam a correction is made first: where the alteration was, if that is known."""

import sys
from pathlib import Path

import pytest
from skirt_making import Sheet

from seamcheck.config.plan_file import format_plan
from seamcheck.config.settings import Settings
from seamcheck.engine import plugins
from seamcheck.engine.read import Request
from seamcheck.truing.propose import Wishes
from seamcheck.truing.run import true_file

sys.path.insert(0, str(Path(__file__).parents[1] / "checks"))

from faulty_skirts import GOOD, lengthened

SETTINGS = Settings()
REGISTRY = plugins.load(SETTINGS)


def first_offer(sheet: Sheet, folder, *, against: bool) -> str:
    """What is proposed first for the side seam."""
    old, new = folder / "old.svg", folder / "new.svg"
    old.write_text(Sheet.of(GOOD).svg, encoding="utf-8")
    new.write_text(sheet.svg, encoding="utf-8")
    plan = folder / "skirt.seams.toml"
    plan.write_text(format_plan(GOOD.plan), encoding="utf-8")
    request = Request(plan=plan)
    (size,) = true_file(str(new), request, REGISTRY, SETTINGS, Wishes(), str(old) if against else None).sizes
    return next(one.alternatives[0].what for one in size.proposals if one.finding.check == "seam-length")


@pytest.mark.parametrize("amount", [2.5, 4.0, -3.0, -4.0])
@pytest.mark.parametrize("against", [False, True])
def test_what_was_let_down_at_the_hem_is_made_good_there(amount, against, tmp_path):
    """The lowest stretch of the side differs; against the earlier file the front alone gives way."""
    what = first_offer(Sheet.of(lengthened(GOOD, amount)), tmp_path, against=against)
    assert " at side-hem: " in what
    if against:
        assert what.startswith(f"{'shorten' if amount > 0 else 'lengthen'} front.side")
