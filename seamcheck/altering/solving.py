"""Numbers for which something comes out as wanted."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

Reals = npt.NDArray[np.float64]
EXACT = 1e-10
STEPS = 100
WIDER = 1.6  # times: how a bracket grows
SLOPE = 1e-5


class NoSolutionError(ArithmeticError):
    """There is no number in reach for which it comes out."""


def root(function: Callable[[float], float], guess: float, reach: float) -> float:
    """Where a function is nothing, near a guess; NoSolutionError where it is not within `reach` of it on either side.

    By the Illinois rule: secants between two sides that differ in sign, so that it ends and is exact.
    """
    low = high = guess
    f_low = f_high = function(guess)
    if abs(f_low) < EXACT:
        return guess
    width = reach / WIDER**8
    while f_low * f_high > 0.0:
        if width > reach * (1.0 + 1e-9):
            raise NoSolutionError
        low, high = guess - width, guess + width
        f_low, f_high = function(low), function(high)
        width *= WIDER
    kept = 0
    middle = guess
    for _ in range(STEPS):
        middle = (low * f_high - high * f_low) / (f_high - f_low)
        value = function(middle)
        if abs(value) < EXACT or abs(high - low) < 1e-14 * max(1.0, abs(middle)):
            break
        if value * f_high > 0.0:
            high, f_high = middle, value
            f_low = f_low / 2 if kept > 0 else f_low
            kept = 1
        else:
            low, f_low = middle, value
            f_high = f_high / 2 if kept < 0 else f_high
            kept = -1
    return middle


def roots(function: Callable[[Reals], Reals], guess: Reals) -> Reals:
    """Numbers for which several functions are nothing; of many such the nearest to the guess, as far as slopes tell.

    NoSolutionError where Newton's steps do not get there.
    """
    now = np.asarray(guess, dtype=np.float64)
    value = function(now)
    for _ in range(STEPS):
        if np.abs(value).max() < EXACT:
            return now
        slopes = np.array([(function(now + SLOPE * one) - value) / SLOPE for one in np.eye(len(now))]).T
        step = -np.linalg.pinv(slopes) @ value
        size = 1.0
        while size > 1e-4:
            trial = function(now + size * step)
            if np.abs(trial).max() < np.abs(value).max():
                break
            size /= 2
        else:
            break
        now, value = now + size * step, trial
    if np.abs(value).max() > 1e-7:
        raise NoSolutionError
    return now
