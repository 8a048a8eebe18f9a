"""Learn how to score candidates from composed garments, and write `seamcheck/pairing/weights.npz`.

    python tests/benchmarks/train_pairing.py make FIRST --count 2000 --jobs 16 --simple   draft, read and measure garments
    python tests/benchmarks/train_pairing.py train FIRST --epochs 20                      so that rows can be grown
    python tests/benchmarks/train_pairing.py make FOLDER --count 8000 --jobs 16           again, with the rows that it grows
    python tests/benchmarks/train_pairing.py cross FOLDER --folds 4                       train without some families, judge them
    python tests/benchmarks/train_pairing.py train FOLDER                                 train on all and write the weights
    python tests/benchmarks/train_pairing.py train FOLDER --begin WEIGHTS --rate 3e-4     learn on from weights that are there
    python tests/benchmarks/train_pairing.py join ONE TWO                                 put networks that learned apart into one file
    python tests/benchmarks/train_pairing.py sets FOLDER                                  judge the drafted sets

Needs the extra `train` (torch). The weights name the commit and the seeds that they come from. Rows grow along
what the network thinks of single lines: `make` uses the weights that are there, with `--simple` none.
"""

from __future__ import annotations

import argparse
import collections
import gc
import json
import math
import multiprocessing
import os
import pickle
import sys
import time
import tomllib
from collections.abc import Sequence
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
JUDGED = 5  # one of so many garments is kept with all that judging needs
GROUPINGS = 3  # ways in which garments are put together to lots
ALONE = "0/"  # before the names of what is learned: the number of the network
HIGHEST = 2e-3  # rate of learning
DROP = 0.1  # share of what is heard that is left out by chance
STEADILY = 0.998  # share of the weights so far in their running mean, which is what is kept


def tell(*words: object) -> None:
    sys.stdout.write(" ".join(map(str, words)) + "\n")
    sys.stdout.flush()


# Drafting


def _made(what: tuple[Path, int, int, bool]) -> collections.Counter[str]:
    """Make the garments of some seeds as one lot; how many there are, and why some were left out."""
    folder, start, count, rows = what
    said: collections.Counter[str] = collections.Counter()
    kept = []
    for seed in range(start, start + count):
        try:
            one = composed_example(seed, rows=rows)
        except Exception as error:  # a garment that cannot be drafted or read so is left out, and counted
            said[f"{type(error).__name__}: {str(error)[:70]}"] += 1
            continue
        if one is None or not one.simple:
            said["nothing to sew"] += 1
            continue
        kept.append(_packed(one, whole=seed % JUDGED == 0))
    lot = folder / f"lot-{start:09}.pickle"
    lot.with_suffix(".part").write_bytes(pickle.dumps(kept))
    lot.with_suffix(".part").rename(lot)  # whoever reads meanwhile finds whole ones
    return said


def _packed(one: Example, *, whole: bool) -> Example:
    """An example in short numbers; what only judging needs is left out but of some."""
    short = {name: getattr(one.table, name).astype(np.float32) for name in ("sides", "ends", "words", "seams")}
    one = replace(one, table=replace(one.table, **short))
    return one if whole else replace(one, classes=None, candidates=[], hits=[])


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


def read(folder: Path, most: int | None = None) -> list[Example]:
    gc.disable()  # nothing of what is read is thrown away
    examples: list[Example] = []
    for path in sorted(folder.glob("**/lot-*.pickle")):
        examples += pickle.loads(path.read_bytes())
        if most is not None and len(examples) >= most:
            break
    return examples[:most]


# The network


def fit(
    examples: list[Example],
    *,
    seed: int,
    epochs: int,
    device: str,
    width: int,
    jobs: int,
    seconds: float = 1e9,
    drop: float = DROP,
    rate: float = HIGHEST,
    steadily: float = STEADILY,
    begin: Path | None = None,
    kept=None,
):
    import torch
    from pairing_lots import left_out, placed
    from pairing_net import Net
    from torch.nn import functional
    from torch.optim import swa_utils

    torch.manual_seed(seed)
    sample = examples[:: max(len(examples) // 600, 1)]
    net = Net(len(SIDE), len(WORDS), len(ENDS), sample[0].table.seams.shape[1], width, drop)
    for name in ("sides", "ends", "seams"):
        rows = np.concatenate(
            [getattr(one.table, name).reshape(-1, getattr(net, f"{name}_mean").numel()) for one in sample]
        )
        getattr(net, f"{name}_mean").copy_(torch.as_tensor(rows.mean(0)))
        getattr(net, f"{name}_scale").copy_(torch.as_tensor(rows.std(0) + 0.02))
    if begin is not None:
        net.load_state_dict({name: torch.as_tensor(value) for name, value in learned(begin).items()})
    rng = np.random.default_rng(seed)
    began = time.time()
    ways = placed(examples, rng, device, groupings=GROUPINGS, jobs=jobs)
    tell(f"  {len(ways[0])} lots are in place, {time.time() - began:.0f} s")
    net.to(device).train()
    steady = swa_utils.AveragedModel(net, multi_avg_fn=swa_utils.get_ema_multi_avg_fn(steadily))
    best = torch.optim.AdamW(net.parameters(), rate, weight_decay=0.02)
    chance = torch.Generator(device).manual_seed(seed)
    began = time.time()
    for epoch in range(epochs):
        total = torch.zeros((), device=device)
        todo = ways[epoch % GROUPINGS]
        for done, number in enumerate(rng.permutation(len(todo))):
            t = left_out(todo[number], chance)
            spent = max((epoch + done / len(todo)) / epochs, (time.time() - began) / seconds)
            for group in best.param_groups:
                group["lr"] = rate * pace(spent)
            size = t["graphs"]
            logits, layers = net(t)
            asked, wanted = (t["known"] < 0).float(), t["labels"].float()
            parts = [
                functional.binary_cross_entropy_with_logits(one, wanted, weight=asked, reduction="sum")
                for one in logits
            ]
            loss = (0.3 * sum(parts[:-1]) + parts[-1]) / size
            loss = loss + 0.2 * functional.cross_entropy(layers, t["layers"], reduction="sum") / size
            best.zero_grad()
            loss.backward()
            torch.nn.utils.clip_grad_norm_(net.parameters(), 2.0)
            best.step()
            steady.update_parameters(net)
            total += parts[-1].detach()
        over = time.time() - began > seconds
        if epoch % 10 == 0 or over:
            tell(f"  epoch {epoch}: {float(total) / len(examples):.3f} a pattern, {time.time() - began:.0f} s")
            if kept is not None:
                kept(steady.module)
        if over:
            break
    if kept is not None:
        kept(steady.module)
    return steady.module.eval()


def pace(spent: float) -> float:
    """How fast is learned, of the highest rate, when a share of the time is spent: soon fast, in the end slow."""
    return spent / 0.1 if spent < 0.1 else 0.5 + 0.5 * math.cos(math.pi * min((spent - 0.1) / 0.9, 1.0))


def predicted(net, examples: list[Example], device: str):
    """For each pattern how likely its candidates and its lines' layers are."""
    import torch
    from pairing_lots import joined, lots, on_device, only

    found = []
    with torch.no_grad():
        for numbers in lots(examples, None):
            lot = [examples[k] for k in numbers]
            t = on_device(joined(lot), device)
            t["known"] = torch.full((len(t["labels"]),), -1, device=device)
            logits, layers = net(only(t, t["hopeful"]))
            p, q = np.zeros(len(t["labels"])), torch.softmax(layers, 1).cpu().numpy()
            p[t["hopeful"].cpu().numpy()] = torch.sigmoid(logits[-1]).cpu().numpy()
            a = b = 0
            for one in lot:
                found.append((p[a : a + len(one.labels)].astype(float), q[b : b + len(one.layers)].astype(float)))
                a, b = a + len(one.labels), b + len(one.layers)
    return found


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


def groups(examples: list[Example], folds: int) -> list[set[str]]:
    """Families parted into folds of about one size."""
    counts = collections.Counter(one.family for one in examples)
    found: list[set[str]] = [set() for _ in range(folds)]
    sizes = [0] * folds
    for family, count in sorted(counts.items(), key=lambda row: (-row[1], row[0])):
        k = sizes.index(min(sizes))
        found[k].add(family)
        sizes[k] += count
    return found


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


def _keep_judged(path: Path, examples: list[Example], scores) -> None:
    likely = np.concatenate([scores[one.name][0] for one in examples])
    right = np.concatenate([one.labels for one in examples])
    kept = likely > 0.005
    np.savez_compressed(path, likely=likely[kept].astype(np.float32), right=right[kept])


def learned(path: Path) -> dict[str, np.ndarray]:
    """Weights that were written, to begin with: of the first network in the file."""
    with np.load(path) as stored:
        own = [key for key in stored.files if key.startswith(ALONE) and key != f"{ALONE}about"]
        return {key.removeprefix(ALONE): stored[key].astype(np.float32) for key in own}


def about(path: Path | None) -> dict | None:
    """What written weights tell of themselves."""
    if path is None:
        return None
    with np.load(path) as stored:
        return json.loads(str(stored[f"{ALONE}about"]))


def join(paths: Sequence[Path], out: Path) -> None:
    """Write the networks of some files as one, whose results are averaged."""
    together = {}
    for number, path in enumerate(paths):
        with np.load(path) as stored:
            together |= {f"{number}/{key.removeprefix(ALONE)}": stored[key] for key in stored.files}
    np.savez_compressed(out, **together)


def state(net) -> dict[str, np.ndarray]:
    return {name: value.cpu().numpy() for name, value in net.state_dict().items()}


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("what", choices=("make", "cross", "train", "join", "sets"))
    parser.add_argument("folder", type=Path, nargs="+")
    parser.add_argument("--count", type=int, default=8000)
    parser.add_argument("--start", type=int, default=0)
    parser.add_argument("--jobs", type=int, default=2, help="processes that draft garments, or put them together")
    parser.add_argument("--folds", type=int, default=4)
    parser.add_argument("--only-folds", type=int)
    parser.add_argument("--epochs", type=int, default=24)
    parser.add_argument("--width", type=int, default=48)
    parser.add_argument("--drop", type=float, default=DROP)
    parser.add_argument("--most", type=int)
    parser.add_argument("--begin", type=Path, help="weights of the same width to begin with instead of chance")
    parser.add_argument("--rate", type=float, default=HIGHEST, help="highest rate of learning")
    parser.add_argument("--steadily", type=float, default=STEADILY)
    parser.add_argument("--seen", type=int, help="how many garments `cross` learns from")
    parser.add_argument("--seconds", type=float, default=1e9)
    parser.add_argument("--device", default="cpu")
    parser.add_argument("--simple", action="store_true", help="without rows")
    parser.add_argument("--out", type=Path, default=WEIGHTS)
    parser.add_argument(
        "--judged", type=Path, help="where `cross` puts what it thought of candidates, and whether they were right"
    )
    options = parser.parse_args()
    if options.what == "join":
        return join(options.folder, options.out)
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
    if options.what == "sets":
        return sets_judged(("corpus", "heldout", "unseen"))
    examples = read(options.folder, options.most)
    tell(f"{len(examples)} garments, {sum(len(one.labels) for one in examples)} candidates, "
         f"{len({one.design for one in examples})} designs, {len({one.family for one in examples})} families")  # fmt: skip
    if options.what == "cross":
        scores: dict[str, tuple] = {}
        for held in groups(examples, options.folds)[: options.only_folds]:
            seen = [one for one in examples if one.family not in held][: options.seen]
            unseen = [one for one in examples if one.family in held]
            net = fit(
                seen,
                seed=1,
                epochs=options.epochs,
                device=options.device,
                width=options.width,
                jobs=options.jobs,
                seconds=options.seconds,
                drop=options.drop,
            )
            result = predicted(net, unseen, options.device)
            scores |= {one.name: score for one, score in zip(unseen, result, strict=True)}
            for key, tally in tallied(
                unseen, result, of=lambda one: f"{one.family} {'bare' if one.bare else 'whole'}"
            ).items():
                tell(f"  {key:28} {tally}")
        judged = [one for one in examples if one.name in scores]
        if options.judged:
            _keep_judged(options.judged, judged, scores)
        rows = [scores[one.name] for one in judged]
        for least in (0.4, 0.5):
            for key, tally in tallied(
                judged, rows, least=least, of=lambda one: "bare" if one.bare else "whole"
            ).items():
                tell(f"least {least} {key:6} {tally}")
        for sure in (0.98, 0.99, 0.995):
            tell(f"sure from {sure}: {tallied(judged, rows, sure=sure)['all']}")
    else:
        told = json.dumps(
            {
                "garments": len(examples),
                "epochs": options.epochs,
                "width": options.width,
                "drop": options.drop,
                "rate": options.rate,
                "seed": 1,
                "begun": about(options.begin),
            }
        )

        def kept(net) -> None:
            """The weights so far, written over those that were there."""
            numbers = {
                name: value.astype(np.float16 if value.ndim > 1 else np.float32) for name, value in state(net).items()
            }
            numbers["about"] = np.array(told)
            np.savez_compressed(options.out, **{ALONE + name: value for name, value in numbers.items()})

        fit(
            examples, seed=1, epochs=options.epochs, device=options.device, width=options.width,
            jobs=options.jobs, seconds=options.seconds, drop=options.drop, rate=options.rate,
            steadily=options.steadily, begin=options.begin, kept=kept,
        )  # fmt: skip
    return None


if __name__ == "__main__":
    sys.exit(main())
