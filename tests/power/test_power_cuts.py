"""The power is cut at every flash operation, in turn, whole and torn. Real littlefs underneath."""

import pytest

from device import store
from device.flashlog import FlashLog
from keeper import Keeper, Settings, lines, memory
from keeper.cycle import LOCKOUT
from keeper.records import FIELDS_MAX, FIRST, MINUTE, SEQ
from tests.interpreters.board import BOARD
from tests.power.recordedflash import Flash, cuts, empty_image

PAGES_MAX = 4
LINES = 260


def line(seq: int) -> str:
    row = [seq, 20000, seq % 86400, 1, MINUTE] + [seq * 7 % 100000] * FIELDS_MAX
    return lines.format_line(row[: FIRST + FIELDS_MAX])


def log_on(flash: Flash) -> FlashLog:
    return FlashLog(flash, "log", PAGES_MAX)


def kept(log: FlashLog) -> list[str]:
    found: list[str] = []
    seq = log.oldest
    while chunk := log.lines_from(seq, 50):
        found += chunk
        seq = lines.parse_line(found[-1])[SEQ] + 1
    return found


def write(first: int, last: int, flash: Flash) -> None:
    """Lines one by one, each on flash before the next."""
    log = log_on(flash)
    for seq in range(first, last):
        log.add(line(seq))
        assert log.flush()
        flash.ack(seq + 1)


def judge_log(cut: str, flash: Flash, acked: int) -> None:
    """Everything promised is there, in order and whole; and the log can be gone on with."""
    log = log_on(flash)
    found = kept(log)
    assert acked <= log.next_seq <= acked + 1, cut
    assert found == [line(seq) for seq in range(log.oldest, log.next_seq)], cut
    log.add(line(log.next_seq))
    assert log.flush(), cut
    assert kept(log_on(flash))[-1] == line(log_on(flash).next_seq - 1), cut


@pytest.mark.parametrize(("before", "after"), [(0, 60), (150, 190)], ids=["append", "roll over"])
def test_log(before: int, after: int) -> None:
    """From the first line on an empty flash; and where full pages give way to new ones."""
    flash = Flash(empty_image())
    write(0, before, flash)
    image = bytes(flash.recorder.buffer)
    tried = 0

    def scenario(recorded: Flash) -> None:
        recorded.ack(before)
        write(before, after, recorded)

    for cut, cut_flash, acked in cuts(scenario, image):
        judge_log(cut, cut_flash, acked)
        tried += 1
    assert tried > 100
    print(f"log: {tried} cuts of {tried} recover")


def test_roll_over_states_what_was_dropped() -> None:
    flash = Flash(empty_image())
    write(0, LINES, flash)
    log = log_on(flash)
    assert log.oldest > 0
    assert len(flash.names("log")) == PAGES_MAX
    newest = sorted(flash.names("log"))[-1]
    head = (flash.read("log/" + newest) or b"").decode().split("\n")[0]
    words = dict(word.split("=") for word in head.split() if "=" in word)
    assert int(words["first"]) == int(newest[:-4])
    assert int(words["oldest"]) == log.oldest
    assert kept(log)[0] == line(log.oldest)


def save_all(texts: list[str], flash: Flash) -> None:
    slots = store.TwoSlots(flash, "memory")
    slots.load()
    for number, text in enumerate(texts):
        assert slots.save(text)
        flash.ack(number + 1)


def settings_texts() -> list[str]:
    return [store.settings_text({**Settings(BOARD).values(), "hand_minutes": n}) for n in (5, 6)]


def test_settings_are_the_old_or_the_new() -> None:
    texts = settings_texts() * 3
    tried = 0
    for cut, flash, acked in cuts(lambda recorded: save_all(texts, recorded), empty_image()):
        found = store.TwoSlots(flash, "memory").load()
        before = texts[acked - 1] if acked else None
        assert found in (before, texts[min(acked, len(texts) - 1)]), cut
        tried += 1
    print(f"settings: {tried} cuts of {tried} leave the old or the new")
    assert tried > 30


def test_every_pair_of_cuts() -> None:
    """Cut while new settings are written, and cut again while that is made good."""
    old, new = settings_texts()
    flash = Flash(empty_image())
    save_all([old, old, old], flash)
    image = bytes(flash.recorder.buffer)
    tried = 0
    for first, once, _ in cuts(lambda recorded: save_all([new], recorded), image):
        assert store.TwoSlots(once, "memory").load() in (old, new), first
        again = bytes(once.recorder.buffer)
        for second, twice, acked in cuts(lambda recorded: save_all([new], recorded), again):
            found = store.TwoSlots(twice, "memory").load()
            assert found == new or (found == old and not acked), (first, second)
            tried += 1
    print(f"settings: {tried} pairs of cuts")
    assert tried > 50


def test_a_lockout_is_never_forgotten() -> None:
    """From the moment it is saved no cut brings back a board that would start the pump."""
    keeper = Keeper(Settings(BOARD))
    idle = memory.save(keeper)
    keeper.state = LOCKOUT
    locked = memory.save(keeper)
    texts = [idle, locked, locked, locked]
    for cut, flash, acked in cuts(lambda recorded: save_all(texts, recorded), empty_image()):
        text = store.TwoSlots(flash, "memory").load()
        if acked >= texts.index(locked) + 1:
            assert text is not None, cut
            woken = Keeper(Settings(BOARD), 1)
            memory.load(woken, text)
            assert woken.state == LOCKOUT, cut


def test_a_store_in_one_slot_would_fail() -> None:
    """The same cuts find a store that writes its only slot in place: they can fail."""
    texts = settings_texts() * 2

    def scenario(flash: Flash) -> None:
        for number, text in enumerate(texts):
            flash.names("")
            if "only" in flash.names(""):
                flash.remove("only")
            with flash.open("only", "wb") as file:
                file.write(text.encode())
            flash.ack(number + 1)

    lost = [cut for cut, flash, n in cuts(scenario, empty_image()) if n and not flash.read("only")]
    assert lost


def test_wear() -> None:
    """Ten years of nights stay far below the 100,000 erases that flash is rated for (W25Q16JV
    data sheet, section 1; from memory): erases of the most worn block over these appends."""
    flash = Flash(empty_image())
    write(0, LINES, flash)
    appends_a_night = 110
    nights = 3652
    spread = len(flash.recorder.erases)
    per_append = sum(flash.recorder.erases) / LINES
    blocks_on_board = 352
    free_share = 0.5
    worst = max(flash.recorder.erases) / (sum(flash.recorder.erases) / spread)
    erases = per_append * appends_a_night * nights / (blocks_on_board * free_share) * worst
    print(f"{per_append:.2f} erases an append, {erases:.0f} of the worst block in ten years")
    assert erases < 50_000
