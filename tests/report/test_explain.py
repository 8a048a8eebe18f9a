"""What `explain` tells of every check that there is: the gate that no check stays without its words."""

import re
import tomllib

import pytest

from seamcheck.amounts import Unit, length
from seamcheck.config.plan_file import parse_plan
from seamcheck.config.settings import Settings, parse_settings
from seamcheck.engine.plugins import load
from seamcheck.engine.report_format import RenderOptions
from seamcheck.report.explain.checks import FAMILIES, explanation, overview

SHOP = Settings()
REGISTRY = load(SHOP, checks_only=True)
OPTIONS = RenderOptions(width=100)


def flat(text: str) -> str:
    return " ".join(text.split())


def explained(check, code=None, settings=SHOP) -> str:
    return explanation(check, code, REGISTRY, settings, OPTIONS)


def snippets(text: str) -> list[str]:
    """The parts that are set in to be copied."""
    return [
        "\n".join(line.strip() for line in part.splitlines()) for part in re.findall(r"(?:^    .*\n?)+", text, re.M)
    ]


@pytest.fixture(params=REGISTRY.checks, ids=lambda check: check.name)
def check(request):
    return request.param


def test_a_check_is_explained_whole(check):
    text = flat(explained(check))
    assert f"Holds when {check.meaning}" in text
    for words in (f"Why: {check.why}", f"Do: {check.remedy}", f"Source: {check.source}"):
        assert flat(words) in text
    for code in check.codes:
        assert f"{check.name}/{code.name}: {code.meaning}" in text
    assert f"{check.family}: {FAMILIES[check.family].title}" in text


def test_every_measure_is_told_with_its_source(check):
    text = flat(explained(check))
    measured = [code for code in check.codes if check.measures(code)]
    assert ("Tolerance" in text) == bool(measured)
    assert ("Severity" in text) == (len(measured) < len(check.codes))
    assert "by default" in text


def test_a_code_is_explained_alone(check):
    for code in check.codes:
        text = explained(check, code.name)
        assert f'check = "{check.name}/{code.name}"' in text
        for other in check.codes:
            assert other is code or f"{check.name}/{other.name}:" not in text


def test_what_can_be_copied_is_right(check, tmp_path):
    for code in (None, *(one.name for one in check.codes)):
        of_shop, of_plan = (part for part in snippets(explained(check, code)) if "[" in part)
        settings = parse_settings(of_shop, tmp_path / "seamcheck.toml")
        settings.validate_checks({check.name: {one.name: check.measures(one) for one in check.codes}})
        (entry,) = parse_plan("format = 1\n" + of_plan).accepted
        assert (entry.check, entry.why) == (check.name, "REASON")
        assert tomllib.loads(of_shop)


def test_what_the_shop_sets_is_told_with_its_file():
    settings = Settings(path="shop.toml", tolerances={"seam-length": 3.2}, severities={"notch-match/count": "off"})
    by_name = {check.name: check for check in REGISTRY.checks}
    assert "3.2 mm (1/8 in), set by the shop in shop.toml" in flat(
        explained(by_name["seam-length"], settings=settings)
    )
    notches = flat(explained(by_name["notch-match"], settings=settings))
    assert "3.2 mm (1/8 in), set by the shop in shop.toml" in notches  # it follows the seam's
    assert "Severity of notch-match/count: turned off, set by the shop in shop.toml" in notches


def test_the_list_has_every_check_once_under_its_family():
    text = overview(REGISTRY, SHOP, OPTIONS)
    for check in REGISTRY.checks:
        assert len(re.findall(rf"^  {check.name} ", text, re.MULTILINE)) == 1
        heads = re.findall(r"^([a-z]+): ", text[: text.index(f"\n  {check.name} ")], re.MULTILINE)
        assert heads[-1] == check.family


def test_the_list_tells_what_every_check_holds_and_within_what(check):
    (line,) = re.findall(rf"^  {check.name} .*(?:\n {{5}}.*)*", overview(REGISTRY, SHOP, OPTIONS), re.MULTILINE)
    meaning, _, tolerance = flat(line).removeprefix(check.name).strip().partition(" [")
    assert meaning == check.meaning
    measures = [code for code in check.codes if check.measures(code)]
    assert bool(tolerance) == bool(measures)
    if check.tolerance is not None:
        told = f"{check.tolerance:.1f}°" if check.unit is Unit.ANGLE else length(check.tolerance)
        assert told in tolerance


def test_every_family_has_its_place():
    assert {check.family for check in REGISTRY.checks} <= FAMILIES.keys()
