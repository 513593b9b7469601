"""Work done by several processes at once, its results in the order of its jobs.

Knows processes and the pipes to them, and nothing of what the work is. Jobs are handed out and
taken back piece by piece, so memory stays flat however many there are.
"""

from __future__ import annotations

import os
import signal
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import suppress
from typing import TYPE_CHECKING, Generic, TypeVar

if TYPE_CHECKING:
    from multiprocessing.connection import Connection

Job = TypeVar("Job")
Result = TypeVar("Result")
Work = Callable[[Job], Result]

MOST = 8
"""Processes at most: with more, they would wait for the one that hands out the jobs."""
_AHEAD = 4
"""For each process, the jobs that may be handed out before the first of them is taken back."""


def cores() -> int:
    """The number of cores that this process may use, at most ``MOST``; 1 where a process cannot
    safely be forked."""
    if sys.platform in ("win32", "darwin"):
        return 1
    return min(len(os.sched_getaffinity(0)), MOST)


def in_order(jobs: Iterable[Job], work: Work[Job, Result], processes: int) -> Iterator[Result]:
    """The result of each job, in the order of the jobs, worked out by so many processes.

    They are started with the first job, and know all that this process knows by then. Jobs and
    results must be such as can be pickled, and ``work`` must not raise. Where ``jobs`` raise, so
    does this, once the results of all jobs before are given. The job of a process that is lost is
    done in this one.

    >>> list(in_order(["7841", "7842"], int, processes=2))
    [7841, 7842]
    """
    crew = _Crew(jobs, work)
    try:
        yield from crew.results(processes)
    finally:
        crew.dismiss()


def _serve(work: Work[Job, Result], own: Connection, others: Sequence[Connection]) -> None:
    """What a process does: job after job, until nobody is at the other end of its pipe."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Who hands out the jobs heeds it.
    for other in others:
        other.close()  # Else a pipe would stay open when the other end is gone.
    try:
        while True:
            own.send(work(own.recv()))
    except (EOFError, OSError):
        return


class _Crew(Generic[Job, Result]):
    """Jobs, and the processes that do them."""

    def __init__(self, jobs: Iterable[Job], work: Work[Job, Result]) -> None:
        self._jobs, self._work = enumerate(jobs), work
        self._problem: Exception | None = None
        """What the jobs broke off with."""
        self._idle: list[Connection] = []
        self._at: dict[Connection, tuple[int, Job]] = {}
        """The job, with its number, that is being done at the other end of a pipe."""
        self._done: dict[int, Result] = {}
        """Results by the numbers of their jobs, as long as an earlier one is awaited."""

    def results(self, processes: int) -> Iterator[Result]:
        """The results, in order."""
        job = self._next()
        if job:
            self._start(processes)
        number = 0
        while job or self._at:
            while job and self._idle and job[0] < number + _AHEAD * processes:
                self._hand_out(self._idle.pop(), job)
                job = self._next()
            if self._at:
                self._take_back()
            elif job:  # Every process is lost.
                self._done[job[0]] = self._work(job[1])
                job = self._next()
            while number in self._done:
                yield self._done.pop(number)
                number += 1
        if self._problem:
            raise self._problem

    def _next(self) -> tuple[int, Job] | None:
        try:
            return next(self._jobs, None)
        except Exception as problem:
            self._problem = problem
            return None

    def _start(self, processes: int) -> None:
        # Only a long list needs it, and it takes as long to import as a hundred markings to read.
        from multiprocessing import get_context  # noqa: PLC0415

        context = get_context("fork")
        for _ in range(processes):
            ours, theirs = context.Pipe()
            process = context.Process(
                target=_serve, args=(self._work, theirs, (*self._idle, ours)), daemon=True
            )
            try:
                process.start()
            except OSError:  # No more are allowed; those that are there do the work, or this one.
                ours.close()
                return
            finally:
                theirs.close()
            self._idle.append(ours)

    def _hand_out(self, connection: Connection, job: tuple[int, Job]) -> None:
        self._at[connection] = job
        with suppress(OSError):  # Of a process that is lost; it is seen when it should answer.
            connection.send(job[1])

    def _take_back(self) -> None:
        """The results that are there, after waiting for one of them."""
        from multiprocessing.connection import wait  # noqa: PLC0415

        ready = wait([*self._at])
        for connection in [one for one in self._at if one in ready]:
            number, job = self._at.pop(connection)
            try:
                self._done[number] = connection.recv()
                self._idle.append(connection)
            except (EOFError, OSError):
                self._done[number] = self._work(job)
                connection.close()

    def dismiss(self) -> None:
        """Let the processes go."""
        for connection in (*self._idle, *self._at):
            connection.close()
