"""Calendars against the worked examples of RFC 5545 (Internet Calendaring and Scheduling Core Object Specification).

The examples are quoted from memory of the sections named beside each.
"""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from remedials.visits.feeds import Entry, calendar
from tests import ical

AT = datetime(2026, 2, 4, 9, 0, tzinfo=UTC)
EMPTY = {"location": "", "url": "https://example.org/", "description": ""}


def entry(**more) -> Entry:
    usual = {"uid": "u@example.org", "sequence": 1, "changed": AT, "start": AT, "end": AT + timedelta(hours=1)}
    return Entry(**usual | {"summary": "S"} | EMPTY | more)


def event_of(**more) -> ical.Part:
    return ical.events(ical.read(calendar("C", [entry(**more)])))[0]


def test_folding_as_in_section_3_1() -> None:
    folded = b"DESCRIPTION:This is a lo\r\n ng description\r\n  that exists on a long line.\r\n"
    assert ical.unfolded(folded) == ["DESCRIPTION:This is a long description that exists on a long line."]


def test_several_lines_of_text_as_in_section_3_3_11() -> None:
    written = r"Project XYZ Final Review\nConference Room - 3B\nCome Prepared."
    meant = "Project XYZ Final Review\nConference Room - 3B\nCome Prepared."
    assert ical.unescaped(written) == meant
    assert event_of(description=meant).raw("DESCRIPTION") == written


def test_commas_are_escaped_as_in_section_3_2() -> None:
    assert event_of(summary="Wizards Conference - - Las Vegas, NV, USA").raw("SUMMARY") == (
        r"Wizards Conference - - Las Vegas\, NV\, USA"
    )


def test_a_place_as_in_section_3_8_1_6() -> None:
    assert event_of(place=(37.386013, -122.082932)).raw("GEO") == "37.386013;-122.082932"


@pytest.mark.parametrize(
    "wrong",
    [
        b"BEGIN:VCALENDAR\nVERSION:2.0\nEND:VCALENDAR\n",  # 3.1: lines end in CR LF
        b"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:p\r\nX:" + b"a" * 80 + b"\r\nEND:VCALENDAR\r\n",  # 3.1: 75 octets
        b"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:a,b\r\nEND:VCALENDAR\r\n",  # 3.3.11: a bare comma
        b"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:p\r\nEND:VEVENT\r\n",  # 3.6: ends what it didn't begin
        b"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:p\r\nBEGIN:VEVENT\r\nUID:u\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n",  # 3.6.1
    ],
)
def test_the_reader_refuses_what_the_grammar_does_not_allow(wrong: bytes) -> None:
    with pytest.raises(ValueError):
        ical.read(wrong)


# Not what no database can hold, nor half of a pair of surrogates.
TEXT = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\x00"), max_size=300)


@given(TEXT, TEXT)
def test_whatever_is_written_is_read_back(summary: str, description: str) -> None:
    """Folding (75 octets, never inside a character), escaping and control characters, for any text."""

    def kept(text: str) -> str:
        lines = text.replace("\r\n", "\n").replace("\r", "\n")
        return "".join(char for char in lines if char == "\n" or (char >= " " and char != "\x7f"))

    event = event_of(summary=summary, description=description)
    assert event.text("SUMMARY") == kept(summary)
    if description:
        assert event.text("DESCRIPTION") == kept(description)
