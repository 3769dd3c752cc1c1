"""The whole firmware in MicroPython, on a desk: what a person does to it, and what breaks."""

import signal
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest
from littlefs import LittleFS

from keeper import crc
from keeper.records import POWER_BROKE_RUN
from rillsim.boards.virtualboard import VirtualBoardStopped
from tests.bench.noise import relay_under_noise
from tests.device.desk import Desk
from tests.interpreters import rigs
from tests.interpreters.board import BOARD

pytestmark = pytest.mark.interpreter

Need = Callable[[str], Path]


@pytest.fixture
def micropython(need: Need) -> Path:
    return need("micropython")


def run_by_hand(desk: Desk) -> None:
    """Start the pump over the line, and wait until the relay is closed."""
    assert desk.make("run 3") == "ok asked run"
    for _ in range(100):
        if desk.ticks(1)[0]:
            return
    raise AssertionError(f"never started: {desk.status()}")


def change_flash(image: Path, change: Callable[[LittleFS], None]) -> None:
    """Change files on the flash while the board is off."""
    flash = LittleFS(block_size=4096, block_count=352, prog_size=256, mount=False)
    flash.context.buffer = bytearray(image.read_bytes())
    flash.mount()
    change(flash)
    image.write_bytes(bytes(flash.context.buffer))


def test_a_talk(micropython: Path, tmp_path: Path) -> None:
    with Desk(micropython, tmp_path, BOARD) as desk:
        assert desk.say("help")[-1] == "ok"
        assert desk.status()["state"] == "idle"
        assert desk.status()["trouble"] == "none"
        assert desk.say("clock")[0].startswith("clock 2026-07-09 12:00:")
        assert any("boot cause=0" in line for line in desk.say("log"))


def test_run_and_stop_over_the_line(micropython: Path, tmp_path: Path) -> None:
    with Desk(micropython, tmp_path, BOARD) as desk:
        run_by_hand(desk)
        assert desk.status()["relay"] == "1"
        assert desk.make("stop") == "ok asked stop"
        assert desk.ticks(2)[-1] == 0, "by the tick after the answer"
        assert desk.make("apply").startswith("ok")
        log = desk.board.log
        assert any(" stop cause=1 " in line for line in log)


def test_two_changes_in_one_write_are_both_made(micropython: Path, tmp_path: Path) -> None:
    """The first line is taken just before a tick, and the other two between it and the next."""
    with Desk(micropython, tmp_path, BOARD) as desk:
        desk.ticks(20)
        first = desk.fresh()
        changes = [f"battery 20000 #{first}", f"hold 2 #{first + 1 & 0xFFFF}"]
        desk.heard = b""
        desk.put(b"clock\n" + b"".join(crc.sealed(change).encode() + b"\n" for change in changes))
        for _ in range(50):
            desk.ticks(1)
            desk.listen()
        assert desk.heard.count(b"ok asked battery") == desk.heard.count(b"ok asked hold") == 1
        made = [line for line in desk.board.log if " hand " in line]
        assert ["value=20000" in made[0], "value=2 " in made[1]] == [True, True], made


def test_of_many_changes_in_one_write_none_is_lost_without_a_word(
    micropython: Path, tmp_path: Path
) -> None:
    with Desk(micropython, tmp_path, BOARD) as desk:
        desk.ticks(20)
        first = desk.fresh()
        changes = [f"battery {20000 + n} #{first + n & 0xFFFF}" for n in range(12)]
        desk.heard = b""
        desk.put(b"".join(crc.sealed(change).encode() + b"\n" for change in changes))
        for _ in range(50):
            desk.ticks(1)
            desk.listen()
        made = [line for line in desk.board.log if " hand " in line]
        assert desk.heard.count(b"ok asked battery") == len(made) >= 4
        assert desk.heard.count(b"no busy") == len(changes) - len(made)


@pytest.mark.parametrize("chip", [True, False])
def test_the_clock_is_set_over_the_line(chip: bool, micropython: Path, tmp_path: Path) -> None:
    """The chip, or the board's own clock where there is none; and it goes on from there."""
    with Desk(micropython, tmp_path, BOARD, chip=chip) as desk:
        assert desk.say("clock")[0].endswith("by=chip" if chip else "by=own")
        assert desk.make("set-clock 2026-07-31 23:59:50") == "ok"
        desk.ticks(300)
        day, time_of_day = desk.say("clock")[0].split(" ")[1:3]
        assert day == "2026-08-01"
        assert time_of_day.startswith("00:00:")


def test_ctrl_c_opens_the_relay_first(micropython: Path, tmp_path: Path) -> None:
    with Desk(micropython, tmp_path, BOARD) as desk:
        run_by_hand(desk)
        process = desk.board._process
        assert process is not None
        process.send_signal(signal.SIGINT)
        assert desk.ticks(1) == [0], "the last the plant sees of the pin"
        with pytest.raises(VirtualBoardStopped):
            desk.ticks(1)
        desk._read()
        assert b"KeyboardInterrupt" in desk.heard + desk.board.printed().encode()


def test_an_unread_port_delays_no_tick(micropython: Path, tmp_path: Path) -> None:
    """The terminal is full and nobody reads; ticks go on, and stop stops."""
    with Desk(micropython, tmp_path, BOARD) as desk:
        run_by_hand(desk)
        stop = desk.asked_to_send("stop")
        desk._read = lambda: None  # type: ignore[method-assign]
        for _ in range(30):
            desk.put(b"settings\n")
            assert desk.ticks(1) == [1]
        desk.put(stop.encode() + b"\n")
        assert desk.ticks(12)[-1] == 0


def test_service_starts_once_without_the_loop(micropython: Path, tmp_path: Path) -> None:
    with Desk(micropython, tmp_path, BOARD) as desk:
        assert desk.make("service") == "ok"
        with pytest.raises(VirtualBoardStopped, match="status 0"):
            desk.ticks(20)
        assert desk.board.restarts == 1
        assert b"service: the pump does not run" in desk.heard
        assert desk.status()["state"] == "idle", "the start after that is an ordinary one"


def test_settings_over_the_line_are_kept(micropython: Path, tmp_path: Path) -> None:
    """A board that was never set says so, does not pump, and takes its settings by hand."""
    with Desk(micropython, tmp_path, None) as desk:
        assert desk.status()["state"] == "unset"
        assert desk.status()["trouble"] == "no_settings"
        assert desk.make("run 1").startswith("no the board does not pump: no settings")
        for key, value in BOARD.items():
            assert desk.make(f"set {key} {value}").startswith("ok")
        assert desk.make("apply") == "ok"
        assert desk.status()["state"] == "idle"
        desk.board.power_back()
        assert desk.status()["trouble"] == "none"
        run_by_hand(desk)


@pytest.mark.parametrize("slots", [("settings.a",), ("settings.a", "settings.b")])
def test_damaged_settings_do_not_pump(
    slots: tuple[str, ...], micropython: Path, tmp_path: Path
) -> None:
    """One damaged slot of the only ones written, or both."""

    def damage(flash: LittleFS) -> None:
        for slot in slots:
            with flash.open(slot, "wb") as file:
                file.write(b"rill-store 1 9\nnormal_pa 180000\n~00000000\n")

    with Desk(micropython, tmp_path, BOARD) as desk:
        change_flash(desk.board.image, damage)
        assert desk.status()["trouble"] == "settings_are_damaged"
        assert desk.status()["state"] == "unset"


def test_damaged_memory_locks_out(micropython: Path, tmp_path: Path) -> None:
    """It may have said that the board was locked out."""
    with Desk(micropython, tmp_path, BOARD) as desk:
        desk.ticks(5)
        desk.board.power_off()

        def damage(flash: LittleFS) -> None:
            for slot in flash.listdir("/"):
                if slot.startswith("memory"):
                    with flash.open(slot, "wb") as file:
                        file.write(b"?")

        change_flash(desk.board.image, damage)
        assert desk.status()["state"] == "lockout"
        assert desk.make("clear").startswith("ok")
        desk.ticks(3)
        assert desk.status()["state"] == "idle"


@pytest.mark.parametrize("path", ["lib/keeper/lines.py", "manifest.txt"])
def test_a_flipped_bit_of_the_firmware_does_not_pump(
    path: str, micropython: Path, tmp_path: Path
) -> None:
    def damage(flash: LittleFS) -> None:
        with flash.open(path, "rb") as file:
            data = bytearray(file.read())
        data[20] ^= 1
        with flash.open(path, "wb") as file:
            file.write(data)

    with Desk(micropython, tmp_path, BOARD) as desk:
        change_flash(desk.board.image, damage)
        assert "damaged" in desk.status()["trouble"]
        assert desk.make("run 1").startswith("no the board does not pump")
        assert not any(desk.ticks(50))


def test_a_firmware_without_a_list_does_not_pump(micropython: Path, tmp_path: Path) -> None:
    with Desk(micropython, tmp_path, BOARD) as desk:
        change_flash(desk.board.image, lambda flash: flash.remove("manifest.txt"))
        assert desk.status()["trouble"] == "manifest.txt_is_missing"


def test_a_full_flash_says_so(micropython: Path, tmp_path: Path) -> None:
    """The log cannot be written, and the status says so; a run stops as it should."""

    script = """
import sys
from virtual import flash
flash.mount(sys.argv[1], "/flash")
for size in (4096, 64):
    try:
        with open("/flash/fill%d" % size, "wb") as file:
            while True:
                file.write(b"x" * size)
                file.flush()
    except OSError:
        pass
"""
    (tmp_path / "fill.py").write_text(script, encoding="ascii")
    with Desk(micropython, tmp_path, BOARD) as desk:
        subprocess.run(
            [micropython, tmp_path / "fill.py", desk.board.image],
            env={"MICROPYPATH": str(rigs.FIRMWARE)},
            check=True,
        )
        for _ in range(12):
            desk.make("hold 0")
            desk.ticks(2)
        status = desk.status()
        assert status["failed"] == "1" or status["trouble"] == "flash_cannot_be_written"
        assert int(status["waiting"]) > 0
        assert not any(desk.ticks(30))


def test_a_nap_without_a_host_and_none_with_one(micropython: Path, tmp_path: Path) -> None:
    with Desk(micropython, tmp_path, BOARD, usb=False) as desk:
        desk.ticks(60)
        assert desk.board.nap_ticks() > 100
        desk.board.usb_power = True
        desk.ticks(2)
        assert desk.board.nap_ticks() == 1


def test_the_button_ends_a_nap(micropython: Path, tmp_path: Path) -> None:
    with Desk(micropython, tmp_path, BOARD, usb=False) as desk:
        desk.ticks(60)
        desk.counts[3] = 2
        desk.ticks(3)
        desk.counts[3] = 0
        assert any(desk.ticks(60)), "a short press starts a run by hand"


def test_power_lost_while_pumping(micropython: Path, tmp_path: Path) -> None:
    """It comes back with the relay open, numbers its records on, and checks before it starts."""
    with Desk(micropython, tmp_path, BOARD) as desk:
        run_by_hand(desk)
        desk.ticks(20)
        desk.board.power_back()
        desk.level = 0
        assert desk.ticks(10) == [0] * 10
        numbers = [int(line.split(" ")[0]) for line in desk.board.log]
        assert numbers == sorted(set(numbers))
        assert any(f" boot cause={POWER_BROKE_RUN} " in line for line in desk.board.log)


def test_noise_on_the_port_moves_no_relay(micropython: Path, tmp_path: Path) -> None:
    """While the board waits, and while it pumps."""
    sent, ticks, closed, opened = relay_under_noise(tmp_path, 200_000)
    assert sent > 400_000
    assert ticks > 800
    assert closed == opened == 0
