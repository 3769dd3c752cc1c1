"""Questions and answers: a line goes out, marked lines come back, the last one "ok" or "no".

What has no fitting mark is noise, or a line that the cable has torn. A question that changes
nothing is asked again when its answer was torn or did not come.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from time import monotonic

import click

from keeper.crc import unsealed
from rillkeeper.board.link.port import Port
from rillkeeper.errors import NoBoard, RillkeeperError

TRIES = 4
PATIENCE_S = 2.0
"""A board answers within a tenth of a second; writing its flash takes another."""
ANSWER_S = 30.0
"""The longest answer is over long before, even on a line full of noise."""
STRANGE_S = 5.0
"""Whoever talks for so long without one whole line is no board of ours."""
SETTLE_S = 0.3
PROMPT = b">>> "
_LEAVE_RAW = b"\x02"
"""Ctrl-B: a board that a program has left in its silent prompt goes back to the ordinary one."""
LINE_BYTES_MAX = 400
REFUSALS = 3
"""Until one is believed: those before may be late ones, to what was left in the board. A program
that looks for a modem and a terminal leave a line each."""


class NoAnswer(NoBoard):
    """The port is there, but nothing on it talks like a board."""


class NoFirmware(NoAnswer):
    """The board is at its prompt: no firmware of ours runs there."""


class Refused(RillkeeperError):
    """The board said no; the text says why."""


@dataclass(frozen=True)
class Answer:
    """What came back for one line."""

    lines: tuple[str, ...]
    """Without their marks, and without the last."""
    end: str
    """The last: "ok ..." or "no ..."."""
    garbled: tuple[str, ...]
    """Lines in between that were not whole."""

    @property
    def refusal(self) -> str | None:
        """Why the board said no, if it did."""
        return self.end[3:] if self.end.startswith("no ") else None

    def words(self, first: str = "") -> dict[str, str]:
        """The ``name=value`` words of the lines that begin with a word, and of the end."""
        texts = [line for line in self.lines if line.split(" ")[0] == first or not first]
        words = " ".join([*texts, self.end]).split(" ")
        return dict(word.split("=", 1) for word in words if "=" in word)

    def is_like(self, like: str) -> bool:
        """Whether it can be the answer that was waited for, not a late one to another line."""
        return any(text.startswith((like, "no ")) for text in (*self.lines[:1], self.end))


class Talk:
    """A talk with the board behind one port."""

    def __init__(self, port: Port, *, tries: int = TRIES, patience_s: float = PATIENCE_S) -> None:
        self.port = port
        self.garbled = 0
        """Lines that were not whole, in all."""
        self._strange = False
        self._tries = tries
        self._patience_s = patience_s
        self._heard = self._prompted = self._understood = self._told = False
        port.write(b"\n")  # Ends what noise has left in the board's buffer.
        self._settle(SETTLE_S / 3)

    def ask(self, question: str, like: str = "ok") -> Answer:
        """Ask something that changes nothing, again where the answer is not whole.

        Parameters
        ----------
        question : str
            The line
        like : str
            How the first or the last line of the answer begins

        Raises
        ------
        NoAnswer
            When nothing came that could be the answer
        """
        best: Answer | None = None
        refusals = 0
        for _ in range(self._tries):
            answer = self.once(question)
            if answer is None and (self._prompted or self._strange):
                break
            if answer is None:
                self._tell_of_the_wait()
            if answer is None or not answer.is_like(like):
                self._settle(SETTLE_S)
                continue
            if answer.refusal:
                refusals += 1
                if refusals < REFUSALS:
                    best = best or answer
                    self._settle(SETTLE_S)
                    continue
            if not answer.garbled:
                return answer
            if best is None or best.refusal or len(answer.garbled) < len(best.garbled):
                best = answer
            self._settle(SETTLE_S / 3)
        if best is None:
            raise self._no_answer()
        return best

    def once(self, line: str) -> Answer | None:
        """Send a line and take its answer; None where no end of one came."""
        self.port.write(line.encode("ascii", "replace") + b"\n")
        lines: list[str] = []
        garbled: list[str] = []
        for come in self._lines():
            text = unsealed(come)
            self._understood = self._understood or text is not None
            if text is None:
                garbled.append(come)
                self.garbled += 1
            elif text.split(" ")[0] in ("ok", "no"):
                return Answer(tuple(lines), text, tuple(garbled))
            else:
                lines.append(text)
        return None

    def _lines(self) -> Iterator[str]:
        """Lines as they come, until nothing comes any more."""
        begun = last = monotonic()
        held = b""
        while True:
            data = self.port.read()
            now = monotonic()
            if data:
                self._heard = True
                last = now
            longest_s = ANSWER_S if self._understood else STRANGE_S
            if now - last > self._patience_s or now - begun > longest_s:
                self._strange = self._heard and not self._understood and now - begun > STRANGE_S
                return
            held += data
            self._prompted = self._prompted or PROMPT in held
            *whole, held = held.replace(b"\r", b"\n").split(b"\n")
            for line in whole:
                if line:
                    yield line.decode("ascii", "backslashreplace")
            held = held[-LINE_BYTES_MAX:]

    def _tell_of_the_wait(self) -> None:
        """Say once that nothing has come, and how long it is still waited for."""
        if not self._told:
            self._told = True
            most_s = self._patience_s * (self._tries - 1)
            click.echo(
                f"{self.port.name}: no answer yet; asking again for up to {most_s:.0f} s", err=True
            )

    def _settle(self, quiet_s: float) -> None:
        """Let go by what still comes, until it is quiet."""
        begun = last = monotonic()
        while monotonic() - last < quiet_s and monotonic() - begun < self._patience_s:
            if self.port.read():
                last = monotonic()

    def _no_answer(self) -> NoAnswer:
        name = self.port.name
        if not self._heard:
            self.port.write(_LEAVE_RAW)
            self._prompted = PROMPT in self.port.read() + self.port.read()
        if self._prompted:
            return NoFirmware(
                f"{name}: no firmware runs there, the board is at its MicroPython prompt and does "
                "not pump; run: rillkeeper flash"
            )
        if self._heard:
            return NoAnswer(
                f"{name}: what comes from there is not a rillkeeper board, or the line is too "
                "noisy; see `rillkeeper ports`"
            )
        return NoAnswer(f"{name}: no answer; is the board powered, and is this its port?")
