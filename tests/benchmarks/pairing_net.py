"""The network of `seamcheck.pairing.scorer` for training: the same rounds of talk, in torch."""

from __future__ import annotations

import torch
from torch import nn

MOST = 8.0  # logarithm of odds up to which candidates hear of each other
KNOWN = 8.0  # what a candidate is worth of which a person has said that it is sewn; as much below 0 where it is not


def both(a, b):
    return torch.cat([a + b, (a - b).abs(), a * b], dim=-1)


def taken(values, at):
    """The rows of some values at some places, whose gradients are summed by atomic adding: many places are taken often."""
    return values.index_select(0, at)


def summed(values, at, count):
    return torch.zeros((count, *values.shape[1:]), dtype=values.dtype, device=values.device).index_add_(0, at, values)


def counted(at, count):
    """How often each of some numbers comes, at least once; what is counted so waits for no result on the way."""
    return summed(torch.ones(len(at), device=at.device), at, count).clamp(min=1.0)


def befriended(t, logit):
    count = len(logit)
    corners = torch.full((2 * count,), -MOST, device=logit.device)
    corners = corners.scatter_reduce(0, t["closing"][:, 0], taken(logit, t["closing"][:, 1]), "amax")
    corners = corners.reshape(-1, 2).clamp(-MOST, MOST)
    row = torch.full((count,), MOST, device=logit.device)
    row = row.scatter_reduce(0, t["joined"][:, 0], taken(logit, t["joined"][:, 1]), "amin").clamp(-MOST, MOST)
    likely = torch.sigmoid(logit)
    own, other = t["between"].T
    total = summed(likely, own, int(t["groups"]))
    return torch.stack(
        [
            corners.amin(1) / MOST,
            corners.amax(1) / MOST,
            row / MOST,
            (taken(total, own) - likely).clamp(min=0.0).log1p(),
            taken(total, other).log1p(),
        ],
        1,
    )


def two(into: int, middle: int, out: int) -> nn.Sequential:
    return nn.Sequential(nn.Linear(into, middle), nn.ReLU(), nn.Linear(middle, out))


class Round(nn.Module):
    """One round of talk: what is compared of two sides, of what lies beside them, and what is told on, is narrower than what is known."""

    def __init__(self, width: int, narrow: int, seams: int) -> None:
        super().__init__()
        self.look, self.beside, self.tell = (nn.Linear(width, narrow) for _ in range(3))
        self.ends = two(3 * narrow, narrow, narrow)
        self.seam = two(seams + 3 * narrow + narrow + width + 7, 2 * width, width)
        self.out = nn.Linear(width, 1)
        self.line = two(5 * width + narrow + 1, 2 * width, width)


class Net(nn.Module):
    def __init__(
        self,
        sides: int,
        words: int,
        ends: int,
        seams: int,
        *,
        width: int,
        narrow: int,
        rounds: int,
        drop: float = 0.0,
    ) -> None:
        super().__init__()
        self.side, self.end = two(sides + words, 2 * width, width), two(ends, width, width)
        self.rounds = nn.ModuleList([Round(width, narrow, seams) for _ in range(rounds)])
        self.count = two(width, width, 3)
        self.drop = nn.Dropout(drop)
        for name, size in (("sides", sides), ("ends", ends), ("seams", seams)):
            self.register_buffer(f"{name}_mean", torch.zeros(size))
            self.register_buffer(f"{name}_scale", torch.ones(size))

    @staticmethod
    def sizes(learned) -> dict[str, int]:
        """How wide a network is, and how many rounds it talks, by its weights."""
        narrow, width = learned["rounds.0.look.weight"].shape
        return {"width": width, "narrow": narrow, "rounds": sum(name.endswith("out.bias") for name in learned)}

    def scaled(self, name: str, x):
        return ((x - getattr(self, f"{name}_mean")) / getattr(self, f"{name}_scale")).clamp(-5.0, 5.0)

    def forward(self, t):
        count, graph_of = len(t["piece"]), t["graph"]
        graphs = int(t["graphs"])
        own = self.side(torch.cat([self.scaled("sides", t["sides"]), t["words"]], 1))
        own = own + self.end(self.scaled("ends", t["ends"])).sum(1)
        line = taken(own, t["whole"])
        of_side, in_side = t["parts"].T
        candidate, wanted = t["wants"].T
        share = 1.0 / taken(counted(of_side, len(own)), of_side)[:, None]
        seams = self.drop(self.scaled("seams", t["seams"]))
        a, b, turned = t["first"], t["second"], t["turned"][:, None, None]
        hidden = torch.zeros((len(a), own.shape[1]), device=own.device)
        rivals = torch.zeros((len(a), 2), device=own.device)
        friends = torch.zeros((len(a), 5), device=own.device)
        beside_at = torch.where(t["beside"] < 0, count, t["beside"]).flatten()
        pieces = int(t["pieces"])
        size, lines_of = counted(t["piece"], pieces)[:, None], counted(graph_of, graphs)[:, None]
        logits = []
        for step in self.rounds:
            side = own + summed(taken(line, in_side) * share, of_side, len(own))
            known = step.beside(line)
            padded = torch.cat([known, torch.zeros((1, known.shape[1]), device=line.device)])
            beside = taken(padded, beside_at).reshape(len(own), 2, -1)
            ends_a, ends_b = taken(beside, a), taken(beside, b)
            ends_b = torch.where(turned, ends_b.flip(1), ends_b)
            ends = step.ends(both(ends_a, ends_b)).sum(1)
            seen = step.look(side)
            told = torch.cat([seams, both(taken(seen, a), taken(seen, b)), ends, hidden, rivals, friends], 1)
            hidden = hidden + self.drop(step.seam(told))
            logit = step.out(hidden)[:, 0]
            logits.append(logit)
            told = torch.where(t["known"] >= 0, KNOWN * (2.0 * t["known"] - 1.0), logit)
            wants = taken(told, candidate)
            # What is taken off before growing makes no difference to any of what follows, so nothing is learned of it.
            top = torch.zeros(count, device=own.device).scatter_reduce(0, wanted, wants.detach(), "amax")
            mass = (wants - top[wanted]).exp()
            total = (-top).exp() + summed(mass, wanted, count)
            all_of = taken(total, wanted)
            part = mass / all_of
            heard = summed(taken(step.tell(hidden), candidate) * part[:, None], wanted, count)
            busy = top + total.log()
            mean = taken(summed(line, t["piece"], pieces) / size, t["piece"])
            whole = taken(summed(line, graph_of, graphs) / lines_of, graph_of)
            around = [line, heard, busy[:, None], taken(line, t["before"]), taken(line, t["after"]), mean, whole]
            line = line + self.drop(step.line(torch.cat(around, 1)))
            left = (all_of - mass).clamp(min=1e-9).log() + top[wanted]
            low = torch.full((len(a),), 99.0, device=own.device).scatter_reduce(0, candidate, left, "amin")
            high = torch.full((len(a),), -99.0, device=own.device).scatter_reduce(0, candidate, left, "amax")
            rivals = torch.stack([low, high], 1).clamp(-12.0, 12.0)
            friends = befriended(t, told)
        return logits, self.count(line)
