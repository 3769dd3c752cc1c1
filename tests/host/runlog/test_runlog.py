"""Reading a log that is whole, torn, read twice, or has holes."""

from hypothesis import given
from hypothesis import strategies as st

from rillkeeper.runlog.lines import SEQ_TURN, read_log
from tests.host.runlog.sample_log import FIRST_DAY, Writer, sample

LINES = sample().lines


def test_a_whole_log() -> None:
    log = read_log(LINES)
    assert len(log.entries) == len(LINES)
    assert log.whole
    assert log.missing == log.duplicates == 0
    assert [entry.seq for entry in log.entries] == list(range(len(LINES)))


def test_damaged_lines_are_counted_and_leave_a_gap_that_is_said() -> None:
    lines = list(LINES)
    lines[10] = lines[10].replace("pressure_pa=150000", "pressure_pa=250000")
    lines[20] = lines[20][:30]
    log = read_log(lines)
    assert [(damage.line, damage.reason) for damage in log.damages] == [
        (11, "torn or damaged"),
        (21, "torn or damaged"),
    ]
    assert log.missing == 2
    assert not log.whole
    assert log.gaps[0].sentence == (
        "1 record is missing between 2026-06-01 22:03:00 and 2026-06-01 22:05:00."
    )


def test_a_record_of_a_later_version_is_named_so() -> None:
    from keeper.crc import crc16

    text = "5 2026-06-01 22:00:00 ok tide height_mm=3"
    log = read_log([f"{text} ~{crc16(text.encode()):04X}"])
    assert [damage.reason for damage in log.damages] == ["of another version"]


def test_rubbish_with_a_sound_check_is_damage_too() -> None:
    assert read_log([" ~FFFF"]).damages[0].reason == "torn or damaged"


def test_a_log_read_in_overlapping_pieces_out_of_order() -> None:
    log = read_log(LINES[20:] + LINES[:30])
    assert log.duplicates == 10
    assert log.whole
    assert log.entries == read_log(LINES).entries


def test_another_numbering_is_said() -> None:
    other = Writer()
    other.add("9 18:00:00", "boot", 0, 1, 1, 30000)
    other.add("9 18:00:01", "rain", 1)
    log = read_log(LINES + other.lines)
    assert len(log.entries) == len(LINES) + 2
    assert log.gaps[0].missing == 0
    assert "begins anew at 2026-06-10 18:00:00" in log.gaps[0].sentence


def test_the_numbering_turns_over_without_a_gap() -> None:
    writer = Writer(SEQ_TURN - 2)
    writer.add("0 18:00:00", "rain", 1)
    writer.add("0 19:00:00", "rain", 0)
    writer.seq = 0
    writer.add("0 20:00:00", "rain", 1)
    log = read_log(writer.lines)
    assert log.whole
    assert [entry["closed"] for entry in log.entries] == [1, 0, 1]


def test_records_without_a_believed_clock_go_with_their_neighbours() -> None:
    writer = Writer()
    writer.add("0 22:00:00", "rain", 1)
    writer.add("-500 00:00:00", "rain", 0, trusted=False)
    writer.add("-500 00:00:00", "boot", 1, 1, 1, 5000, trusted=False)
    writer.add("-500 00:00:00", "battery", 12600, 5000, trusted=False)
    writer.add("2 15:00:00", "clock", 0, 0)
    nights = [entry.night - FIRST_DAY for entry in read_log(writer.lines).entries]
    assert nights == [0, 0, 2, 2, 2]


def test_a_log_whose_clock_was_never_good() -> None:
    writer = Writer()
    writer.add("-500 00:00:00", "rain", 1, trusted=False)
    assert [entry.night for entry in read_log(writer.lines).entries] == [0]


@given(st.lists(st.text(), max_size=5))
def test_no_text_makes_it_fall_over(lines: list[str]) -> None:
    log = read_log(lines)
    assert len(log.entries) + len(log.damages) + log.duplicates <= len(lines)


@given(st.data())
def test_what_is_taken_out_is_counted(data: st.DataObject) -> None:
    out = data.draw(st.sets(st.integers(1, len(LINES) - 2), max_size=8))
    log = read_log(line for number, line in enumerate(LINES) if number not in out)
    assert log.missing == len(out)
