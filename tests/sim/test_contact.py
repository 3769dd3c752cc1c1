"""The relay: coil and contact, in health and in every fault."""

import pytest

from rillsim.boards.contact import (
    CHATTERING,
    DROP_OUT_V,
    GOOD,
    PULL_IN_V,
    STUCK_OPEN,
    WELDED,
    Contact,
)


def settled(contact: Contact, pin: int, coil_v: float = 12.0, n: int = 0) -> bool:
    contact.pin = pin
    contact.settle(n, coil_v)
    return contact.closed


def test_it_follows_the_pin() -> None:
    contact = Contact(1)
    assert [settled(contact, pin) for pin in (0, 1, 1, 0)] == [False, True, True, False]
    assert contact.closings == 1


def test_a_weak_supply_does_not_pull_it_in_but_holds_it() -> None:
    contact = Contact(1)
    assert not settled(contact, 1, PULL_IN_V - 0.1)
    assert contact.waiting
    assert settled(contact, 1, PULL_IN_V)
    assert not contact.waiting
    assert settled(contact, 1, DROP_OUT_V)
    assert not settled(contact, 1, DROP_OUT_V - 0.1)
    assert not settled(contact, 1, PULL_IN_V - 0.1)


def test_a_weld_shows_when_it_should_open() -> None:
    contact = Contact(1)
    contact.mode = WELDED
    assert not settled(contact, 0), "an open contact does not weld"
    assert settled(contact, 1)
    assert settled(contact, 0)
    assert settled(contact, 0, 0.0)
    contact.mode = GOOD
    assert not settled(contact, 0)


def test_a_stuck_open_contact_never_closes() -> None:
    contact = Contact(1)
    contact.mode = STUCK_OPEN
    assert not settled(contact, 1)


@pytest.mark.parametrize("severity", [0.2, 1.0])
def test_a_chattering_contact_is_open_for_its_share(severity: float) -> None:
    contact = Contact(1)
    contact.mode, contact.severity = CHATTERING, severity
    closed = [settled(contact, 1, n=n) for n in range(4000)]
    assert 1.0 - sum(closed) / 4000 == pytest.approx(0.5 * severity, abs=0.03)
    assert contact.restless
    again = Contact(1)
    again.mode, again.severity = CHATTERING, severity
    assert closed == [settled(again, 1, n=n) for n in range(4000)]
    assert not settled(contact, 0)
    assert not contact.restless
