"""Work by several processes: the same results as from one, in order, and nobody left behind."""

from __future__ import annotations

import errno
import multiprocessing
import os
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from provenance.notes.side_by_side import cores, in_order

pytestmark = pytest.mark.skipif(
    "fork" not in multiprocessing.get_all_start_methods(), reason="this system cannot fork"
)
HERE = os.getpid()


def all_have_ended() -> bool:
    """Whether no process is left, after a while at most."""
    until = time.monotonic() + 20
    while multiprocessing.active_children() and time.monotonic() < until:
        time.sleep(0.01)
    return not multiprocessing.active_children()


@pytest.mark.parametrize("processes", [1, 2, 3])
@pytest.mark.parametrize("jobs", [0, 1, 2, 50])
def test_results_come_in_the_order_of_the_jobs(jobs: int, processes: int) -> None:
    def slow_at_first(job: int) -> tuple[int, bool]:
        time.sleep(0.02 if job % 7 == 0 else 0)
        return job * job, os.getpid() != HERE

    found = list(in_order(range(jobs), slow_at_first, processes))
    assert found == [(job * job, True) for job in range(jobs)]
    assert all_have_ended()


def test_no_process_starts_for_nothing() -> None:
    assert list(in_order([], len, 2)) == []
    assert not multiprocessing.active_children()


def test_what_breaks_off_the_jobs_is_raised_after_the_results_of_those_before() -> None:
    def three() -> Iterator[int]:
        yield from range(3)
        raise ValueError("row 4 is not CSV")

    found: list[str] = []
    with pytest.raises(ValueError, match="row 4 is not CSV"):
        found.extend(in_order(three(), str, 2))
    assert found == ["0", "1", "2"]
    assert all_have_ended()


@pytest.mark.parametrize("lost", [(3,), (0, 1), range(20)])
def test_the_job_of_a_lost_process_is_done_all_the_same(lost: tuple[int, ...]) -> None:
    def work(job: int) -> int:
        if job in lost and os.getpid() != HERE:
            os._exit(1)
        return job

    assert list(in_order(range(20), work, 2)) == list(range(20))
    assert all_have_ended()


@pytest.mark.parametrize("allowed", [0, 1])
def test_where_no_more_processes_are_allowed_the_work_is_done_all_the_same(
    monkeypatch: pytest.MonkeyPatch, allowed: int
) -> None:
    fork = os.fork
    forked: list[bool] = []

    def limited() -> int:
        if len(forked) == allowed:
            raise BlockingIOError(errno.EAGAIN, "Resource temporarily unavailable")
        forked.append(True)
        return fork()

    monkeypatch.setattr(os, "fork", limited)
    assert list(in_order(range(20), str, 2)) == [str(job) for job in range(20)]
    assert len(forked) == allowed
    assert all_have_ended()


def test_jobs_are_taken_as_they_are_needed() -> None:
    taken = []

    def endless() -> Iterator[int]:
        for job in range(10_000):
            taken.append(job)
            yield job

    results = in_order(endless(), str, 2)
    assert [next(results) for _ in range(5)] == ["0", "1", "2", "3", "4"]
    assert len(taken) < 20
    results.close()  # type: ignore[attr-defined]
    assert all_have_ended()


def test_processes_end_when_the_one_that_started_them_is_gone(tmp_path: Path) -> None:
    """Killed, it has no chance to tell them: the pipes do."""
    name = tmp_path / "pids"
    child = os.fork()
    if child == 0:
        results = in_order(range(10_000), lambda job: (job, os.getpid()), 2)
        seen = {next(results)[1] for _ in range(50)}
        written = tmp_path / "new"
        written.write_text(" ".join(map(str, seen)), encoding="ascii")
        written.rename(name)
        time.sleep(60)
        os._exit(0)
    until = time.monotonic() + 20
    while not name.exists() and time.monotonic() < until:
        time.sleep(0.01)
    pids = [int(pid) for pid in name.read_text(encoding="ascii").split()]
    os.kill(child, 9)
    os.waitpid(child, 0)
    while any(map(runs, pids)) and time.monotonic() < until:
        time.sleep(0.01)
    assert pids
    assert not any(map(runs, pids))


def runs(pid: int) -> bool:
    """Whether a process is there that is not merely waiting to be buried."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False


def test_cores() -> None:
    assert 1 <= cores() <= max(os.cpu_count() or 1, 1)
