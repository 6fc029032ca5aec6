"""Single cells: days, codes, ways, phases, devices, RCDs, numbers."""

from collections.abc import Callable
from datetime import date, datetime
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.intake import cells
from inspections.intake.circuits import arrangement, source_kind
from inspections.intake.codes import code, in_words
from inspections.intake.days import day, either_way, month_first, swapped_by_program
from inspections.intake.devices import Device, Rcd, device, kind, rcd, standard
from inspections.intake.trouble import Unfit
from inspections.intake.ways import LINES, SINGLE, THREE, Way, board_phases, circuit_phase, way
from jobsite.sorting import sort_key

FEB = date(2025, 2, 3)
YEAR_1904 = datetime(1904, 1, 1)  # noqa: DTZ001
MM2, AMPS, OHMS = cells.MILLIMETRES, cells.AMPS, cells.OHMS


def wrong(parse: Callable[[object], object], value: object) -> str:
    with pytest.raises(Unfit) as unfit:
        parse(value)
    assert unfit.value.expected
    return unfit.value.wrong


@pytest.mark.parametrize(
    "value",
    [
        "03/02/2025", "3/2/2025", "3.2.2025", "3-2-25", "03 02 2025", "3 Feb 2025", "3rd February 2025", "03-Feb-2025",
        "3 of Feb 2025", "Mon 3 Feb 2025", "Monday, 3 February 2025", "Feb 3, 2025", "2025-02-03", "2025-2-3",
        "2025-02-03 00:00:00", "2025-02-03T09:30:00Z", "03/02/2025 09:30", " 3 FEB 25 ", "45691", 45691, 45691.4,
        date(2025, 2, 3), datetime(2025, 2, 3, 9, 30),  # noqa: DTZ001
    ],
)  # fmt: skip
def test_a_day_is_read_in_any_of_its_forms(value: object) -> None:
    assert day(value) == FEB


def test_a_day_number_counts_from_the_workbooks_own_day_nought() -> None:
    # ECMA-376 part 1, 18.17.4.1: in the 1900 system serial 2 is 1 January 1900 as spreadsheets count, and 36526 is
    # 1 January 2000; in the 1904 system 0 is 1 January 1904 (1462 days apart).
    assert day(36526) == day(36526 - 1462, day_nought=YEAR_1904) == date(2000, 1, 1)


@pytest.mark.parametrize(
    ("value", "said"),
    [
        ("02/13/2025", "“02/13/2025” has no month 13: it seems to be written month first."),
        ("31/02/2025", "“31/02/2025” isn't a day of the calendar."),
        ("29 Feb 2025", "“29 Feb 2025” isn't a day of the calendar."),
        ("2025", "“2025” isn't a day."),
        (2025, "“2025” isn't a day."),
        ("Feb 2025", "“Feb 2025” isn't a day."),
        ("3 Fbe 2025", "“3 Fbe 2025” names no month."),
        ("yesterday", "“yesterday” isn't a day."),
        ("03/02/1925", "“03/02/1925” is in the year 1925."),
        (True, "“yes” isn't a day."),
        (float("nan"), "“nan” isn't a day."),
        (1e300, "“1e+300” isn't a day."),
    ],
)
def test_what_is_no_day_is_refused(value: object, said: str) -> None:
    assert wrong(day, value) == said


@given(st.dates(date(1970, 1, 1), date(2069, 12, 31)))
def test_every_form_of_a_day_gives_that_day(on: date) -> None:
    for form in ("%d/%m/%Y", "%d.%m.%y", "%d %b %Y", "%d %B %Y", "%Y-%m-%d"):
        assert day(on.strftime(form)) == on


def test_which_days_could_be_month_first() -> None:
    assert [month_first(value) for value in ("02/13/2025", "13/02/2025", "03/02/2025", "2025-02-13", FEB)] == [
        True, False, False, False, False,
    ]  # fmt: skip
    assert [either_way(value) for value in ("03/02/2025", "03/03/2025", "13/02/2025", "3 Feb 2025", FEB)] == [
        True, False, False, False, False,
    ]  # fmt: skip


def test_a_column_turned_round_by_a_program_is_noticed() -> None:
    assert swapped_by_program([date(2025, 3, 2), "13/02/2025", None])
    assert not swapped_by_program([date(2025, 3, 2), date(2025, 2, 13), "14/02/2025"])
    assert not swapped_by_program([date(2025, 3, 2), "03/02/2025"])
    assert not swapped_by_program(["13/02/2025"])


@pytest.mark.parametrize("value", ["C2", "c2 ", " C 2", "C-2", "(C2)", "Code 2", "code C2", "class 2", "c.2"])
def test_a_code_is_read_however_it_is_written(value: str) -> None:
    assert code(value) == "C2"


@pytest.mark.parametrize("value", ["FI", "fi", "F.I.", "F/I", "Code FI", "Further investigation required"])
def test_further_investigation_is_read(value: str) -> None:
    assert code(value) == "FI"


@pytest.mark.parametrize("value", [3, "3", 3.0, "2", "4", "C4", "Code 4"])
def test_a_number_of_the_older_scale_is_asked_back(value: object) -> None:
    assert "may be a number of the older scale" in wrong(code, value)


@pytest.mark.parametrize("value", ["C2/C3", "C1 C2", "C3 & FI", "C2, C2"])
def test_two_codes_in_one_cell_are_refused(value: str) -> None:
    assert "gives more than one code" in wrong(code, value)


@pytest.mark.parametrize("value", ["X", "pass", "C0", "C22", "see below", True, FEB])
def test_what_is_no_code_is_refused(value: object) -> None:
    assert "code" in wrong(code, value)


def test_a_code_written_as_a_word_is_told_apart() -> None:
    assert [in_words(value) for value in ("Code 2", "C2", " code 2", 2)] == [True, False, True, False]


@pytest.mark.parametrize(
    ("value", "read"),
    [
        ("5L1", Way(5, "L1")), ("5/L1", Way(5, "L1")), ("5 L1", Way(5, "L1")), ("L1/5", Way(5, "L1")), ("L1-05", Way(5, "L1")),
        ("5", Way(5)), (5, Way(5)), (5.0, Way(5)), ("way 5", Way(5)), ("No. 5", Way(5)), ("CCT 12L3", Way(12, "L3")),
        ("5TPN", Way(5, THREE)), ("5 (TP)", Way(5, THREE)), ("5L1-L3", Way(5, THREE)), ("5L1/L2/L3", Way(5, THREE)),
        ("7B", Way(7, "L3")), ("7r", Way(7, "L1")), ("007", Way(7)), ("999", Way(999)),
    ],
)  # fmt: skip
def test_a_way_is_read_in_any_of_its_forms(value: object, read: Way) -> None:
    assert way(value) == read


@pytest.mark.parametrize(
    "value", ["0", "1000", "5.1", 5.1, "4-6", "1,2", "L15", "5L4", "5L1L2", "main switch", True, -5, 1e20, "5½"]
)
def test_what_is_no_way_is_refused(value: object) -> None:
    assert "isn't a way" in wrong(way, value)


def test_a_way_that_became_a_date_says_so() -> None:
    assert wrong(way, date(2025, 1, 5)) == "has been turned into a date by the spreadsheet program."


@given(st.integers(1, 999), st.sampled_from(["", *LINES]))
def test_a_way_written_out_is_read_again(number: int, phase: str) -> None:
    assert way(str(Way(number, phase))) == Way(number, phase)


def test_phases_of_a_circuit() -> None:
    assert {value: circuit_phase(value) for value in ("L2", "l 2", "Yellow", "TPN", "TP&N", "three-phase", "3ph", "SP", "1-ph")} == {
        "L2": "L2", "l 2": "L2", "Yellow": "L2", "TPN": THREE, "TP&N": THREE, "three-phase": THREE, "3ph": THREE, "SP": SINGLE,
        "1-ph": SINGLE,
    }  # fmt: skip
    for value in ("3", 1, "L4", "L1 L2", "A"):
        assert "isn't the phase of a circuit" in wrong(circuit_phase, value)


def test_phases_of_a_board() -> None:
    assert board_phases(3) == board_phases("TP&N") == board_phases("L1, L2 and L3") == board_phases("L1-L3") == LINES
    assert board_phases("1") == board_phases("single phase") == (SINGLE,)
    assert board_phases("L1 + L2") == ("L1", "L2")
    assert board_phases("L3") == ("L3",)
    for value in ("2", "L4", "many"):
        assert "doesn't say the board's phases" in wrong(board_phases, value)


def made(
    standard: str, kind: str, rating: str | None, poles: int | None = None, ma: str | None = None, rest: str = ""
) -> Device:
    return Device(standard, kind, rating and Decimal(rating), poles, ma and Decimal(ma), rest)


@pytest.mark.parametrize(
    ("value", "read"),
    [
        ("B32", made("", "B", "32")),
        ("c 16 a", made("", "C", "16")),
        ("32A type B", made("", "B", "32")),
        ("BS EN 60898 type B 32A", made("BS EN 60898", "B", "32")),
        ("BSEN60898-B-32", made("BS EN 60898", "B", "32")),
        ("BS EN 60898-1:2019 curve D 63 A 10kA", made("BS EN 60898", "D", "63")),
        ("60898 B 6", made("BS EN 60898", "B", "6")),
        ("MCB C20 3P", made("BS EN 60898", "C", "20", 3)),
        ("RCBO B32 30mA", made("BS EN 61009", "B", "32", None, "30")),
        ("61009 C16 30 mA SP&N", made("BS EN 61009", "C", "16", 2, "30")),
        ("BS 3871 type 2 15A", made("BS 3871", "2", "15")),
        ("MCB type 3 20A", made("BS 3871", "3", "20")),
        ("BS 3036 30A", made("BS 3036", "", "30")),
        ("rewireable fuse 15 amp", made("BS 3036", "", "15")),
        ("BS88-3 63A", made("BS 88-3", "", "63")),
        ("BS 88-2 gG 100A TP", made("BS 88-2", "GG", "100", 3)),
        ("BS 1361 type 2 100A", made("BS 1361", "2", "100")),
        ("BS 1362 13A", made("BS 1362", "", "13")),
        ("MCCB 160A", made("BS EN 60947-2", "", "160")),
        ("Acme B32", made("", "B", "32", rest="ACME")),
        ("BS EN 60898 type B", made("BS EN 60898", "B", None)),
    ],
)  # fmt: skip
def test_a_device_is_read_in_any_of_its_forms(value: str, read: Device) -> None:
    assert device(value) == read


@pytest.mark.parametrize(
    "value", ["32A", "isolator 63A", "60898 type 2 20A", "BS 3036 type B 30A", "B32 C16", "?!", "13"]
)
def test_what_is_no_device_or_none_of_its_standard_is_refused(value: str) -> None:
    wrong(device, value)


def test_the_standard_alone_is_something_to_go_on() -> None:
    assert device("BS EN 61009") == Device("BS EN 61009")


def test_parts_of_a_device_by_themselves() -> None:
    assert standard("BS-EN 60898") == standard(60898) == "BS EN 60898"
    assert kind("type b") == "B"
    assert kind(2) == "2"
    wrong(standard, "BS 9999")
    wrong(standard, "60898 B32")
    wrong(kind, "Q")


@pytest.mark.parametrize(
    ("value", "read"),
    [
        ("30 mA", Rcd(30)), (30, Rcd(30)), ("type A 30mA", Rcd(30, "A")), ("AC 100", Rcd(100, "AC")), ("shared 30 mA", Rcd(30, shared=True)),
        ("RCCB 100mA type S", Rcd(100, "S")), ("none", None), ("No", None), ("-", None),
        ("voltage-operated", Rcd(None, "voltage-operated", shared=True)), ("VOELCB", Rcd(None, "voltage-operated", shared=True)),
        ("Voltage operated ELCB", Rcd(None, "voltage-operated", shared=True)),
    ],
)  # fmt: skip
def test_an_rcd_is_read(value: object, read: Rcd | None) -> None:
    assert rcd(value) == read


@pytest.mark.parametrize("value", ["yes", "0.03 A", "30 A", "mA", "30 100"])
def test_what_is_no_rcd_is_refused(value: str) -> None:
    assert "doesn't say the RCD's rated residual current" in wrong(rcd, value)


@pytest.mark.parametrize(
    ("value", "measure", "read"),
    [
        ("32A", AMPS, "32"), ("32 amps", AMPS, "32"), (32, AMPS, "32"), (0.35, OHMS, "0.35"), ("0.35 Ω", OHMS, "0.35"),
        ("0.35 ohms", OHMS, "0.35"), (".5", OHMS, "0.5"), ("2.5mm²", MM2, "2.5"), ("2.5 mm2", MM2, "2.5"), ("2.5 sq mm", MM2, "2.5"),
        (0.1 + 0.2, OHMS, "0.3"),
    ],
)  # fmt: skip
def test_a_number_is_read_with_or_without_its_unit(value: object, measure: cells.Measure, read: str) -> None:
    assert cells.quantity(value, measure) == Decimal(read)


@pytest.mark.parametrize(
    ("value", "measure", "said"),
    [
        ("32 mA", AMPS, "isn't in A"), ("350 mΩ", OHMS, "isn't in Ω"), ("0,35", OHMS, "has a comma in it"), ("lots", OHMS, "isn't a number"),
        ("2.5/1.5", MM2, "isn't a number"), (-1, OHMS, "out of range"), (1e9, OHMS, "out of range"), (float("inf"), OHMS, "isn't a number"),
        (0.21345, OHMS, "too many decimals"), (True, OHMS, "isn't a number"), (FEB, OHMS, "isn't a number"), ("9" * 400, OHMS, "isn't a number"),
    ],
)  # fmt: skip
def test_what_is_no_number_of_that_unit_is_refused(value: object, measure: cells.Measure, said: str) -> None:
    assert said in wrong(lambda cell: cells.quantity(cell, measure), value)


def test_whole_numbers_and_yes_or_no() -> None:
    assert cells.whole("8", most=99) == cells.whole(8.0, most=99) == 8
    for value in ("8.5", "100", "-1", "8 points"):
        wrong(lambda cell: cells.whole(cell, most=99), value)
    assert [cells.yes_no(value) for value in ("Yes", "x", 1, True, "✓", "no", None, 0, False)] == [True] * 5 + [
        False
    ] * 4
    assert wrong(cells.yes_no, "maybe") == "“maybe” is neither yes nor no."


def test_arrangements_and_sources() -> None:
    assert [arrangement(value) for value in ("Ring final", "RFC", "radial", "sub-main")] == [
        "ring",
        "ring",
        "radial",
        "distribution",
    ]
    wrong(arrangement, "star")
    assert [source_kind(value) for value in ("Solar PV", "Battery", "genset", "wind turbine")] == [
        "pv",
        "battery",
        "generator",
        "wind",
    ]
    wrong(source_kind, "PV 8 kW")


def test_text_is_trimmed_bounded_and_free_of_control_characters() -> None:
    assert cells.text("  a \t b \r\n  c ", most=20) == "a b\nc"
    assert cells.line("a\nb", most=20) == "a b"
    assert wrong(lambda cell: cells.text(cell, most=3), "four") == "is 4 letters long."
    assert wrong(lambda cell: cells.text(cell, most=30), "a\x01b") == "holds characters that aren't text."


@given(st.text(max_size=30), st.text(max_size=30))
def test_names_that_sort_as_one_are_one_name(one: str, other: str) -> None:
    """The database holds names apart by their sort key; what it would refuse, the check must call the same."""
    if sort_key(one) == sort_key(other):
        assert cells.fold(one) == cells.fold(other)


def test_names_are_the_same_in_spite_of_spacing_accents_and_noughts() -> None:
    assert len({cells.fold(name) for name in ("DB-1", "db 1", "DB 01", "db_1", " Db1 ")}) == 1
    assert cells.fold("Café") == cells.fold("CAFE")
    assert len({cells.fold(name) for name in ("DB1", "DB10", "DB100", "DB 1.1", "DB 11", "DB 1 2")}) == 6
