"""Lots of composed garments to train on: each some patterns joined to one graph that stays on the device.

What is left out of a garment by chance (its words, its rows, what a person has said) is left out there, each time anew.
"""

from __future__ import annotations

import collections
import multiprocessing
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
import torch
from pairing_examples import Example
from torch import Tensor

from seamcheck.pairing.features import SIDE
from seamcheck.pairing.names import QUALITIES

LOT = 40000  # candidates in a step
ANSWERED = 0.3  # share of garments of which something is known
MOST_ANSWERS = 4
SIMPLE = 0.3  # share of garments that are told as they are at first look: without rows, with all that is hopeless
UNTOLD = 0.12  # share of garments of which nobody says the words, the copies, or the grain
OF_WORDS = 1 + 2 * len(QUALITIES)  # the last columns of what is measured of candidates
WORD_SIDES = [SIDE.index(name) for name in ("trousers", "top", "ribbed")]
SILENT = SIDE.index("silent")
OTHER_SIDES = (
    [SIDE.index(name) for name in ("copies", "copies-known", "paired", "on-fold")],
    [SIDE.index(name) for name in ("slant", "slant-known", "level", "level-known")],
)

Arrays = dict[str, Any]
Graph = dict[str, Any]
_shared: Sequence[Example] = ()  # what the processes that join lots were forked with


def lots(examples: Sequence[Example], rng: np.random.Generator | None) -> Iterator[list[int]]:
    """Numbers of examples, as many together as make a step; in their order, or in one of chance."""
    lot: list[int] = []
    size = 0
    for k in range(len(examples)) if rng is None else rng.permutation(len(examples)).tolist():
        count = len(examples[k].labels)
        if lot and size + count > LOT:
            yield lot
            lot, size = [], 0
        lot.append(k)
        size += count
    yield lot


def joined(examples: Sequence[Example]) -> Arrays:
    """Some patterns as one graph."""
    at: collections.Counter[str] = collections.Counter()
    found: dict[str, list[np.ndarray]] = collections.defaultdict(list)
    for number, one in enumerate(examples):
        t = one.table
        side, line, seam, piece, group = (at[name] for name in ("side", "line", "seam", "piece", "group"))
        count = len(one.labels)
        parts = {
            "sides": t.sides, "words": t.words, "ends": t.ends, "seams": t.seams, "turned": t.turned,
            "first": t.first + side, "second": t.second + side, "whole": t.whole + side,
            "beside": np.where(t.beside < 0, -1, t.beside + line), "before": t.before + line, "after": t.after + line,
            "piece": t.piece + piece, "parts": t.parts + np.array([side, line]), "wants": t.wants + np.array([seam, line]),
            "closing": t.closing + np.array([2 * seam, seam]), "joined": t.joined + seam, "between": t.between + group,
            "graph": np.full(len(t.piece), number), "graph_of_side": np.full(len(t.sides), number),
            "graph_of_seam": np.full(count, number), "labels": one.labels, "layers": one.layers,
            "simple": np.arange(count) < one.simple, "hopeful": one.hopeful,
        }  # fmt: skip
        for name, values in parts.items():
            found[name].append(values)
        at.update(side=len(t.sides), line=len(t.piece), seam=count, piece=int(t.piece.max()) + 1)
        at["group"] += int(t.between.max()) + 2
    whole = {name: np.concatenate(parts) for name, parts in found.items()}
    short = {"f": np.float32, "b": np.bool_}
    counts = {"graphs": len(examples), "pieces": at["piece"], "groups": at["group"]}
    return counts | {name: values.astype(short.get(values.dtype.kind, np.int32)) for name, values in whole.items()}


def _joined_shared(lot: list[int]) -> Arrays:
    return joined([_shared[k] for k in lot])


def on_device(arrays: Arrays, device: str) -> Graph:
    """Tensors of a graph; how many garments, pieces and groups it has stay numbers."""
    result: Graph = {}
    for name, values in arrays.items():
        if isinstance(values, int):
            result[name] = values
        else:
            x = torch.as_tensor(values).to(device)
            result[name] = x.to(torch.int64) if x.dtype == torch.int32 else x
    return result


def placed(
    examples: Sequence[Example], rng: np.random.Generator, device: str, *, groupings: int, jobs: int
) -> list[list[Graph]]:
    """All examples on the device, put together to lots in some ways."""
    global _shared
    _shared = examples
    wanted = [list(lots(examples, rng)) for _ in range(groupings)]
    with multiprocessing.get_context("fork").Pool(jobs) as pool:
        return [[on_device(one, device) for one in pool.imap(_joined_shared, each)] for each in wanted]


def left_out(t: Graph, chance: torch.Generator) -> Graph:
    """A lot with some things left out of some of its garments; `known` (M) is what a person has said of candidates: 1, 0, or -1 nothing."""
    device, graphs = t["labels"].device, t["graphs"]

    def drawn(count: int) -> Tensor:
        return torch.rand(count, generator=chance, device=device)

    result = dict(t)
    sides = t["sides"].clone()
    for columns in OTHER_SIDES:
        sides[:, columns] *= (drawn(graphs) >= UNTOLD).float()[t["graph_of_side"], None]
    worded = (drawn(graphs) >= UNTOLD).float()
    of_side, of_seam = worded[t["graph_of_side"], None], worded[t["graph_of_seam"], None]
    sides[:, WORD_SIDES] *= of_side
    sides[:, SILENT] = torch.maximum(sides[:, SILENT], 1.0 - of_side[:, 0])
    seams = torch.cat([t["seams"][:, :-OF_WORDS], t["seams"][:, -OF_WORDS:] * of_seam], 1)
    result |= {"sides": sides, "words": t["words"] * of_side, "seams": seams}
    lines = torch.bincount(t["graph"], minlength=graphs).clamp(min=1)
    share = (1.0 + (drawn(graphs) * MOST_ANSWERS).floor()) / lines * (drawn(graphs) < ANSWERED)
    answered = drawn(len(t["graph"])) < share[t["graph"]]
    candidate = t["wants"][answered[t["wants"][:, 1]], 0]
    known = torch.full_like(t["labels"], -1, dtype=torch.int64)
    known[candidate] = t["labels"][candidate].long()
    first_look = (drawn(graphs) < SIMPLE)[t["graph_of_seam"]]
    return only(result | {"known": known}, torch.where(first_look, t["simple"], t["hopeful"]))


def only(t: Graph, kept: Tensor) -> Graph:
    """A lot without the candidates that are not kept."""
    number = kept.long().cumsum(0) - 1
    each = ("seams", "turned", "first", "second", "between", "labels", "known")
    wants = t["wants"][kept[t["wants"][:, 0]]]
    wants = torch.stack([number[wants[:, 0]], wants[:, 1]], 1)
    own, other = t["closing"][:, 0] // 2, t["closing"][:, 1]
    both = kept[own] & kept[other]
    closing = torch.stack([2 * number[own[both]] + t["closing"][both, 0] % 2, number[other[both]]], 1)
    rows = number[t["joined"][kept[t["joined"]].all(1)]]
    return {**t, **{name: t[name][kept] for name in each}, "wants": wants, "closing": closing, "joined": rows}
