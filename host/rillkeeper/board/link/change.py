"""A change on the board: sent with a fresh number, which counts once, and a mark."""

from keeper.crc import sealed
from rillkeeper.board.link.talk import Answer, NoAnswer, Refused, Talk
from rillkeeper.errors import NoBoard

_SENDS = 4
_STALE = "no the number is not fresh"


class AnswerLost(NoBoard):
    """The board took the change, and its answer did not arrive."""


def make(talk: Talk, change: str, *, repeatable: bool = True) -> str:
    """Make a change exactly once; returns what the board says to it.

    When no answer comes, the board's next number tells whether the change arrived: where it did
    not, it is sent again.

    Parameters
    ----------
    talk : Talk
        With the board
    change : str
        As the board's ``help`` lists it
    repeatable : bool
        Whether making it a second time does no harm, when the answer to the first was lost

    Raises
    ------
    Refused
        The board said no
    AnswerLost
        It cannot be told what came of a change that must not be repeated
    NoAnswer
        It does not get through
    """
    number = _fresh(talk)
    for _ in range(_SENDS):
        answer = talk.once(sealed(f"{change} #{number}"))
        if answer is not None and _is_for_change(answer):
            if answer.refusal is not None:
                raise Refused(f"the board refused `{change}`: {answer.refusal}")
            return answer.end
        before, number = number, _fresh(talk)
        stale = answer is not None and answer.end.startswith(_STALE)
        if number != before and not stale and not repeatable:
            raise AnswerLost(
                f"{talk.port.name}: the answer to `{change}` was lost on the line; "
                "see `rillkeeper status` for what came of it"
            )
    raise NoAnswer(f"{talk.port.name}: `{change}` does not get through; the line is too noisy")


def _fresh(talk: Talk) -> int:
    return int(talk.ask("fresh", like="ok fresh=").words()["fresh"])


def _is_for_change(answer: Answer) -> bool:
    """Not a complaint about the line itself, nor the end of another answer."""
    torn = ("no a change needs", "no see help", _STALE)
    return not answer.lines and not answer.end.startswith(torn)
