"""Learn how to score candidates from composed garments, and write `seamcheck/pairing/weights.npz`.

    python tests/benchmarks/train_pairing.py make FOLDER --count 20000 --jobs 16             draft, read and measure garments
    python tests/benchmarks/train_pairing.py train FOLDER --seconds 180 --device cuda        learn from them, and write the weights
    python tests/benchmarks/train_pairing.py train FOLDER --begin WEIGHTS --rate 4e-4        learn on from weights that are there
    python tests/benchmarks/train_pairing.py mean WEIGHTS WEIGHTS                            write the mean of weights that were learned on
    python tests/benchmarks/train_pairing.py judge --count 200 --start 900000                judge them by garments of other seeds
    python tests/benchmarks/train_pairing.py sets                                            judge them by the drafted sets

Needs the extra `train` (torch). The weights name the commit and the seeds that they come from. Rows grow along
what the network thinks of single lines: `make` uses the weights that are there, or, where what is measured has changed and they
fit no longer, none with `--simple`. `train` takes in what `make` writes meanwhile, and tells what garments cost that are not
learned from (`apart`, `held`): where that grows again, there are too few garments for so long.
"""

from __future__ import annotations

import argparse
import collections
import copy
import gc
import json
import math
import multiprocessing
import os
import pickle
import subprocess
import sys
import time
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

os.environ.setdefault("OMP_NUM_THREADS", "1")
ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT / "fixtures"), str(Path(__file__).parent)]

import numpy as np  # noqa: E402
from drafted import drafted  # noqa: E402
from pairing_examples import Example, Tally, composed_example, example, scored  # noqa: E402

from seamcheck.pairing.choose import choose  # noqa: E402
from seamcheck.pairing.features import ENDS, SIDE, WORDS  # noqa: E402

WEIGHTS = ROOT / "seamcheck" / "pairing" / "weights.npz"
BLOCK = 8  # garments in a file
HIGHEST = 1.5e-3  # rate of learning
DROP = 0.05  # share of what is heard that is left out by chance
STEADILY = 0.999  # share of the weights so far in their running mean, which is what is kept

SEED = 1
SOON = 0.03  # share of the time after which is learned fastest
HELD_UNTIL = 0.6  # share of the time in which families that are held back are not learned from
TELL_EACH = 30.0  # seconds
MOST_JUDGED = 8  # lots by which is told how it goes


def tell(*words: object) -> None:
    sys.stdout.write(" ".join(map(str, words)) + "\n")
    sys.stdout.flush()


# Drafting


def _made(what: tuple[Path, int, int, bool]) -> collections.Counter[str]:
    """Make the garments of some seeds as one lot; how many there are, and why some were left out."""
    folder, start, count, rows = what
    said: collections.Counter[str] = collections.Counter()
    kept = []
    gc.disable()  # what is made refers to itself: it is let go of all at once, after the lot
    for seed in range(start, start + count):
        try:
            one = composed_example(seed, rows=rows)
        except Exception as error:  # a garment that cannot be drafted or read so is left out, and counted
            said[f"{type(error).__name__}: {str(error)[:70]}"] += 1
            continue
        if one is None or not one.simple:
            said["nothing to sew"] += 1
            continue
        kept.append(_packed(one))
    lot = folder / f"lot-{start:09}.pickle"
    lot.with_suffix(".part").write_bytes(pickle.dumps(kept))
    lot.with_suffix(".part").rename(lot)  # whoever reads meanwhile finds whole ones
    gc.collect()
    return said


def _packed(one: Example) -> Example:
    """An example in short numbers, without what only judging needs."""
    short = {name: getattr(one.table, name).astype(np.float32) for name in ("sides", "ends", "words", "seams")}
    return replace(one, table=replace(one.table, **short), classes=None, candidates=[], hits=[])


def make(folder: Path, count: int, jobs: int, start: int, *, rows: bool, seconds: float) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    failed: collections.Counter[str] = collections.Counter()
    began, made = time.time(), 0
    with multiprocessing.Pool(jobs) as pool:
        blocks = [(folder, at, BLOCK, rows) for at in range(start, start + count, BLOCK)]
        for said in pool.imap_unordered(_made, blocks):
            failed, made = failed + said, made + BLOCK
            if time.time() - began > seconds:
                break
    tell(f"{made - failed.total()} of {made} garments in {time.time() - began:.0f} s; left out:")
    for why, times in failed.most_common(12):
        tell(f"{times:6} {why}")


# The network


def fit(stream, options, kept) -> None:
    """Learn for some seconds. Families that are held back are learned from in the last part, after the weights are kept that judge them."""
    import torch
    from pairing_lots import APART, HELD, SEEN
    from pairing_net import Net

    started = time.time()
    torch.manual_seed(SEED)
    torch.backends.cuda.matmul.allow_tf32 = True
    stream.more(wait=True)
    begin = None if options.begin is None else learned(options.begin)
    sizes = (
        {name: getattr(options, name) for name in ("width", "narrow", "rounds")}
        if begin is None
        else Net.sizes(begin)
    )
    net = Net(len(SIDE), len(WORDS), len(ENDS), stream.lots[SEEN][0]["seams"].shape[1], drop=options.drop, **sizes)
    for name in ("sides", "ends", "seams"):
        rows = stream.rows(name).reshape(-1, getattr(net, f"{name}_mean").numel())
        getattr(net, f"{name}_mean").copy_(rows.mean(0))
        getattr(net, f"{name}_scale").copy_(rows.std(0) + 0.02)
    if begin is not None:
        net.load_state_dict({name: torch.as_tensor(value) for name, value in begin.items()})
    step = Step(net.to(options.device).train(), stream.lots[SEEN][0], options)
    rng = np.random.default_rng(SEED)
    began = said = time.time()
    seconds = options.seconds - (began - started)
    held = bool(stream.held)
    spent, epoch = 0.0, 0
    while spent < 1.0:
        stream.more()
        todo = stream.lots[SEEN] + ([] if held else stream.lots[HELD])
        for number in rng.permutation(len(todo)):
            step.take(todo[number], pace(spent))
            spent = (time.time() - began) / seconds
            if time.time() - said > TELL_EACH or spent >= 1.0:
                said = time.time()
                there = sum(map(len, stream.lots.values()))
                judged = "".join(
                    f", {part} {step.judged(stream.lots[part][:MOST_JUDGED]):.3f}"
                    for part in (APART, HELD)
                    if stream.lots[part]
                )
                tell(
                    f"  {said - began:.0f} s, {step.done} steps, round {epoch} of {there} lots: {step.said():.3f}{judged}"
                )
                kept(step.steady, "")
            if spent >= 1.0:
                break
            if held and spent >= HELD_UNTIL:
                kept(step.steady, "held")
                held = False
                break
        epoch += 1
    stream.pool.terminate()


class Step:
    """One step of learning, recorded once where there is a device that can: launching its parts would take longer than they do."""

    def __init__(self, net, lot, options) -> None:
        """Prepare for lots that are all as large as one."""
        import torch

        self.net, self.steady = net, copy.deepcopy(net).eval().requires_grad_(False)
        self.highest, self.steadily = options.rate, options.steadily
        self.told = torch.compile(net, dynamic=False) if options.compile else net
        self.lot = {name: x.clone() if isinstance(x, torch.Tensor) else x for name, x in lot.items()}
        device = lot["seams"].device
        recorded = device.type == "cuda"
        self.rate = torch.tensor(options.rate, device=device)
        self.best = torch.optim.AdamW(
            net.parameters(), self.rate, weight_decay=0.02, capturable=recorded, foreach=recorded
        )
        self.total, self.garments = torch.zeros((), device=device), torch.zeros((), device=device)
        self.done = 0
        self.run = self._recorded() if recorded else self._run

    def _recorded(self):
        import torch

        beside = torch.cuda.Stream()
        beside.wait_stream(torch.cuda.current_stream())
        with torch.cuda.stream(beside):
            for _ in range(3):
                self._run()
        torch.cuda.current_stream().wait_stream(beside)
        graph = torch.cuda.CUDAGraph()
        with torch.cuda.graph(graph):
            self._run()
        return graph.replay

    def take(self, lot, pace: float) -> None:
        """Learn from a lot."""
        import torch

        for name, x in lot.items():
            if isinstance(x, torch.Tensor):
                self.lot[name].copy_(x)
        self.rate.fill_(self.highest * pace)
        self.run()
        self.done += 1

    def _run(self) -> None:
        import torch
        from pairing_lots import left_out

        self.best.zero_grad(set_to_none=True)
        loss, last = losses(self.told, left_out(self.lot))
        loss.backward()
        torch.nn.utils.clip_grad_norm_(self.net.parameters(), 2.0)
        self.best.step()
        torch._foreach_lerp_(list(self.steady.parameters()), list(self.net.parameters()), 1.0 - self.steadily)
        self.total += last.detach()
        self.garments += self.lot["size"]

    def said(self) -> float:
        """What the candidates of a garment cost since it was asked last."""
        cost = float(self.total / self.garments)
        self.total.zero_()
        self.garments.zero_()
        return cost

    def judged(self, some) -> float:
        """What the candidates of a garment cost in lots that are not learned from, as they are told."""
        import torch
        from pairing_lots import as_told

        with torch.no_grad():
            costs = [(losses(self.steady, as_told(lot))[1], lot["size"]) for lot in some]
        return float(sum(cost for cost, _ in costs) / sum(size for _, size in costs))


def losses(net, t):
    """What is to be lessened, and the share of it that the last round has, over all garments."""
    from pairing_lots import real
    from torch.nn import functional

    logits, layers = net(t)
    asked, wanted = ((t["known"] < 0) & real(t, "graph_of_seam")).float(), t["labels"].float()
    parts = [
        functional.binary_cross_entropy_with_logits(one, wanted, weight=asked, reduction="sum") for one in logits
    ]
    counts = functional.cross_entropy(layers, t["layers"], reduction="none") * real(t, "graph").float()
    return (0.3 * sum(parts[:-1]) + parts[-1] + 0.2 * counts.sum()) / t["size"], parts[-1]


def pace(spent: float) -> float:
    """How fast is learned, of the highest rate, when a share of the time is spent: soon fast, in the end slow."""
    return spent / SOON if spent < SOON else 0.5 + 0.5 * math.cos(math.pi * min((spent - SOON) / (1.0 - SOON), 1.0))


# What was learned


def tallied(
    examples: list[Example], scores, *, sure: float = 2.0, least: float = 0.4, of=lambda one: ""
) -> dict[str, Tally]:
    tallies: dict[str, Tally] = collections.defaultdict(Tally)
    for one, (p, layers) in zip(examples, scores, strict=True):
        if one.classes is None:
            continue
        choice = choose(one.classes, one.candidates, p, layers, least=least)
        hits = [one.hits[k] for k in choice.taken]
        for key in {of(one), "all"}:
            tallies[key].add(hits, [p[k] >= sure for k in choice.taken], one.seams)
    return tallies


def drafted_examples(name: str, version: str) -> list[Example]:
    """A drafted set of whole patterns: as drafted, bare, or altered."""
    folder = drafted(name)
    with (folder / "manifest.toml").open("rb") as file:
        patterns = tomllib.load(file)["patterns"]
    return [
        example(
            f"{slug} {version}", name, slug, folder / entry[version],
            folder / entry["bare-plan" if version == "bare" else "plan"], bare=version == "bare",
        )
        for slug, entry in patterns.items()
    ]  # fmt: skip


def sets_judged(sets: Sequence[str]) -> None:
    """What the weights find in drafted sets."""
    for name in sets:
        for version in ("whole", "bare", "altered"):
            examples = drafted_examples(name, version)
            tally = tallied(examples, [scored(one) for one in examples], sure=0.995)["all"]
            tell(f"{name:8} {version:8} {tally}")


def _fresh(what: tuple[int, Sequence[str]]) -> Example | None:
    """A garment that nothing was learned from, of one of some families where they are named."""
    seed, families = what
    try:
        return composed_example(seed, families)
    except Exception:  # as in `_made`
        return None


def judge(count: int, start: int, jobs: int, families: Sequence[str]) -> None:
    """What the weights find in garments of seeds that nothing was learned from."""
    with multiprocessing.Pool(jobs) as pool:
        found = pool.imap(_fresh, [(seed, families) for seed in range(start, start + count)], chunksize=4)
        examples = [one for one in found if one is not None and one.simple]
    scores = [scored(one) for one in examples]
    for sure in (0.99, 0.995):
        for key, tally in tallied(
            examples, scores, sure=sure, of=lambda one: "bare" if one.bare else "whole"
        ).items():
            tell(f"sure from {sure} {key:6} {tally}")


def learned(path: Path) -> dict[str, np.ndarray]:
    """Weights that were written, to begin with."""
    with np.load(path) as stored:
        return {name: stored[name].astype(np.float32) for name in stored.files if name != "about"}


def about(path: Path | None) -> dict | None:
    """What written weights tell of themselves."""
    if path is None:
        return None
    with np.load(path) as stored:
        return json.loads(str(stored["about"]))


def commit() -> str:
    """The commit that the garments and the weights come from; where it cannot be told, nothing."""
    told = subprocess.run(["git", "rev-parse", "--short", "HEAD"], cwd=ROOT, capture_output=True, text=True)
    return told.stdout.strip()


def state(net) -> dict[str, np.ndarray]:
    return {name: value.cpu().numpy() for name, value in net.state_dict().items()}


def written(out: Path, numbers: Mapping[str, np.ndarray], told: Mapping[str, object]) -> None:
    """Write weights, with what they tell of themselves."""
    short = {name: value.astype(np.float16 if value.ndim > 1 else np.float32) for name, value in numbers.items()}
    np.savez_compressed(out, **short, about=np.array(json.dumps(told)))


def mean(paths: Sequence[Path], out: Path) -> None:
    """Write the mean of weights that were learned on from the same ones: it finds more than each of them."""
    each = [learned(path) for path in paths]
    numbers = {name: np.mean([one[name] for one in each], axis=0) for name in each[0]}
    written(out, numbers, {"mean of": [about(path) for path in paths]})


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("what", choices=("make", "train", "mean", "judge", "sets"))
    parser.add_argument(
        "folder", type=Path, nargs="*", help="where garments are, or the weights of which the mean is written"
    )
    parser.add_argument("--count", type=int, default=8000)
    parser.add_argument("--start", type=int, default=0)
    parser.add_argument("--jobs", type=int, default=2, help="processes that draft garments, or put them together")
    parser.add_argument("--width", type=int, default=128, help="numbers by which a line and a candidate are known")
    parser.add_argument("--narrow", type=int, default=64, help="and those that are compared and told on")
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--drop", type=float, default=DROP)
    parser.add_argument("--begin", type=Path, help="weights to begin with instead of chance, as large as they are")
    parser.add_argument("--rate", type=float, default=HIGHEST, help="highest rate of learning")
    parser.add_argument("--steadily", type=float, default=STEADILY)
    parser.add_argument("--seconds", type=float, default=1e9)
    parser.add_argument("--device", default="cpu")
    parser.add_argument(
        "--compile", action="store_true", help="put the parts of a step together first, for a minute or two"
    )
    parser.add_argument("--simple", action="store_true", help="without rows")
    parser.add_argument(
        "--families", nargs="*", default=(), help="what `train` holds back until late, and `judge` judges"
    )
    parser.add_argument("--out", type=Path, default=WEIGHTS)
    options = parser.parse_args()
    if options.what == "judge":
        return judge(options.count, options.start, options.jobs, options.families)
    if options.what == "sets":
        return sets_judged(("corpus", "heldout", "unseen"))
    if options.what == "mean":
        return mean(options.folder, options.out)
    (options.folder,) = options.folder
    if options.what == "make":
        return make(
            options.folder,
            options.count,
            options.jobs,
            options.start,
            rows=not options.simple,
            seconds=options.seconds,
        )
    from pairing_lots import Stream

    stream = Stream(options.folder, options.families, options.device, options.jobs)

    def kept(net, which: str) -> None:
        """The weights so far, written over those that were there."""
        told = {
            "commit": commit(), "files": len(stream.taken), "first": min(stream.taken).stem, "garments in a file": BLOCK, "width": options.width, "narrow": options.narrow, "rounds": options.rounds, "drop": options.drop,
            "rate": options.rate, "seconds": options.seconds, "seed": SEED, "held back": [*options.families],
            "begun": about(options.begin),
        }  # fmt: skip
        out = options.out.with_suffix(f".{which}.npz" if which else ".npz")
        written(out, state(net), told)

    return fit(stream, options, kept)


if __name__ == "__main__":
    sys.exit(main())
