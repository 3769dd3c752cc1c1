"""Tries the cases of a part on several processes, and keeps each result as it comes."""

import multiprocessing
import signal
import sys
import time
from collections.abc import Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from itertools import islice

from tests.campaign.kept import Kept
from tests.campaign.part import FELL_OVER, Outcome, Part, Row

TELL_S = 15.0
"""Progress is told so often, and on a terminal every second."""


def timed(part: Part, case: str) -> tuple[Row, float]:
    """One case, and how long it took; whatever falls over is what a campaign is to find."""
    begun_s = time.monotonic()
    try:
        row = part.attempt(case)
    except Exception as error:
        what = str(error).partition("\n")[0]
        row = {FELL_OVER: f"{type(error).__name__}: {what}"}
    return row, time.monotonic() - begun_s


def _at_work(name: str, case: str) -> tuple[Row, float]:
    """The same in another process, where parts are found by their names."""
    from tests.campaign.parts import PARTS

    return timed(next(part for part in PARTS if part.name == name), case)


def _deaf() -> None:
    """Ctrl-C is for the process that hands out the work."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)


def run(
    outcome: Outcome, first: int, kept: Kept, seconds: float, wanted: int | None, workers: int
) -> None:
    """Try the cases that are not kept yet until the time is over, or so many; one at least."""
    part = outcome.part
    todo = (case for case in part.cases(first) if case not in kept.rows)
    end_s = time.monotonic() + seconds if wanted is None else None
    progress = _Progress(outcome)
    for case, row, took_s in _results(part, islice(todo, wanted), end_s, workers):
        kept.add(case, row, took_s)
        outcome.rows[case] = row
        outcome.seconds = kept.seconds
        progress.tell(case)
    progress.close()


def _results(
    part: Part, todo: Iterator[str], end_s: float | None, workers: int
) -> Iterator[tuple[str, Row, float]]:
    """Each case with what came of it, as it comes."""

    def over() -> bool:
        return end_s is not None and time.monotonic() >= end_s

    if workers <= 1:
        for case in todo:
            yield (case, *timed(part, case))
            if over():
                return
        return
    with ProcessPoolExecutor(workers, initializer=_deaf) as pool:
        under_way: dict[Future[tuple[Row, float]], str] = {}
        try:
            for case in islice(todo, workers):
                under_way[pool.submit(_at_work, part.name, case)] = case
            while under_way:
                for future in wait(under_way, return_when=FIRST_COMPLETED).done:
                    yield (under_way.pop(future), *future.result())
                    if not over():
                        for case in islice(todo, 1):
                            under_way[pool.submit(_at_work, part.name, case)] = case
        except BaseException:  # Ctrl-C: what is under way is not waited for.
            for child in multiprocessing.active_children():
                child.terminate()
            raise


class _Progress:
    """Says on standard error how far it is, what was found, and how long it will take."""

    def __init__(self, outcome: Outcome) -> None:
        self._outcome = outcome
        self._begun_s = self._told_s = time.monotonic()
        self._done = 0
        self._screen = sys.stderr.isatty()

    def tell(self, case: str) -> None:
        """One more case is done."""
        self._done += 1
        outcome = self._outcome
        verdict = outcome.verdict(case)
        now_s = time.monotonic()
        if verdict in outcome.part.allowed or verdict == FELL_OVER:
            self._line(f"  {verdict}: {case}: {outcome.told(case)}\n  {outcome.again(case)}\n")
        if now_s - self._told_s < (1.0 if self._screen else TELL_S):
            return
        self._told_s = now_s
        self._line(self._words(now_s) + ("" if self._screen else "\n"))

    def _words(self, now_s: float) -> str:
        outcome = self._outcome
        each_s = (now_s - self._begun_s) / self._done
        counts = ", ".join(f"{n} {verdict}" for verdict, n in outcome.verdicts.most_common())
        of = "" if outcome.total is None else f" of {outcome.total}"
        words = f"{outcome.part.name}: {len(outcome.rows)}{of}: {counts}; {each_s:.2f} s each"
        if outcome.total is None:
            return words
        left_min = each_s * (outcome.total - len(outcome.rows)) / 60.0
        return f"{words}, {left_min:.0f} min left"

    def _line(self, text: str) -> None:
        print(f"\r\033[K{text}" if self._screen else text, end="", file=sys.stderr, flush=True)

    def close(self) -> None:
        """Leave a clean line."""
        if self._screen:
            self._line("")
