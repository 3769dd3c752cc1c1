"""Who plays the seasons: this process, processes of this machine, or a scheduler's workers.

Each season is a task of its own. No more are handed out than keep the workers busy, so that the
memory does not grow with their number; what a worker that was killed had in hand is played again
by another, to the same bytes. dask.distributed hands them out where it is installed (its local
cluster, or the scheduler of ``--on``); without it the processes of Python's own pool do.
"""

import importlib.util
import logging
import multiprocessing
from collections.abc import Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import suppress
from typing import Any

from rillkeeper.errors import RillkeeperError
from rillkeeper.season.task import Result, Task, play

Key = tuple[int, int]
"""Variant and season."""
Work = Iterable[tuple[Key, Task]]

EACH = 3
"""So many tasks are handed out for each worker: the next is there when one is done."""
TRIES = 3
"""A season whose worker is lost so often is not the worker's fault."""
CONNECT_S = 20.0
"""So long a scheduler is waited for, and then its first worker."""


def has_dask() -> bool:
    """Whether dask.distributed is installed."""
    return importlib.util.find_spec("distributed") is not None


def play_all(work: Work, workers: int, address: str | None) -> Iterator[tuple[Key, Result]]:
    """Each season with what came of it, as it comes."""
    if address is not None:
        if not has_dask():
            raise RillkeeperError(
                "--on needs dask.distributed; run: pip install 'rillkeeper[season]'"
            )
        return _on_scheduler(work, address)
    if workers == 1:
        return ((key, play(task)) for key, task in work)
    return _on_cluster(work, workers) if has_dask() else _in_pool(work, workers)


def _on_cluster(work: Work, workers: int) -> Iterator[tuple[Key, Result]]:
    """A cluster of processes on this machine."""
    from distributed import Client, LocalCluster

    with (
        LocalCluster(
            n_workers=workers, threads_per_worker=1, processes=True, dashboard_address=None
        ) as cluster,
        Client(cluster) as client,
    ):
        yield from hand_out(client, work)


def _on_scheduler(work: Work, address: str) -> Iterator[tuple[Key, Result]]:
    """The workers of a scheduler that the user runs."""
    from distributed import Client

    # What it logs of each attempt would stand before the one line that counts.
    logging.getLogger("distributed.comm").setLevel(logging.CRITICAL)
    try:
        client = Client(address, timeout=CONNECT_S)
    except (OSError, ValueError) as error:
        raise RillkeeperError(
            f"--on {address}: no scheduler answers ({_short(error)}); start one with "
            "`dask scheduler`, and `dask worker` with that address on each machine"
        ) from None
    with client:
        try:
            client.wait_for_workers(1, timeout=CONNECT_S)
        except TimeoutError:
            raise RillkeeperError(
                f"--on {address}: the scheduler has no workers; start `dask worker {address}` "
                "on each machine"
            ) from None
        yield from hand_out(client, work)


def _short(error: Exception) -> str:
    """The first line of an error, or its kind where it says nothing."""
    return str(error).partition("\n")[0] or type(error).__name__


def hand_out(client: Any, work: Work) -> Iterator[tuple[Key, Result]]:
    """Let a client's workers play, some tasks at a time."""
    from distributed import as_completed

    todo = iter(work)
    keys: dict[str, Key] = {}
    coming = as_completed()

    def send() -> None:
        wanted = EACH * max(len(client.nthreads()), 1)
        while len(keys) < wanted:
            pair = next(todo, None)
            if pair is None:
                return
            future = client.submit(play, pair[1], pure=False, retries=TRIES)
            keys[future.key] = pair[0]
            coming.add(future)

    send()
    while keys:
        future = next(coming)
        key = keys.pop(future.key)
        result = future.result()
        future.release()
        send()
        yield key, result


def _in_pool(work: Work, workers: int) -> Iterator[tuple[Key, Result]]:
    """Processes of Python's own pool; it is begun anew where one of them was killed."""
    todo = iter(work)
    again: list[tuple[Key, Task]] = []
    broken = 0
    while True:
        lost: list[tuple[Key, Task]] = []
        with suppress(BrokenProcessPool):
            yield from _pool_round(todo, again, lost, workers)
        if not lost:
            return
        broken += 1
        if broken > TRIES * workers:
            raise RillkeeperError("the processes that play the seasons die one after the other")
        again = lost


def _pool_round(
    todo: Iterator[tuple[Key, Task]],
    again: list[tuple[Key, Task]],
    lost: list[tuple[Key, Task]],
    workers: int,
) -> Iterator[tuple[Key, Result]]:
    """Until all is done or a process is killed; what was in hand then is ``lost``."""
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(workers, mp_context=context) as pool:
        hand: dict[Future[Result], tuple[Key, Task]] = {}
        while True:
            while len(hand) < EACH * workers:
                pair = again.pop(0) if again else next(todo, None)
                if pair is None:
                    break
                try:
                    hand[pool.submit(play, pair[1])] = pair
                except BrokenProcessPool:
                    again.append(pair)
                    break
            if not hand:
                lost.extend(again)
                return
            done, _ = wait(hand, return_when=FIRST_COMPLETED)
            for future in done:
                pair = hand.pop(future)
                if isinstance(future.exception(), BrokenProcessPool):
                    lost.append(pair)
                else:
                    yield pair[0], future.result()
            if lost:
                lost.extend(hand.values())
                lost.extend(again)
                return
