"""Processes of the event loop, and the aircraft they take turns with.

As simpy's own processes and priority resource, event for event in the same order, without the events that nobody waits
for: beginnings, ends, and taking or giving back what nobody else asks for are nearly half of a year's.
"""

from __future__ import annotations

from collections.abc import Generator
from heapq import heappop, heappush
from itertools import count
from typing import Any

import simpy

Process = Generator[simpy.Event, Any, None]


def begin(process: Process) -> None:
    """Run a process to its first wait now, and on from there whenever what it waits for happens.

    Parameters
    ----------
    process : generator of simpy.Event   It is sent nothing, and no event of it may fail.
    """
    _Begun(process)()


class _Begun:
    """A process under way; a function in its place would hold itself, and stay until all memory is searched."""

    __slots__ = ("process",)

    def __init__(self, process: Process) -> None:
        self.process = process

    def __call__(self, _: simpy.Event | None = None) -> None:
        event = next(self.process, None)
        if event is not None:
            event.callbacks.append(self)


class Turns:
    """Alike aircraft that processes take turns with: the most urgent goes first, of these who asked first.

    Parameters
    ----------
    env : simpy.Environment
    number : int              Of aircraft.
    """

    def __init__(self, env: simpy.Environment, number: int = 1) -> None:
        self._env, self._number, self._free = env, number, number
        self._asked: list[tuple[int, int, simpy.Event]] = []
        self._order = count()

    @property
    def idle(self) -> bool:
        """Nobody has an aircraft or waits for one."""
        return self._free == self._number and not self._asked

    def taken_at_once(self) -> bool:
        """Take an aircraft and tell that it was there for the taking: nobody else does anything at this very time.

        What `ask` returns would happen next anyway; a quarter of the events left are spared. Not for processes that
        have not waited yet: others may still begin at this time.
        """
        free = bool(self._free) and not self._asked and self._env.peek() > self._env.now
        self._free -= free
        return free

    def ask(self, priority: int) -> simpy.Event:
        """Return what happens when an aircraft is one's own; the lowest priority is the most urgent."""
        turn = self._env.event()
        heappush(self._asked, (priority, next(self._order), turn))
        self._next()
        return turn

    def give_back(self) -> None:
        """Let the next one have the aircraft, once all who come at this very time have asked."""
        self._free += 1
        if self._asked:
            self._env.timeout(0.0).callbacks.append(self._next)

    def _next(self, _: simpy.Event | None = None) -> None:
        if self._free and self._asked:
            self._free -= 1
            heappop(self._asked)[-1].succeed()
