"""How processes end: with the one that started them, and by a signal the way an interruption goes."""

from __future__ import annotations

import os
import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from time import sleep
from types import FrameType

_LOOK_EVERY_S = 0.3


class Ended(KeyboardInterrupt):
    """A signal asked the program to end; it clears up as after an interruption.

    Parameters
    ----------
    number : int    The signal.
    """

    def __init__(self, number: int) -> None:
        super().__init__()
        self.number = number


def exit_code(interruption: BaseException) -> int:
    """Return the exit code a shell expects of a program that a signal ended: 128 and the signal's number."""
    return 128 + (interruption.number if isinstance(interruption, Ended) else signal.SIGINT)


@contextmanager
def heeding_signals() -> Iterator[None]:
    """Turn the signals that end a program into an interruption, but for those it was started to ignore.

    Only the main thread can; elsewhere nothing changes.
    """
    numbers = [getattr(signal, name) for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name)]
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = {n: signal.signal(n, _end) for n in numbers if signal.getsignal(n) is signal.SIG_DFL}
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def _end(number: int, frame: FrameType | None) -> None:
    signal.signal(number, signal.SIG_IGN)   # once is enough; a second one must not stop the clearing up
    raise Ended(number)


def end_with_parent(parent: int) -> None:
    """End this process when the one that started it is gone, however it went; leave interruptions to that one.

    Parameters
    ----------
    parent : int    Its number; it may be gone before this process asks.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)

    def watch() -> None:
        while os.getppid() == parent:
            sleep(_LOOK_EVERY_S)
        os._exit(1)

    threading.Thread(target=watch, daemon=True).start()
