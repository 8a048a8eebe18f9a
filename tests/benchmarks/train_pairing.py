"""Learn how to score candidates from composed garments, and write `seamcheck/pairing/weights.npz`.

    python tests/benchmarks/train_pairing.py make FOLDER --count 8000 --jobs 16     draft, read and measure garments
    python tests/benchmarks/train_pairing.py links FOLDER                            the logistic curve that rows grow by
    python tests/benchmarks/train_pairing.py cross FOLDER --folds 4                  train without some families, judge them
    python tests/benchmarks/train_pairing.py train FOLDER                            train on all and write the weights
    python tests/benchmarks/train_pairing.py train OTHER --member 1 --onward         the second network, on other garments
    python tests/benchmarks/train_pairing.py sets FOLDER                             judge the drafted sets

Needs the extra `train` (torch). The weights name the commit and the seeds that they come from. `make` uses the curve that is
in the weights; run `links` on a first lot of garments, then `make` anew.
"""

from __future__ import annotations

import argparse
import collections
import json
import math
import multiprocessing
import os
import pickle
import sys
import time
import tomllib
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

os.environ.setdefault("OMP_NUM_THREADS", "1")
ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT / "fixtures"), str(Path(__file__).parent)]

import numpy as np  # noqa: E402
from drafted import drafted  # noqa: E402
from pairing_examples import Example, Tally, composed_example, example  # noqa: E402

from seamcheck.pairing import scorer  # noqa: E402
from seamcheck.pairing.choose import choose  # noqa: E402
from seamcheck.pairing.features import ENDS, SIDE, WORDS  # noqa: E402

WEIGHTS = ROOT / "seamcheck" / "pairing" / "weights.npz"
LOT = 30000  # candidates in a step
HIGHEST = 2e-3  # rate of learning
ANSWERED = 0.3  # share of garments of which something is known
INDEXES = ("first", "second", "beside", "whole", "before", "after", "piece", "parts", "wants")


def tell(*words: object) -> None:
    sys.stdout.write(" ".join(map(str, words)) + "\n")
    sys.stdout.flush()


# Drafting


def _made(seed: int) -> tuple[int, Example | None, str]:
    try:
        return seed, composed_example(seed), ""
    except Exception as error:  # a garment that cannot be drafted or read so is left out, and counted
        return seed, None, f"{type(error).__name__}: {str(error)[:70]}"


def make(folder: Path, count: int, jobs: int, start: int) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    failed: collections.Counter[str] = collections.Counter()
    kept: list[Example] = []
    lot = 0
    began = time.time()
    with multiprocessing.Pool(jobs) as pool:
        for _, one, why in pool.imap(_made, range(start, start + count), chunksize=8):
            if one is None:
                failed[why] += 1
                continue
            kept.append(one)
            if len(kept) == 250:
                (folder / f"lot-{start}-{lot:04}.pickle").write_bytes(pickle.dumps(kept))
                kept, lot = [], lot + 1
    (folder / f"lot-{start}-{lot:04}.pickle").write_bytes(pickle.dumps(kept))
    tell(f"{count - failed.total()} of {count} garments in {time.time() - began:.0f} s; left out:")
    for why, times in failed.most_common(12):
        tell(f"{times:6} {why}")


def read(folder: Path, most: int | None = None) -> list[Example]:
    examples: list[Example] = []
    for path in sorted(folder.glob("lot-*.pickle")):
        examples += pickle.loads(path.read_bytes())
        if most is not None and len(examples) >= most:
            break
    return examples[:most]


# The curve for links


def links(examples: list[Example]) -> dict[str, np.ndarray]:
    rows = [one.table.seams[[c.kind in (0, 2) for c in one.candidates]] for one in examples]
    right = [one.labels[[c.kind in (0, 2) for c in one.candidates]] for one in examples]
    x, y = np.vstack(rows), np.concatenate(right).astype(float)
    mean, scale = x.mean(0), x.std(0) + 1e-3
    z = np.clip((x - mean) / scale, -5.0, 5.0)
    z = np.hstack([z, np.ones((len(z), 1))])
    w = np.zeros(z.shape[1])
    w[-1] = -3.0
    for _ in range(25):  # Newton's steps, held back by a small price on each weight
        p = 1.0 / (1.0 + np.exp(-np.clip(z @ w, -30.0, 30.0)))
        curved = (z * (p * (1.0 - p))[:, None]).T @ z + 2.0 * np.eye(len(w))
        step = np.linalg.solve(curved, z.T @ (y - p) - 2.0 * w)
        w += step * min(1.0, 2.0 / float(np.abs(step).max()))
    return {"links.mean": mean, "links.scale": scale, "links.weight": w[:-1], "links.bias": np.array(w[-1])}


# The network


def joined(examples: list[Example], device, rng: np.random.Generator | None = None):
    """Some patterns as one graph of tensors."""
    import torch

    at = collections.Counter()
    found: dict[str, list] = collections.defaultdict(list)
    for number, one in enumerate(examples):
        t = one.table
        shift = {"side": at["side"], "line": at["line"], "seam": at["seam"], "piece": at["piece"]}
        for name in ("sides", "words", "ends", "seams", "turned"):
            found[name].append(getattr(t, name))
        found["first"].append(t.first + shift["side"])
        found["second"].append(t.second + shift["side"])
        found["whole"].append(t.whole + shift["side"])
        found["beside"].append(np.where(t.beside < 0, -1, t.beside + shift["line"]))
        found["before"].append(t.before + shift["line"])
        found["after"].append(t.after + shift["line"])
        found["piece"].append(t.piece + shift["piece"])
        found["parts"].append(t.parts + np.array([shift["side"], shift["line"]]))
        found["wants"].append(t.wants + np.array([shift["seam"], shift["line"]]))
        found["graph"].append(np.full(len(t.piece), number))
        found["labels"].append(one.labels)
        found["layers"].append(one.layers)
        found["known"].append(_answered(one, rng))
        at.update(side=len(t.sides), line=len(t.piece), seam=len(t.first), piece=int(t.piece.max()) + 1)
    result = {}
    for name, parts in found.items():
        whole = np.concatenate(parts)
        kind = torch.bool if name == "turned" else torch.float32 if whole.dtype == float else torch.int64
        result[name] = torch.as_tensor(whole).to(kind)
    result = {name: x.to(device, non_blocking=True) for name, x in result.items()}
    return {**result, "graphs": len(examples), "pieces": at["piece"]}


def _answered(one: Example, rng: np.random.Generator | None) -> np.ndarray:
    """What a person has said of a pattern's candidates: for some garments to learn from, of one to four lines everything."""
    known = np.full(len(one.candidates), -1)
    if rng is not None and rng.random() < ANSWERED:
        for line in rng.choice(len(one.table.piece), min(rng.integers(1, 5), len(one.table.piece)), replace=False):
            of_line = one.table.wants[one.table.wants[:, 1] == line, 0]
            known[of_line] = one.labels[of_line]
    return known


def lots(examples: list[Example], rng: np.random.Generator | None):
    order = np.arange(len(examples)) if rng is None else rng.permutation(len(examples))
    lot: list[Example] = []
    size = 0
    for k in order:
        one = examples[k]
        if lot and size + len(one.candidates) > LOT:
            yield lot
            lot, size = [], 0
        lot.append(one)
        size += len(one.candidates)
    yield lot


def fit(
    examples: list[Example],
    *,
    seed: int,
    epochs: int,
    device: str,
    width: int,
    seconds: float = 1e9,
    begun=None,
    kept=None,
):
    import torch
    from pairing_net import Net
    from torch.nn import functional

    torch.manual_seed(seed)
    sample = examples[:: max(len(examples) // 600, 1)]
    net = Net(len(SIDE), len(WORDS), len(ENDS), sample[0].table.seams.shape[1], width)
    for name in ("sides", "ends", "seams"):
        rows = np.concatenate(
            [getattr(one.table, name).reshape(-1, getattr(net, f"{name}_mean").numel()) for one in sample]
        )
        getattr(net, f"{name}_mean").copy_(torch.as_tensor(rows.mean(0)))
        getattr(net, f"{name}_scale").copy_(torch.as_tensor(rows.std(0) + 0.02))
    if begun is not None:
        net.load_state_dict(
            {name: torch.as_tensor(np.asarray(begun[name], dtype=np.float32)) for name in net.state_dict()}
        )
    net.to(device).train()
    best = torch.optim.AdamW(net.parameters(), HIGHEST, weight_decay=0.02)
    rng = np.random.default_rng(seed)
    began = time.time()
    with ThreadPoolExecutor(3) as ahead:
        for epoch in range(epochs):
            total, count, done = 0.0, 0, 0
            waiting: collections.deque = collections.deque()
            todo = list(lots(examples, rng))
            for number in range(len(todo) + 4):
                if number < len(todo):
                    own = np.random.default_rng(rng.integers(1 << 62))
                    waiting.append((len(todo[number]), ahead.submit(joined, todo[number], device, own)))
                if number < 4 or not waiting:
                    continue
                size, coming = waiting.popleft()
                t = coming.result()
                spent = max((epoch + done / len(todo)) / epochs, (time.time() - began) / seconds)
                for group in best.param_groups:
                    group["lr"] = HIGHEST * pace(spent)
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
                total, count, done = total + float(parts[-1].detach()), count + size, done + 1
            tell(f"  epoch {epoch}: {total / count:.3f} a pattern, {time.time() - began:.0f} s")
            if kept is not None:
                kept(net)
            if time.time() - began > seconds:
                break
    return net.eval()


def pace(spent: float) -> float:
    """How fast is learned, of the highest rate, when a share of the time is spent: soon fast, in the end slow."""
    return spent / 0.1 if spent < 0.1 else 0.5 + 0.5 * math.cos(math.pi * min((spent - 0.1) / 0.9, 1.0))


def predicted(net, examples: list[Example], device: str):
    """For each pattern how likely its candidates and its lines' layers are."""
    import torch

    found = []
    with torch.no_grad():
        for lot in lots(examples, None):
            t = joined(lot, device)
            logits, layers = net(t)
            p, q = torch.sigmoid(logits[-1]).cpu().numpy(), torch.softmax(layers, 1).cpu().numpy()
            a = b = 0
            for one in lot:
                found.append((p[a : a + len(one.candidates)].astype(float), q[b : b + len(one.layers)].astype(float)))
                a, b = a + len(one.candidates), b + len(one.layers)
    return found


def tallied(
    examples: list[Example], scores, *, sure: float = 2.0, least: float = 0.4, of=lambda one: ""
) -> dict[str, Tally]:
    tallies: dict[str, Tally] = collections.defaultdict(Tally)
    for one, (p, layers) in zip(examples, scores, strict=True):
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
            scores = [scorer.score(one.table) for one in examples]
            tally = tallied(examples, [(one.seams, one.lines) for one in scores], sure=0.995)["all"]
            tell(f"{name:8} {version:8} {tally}")


def state(net) -> dict[str, np.ndarray]:
    return {name: value.cpu().numpy() for name, value in net.state_dict().items()}


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("what", choices=("make", "links", "cross", "train", "sets"))
    parser.add_argument("folder", type=Path)
    parser.add_argument("--count", type=int, default=8000)
    parser.add_argument("--start", type=int, default=0)
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--folds", type=int, default=4)
    parser.add_argument("--only-folds", type=int)
    parser.add_argument("--epochs", type=int, default=24)
    parser.add_argument("--width", type=int, default=48)
    parser.add_argument("--most", type=int)
    parser.add_argument("--seconds", type=float, default=1e9)
    parser.add_argument("--device", default="cpu")
    parser.add_argument("--member", default="0", help="which of the networks is trained")
    parser.add_argument("--onward", action="store_true", help="go on from the weights of the first")
    parser.add_argument("--out", type=Path, default=WEIGHTS)
    options = parser.parse_args()
    if options.what == "make":
        return make(options.folder, options.count, options.jobs, options.start)
    if options.what == "sets":
        return sets_judged(("corpus", "heldout", "unseen"))
    examples = read(options.folder, options.most)
    tell(f"{len(examples)} garments, {sum(len(one.candidates) for one in examples)} candidates, "
         f"{len({one.design for one in examples})} designs, {len({one.family for one in examples})} families")  # fmt: skip
    if options.what == "links":
        stored = dict(np.load(options.out)) if options.out.exists() else {}
        np.savez_compressed(options.out, **{**stored, **links(examples)})
    elif options.what == "cross":
        scores: dict[str, tuple] = {}
        for held in groups(examples, options.folds)[: options.only_folds]:
            seen = [one for one in examples if one.family not in held]
            unseen = [one for one in examples if one.family in held]
            net = fit(
                seen,
                seed=1,
                epochs=options.epochs,
                device=options.device,
                width=options.width,
                seconds=options.seconds,
            )
            result = predicted(net, unseen, options.device)
            scores |= {one.name: score for one, score in zip(unseen, result, strict=True)}
            for key, tally in tallied(
                unseen, result, of=lambda one: f"{one.family} {'bare' if one.bare else 'whole'}"
            ).items():
                tell(f"  {key:28} {tally}")
        judged = [one for one in examples if one.name in scores]
        rows = [scores[one.name] for one in judged]
        for least in (0.25, 0.35, 0.45, 0.55):
            for key, tally in tallied(
                judged, rows, least=least, of=lambda one: "bare" if one.bare else "whole"
            ).items():
                tell(f"least {least} {key:6} {tally}")
        for sure in (0.9, 0.95, 0.98, 0.99, 0.995):
            tell(f"sure from {sure}: {tallied(judged, rows, sure=sure)['all']}")
    else:
        stored = dict(np.load(options.out)) if options.out.exists() else {}
        about = json.dumps({"garments": len(examples), "epochs": options.epochs, "width": options.width, "seed": 1})

        begun = {name.removeprefix("0."): value for name, value in stored.items()} if options.onward else None

        def kept(net) -> None:
            """The weights so far, written over those that were there."""
            own = f"{options.member}."
            held = {name: value for name, value in stored.items() if not name.startswith((own, "about"))}
            learned = {
                name: value.astype(np.float16 if value.ndim > 1 else np.float32) for name, value in state(net).items()
            }
            named = {own + name: value for name, value in learned.items()}
            np.savez_compressed(options.out, about=np.array(about), **held, **named)

        fit(
            examples, seed=1, epochs=options.epochs, device=options.device, width=options.width,
            seconds=options.seconds, begun=begun, kept=kept,
        )  # fmt: skip
    return None


if __name__ == "__main__":
    sys.exit(main())
