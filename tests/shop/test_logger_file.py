"""Files of any logger: what they say is read, what they leave open is asked, what can't be is named by its line."""

from datetime import UTC, datetime

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from bayflow.shop.errors import Invalid
from bayflow.shop.logger_file import read


def ms(*at):
    return int(datetime(*at, tzinfo=UTC).timestamp()) * 1000


PLAIN = "Time,Temperature (°C),Humidity (%)\n2026-07-14 20:00:00,18.4,55\n2026-07-14 20:01:00,18.3,55.5\n"


def test_a_plain_table_in_the_zone_that_was_chosen():
    """20:00 in Madrid in July is 18:00 UTC."""
    found = read(PLAIN.encode(), zone="Europe/Madrid")

    assert found.rows == [(ms(2026, 7, 14, 18), 184, 550), (ms(2026, 7, 14, 18, 1), 183, 555)]
    assert (found.faults, found.unit, found.zone) == ([], "C", "Europe/Madrid")
    assert "column 2 “Temperature (°C)”" in found.columns


@pytest.mark.parametrize(
    ("text", "first"),
    [
        ("Nr;Datum;Uhrzeit;Temp [°C];Feuchte\n1;14.07.2026;20:00;8,1;62,5\n2;14.07.2026;20:10;8,0;62\n", (81, 625)),
        ("Logger A7\nSerial: 12\n\n#,Time (GMT+02:00),Temp (°F),RH (%)\n1,07/14/26 10:00:00 PM,46.6,62.5\n", (81, 625)),
        ("time\tt °C\n2026-07-14T20:00:00Z\t8.1\n2026-07-14T20:10:00Z\t8.1\n", (81, None)),
        ('"Date","Dew point °C","Temperature °C"\n' + '"2026/07/14 20:00","3,0","8,1"\n' * 2, (81, None)),
        ("timestamp,celsius,rh\n1784059200,8.1,62.5\n", (81, 625)),
        ("a;b\n2026-07-14 20:00;8.1 °C\n2026-07-14 20:10;8.1 °C\n", (81, None)),
    ],
)  # fmt: skip
def test_delimiters_commas_columns_and_units_are_told_from_the_file(text, first):
    """46.6 °F are 8.11 °C: 81 tenths. The dew point and the serial number are not taken for the temperature."""
    found = read(text.encode(), zone="UTC")

    assert found.faults == []
    assert found.rows[0] == (ms(2026, 7, 14, 20), *first)


@pytest.mark.parametrize("coding", ["utf-8-sig", "utf-16", "cp1252"])
def test_the_codings_that_loggers_write(coding):
    assert len(read(PLAIN.encode(coding), zone="UTC").rows) == 2


@pytest.mark.parametrize(
    ("text", "asked"),
    [
        (PLAIN, "zone"),
        (PLAIN.replace(" (°C)", "").replace("\n2026", "\n2026"), "°C or °F"),
        ("Time;T °C\n05/07/2026 20:00;8.1\n06/07/2026 20:00;8.1\n", "day or month comes first"),
        ("hello\nworld\n", "no table"),
        ("a,b\n1,2\n3,4\n", "no line holds both"),
    ],
)
def test_what_the_file_leaves_open_is_asked_never_guessed(text, asked):
    with pytest.raises(Invalid, match=asked):
        read(text.encode(), zone="" if asked == "zone" else "UTC")


@pytest.mark.parametrize("data", [b"", b"\0\1\2\3PNG", b"\xff" * 50, b";" * 5000, "time;t °C\n".encode()])
def test_any_other_bytes_are_refused_in_words(data):
    with pytest.raises(Invalid):
        read(data, zone="UTC")


def test_each_row_that_cannot_be_taken_is_named_by_its_line():
    rows = ["Time;T °C;RH %", "2026-07-14 20:00;8.1;55", "2026-07-14 25:00;8.1;55", "2026-07-14 20:20;---;55",
            "2026-07-14 20:30;8.1;140", "2026-07-14 20:40;850;55", "2026-07-14 20:50;-300;5",
            "2026-07-14 21:00"]  # fmt: skip

    found = read("\n".join(rows).encode(), zone="UTC")

    assert len(found.rows) == 1
    assert [f.partition(":")[0] for f in found.faults] == [f"line {n}" for n in range(3, 9)]
    assert "'2026-07-14 25:00' is no time of the calendar" in found.faults[0]
    assert "outside 0 to 100 %" in found.faults[2]


def test_day_and_month_are_told_by_any_row_that_leaves_no_doubt():
    text = "Time;T °C\n05/07/2026 20:00;8.1\n13/07/2026 20:00;8.1\n"

    assert read(text.encode(), zone="UTC").rows[0][0] == ms(2026, 7, 5, 20)


def test_the_hour_that_comes_twice_goes_on_and_the_one_left_out_is_a_fault():
    """In Madrid the clock goes back on 2026-10-25 at 01:00 UTC and forward on 2026-03-29 at 01:00 UTC."""
    twice = "Time;T °C\n2026-10-25 02:00;8\n2026-10-25 02:30;8\n2026-10-25 02:10;8\n2026-10-25 03:00;8\n"
    gone = "Time;T °C\n2026-03-29 01:30;8\n2026-03-29 02:30;8\n2026-03-29 03:00;8\n"

    assert [t for t, _, _ in read(twice.encode(), zone="Europe/Madrid").rows] == [
        ms(2026, 10, 25, 0), ms(2026, 10, 25, 0, 30), ms(2026, 10, 25, 1, 10), ms(2026, 10, 25, 2),
    ]  # fmt: skip
    assert "leaves out" in read(gone.encode(), zone="Europe/Madrid").faults[0]


PIECES = st.sampled_from([
    "2026-07-14", "14/07/2026", "0001-01-01", "9999-12-31", "20:00", "29:71 PM", "T", "Z", "+99:99", "UTC+99", "8,1",
    "8.1", "°C", "%", ";", ",", "\t", "\n", '"', " ", "é", "1784059200", "-", "temp", "x" * 70_000,
])  # fmt: skip


@given(st.binary(max_size=60) | st.lists(PIECES, max_size=40).map(lambda pieces: "".join(pieces).encode()))
@example(b"t;c\n" + b"2026-07-14 20:00;8.1 " + "°C".encode() + b"\n" + b"0001-01-01 00:00;8\n")
@example(("a;temp °C\n2026-07-14 20:00;" + "8" * 200_000).encode())
def test_whatever_the_bytes_are_the_answer_is_rows_or_a_sentence(data):
    try:
        rows = read(data, zone="Europe/Madrid", unit="C", order="dmy").rows
    except Invalid:
        return
    assert all(isinstance(t, int) and -600 <= temp <= 900 for t, temp, _ in rows)
