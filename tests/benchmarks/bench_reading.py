"""How long a 6 MB apparel nest takes to read, beside ezdxf building its document of the same file.

The nest is that of the Ferryhand trousers with its sizes repeated, each a little larger. Our time goes all the way to
pieces with edges; the time of ezdxf is that of `ezdxf.readfile` alone, which finds no piece.

Run by hand: python tests/benchmarks/bench_reading.py
"""

import sys
import tempfile
import time
from pathlib import Path

import ezdxf

from seamcheck.importers import read_drawing
from seamcheck.importers.apparel_dxf import IMPORTER
from seamcheck.outline import assemble
from seamcheck.pieces import build_pattern

NEST = Path(__file__).parents[2] / "fixtures" / "ferryhand" / "ferryhand-nest.dxf"
SIZE = 6_000_000  # bytes
COORDINATES = {10, 20, 11, 21}


def pairs(text):
    lines = text.split("\n")
    return [(int(code), value) for code, value in zip(lines[:-1:2], lines[1::2], strict=False)]


def grown(text, size):
    """The nest with every block repeated, scaled and given a size of its own until it has so many bytes."""
    tags = pairs(text)
    start = next(k for k, tag in enumerate(tags) if tag == (0, "BLOCK"))
    end = next(k for k, tag in enumerate(tags) if k > start and tag == (0, "ENDSEC"))
    blocks = tags[start:end]
    share = sum(len(value) + 5 for _, value in blocks)
    more = []
    for copy in range(1, size // share):
        scale = 1 + copy / 1000
        for code, value in blocks:
            if code in COORDINATES:
                more.append((code, f"{float(value) * scale:.4f}"))
            elif (code == 1 and value.startswith("Size Name:")) or code == 2:
                more.append((code, f"{value}-{copy}"))
            else:
                more.append((code, value))
    return "".join(f"{code:>3}\n{value}\n" for code, value in [*tags[:end], *more, *tags[end:]])


def seconds(work):
    start = time.perf_counter()
    found = work()
    return time.perf_counter() - start, found


def marks(path):
    return read_drawing(path, None, [IMPORTER])


def pattern(path):
    drawing = marks(path)
    return build_pattern(drawing, assemble(drawing), None)


def main():
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "nest.dxf"
        path.write_text(grown(NEST.read_text(encoding="ascii"), SIZE), encoding="ascii")
        rows = [seconds(lambda: ezdxf.readfile(path)) for _ in range(3)]
        theirs, document = min(rows, key=lambda row: row[0])
        ours, drawing = min((seconds(lambda: marks(str(path))) for _ in range(3)), key=lambda row: row[0])
        whole, found = seconds(lambda: pattern(str(path)))
        megabytes = path.stat().st_size / 1e6
        blocks = sum(not block.name.startswith("*") for block in document.blocks)
        assert len(drawing.blocks) == len(found.pieces) == blocks
        sys.stdout.write(
            f"{megabytes:.1f} MB, {blocks} pieces in {len(found.sizes)} sizes\n"
            f"seamcheck, to marks          {ours:7.2f} s\n"
            f"ezdxf.readfile               {theirs:7.2f} s   {theirs / ours:.2f} times as long\n"
            f"seamcheck, to pieces         {whole:7.2f} s\n"
        )


if __name__ == "__main__":
    main()
