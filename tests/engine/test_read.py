"""Files of every form from the command line to the pieces: shop layers, reasons, and a ledger that adds up."""

import json
from pathlib import Path

import dxf_making as dxf
import pytest
from click.testing import CliRunner

from seamcheck.cli.main import main
from seamcheck.config.settings import Settings
from seamcheck.engine import plugins
from seamcheck.engine.read import Request, read
from seamcheck.errors import SeamcheckError

FIXTURES = Path(__file__).parents[2] / "fixtures"
SAMPLES = Path(__file__).parents[3] / "shared" / "samples"
FILES = sorted(
    path
    for folder in ("ferryhand", "lookalikes", "lookalikes/broken")
    for path in (FIXTURES / folder).iterdir()
    if path.suffix in (".svg", ".dxf")
) + sorted(path for path in SAMPLES.glob("*") if path.suffix in (".svg", ".dxf"))


SHOP = """
[layers]
sew-line = ["NET*", "11-naht"]
cut-line = ["BRUT*"]
notch = ["K?"]
grain = ["FL"]
dart = ["AB*"]
drill-hole = ["LOCH"]
dimension-or-note = ["X*"]
"""
FRONT = (0j, 200 + 0j, 200 + 300j, 0 + 300j)
NET = (10 + 10j, 190 + 10j, 190 + 290j, 10 + 290j)


def svg():
    def path(name, points, close=True):
        d = " ".join(f"{p.real},{p.imag}" for p in points)
        return f'<g id="{name}"><path d="M{d}{" z" if close else ""}" fill="none" stroke="black"/></g>'

    parts = [
        path("BRUTTO", FRONT),
        path("NETTO", NET),
        path("K1", (190 + 100j, 200 + 100j), close=False),
        path("FL", (100 + 50j, 100 + 250j), close=False),
        path("ABN", (60 + 10j, 70 + 90j, 80 + 10j), close=False),
        path("LOCH", (68 + 80j, 72 + 80j, 72 + 84j, 68 + 84j)),
        path("X9", (20 + 20j, 180 + 20j, 180 + 60j, 20 + 60j)),
    ]
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="400mm" viewBox="0 0 400 400">'
        + "".join(parts)
        + "</svg>"
    )


def cad():
    return dxf.plain(
        dxf.polyline("BRUTTO", FRONT),
        dxf.polyline("NETTO", NET),
        dxf.line("K1", 190 + 100j, 200 + 100j),
        dxf.line("FL", 100 + 50j, 100 + 250j),
        dxf.polyline("ABN", (60 + 10j, 70 + 90j, 80 + 10j), flags=0),
        dxf.point("LOCH", 70 + 82j),
        dxf.polyline("X9", (20 + 20j, 180 + 20j, 180 + 60j, 20 + 60j)),
    )


def apparel():
    return dxf.apparel(
        dxf.piece(
            "Front",
            dxf.polyline("11-naht", NET),
            dxf.point("K1", 200 + 100j),
            dxf.line("FL", 100 + 50j, 100 + 250j),
            dxf.polyline("ABN", (60 + 10j, 70 + 90j, 80 + 10j), flags=0),
            dxf.point("LOCH", 70 + 82j),
            outline=dxf.polyline("BRUTTO", FRONT),
        )
    )


def told(folder, name, content, settings=SHOP):
    (folder / name).write_text(content, encoding="utf-8")
    (folder / "seamcheck.toml").write_text(settings, encoding="utf-8")
    return CliRunner().invoke(main, ["pieces", str(folder / name), "--format", "json"])


@pytest.mark.parametrize(("name", "content"), [("a.svg", svg()), ("a.dxf", cad()), ("b.dxf", apparel())])
def test_a_shop_may_draw_on_layers_of_its_own(tmp_path, name, content):
    result = told(tmp_path, name, content)
    assert result.exit_code == 0, result.output
    (piece,) = json.loads(result.stdout)["pieces"]
    assert piece["line"] == "sew"
    assert piece["perimeter"] == pytest.approx(2 * (180 + 280))
    ((at, count, why),) = [(n["at"], n["count"], n["why"]) for edge in piece["edges"] for n in edge["notches"]]
    assert (at[0], at[1], count) == (pytest.approx(190), pytest.approx(100), 1)
    assert piece["grain"]["length"] == pytest.approx(200)
    assert len(piece["drill_holes"]) == 1
    assert piece["internal_lines"] == 1
    for reason in (why, piece["grain"]["why"], *(r for r in piece["reasons"] if r.startswith(("dart", "drill")))):
        assert "by the shop's settings" in reason
    assert any(reason.startswith("sew line") for reason in piece["reasons"])


def test_without_the_shop_s_word_its_layers_say_nothing(tmp_path):
    (piece,) = json.loads(told(tmp_path, "a.dxf", cad(), "").stdout)["pieces"]
    assert piece["grain"] is None
    assert piece["reasons"][1].startswith("sew line: the inner of two parallel lines, 10.0 mm apart")


def test_a_misspelled_role_is_one_sentence(tmp_path):
    result = told(tmp_path, "a.svg", svg(), '[layers]\nsewline = ["NET*"]\n')
    assert result.exit_code == 2
    assert 'seamcheck.toml, line 2: there is no role "sewline"; the nearest role is "sew line"' in result.stderr


@pytest.fixture(scope="module")
def registry():
    return plugins.load(Settings())


@pytest.mark.parametrize("path", FILES, ids=lambda path: f"{path.parent.name}/{path.name}")
def test_what_was_read_is_used_or_kept_aside(path, registry):
    try:
        pattern, _ = read(str(path), Request(), registry, Settings())
    except SeamcheckError:
        assert path.parent.name == "broken"
        return
    ledger = pattern.ledger
    assert ledger.read == ledger.used + sum(ledger.aside.values())
    assert ledger.read > 0
    assert min(ledger.used, *ledger.aside.values(), 0) == 0
    assert bool(ledger.used) == bool(pattern.pieces)


@pytest.mark.parametrize("name", ["ferryhand.svg", "ferryhand-cad.dxf", "ferryhand-nest.dxf"])
def test_every_mark_of_the_demo_says_why(name, registry):
    pattern, _ = read(str(FIXTURES / "ferryhand" / name), Request(), registry, Settings())
    for piece in pattern.pieces:
        kinds = {reason.what for reason in piece.reasons}
        assert {"piece", "name"} <= kinds
        assert all(notch.why for edge in piece.edges for notch in edge.notches)
        assert all(grain.why for grain in piece.grainlines)
        assert all(reason.why for reason in piece.reasons)


def test_straight_edges_of_a_splined_outline_are_drawn(registry):
    pattern, _ = read(
        str(FIXTURES / "ferryhand" / "ferryhand-nest.dxf"), Request(sizes=("40",)), registry, Settings()
    )
    sources = {edge.name: edge for edge in next(p for p in pattern.pieces if p.name == "front").edges}
    assert sources["hem"].source == "drawn curve"
    assert sources["hem"].chord_difference == pytest.approx(0, abs=1e-9)
    assert sources["crotch"].source == "spline through the curve points"
    assert sources["crotch"].chord_difference > 0
