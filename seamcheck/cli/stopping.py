"""Signals that stop the program: it cleans up as for Ctrl-C, so that no process and no half a file is left behind."""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import NoReturn

STOPPED = 128  # and the number of the signal, as shells have it: 130 for Ctrl-C


class _Stopped(KeyboardInterrupt):
    """SIGTERM, taken as Ctrl-C is taken."""

    def __init__(self, number: int) -> None:
        super().__init__()
        self.number = number


@contextmanager
def asked_to_stop() -> Iterator[None]:
    """Take SIGTERM as Ctrl-C is taken; only the main thread may say so."""

    def stop(number: int, frame: object) -> NoReturn:
        raise _Stopped(number)

    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGTERM, stop)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)


@contextmanager
def ended_by_hand() -> Iterator[None]:
    """Take Ctrl-C as the end of what runs until somebody ends it; what else stops a program stops it as ever."""
    try:
        yield
    except KeyboardInterrupt as error:
        if exit_code_of(error) != STOPPED + signal.SIGINT:
            raise


def exit_code_of(error: BaseException) -> int:
    """The exit code of a program that was stopped, by the exception that ended it or the cause of that."""
    for one in (error, error.__cause__):
        if isinstance(one, _Stopped):
            return STOPPED + one.number
    return STOPPED + signal.SIGINT
