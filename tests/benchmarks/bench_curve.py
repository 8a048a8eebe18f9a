"""How fast 100,000 cubics are measured, beside scipy's quad on a sample of them.

Run by hand: python tests/benchmarks/bench_curve.py
"""

import sys
import time

import numpy as np
from scipy.integrate import quad

from seamcheck.geometry.curve import Curve, lengths

COUNT, SAMPLE = 100_000, 500


def seconds(work):
    """The best of three runs."""
    best = float("inf")
    for _ in range(3):
        start = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - start)
    return best


def quad_lengths(segments):
    powers = np.stack(
        [
            segments[:, 1] - segments[:, 0],
            2 * (segments[:, 2] - 2 * segments[:, 1] + segments[:, 0]),
            segments[:, 3] - 3 * segments[:, 2] + 3 * segments[:, 1] - segments[:, 0],
        ],
        axis=1,
    )
    return [
        quad(lambda t, c=c: 3 * abs(c[0] + t * (c[1] + t * c[2])), 0, 1, epsrel=1e-9, limit=200)[0]
        for c in powers.tolist()
    ]


def main():
    rng = np.random.default_rng(1)
    segments = 100 * (rng.normal(size=(COUNT, 4)) + 1j * rng.normal(size=(COUNT, 4)))
    sample = segments[:SAMPLE]
    ours = seconds(lambda: lengths(segments)) / COUNT
    theirs = seconds(lambda: quad_lengths(sample)) / SAMPLE
    error = np.abs(lengths(sample) - quad_lengths(sample)).max()
    ring = Curve.polyline(100 * np.exp(2j * np.pi * np.arange(5001) / 5000))
    whole = Curve(segments[:1])
    whole.point(1.0)
    lines = [
        f"{COUNT} cubics: {ours * 1e6:.2f} us each; quad on {SAMPLE} of them: {theirs * 1e6:.0f} us each",
        f"ratio quad / lengths: {theirs / ours:.0f}; greatest difference in the sample: {error:.1e} mm",
        f"point at a station: {seconds(lambda: whole.point(50.0)) * 1e6:.0f} us",
        f"nearest on a cubic: {seconds(lambda: whole.nearest(3 + 4j)) * 1e6:.0f} us",
        f"5,000 lines, all measures afresh: {seconds(lambda: measure(ring)) * 1e3:.1f} ms",
        f"5,000 lines, offset: {seconds(lambda: ring.offset(10.0)) * 1e3:.1f} ms",
    ]
    sys.stdout.write("\n".join(lines) + "\n")


def measure(curve):
    fresh = Curve(curve.segments)
    return (
        fresh.length,
        fresh.signed_area(),
        fresh.bounds(),
        fresh.turning(),
        fresh.joint_turns(),
        fresh.nearest(99 + 3j),
        fresh.contains(3j),
    )


if __name__ == "__main__":
    main()
