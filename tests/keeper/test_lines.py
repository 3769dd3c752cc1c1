"""Text lines and their check, against the CRC catalogue and the standard library's calendar."""

import binascii
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from keeper import lines
from keeper.crc import crc16
from keeper.lines import BadLine, date_text, day_number, format_line, parse_line, time_text
from keeper.records import FIRST, KINDS, SEQ, Journal

EPOCH = date(1970, 1, 1)


@pytest.mark.published
@pytest.mark.parametrize(
    ("data", "crc"),
    [(b"123456789", 0x29B1), (b"", 0xFFFF), (b"A", 0xB915), (b"\0", 0xE1F0), (bytes(32), 0xF14C)],
)
def test_check_values_of_the_catalogue(data: bytes, crc: int) -> None:
    """CRC-16/CCITT-FALSE (also IBM-3740), catalogue of parametrised CRC algorithms: 29B1."""
    assert crc16(data) == crc


@given(st.binary(), st.binary())
def test_crc_is_that_of_the_standard_library(first: bytes, second: bytes) -> None:
    assert crc16(first) == binascii.crc_hqx(first, 0xFFFF)
    assert crc16(second, crc16(first)) == crc16(first + second)


@given(st.integers(-719162, 2932896))
def test_dates_are_those_of_the_standard_library(day: int) -> None:
    """Every date of ISO 8601 with four digits of year, the leap years of 1900 and 2000 too."""
    text = (EPOCH + timedelta(days=day)).isoformat()
    assert date_text(day) == text
    assert day_number(text) == day


@pytest.mark.parametrize("text", ["1900-02-28", "1900-03-01", "2000-02-29", "2026-12-31"])
def test_dates_at_the_edges(text: str) -> None:
    assert day_number(text) == (date.fromisoformat(text) - EPOCH).days
    assert date_text(day_number(text)) == text


@pytest.mark.parametrize("text", ["", "2026-07", "2026-07-09-1", "july"])
def test_what_is_no_date_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="no date|invalid literal"):
        day_number(text)


def test_times() -> None:
    assert [time_text(second) for second in (0, 79202, 86399)] == [
        *("00:00:00", "22:00:02", "23:59:59")
    ]


NUMBER = st.integers(-(1 << 30), (1 << 30) - 1)


@st.composite
def rows(draw: st.DrawFn) -> list[int]:
    kind = draw(st.integers(0, len(KINDS) - 1))
    fields = len(KINDS[kind][1])
    head = [draw(st.integers(0, (1 << 30) - 1)), draw(st.integers(0, 40000))]
    head += [draw(st.integers(0, 86399)), draw(st.integers(0, 1)), kind]
    return head + [draw(NUMBER) for _ in range(fields)] + [0] * (6 - fields)


@given(rows())
def test_every_record_is_a_line_and_back(row: list[int]) -> None:
    line = format_line(row)
    assert line.isascii()
    assert "\n" not in line
    assert parse_line(line) == row
    assert parse_line(line + "\r\n") == row


def test_the_line_of_the_docstring() -> None:
    row = [417, day_number("2026-07-09"), 81004, 1, 3, 2100, 148200, 12064, 0, 0, 0]
    assert format_line(row) in str(lines.__doc__)


@given(rows(), st.data())
def test_a_torn_line_is_refused(row: list[int], data: st.DataObject) -> None:
    line = format_line(row)
    end = data.draw(st.integers(0, len(line) - 1))
    with pytest.raises(BadLine):
        parse_line(line[:end])


@given(rows(), st.data())
def test_one_wrong_character_is_refused(row: list[int], data: st.DataObject) -> None:
    line = format_line(row)
    at = data.draw(st.integers(0, len(line) - 1))
    other = data.draw(
        st.characters(codec="ascii", exclude_characters=line[at] + "\r\n\t\f\v\x1c\x1d\x1e\x1f ")
    )
    with pytest.raises(BadLine):
        parse_line(line[:at] + other + line[at + 1 :])


@pytest.mark.parametrize(
    "text",
    [
        "1 2026-07-09 22:00:00 ok dance left=1",
        "1 2026-07-09 22:00:00 ok rain",
        "1 2026-07-09 22:00:00 ok rain open=1",
        "1 2026-07-09 22:00:00 ok rain closed=1 more=2",
        "one 2026-07-09 22:00:00 ok rain closed=1",
        "1 2026-07-09 22:00:00 so rain closed=1",
        "1 today 22:00:00 ok rain closed=1",
        "hello",
        "",
    ],
)
def test_a_whole_line_of_another_version_is_refused(text: str) -> None:
    with pytest.raises(BadLine):
        parse_line(f"{text} ~{crc16(text.encode()):04X}")


def test_a_journal_that_is_not_emptied_drops_the_oldest_and_says_so() -> None:
    journal = Journal(4)
    for _ in range(6):
        journal.add(0)
    assert (journal.waiting, journal.dropped) == (4, 2)
    assert [journal.take()[SEQ] for _ in range(4)] == [2, 3, 4, 5]
    assert journal.waiting == 0


def test_sequence_wraps_within_a_small_int() -> None:
    journal = Journal(2)
    journal.seq = (1 << 30) - 1
    journal.add(0)
    journal.add(0)
    assert [journal.take()[SEQ], journal.take()[SEQ]] == [(1 << 30) - 1, 0]


def test_kinds_fit_a_record() -> None:
    from keeper import records

    for number, (kind, names) in enumerate(KINDS):
        assert getattr(records, kind.upper()) == number
        assert len(names) <= records.FIELDS_MAX
        assert len(set(names)) == len(names)
    assert FIRST == 5
