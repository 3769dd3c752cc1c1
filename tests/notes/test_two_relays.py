"""Two relays of the build guide: what they share, and that each alone parts the pump."""

import pytest

pytest.importorskip("schemdraw")

from hardware_notes.building import card
from hardware_notes.building.wires import NUMBER, WIRES, wire_between
from tests.notes.test_build import GUIDE, joined_to


def test_two_relays_share_nothing_but_plus_minus_and_the_board() -> None:
    """The second relay's section of ``relay.md``: what is common to both fails for both."""
    shared = {"12 V behind the diode", "ground"}
    first = {"Q1", "R1", "R2", "D3", "K1", "X4.3", "X4.4", "X5.1"}
    second = {"Q2", "R3", "R4", "D6", "K2", "X4.9", "X4.10", "X5.15"}
    for name, net in card.CIRCUIT.items():
        ends = {end if end.startswith("X") else end.partition(".")[0] for end in net.split()}
        assert name in shared or not (ends & first and ends & second), name


def test_contacts_of_two_relays_lie_one_behind_the_other() -> None:
    """Without the wire that step 22 takes out, each contact alone parts the pump from X1.2."""
    joins = [{w.start, w.end} for w in WIRES if (w.start, w.end) != ("K1.87", "X1.4")]
    assert NUMBER[wire_between("K1.87", "X1.4")] == 9
    assert "Take wire 9 out" in GUIDE
    contacts = {name: {f"{name}.30", f"{name}.87"} for name in ("K1", "K2")}
    assert "X1.4" in joined_to("X1.2", [*joins, *contacts.values()])
    for closed in contacts.values():
        assert "X1.4" not in joined_to("X1.2", [*joins, closed])
