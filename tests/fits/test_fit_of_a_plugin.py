"""A fit that a plugin brings: explained, asked about and carried out as those that come with seamcheck."""

from pathlib import Path

import pytest
from carried_out import FERRYHAND
from seamcheck_house_rules import boots

from seamcheck.altering.run import alter_file
from seamcheck.config.settings import Settings
from seamcheck.engine import plugins
from seamcheck.engine.read import Request
from seamcheck.engine.report_format import RenderOptions
from seamcheck.fits.which import ranked
from seamcheck.pattern.recipe import FitStep, Recipe
from seamcheck.report.explain import explained

pytestmark = pytest.mark.usefixtures("read_once")


@pytest.fixture
def registry(tmp_path):
    file = tmp_path / "boots.py"
    text = Path(boots.__file__).read_text(encoding="utf-8")
    file.write_text(
        f"{text}\n\ndef seamcheck_register_alterations(register):\n    register(BOOTS)\n", encoding="utf-8"
    )
    return plugins.load(Settings(plugins=(str(file),)))


def test_it_is_carried_out_on_front_and_back_and_leaves_nothing(registry):
    recipe = Recipe(steps=(FitStep(piece="", fit="room-for-boots"),))
    altered = alter_file(str(FERRYHAND / "ferryhand.svg"), recipe, Request(), registry, Settings())
    (size,) = altered.sizes
    assert [finding for finding in size.truing.left.findings if finding.counts] == []
    for name in ("back", "front"):
        old, new = (state.pieces[name].edge("hem").length for state in (size.before, size.after))
        assert new - old == pytest.approx(boots.BOOTS.first, abs=1e-6)


def test_it_says_whose_it_is(registry):
    told = explained("room-for-boots", registry, Settings(), RenderOptions(width=100))
    assert "room-for-boots (a fit of the back and front, from the plugin boots)" in told
    assert "  room-for-boots  " in explained("fits", registry, Settings(), RenderOptions(width=100))


def test_it_is_asked_about_by_a_question_of_its_own(registry):
    assert ranked(registry.fits, {"rows-in": "boots"})[0].fit.name == "room-for-boots"
    assert ranked(registry.fits, {"rows-in": "shoes"})[-1].fit.name == "room-for-boots"
