"""What must outlive a power loss: the battery is carried home every few nights.

``save`` gives a flat row of whole numbers, ``load`` puts it into a new Keeper. A lockout, a
flat battery, the tries of tonight and what tonight's sets have been given are in it, so that
pulling the battery clears nothing and waters nothing twice.
"""

from .cycle import CHECK, DONE, FLAT, IDLE, LOCKOUT, UNSET
from .rules import RULES
from .settings import SETS

VERSION = 1

_KEPT_STATES = (DONE, FLAT, LOCKOUT)
_PER_SET = 4
_HEAD = 14
SIZE = _HEAD + _PER_SET * (SETS + 1) + len(RULES)


def save(keeper) -> list:
    """The row of numbers to be kept. Allocates: not for the tick in which a rule may trip.

    Empty for a keeper without settings, which has done nothing: what was kept before stays true.
    """
    if keeper.state == UNSET:
        return []
    charge = keeper.charge
    operating = keeper.operating
    watch = keeper.relaywatch
    watering = keeper.watering
    row = [
        VERSION,
        keeper.state if keeper.state in _KEPT_STATES else IDLE,
        keeper.night,
        keeper.journal.seq,
        charge.left_mah,
        charge.used_mah,
        charge.night_use_mah,
        operating.base_pa,
        operating.base_nights,
        # Kept before the relay closes: a pump that pulls the supply down resets the board at once,
        # and each of those starts must count.
        watch.starts + 1 if keeper.state == CHECK else watch.starts,
        watch.heat_ms,
        watering.night_run_s,
        watering.night_ml,
        keeper.hand.hold_until_night,
    ]
    plan = keeper.plan
    for kept in (plan.done_night, plan.begun_night, plan.given_s, plan.given_ml):
        row.extend(kept)
    row.extend(keeper.guard.tries)
    return row


def load(keeper, row: list) -> None:
    """Put a saved row into a Keeper that has not stepped yet.

    Raises ValueError for a row of another version or length; the Keeper is then as it was.
    One without settings takes any row and stays as it is.
    """
    if keeper.state == UNSET:
        return
    if len(row) != SIZE or row[0] != VERSION:
        raise ValueError("a saved state of another version")
    keeper.state = row[1]
    keeper.night = row[2]
    keeper.journal.seq = row[3]
    charge = keeper.charge
    charge.left_mah = min(row[4], keeper.settings.capacity_mah)
    charge.used_mah = row[5]
    charge.night_use_mah = row[6]
    keeper.operating.base_pa = row[7]
    keeper.operating.base_nights = row[8]
    keeper.relaywatch.remember(row[9], row[10])
    keeper.watering.night_run_s = row[11]
    keeper.watering.night_ml = row[12]
    keeper.hand.hold_until_night = row[13]
    plan = keeper.plan
    place = _HEAD
    for kept in (plan.done_night, plan.begun_night, plan.given_s, plan.given_ml):
        for number in range(SETS + 1):
            kept[number] = row[place]
            place += 1
    for rule in range(len(RULES)):
        keeper.guard.tries[rule] = row[place]
        place += 1
