"""Readings as people type them, for every quantity."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.standards.quantities import Quantity
from inspections.standards.typed import Value, read

Q = Quantity
D = Decimal


@pytest.mark.parametrize(
    ("quantity", "typed", "value"),
    [
        (Q.LOOP, "0.35", Value(D("0.35"))),
        (Q.LOOP, " .35 Ω ", Value(D("0.35"))),
        (Q.LOOP, "0.35\u2126", Value(D("0.35"))),
        (Q.LOOP, "0.35 ohms", Value(D("0.35"))),
        (Q.LOOP, "350 mΩ", Value(D("0.350"))),
        (Q.LOOP, "> 1999 Ω", Value(D(1999), above=True)),
        (Q.ELECTRODE, "1.2 kOhm", Value(D("1200.0"))),
        (Q.INSULATION, ">200 MΩ", Value(D(200), above=True)),
        (Q.INSULATION, ">200", Value(D(200), above=True)),
        (Q.INSULATION, "0.2 GΩ", Value(D("200.0"))),
        (Q.INSULATION, "500kΩ", Value(D("0.500"))),
        (Q.INSULATION, "12.5 M", Value(D("12.5"))),
        (Q.INSULATION, "1 megohm", None),
        (Q.RCD_TIME, "28", Value(D(28))),
        (Q.RCD_TIME, "28.4 ms", Value(D("28.4"))),
        (Q.RCD_TIME, "0.2 s", Value(D("200.0"))),
        (Q.RCD_TIME, "No  trip", Value(no_trip=True)),
        (Q.RCD_TIME, "did not trip", Value(no_trip=True)),
        (Q.FAULT_CURRENT, "1.2", Value(D("1.2"))),
        (Q.FAULT_CURRENT, "1200 A", Value(D("1.200"))),
        (Q.POLARITY, "ok", Value(ok=True)),
        (Q.POLARITY, "reversed", Value(ok=False)),
        (Q.FUNCTIONAL, "Not  OK", Value(ok=False)),
        (Q.FUNCTIONAL, "maybe", None),
        (Q.LOOP, "no trip", None),
        (Q.LOOP, "0.35 MΩ", None),
        (Q.INSULATION, "200 mΩ", None),
        (Q.RCD_TIME, "28 Ω", None),
        (Q.LOOP, "0,35", None),
        (Q.LOOP, "1e5", None),
        (Q.LOOP, "0.3.5", None),
        (Q.LOOP, "٣", None),
        (Q.LOOP, "", None),
        (Q.LOOP, "0" * 21, None),
    ],
)
def test_what_was_typed(quantity, typed, value):
    if value is None:
        with pytest.raises(ValueError, match=r"Enter|Answer"):
            read(quantity, typed)
    else:
        assert read(quantity, typed) == value


def test_places_stay_as_typed():
    assert read(Q.LOOP, "2.60").words("Ω") == "2.60 Ω"
    assert read(Q.INSULATION, ">200").words("MΩ") == ">200 MΩ"
    assert [Value(no_trip=True).words("ms"), Value(ok=True).words(""), Value(ok=False).words("")] == [
        "no trip",
        "OK",
        "not OK",
    ]


@pytest.mark.parametrize("typed", ["-0.35", "- 1", "\u22121 MΩ", "–2"])
@pytest.mark.parametrize("quantity", [q for q in Q if not q.yes_no])
def test_a_negative_value_is_refused(quantity, typed):
    with pytest.raises(ValueError, match="No instrument shows a negative value"):
        read(quantity, typed)


@pytest.mark.parametrize(
    "fields", [{}, {"number": D(1), "ok": True}, {"no_trip": True, "ok": False}, {"above": True, "no_trip": True}]
)
def test_a_value_is_one_thing(fields):
    with pytest.raises(ValueError):
        Value(**fields)


@given(quantity=st.sampled_from(Q), text=st.text(max_size=30))
def test_any_text_is_read_or_refused(quantity, text):
    try:
        value = read(quantity, text)
    except ValueError:
        return
    assert quantity.yes_no == (value.ok is not None)


@given(number=st.decimals("0", "99999", places=2), above=st.booleans(), quantity=st.sampled_from(Q))
def test_what_is_shown_can_be_typed_again(number, above, quantity):
    value = Value(ok=above) if quantity.yes_no else Value(number, above=above)
    assert read(quantity, value.words(quantity.unit)) == value


def test_every_quantity_has_words_and_a_caution():
    assert all(q.label and q.caution for q in Q)
    assert {q for q in Q if q.yes_no} == {Q.POLARITY, Q.FUNCTIONAL}
