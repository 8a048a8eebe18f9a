"""How long a 6 MB apparel nest takes to read, beside ezdxf building its document of the same file.

The nest is that of the Ferryhand trousers with its sizes repeated, each a little larger. `ezdxf.readfile` makes a
document of entities; our reader makes curves of the vertices and gives every size its corners and notches.

Run by hand: python tests/benchmarks/bench_reading.py
"""

import sys
import tempfile
import time
from pathlib import Path

import ezdxf

from seamcheck.pieces.build import build_pattern
from seamcheck.pieces.outline import assemble
from seamcheck.reading import read_drawing
from seamcheck.reading.dxf.apparel import IMPORTER

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
    """Processor time, which other programs on the machine disturb least, and what was made."""
    start = time.process_time()
    found = work()
    return time.process_time() - start, found


def marks(path):
    return read_drawing(path, None, [IMPORTER])


def pattern(path):
    drawing = marks(path)
    return build_pattern(drawing, assemble(drawing), None)


def main():
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "nest.dxf"
        path.write_text(grown(NEST.read_text(encoding="ascii"), SIZE), encoding="ascii")
        rows = []
        for _ in range(3):  # side by side, so that a busy machine is as busy for both
            theirs, document = seconds(lambda: ezdxf.readfile(path))
            blocks = sum(not block.name.startswith("*") for block in document.blocks)
            del document
            ours, drawing = seconds(lambda: marks(str(path)))
            rows.append((theirs, ours))
        theirs, ours = map(min, zip(*rows, strict=True))
        whole, found = seconds(lambda: pattern(str(path)))
        megabytes = path.stat().st_size / 1e6
        assert len(drawing.blocks) == len(found.pieces) == blocks
        sys.stdout.write(
            f"{megabytes:.1f} MB, {blocks} pieces in {len(found.sizes)} sizes\n"
            f"ezdxf.readfile                        {theirs:7.2f} s\n"
            f"seamcheck, curves, corners, notches   {ours:7.2f} s   {theirs / ours:.1f} times as fast\n"
            f"seamcheck, pieces with their edges    {whole:7.2f} s\n"
        )


if __name__ == "__main__":
    main()
