"""What happens to the board's side of a site: channels, clock, relay, rain and battery."""

from rillsim import ledger
from rillsim.boards.boardclock import BoardClock
from rillsim.boards.contact import Contact
from rillsim.boards.sensors import CHANNELS, PLACES, Sensors
from rillsim.faults.conditions import HEALTHY_WIRING, Conditions
from rillsim.stepper import AS_PER_AH, State
from rillsim.supply.battery import Battery
from rillsim.supply.charger import charge
from rillsim.supply.chemistry import CHEMISTRY


def set_channels(sensors: Sensors, before: Conditions, now: Conditions, held: list[int]) -> None:
    """Break or mend the board's channels; a stuck one holds what it read last."""
    for channel in range(CHANNELS):
        wiring = now.wiring.get(channel, HEALTHY_WIRING)
        if wiring != before.wiring.get(channel, HEALTHY_WIRING):
            sensors.set_wiring(channel, *wiring, held=held[PLACES[channel]])
    sensors.set_swapped(now.channels_swapped)


def set_contacts(first: Contact, second: Contact | None, now: Conditions) -> None:
    """Spoil or mend the relays."""
    first.mode = now.contact_mode
    first.severity = now.chatter
    if second is not None:
        second.mode = now.second_contact_mode


def set_clock(clock: BoardClock, n: int, before: Conditions, now: Conditions) -> None:
    """Let the clock forget, jump, stop or go on at tick ``n``."""
    if now.clock_lost and not before.clock_lost:
        clock.lose()
    if now.clock_back_s > before.clock_back_s:
        clock.set_back(n, now.clock_back_s - before.clock_back_s)
    clock.misread_s = now.clock_misread_s
    if now.clock_stopped and not before.clock_stopped:
        clock.stop(n)
    elif before.clock_stopped and not now.clock_stopped:
        clock.start(n)


def charge_at_home(
    state: State, battery: Battery, charger_a: float, away_s: float, most: float
) -> float:
    """A battery comes back after some hours on a charger; the share of a full charge it has."""
    battery.restore(state.battery)
    before_ah = battery.charge_ah
    charge(battery, charger_a, away_s, most=most)
    state.battery = battery.save()
    state.totals[ledger.BATTERY_SWAP] += (battery.charge_ah - before_ah) * AS_PER_AH
    return battery.soc


def swap_battery(state: State, battery: Battery, charged: float | None, missing: float) -> None:
    """A battery comes back, charged to a share of what it holds; or somebody draws on it.

    ``charged`` is None where none came back. ``missing`` is the share of the rated charge that
    is gone at once. The ledger keeps what was put in or taken out.
    """
    battery.restore(state.battery)
    before_ah = battery.charge_ah
    taken, near, polarisation, lost, surface = state.battery
    gone = 0.0
    if charged is not None:
        taken = near = polarisation = surface = 0.0
        battery.restore((taken, near, polarisation, lost, surface))
        gone = (1.0 - charged) * battery.charge_ah
    if missing > 0.0:
        left = battery.soc * battery.charge_ah - gone
        gone += min(missing * battery.spec.capacity_ah, left)
    if gone > 0.0:
        near += gone * CHEMISTRY[battery.spec.chemistry].share
        taken += gone
    state.battery = (taken, near, polarisation, lost, surface)
    battery.restore(state.battery)
    state.totals[ledger.BATTERY_SWAP] += (battery.charge_ah - before_ah) * AS_PER_AH
