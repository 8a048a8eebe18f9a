"""Lots of composed garments to train on: each some patterns joined to one graph that stays on the device.

All lots have one shape, whatever is in them (`ROOM`): what is short of it is filled up with things that belong to no garment,
so that a step is the same work each time and is recorded once. What is left out of a garment by chance (its words, what a
person has said) is left out on the device, each time anew.
"""

from __future__ import annotations

import collections
import multiprocessing
import pickle
from collections.abc import Collection, Iterable, Iterator, Sequence
from multiprocessing.pool import AsyncResult
from pathlib import Path
from typing import Any

import numpy as np
import torch
from pairing_examples import Example
from torch import Tensor

from seamcheck.pairing.features import SIDE, Table
from seamcheck.pairing.names import QUALITIES

LOT = 40000  # candidates in a step
ROOM = {
    "seam": LOT, "side": 12000, "line": 2400, "piece": 900, "group": 9000, "graph": 300,
    "parts": 28000, "wants": 200_000, "closing": 700_000, "joined": 160_000,
}  # fmt: skip
SPARE = 64  # of each thing as many belong to no garment: what fills a lot is spread over them
ANSWERED = 0.3  # share of garments of which something is known
MOST_ANSWERS = 4
SIMPLE = 0.3  # share of garments also told as at first look: without rows, with all that is hopeless
UNTOLD = 0.12  # share of garments of which nobody says the words, the copies, or the grain
OF_WORDS = 1 + 2 * len(QUALITIES)  # the last columns of what is measured of candidates
WORD_SIDES = [SIDE.index(name) for name in ("trousers", "top", "ribbed")]
SILENT = SIDE.index("silent")
OTHER_SIDES = (
    [SIDE.index(name) for name in ("copies", "copies-known", "paired", "on-fold")],
    [SIDE.index(name) for name in ("slant", "slant-known", "level", "level-known")],
)

FILES = 24  # files that are joined at once
MEASURED = 16  # lots by which what is measured is scaled
JUDGED = 50  # one of so many garments is not learned from
SEEN, HELD, APART = "seen", "held", "apart"

Graph = dict[str, Any]


class Told:
    """A garment as it is told: the table of some of its candidates, and what is right."""

    def __init__(self, one: Example, kept: np.ndarray) -> None:
        """Take the candidates that are kept (M)."""
        self.table: Table = one.table.only(kept)
        self.labels, self.layers = one.labels[kept], one.layers
        t = self.table
        self.size = {
            "seam": len(t.first), "side": len(t.sides), "line": len(t.piece), "piece": int(t.piece.max()) + 1,
            "group": int(t.between.max()) + 2, "graph": 1, "parts": len(t.parts), "wants": len(t.wants),
            "closing": len(t.closing), "joined": len(t.joined),
        }  # fmt: skip


def told(examples: Iterable[Example], rng: np.random.Generator) -> Iterator[Told]:
    """Garments as they are told after a first look, and some of them also at first look."""
    for one in examples:
        ways = [one.hopeful]
        if rng.random() < SIMPLE:
            ways.append(np.arange(len(one.labels)) < one.simple)
        yield from (Told(one, kept) for kept in ways if kept.any())


def lots(garments: Iterable[Told]) -> Iterator[list[Told]]:
    """As many garments together as there is room for; one that has no room alone is left out."""
    lot: list[Told] = []
    used: collections.Counter[str] = collections.Counter()
    for one in garments:
        if any(one.size[name] + SPARE > room for name, room in ROOM.items()):
            continue
        if any(used[name] + one.size[name] + SPARE > room for name, room in ROOM.items()):
            yield lot
            lot, used = [], collections.Counter()
        lot.append(one)
        used.update(one.size)
    if lot:
        yield lot


def joined(garments: Sequence[Told]) -> Graph:
    """Some garments as one graph of arrays, filled up to the room of a lot."""
    at: collections.Counter[str] = collections.Counter()
    found: dict[str, list[np.ndarray]] = collections.defaultdict(list)
    for one in garments:
        t, size = one.table, one.size
        parts = {
            "sides": t.sides, "words": t.words, "ends": t.ends, "seams": t.seams, "turned": t.turned,
            "first": t.first + at["side"], "second": t.second + at["side"], "whole": t.whole + at["side"],
            "beside": np.where(t.beside < 0, -1, t.beside + at["line"]),
            "before": t.before + at["line"], "after": t.after + at["line"], "piece": t.piece + at["piece"],
            "parts": np.add(t.parts, (at["side"], at["line"])), "wants": np.add(t.wants, (at["seam"], at["line"])),
            "closing": np.add(t.closing, (2 * at["seam"], at["seam"])), "joined": t.joined + at["seam"],
            "between": t.between + at["group"], "graph": np.full(size["line"], at["graph"]),
            "graph_of_side": np.full(size["side"], at["graph"]), "graph_of_seam": np.full(size["seam"], at["graph"]),
            "labels": one.labels, "layers": one.layers,
        }  # fmt: skip
        for name, values in parts.items():
            found[name].append(values)
        at.update(size)
    whole = {name: _filled(name, np.concatenate(values)) for name, values in found.items()}
    counts = {"graphs": ROOM["graph"], "pieces": ROOM["piece"], "groups": ROOM["group"]}
    short = {"f": np.float32, "b": np.bool_}
    arrays = {name: values.astype(short.get(values.dtype.kind, np.int32)) for name, values in whole.items()}
    return counts | {"size": np.array(float(len(garments)), dtype=np.float32)} | arrays


_OF = {  # what there is one row of each for, and what its columns are numbers of, if they are
    "sides": ("side", ()), "words": ("side", ()), "ends": ("side", ()), "beside": ("side", (None, None)),
    "graph_of_side": ("side", ("graph",)), "seams": ("seam", ()), "turned": ("seam", ()), "first": ("seam", ("side",)),
    "second": ("seam", ("side",)), "between": ("seam", ("group", "group")), "graph_of_seam": ("seam", ("graph",)),
    "labels": ("seam", ()), "whole": ("line", ("side",)), "before": ("line", ("line",)),
    "after": ("line", ("line",)), "piece": ("line", ("piece",)), "graph": ("line", ("graph",)), "layers": ("line", ()),
    "parts": ("parts", ("side", "line")), "wants": ("wants", ("seam", "line")),
    "closing": ("closing", ("end", "seam")), "joined": ("joined", ("seam", "seam")),
}  # fmt: skip


def _filled(name: str, values: np.ndarray) -> np.ndarray:
    """Rows up to the room: noughts, and numbers of things that belong to no garment, each in its turn."""
    of, columns = _OF[name]
    missing = ROOM[of] - len(values)
    filler = np.zeros((missing, *values.shape[1:]), dtype=values.dtype)
    turn = 1 + np.arange(missing) % SPARE
    for column, kind in enumerate(columns):
        at = filler if filler.ndim == 1 else filler[:, column]
        last = 2 * ROOM["seam"] if kind == "end" else 0 if kind is None else ROOM[kind]
        at[:] = -1 if kind is None else last - turn
    return np.concatenate([values, filler])


def packed(what: tuple[Sequence[Path], Collection[str], int]) -> list[tuple[str, Graph]]:
    """The garments of some files as lots: those to learn from, those of families that are held back, and some to judge by."""
    paths, held, seed = what
    rng = np.random.default_rng(seed)
    parts: dict[str, list[Example]] = {SEEN: [], HELD: [], APART: []}
    for path in paths:
        for one in pickle.loads(path.read_bytes()):
            parts[HELD if one.family in held else APART if int(one.name) % JUDGED == 0 else SEEN].append(one)
    return [(part, joined(lot)) for part, own in parts.items() for lot in lots(told(own, rng))]


class Stream:
    """All lots of a folder on the device, more of them as files come; other processes join them."""

    def __init__(self, folder: Path, held: Collection[str], device: str, jobs: int) -> None:
        """Look for files from now on."""
        self.folder, self.held, self.device = folder, held, device
        self.pool = multiprocessing.get_context("spawn").Pool(jobs)
        self.taken: set[Path] = set()
        self.waiting: list[AsyncResult] = []
        self.lots: dict[str, list[Graph]] = {SEEN: [], HELD: [], APART: []}

    def more(self, *, wait: bool = False) -> None:
        """Take in what has come; `wait` for all that is there."""
        new = sorted(set(self.folder.glob("lot-*.pickle")) - self.taken)
        for at in range(0, len(new), FILES):
            some = new[at : at + FILES]
            if wait or len(some) == FILES:
                self.taken.update(some)
                self.waiting.append(self.pool.apply_async(packed, ((some, self.held, len(self.taken)),)))
        for one in list(self.waiting):
            if wait or one.ready():
                for part, lot in one.get():
                    self.lots[part].append(on_device(lot, self.device))
                self.waiting.remove(one)

    def rows(self, name: str) -> Tensor:
        """All that is measured of sides, of their ends or of candidates, in the lots that are there."""
        of = "graph_of_seam" if name == "seams" else "graph_of_side"
        return torch.cat([lot[name][real(lot, of)] for lot in self.lots[SEEN][:MEASURED]])


def real(graph: Graph, of: str) -> Tensor:
    """Which rows belong to a garment, by the column that tells of which."""
    return graph[of] < graph["graphs"] - SPARE


def on_device(graph: Graph, device: str) -> Graph:
    """Tensors of a graph; how many garments, pieces and groups it has stay numbers."""
    return {
        name: values if isinstance(values, int) else torch.as_tensor(values).to(device)
        for name, values in graph.items()
    }


def as_told(graph: Graph) -> Graph:
    """A lot with all that is told of its garments, of which a person has said nothing."""
    t = {name: x.long() if isinstance(x, Tensor) and x.dtype == torch.int32 else x for name, x in graph.items()}
    return t | {"known": torch.full_like(t["labels"], -1, dtype=torch.int64)}


def left_out(graph: Graph) -> Graph:
    """A lot with some things left out of some of its garments; `known` (M) is what a person has said of candidates: 1, 0, or -1 nothing."""
    t = as_told(graph)
    device, graphs = t["labels"].device, t["graphs"]

    def drawn(count: int) -> Tensor:
        return torch.rand(count, device=device)

    def told_of(share: float) -> Tensor:
        return (drawn(graphs) >= share).float()

    sides = t["sides"].clone()

    def muted(columns: Sequence[int], kept: Tensor) -> None:
        for column in columns:  # by slices: a list of columns would have to be sent to the device
            sides[:, column] = sides[:, column] * kept[t["graph_of_side"]]

    for columns in OTHER_SIDES:
        muted(columns, told_of(UNTOLD))
    worded = told_of(UNTOLD)
    muted(WORD_SIDES, worded)
    of_side, of_seam = worded[t["graph_of_side"], None], worded[t["graph_of_seam"], None]
    sides[:, SILENT] = torch.maximum(sides[:, SILENT], 1.0 - of_side[:, 0])
    seams = torch.cat([t["seams"][:, :-OF_WORDS], t["seams"][:, -OF_WORDS:] * of_seam], 1)
    lines = torch.zeros(graphs, device=device).index_add_(0, t["graph"], torch.ones(len(t["graph"]), device=device))
    share = (1.0 + (drawn(graphs) * MOST_ANSWERS).floor()) / lines.clamp(min=1.0) * (drawn(graphs) < ANSWERED)
    answered = (drawn(len(t["graph"])) < share[t["graph"]]).float()
    candidate, wanted = t["wants"].T
    heard = torch.zeros(len(t["labels"]), device=device).index_add_(0, candidate, answered[wanted])
    known = torch.where(heard > 0.0, t["labels"].long(), -1)
    return t | {"sides": sides, "words": t["words"] * of_side, "seams": seams, "known": known}
