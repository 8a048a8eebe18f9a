"""The way from a path and the shop's settings to a reader, or to one sentence."""

from dataclasses import fields

import pytest

from seamcheck.config.limits import Limits
from seamcheck.config.settings import Settings, load_settings, parse_settings
from seamcheck.engine import plugins
from seamcheck.engine.judge import check_file
from seamcheck.engine.read import Request, read
from seamcheck.errors import InputError
from seamcheck.reading import read_drawing

SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="400mm" viewBox="0 0 400 400">{}</svg>'
PANEL = '<path id="Front" d="M10,10 h200 v300 h-200 z"/>'
DXF = "0\nSECTION\n2\nENTITIES\n0\nLINE\n8\n0\n10\n0\n20\n0\n11\n100\n21\n0\n0\nENDSEC\n0\nEOF\n"


@pytest.fixture(scope="module")
def registry():
    return plugins.load(Settings())


@pytest.mark.parametrize(
    ("limit", "name", "content"),
    [
        ("bytes", "a.svg", SVG.format(PANEL)),
        ("elements", "a.svg", SVG.format(PANEL * 3)),
        ("depth", "a.svg", SVG.format("<g><g>" + PANEL + "</g></g>")),
        ("expanded", "a.svg", SVG.format(PANEL + '<use href="#Front"/>' * 3)),
        ("commands", "a.svg", SVG.format(PANEL)),
        ("attribute", "a.svg", SVG.format(PANEL)),
        ("tags", "a.dxf", DXF),
    ],
)
def test_a_limit_of_the_settings_is_the_one_that_the_error_names(tmp_path, registry, limit, name, content):
    (tmp_path / name).write_text(content)
    (tmp_path / "seamcheck.toml").write_text(f"[limits]\n{limit} = 2\n")
    path = str(tmp_path / name)
    (failure,) = check_file(path, Request(), registry, load_settings(tmp_path)).failures
    assert failure.startswith(f"{path}")
    assert f"set limits.{limit} to" in failure
    wide = parse_settings(f"[limits]\n{limit} = 100_000\n", tmp_path / "seamcheck.toml")
    if name.endswith(".svg"):
        assert read(path, Request(), registry, wide)[0].pieces


def test_every_limit_can_be_set(tmp_path):
    text = "[limits]\n" + "".join(f"{limit.name} = 7\n" for limit in fields(Limits))
    assert parse_settings(text, tmp_path / "seamcheck.toml").limits == Limits(*[7] * len(fields(Limits)))


def test_what_can_be_read_is_told_with_its_articles(tmp_path, registry):
    (tmp_path / "a.txt").write_text("Front and back")
    with pytest.raises(InputError) as caught:
        read_drawing(str(tmp_path / "a.txt"), None, registry.importers)
    assert str(caught.value).endswith(
        "save the pattern as a DXF drawing or a DXF of the apparel interchange or an SVG drawing"
    )
    for importer in registry.importers:
        assert importer.meaning.split()[0] in ("a", "an")
