"""Bank holidays by nation.

Sources: 2026 for England, Wales and Northern Ireland as published by the UK government each year, read in secondary pages;
Scotland's one-off day on 15 June 2026 as proclaimed (reported 5 Feb 2026); 2027 as computed from the Banking and Financial
Dealings Act 1971 and its substitute days by a general-purpose library. The government's own list was not reached.
"""

from datetime import date

import pytest

from remedials.visits.rules.days import bank_holidays, days_of

ENGLAND_2026 = ["01-01", "04-03", "04-06", "05-04", "05-25", "08-31", "12-25", "12-28"]
SCOTLAND_2026 = ["01-01", "01-02", "04-03", "05-04", "05-25", "06-15", "08-03", "11-30", "12-25", "12-28"]
IRELAND_2026 = ["01-01", "03-17", "04-03", "04-06", "05-04", "05-25", "07-13", "08-31", "12-25", "12-28"]
ENGLAND_2027 = ["01-01", "03-26", "03-29", "05-03", "05-31", "08-30", "12-27", "12-28"]
SCOTLAND_2027 = ["01-01", "01-04", "03-26", "05-03", "05-31", "08-02", "11-30", "12-27", "12-28"]
IRELAND_2027 = ["01-01", "03-17", "03-26", "03-29", "05-03", "05-31", "07-12", "08-30", "12-27", "12-28"]


@pytest.mark.parametrize(
    ("nation", "year", "expected"),
    [
        ("england", 2026, ENGLAND_2026),
        ("wales", 2026, ENGLAND_2026),
        ("scotland", 2026, SCOTLAND_2026),
        ("northern-ireland", 2026, IRELAND_2026),
        ("england", 2027, ENGLAND_2027),
        ("wales", 2027, ENGLAND_2027),
        ("scotland", 2027, SCOTLAND_2027),
        ("northern-ireland", 2027, IRELAND_2027),
    ],
)
def test_bank_holidays_of_a_year(nation, year, expected) -> None:
    found = bank_holidays(nation, date(year, 1, 1), date(year, 12, 31))
    assert [f"{on:%m-%d}" for on in found] == expected


def test_only_those_asked_for_across_a_new_year() -> None:
    found = bank_holidays("scotland", date(2026, 12, 28), date(2027, 1, 3))
    assert list(found) == [date(2026, 12, 28), date(2027, 1, 1)]
    assert len(days_of(date(2026, 12, 28), date(2027, 1, 3))) == 7
