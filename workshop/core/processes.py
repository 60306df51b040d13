"""Work that is shared among processes: one for each core, each with a connection of its own."""

import gc
import os
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from multiprocessing import get_context
from typing import Any, Generic, ParamSpec, Protocol, TypeVar

from django.db import connections

Given = ParamSpec("Given")
Made = TypeVar("Made")
MadeOut = TypeVar("MadeOut", covariant=True)


class Promise(Protocol[MadeOut]):
    """What some work comes to, once it is asked for."""

    def result(self) -> MadeOut: ...


class Hands(Protocol):
    """Who can be given work. `are_many` says whether several pieces are done at a time."""

    are_many: bool

    def begin(
        self, work: Callable[Given, Made], *args: Given.args, **named: Given.kwargs
    ) -> Promise[Made]: ...


class _Later(Generic[Made]):
    """Work that is done when somebody asks for what it comes to."""

    def __init__(self, work: Callable[[], Made]) -> None:
        self._work = work

    def result(self) -> Made:
        return self._work()


class OwnHands:
    """This process alone does the work, piece after piece."""

    are_many = False

    def begin(
        self, work: Callable[Given, Made], *args: Given.args, **named: Given.kwargs
    ) -> Promise[Made]:
        return _Later(lambda: work(*args, **named))


class _Processes:
    are_many = True

    def __init__(self, pool: ProcessPoolExecutor) -> None:
        self._pool = pool

    def begin(
        self, work: Callable[Given, Made], *args: Given.args, **named: Given.kwargs
    ) -> Promise[Made]:
        return self._pool.submit(work, *args, **named)


@contextmanager
def many_hands() -> Iterator[Hands]:
    """A process for each core, for a command that only reads.

    Within a transaction there is this process alone: no other sees what it has not committed.
    No connection is open while the others begin: two processes cannot share one.
    """
    cores = _cores()
    if cores < 2 or any(each.in_atomic_block for each in connections.all()):
        yield OwnHands()
        return
    connections.close_all()
    gc.freeze()  # what is there already is looked through by none of them, and stays shared
    try:
        with ProcessPoolExecutor(cores, mp_context=get_context("fork")) as pool:
            # They begin now, all of them: later this process has a connection open again.
            pool.submit(int).result()
            yield _Processes(pool)
    finally:
        gc.unfreeze()


def _cores() -> int:
    """How many this process may use; one where a process cannot be split."""
    mine: Any = getattr(os, "sched_getaffinity", None)
    return len(mine(0)) if mine and hasattr(os, "fork") else 1
