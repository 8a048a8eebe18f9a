"""What tests share is what each would get alone."""

from pathlib import Path

import judging

from seamcheck.config.settings import Settings
from seamcheck.engine import plugins
from seamcheck.engine.read import Request, read_whole

DEMO = Path(__file__).parent.parent / "fixtures" / "ferryhand"


def read(path, **asked):
    return read_whole(str(path), Request(**asked), plugins.load(Settings()), Settings())


def test_a_file_is_read_once_and_as_the_program_reads_it(monkeypatch):
    path = DEMO / "ferryhand.svg"
    alone = read(path)
    judging.read_once(monkeypatch)
    first, again = read(path), read(path)
    assert first.drawing is again.drawing
    assert first.sheet is again.sheet
    assert first.pattern is again.pattern
    assert alone.pattern is not first.pattern
    assert alone.pattern.ledger == first.pattern.ledger
    assert [piece.name for piece in alone.pattern.pieces] == [piece.name for piece in first.pattern.pieces]
    for one, other in zip(alone.pattern.pieces, first.pattern.pieces, strict=True):
        assert (one.outline.segments == other.outline.segments).all()


def test_what_is_asked_otherwise_or_lies_elsewhere_is_read_otherwise(monkeypatch, tmp_path):
    judging.read_once(monkeypatch)
    path = DEMO / "ferryhand-nest.dxf"
    assert read(path, sizes=("40",)).pattern.sizes == ("40",)
    assert len(read(path).pattern.sizes) == 5
    assert read(path, plan=DEMO / "ferryhand-cad.seams.toml").plan != read(path).plan
    copy = tmp_path / "ferryhand.svg"
    copy.write_bytes((DEMO / "ferryhand.svg").read_bytes())
    assert read(copy).drawing is not read(copy).drawing
