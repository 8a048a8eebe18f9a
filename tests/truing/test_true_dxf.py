"""Both kinds of DXF trued from file to file: quiet when read again, and nothing touched but what was redrawn."""

import sys
from collections import Counter
from pathlib import Path

import ezdxf
import pytest

from seamcheck.config.settings import Settings
from seamcheck.engine import plugins
from seamcheck.engine.judge import check_file
from seamcheck.engine.read import Request
from seamcheck.errors import InputError
from seamcheck.truing.dxf_pairs import Pairs
from seamcheck.truing.propose import Wishes
from seamcheck.truing.run import true_file
from seamcheck.truing.writing import write_trued

pytestmark = pytest.mark.usefixtures("read_once")

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "fixtures" / "ferryhand"
NEST_PLAN = DEMO / "ferryhand-nest.seams.toml"


@pytest.fixture(scope="module")
def registry():
    return plugins.load(Settings())


def trued_file(path, plan, registry, folder):
    request = Request(plan=plan)
    trued = true_file(str(path), request, registry, Settings(), Wishes())
    out = folder / f"trued{path.suffix}"
    write_trued(trued, str(out), request, registry, Settings(), force=False)
    result = check_file(str(out), request, registry, Settings())
    return trued, out, result


def lines_of(path):
    return Counter(path.read_bytes().split(b"\n"))


def test_a_cad_drawing_keeps_all_but_the_layer_of_replaced_lines(registry, tmp_path):
    path = DEMO / "altered" / "full-seat-left-cad.dxf"
    _, out, result = trued_file(path, DEMO / "ferryhand-cad.seams.toml", registry, tmp_path)
    assert result.findings == ()
    assert result.failures == ()
    gone = lines_of(path) - lines_of(out)
    # The layer of each replaced entity, the next free handle, the number of layers and of line types.
    assert set(gone) <= {b"SEW", b"NOTCH", b"161", b"  6", b"6", b"3", b"  3"}
    document = ezdxf.readfile(out)
    assert {"BEFORE_TRUING", "SEW-TRUED"} <= {layer.dxf.name for layer in document.layers}
    assert not document.audit().errors
    thin, heavy = document.layers.get("BEFORE_TRUING").dxf, document.layers.get("SEW-TRUED").dxf
    assert heavy.lineweight >= 2 * thin.lineweight > 0
    assert heavy.linetype == "Continuous"
    dashes = document.linetypes.get(thin.linetype).pattern_tags.tags
    assert [value for code, value in dashes if code == 49] == [3.0, -2.0]
    before, after = ezdxf.readfile(path).modelspace(), document.modelspace()
    old = len(after.query('*[layer=="BEFORE_TRUING"]'))
    new = len(after.query('*[layer=="SEW-TRUED"]')) + len(after.query('*[layer=="NOTCH-TRUED"]'))
    assert old > 0
    assert len(after) == len(before) + new


def test_a_nest_is_trued_size_by_size(registry, tmp_path, monkeypatch):
    sys.path.insert(0, str(ROOT / "fixtures"))
    try:
        from drafting import alterations
        from drafting.ferryhand import SAMPLE, SIZES, STYLE, ferryhand
        from drafting.write_apparel_dxf import apparel_dxf
    finally:
        sys.path.remove(str(ROOT / "fixtures"))
    sizes = {}
    for size in SIZES[:2] if SAMPLE in SIZES[:2] else (SIZES[0], SAMPLE):
        monkeypatch.setattr(alterations, "SAMPLE", size)
        changed = alterations.full_seat().piece
        sizes[size] = [changed if piece.key == "back" else piece for piece in ferryhand(size)]
    path = tmp_path / "nest.dxf"
    path.write_text(apparel_dxf(STYLE, sizes, SAMPLE), encoding="utf-8")
    trued, out, result = trued_file(path, NEST_PLAN, registry, tmp_path)
    assert {change.size for change in trued.changes} == set(sizes)
    assert result.failures == ()
    assert not [finding for finding in result.findings if finding.check == "edge-blend"]
    before, after = (Pairs(one.read_bytes(), str(one)) for one in (path, out))
    for code, kind in ((2, "BLOCK"), (1, "TEXT"), (2, "INSERT")):
        names = [[r.text(code) for r in pairs.records if r.kind == kind] for pairs in (before, after)]
        assert names[0] == names[1]
    kinds = [Counter((r.kind, r.text(8)) for r in pairs.records) for pairs in (before, after)]
    assert kinds[1]["POLYLINE", "BEFORE_TRUING"] == len(sizes)
    # Old lines are told from new without their colours: their layer is dashed. Such a file knows no weights (AC1009).
    document = ezdxf.readfile(out)
    assert not document.audit().errors
    layer = document.layers.get("BEFORE_TRUING").dxf
    assert [value for code, value in document.linetypes.get(layer.linetype).pattern_tags.tags if code == 49] == [
        3.0,
        -2.0,
    ]
    old = [one for block in document.blocks for one in block.query('POLYLINE[layer=="BEFORE_TRUING"]')]
    assert len(old) == len(sizes)
    assert {one.dxf.linetype for one in old} == {"BYLAYER"}
    # The corner that was only a kink is a curve point now; nothing else is gone.
    assert kinds[0] - kinds[1] == Counter({("POINT", "2"): 1})


@pytest.mark.parametrize("version", ["R12", "R2000"])
def test_an_apparel_file_that_has_tables_tells_old_from_new_in_them(version, registry, tmp_path):
    """Written by ezdxf from the demo's, which has no tables."""
    source = ezdxf.readfile(DEMO / "altered" / "full-seat-left-apparel.dxf")
    source.dxfversion = version
    path = tmp_path / "tables.dxf"
    source.saveas(path)
    _, out, result = trued_file(path, NEST_PLAN, registry, tmp_path)
    assert result.failures == ()
    document = ezdxf.readfile(out)
    assert not document.audit().errors
    layer = document.layers.get("BEFORE_TRUING").dxf
    assert layer.linetype == "BEFORE_TRUING"
    if version == "R2000":  # line weights came with it (DXF reference, group code 370)
        assert layer.lineweight == 13
    assert out.read_text(encoding="utf-8", errors="replace").count("\nTABLES\n") == 1


def test_lines_that_are_not_changed_keep_their_bytes():
    data = (DEMO / "ferryhand-nest.dxf").read_bytes()
    assert Pairs(data, "nest").data() == data
    windows = data.replace(b"\n", b"\r\n")
    assert Pairs(windows, "nest").data() == windows


def test_a_binary_drawing_is_not_written():
    with pytest.raises(InputError, match="save it as a text DXF"):
        Pairs(b"AutoCAD Binary DXF\r\n\x1a\x00", "x.dxf")
