"""Which basis decides a loop impedance limit, what is shipped and what has to be entered."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.standards.confidence import Confidence
from inspections.standards.devices import RATINGS_A, VOLTAGE_OPERATED, CircuitRole, Device, Earthing, Rcd, rcbo_standard
from inspections.standards.editions import Edition
from inspections.standards.facts import Correction, Facts
from inspections.standards.impedance import limits as limits_of
from inspections.standards.limits import EnterLimit, Limit, Rounding, shown
from tests.inspections.loops import entered, loop_limits

B32 = Device("BS EN 60898", "B", Decimal(32))
RCD30 = Rcd(Decimal(30))
FINAL = CircuitRole.FINAL


def test_basis_names_factor_value_rule_circuit_and_conductor():
    decides = loop_limits(B32, Earthing.TN_S, FINAL).decides
    assert isinstance(decides, Limit)
    assert decides.basis == (
        "0.8 × 1.366 Ω (0.95 × 230 V ÷ (5 × 32 A)): final circuit, TN-S, BS EN 60898 type B 32 A, conductor cold"
    )


def test_basis_of_a_warm_conductor_has_no_factor():
    decides = loop_limits(B32, Earthing.TN_S, FINAL, conductor_cold=False).decides
    assert isinstance(decides, Limit)
    assert decides.ohms_exact == Decimal("1.365625")
    assert decides.basis == (
        "1.366 Ω (0.95 × 230 V ÷ (5 × 32 A)): final circuit, TN-S, BS EN 60898 type B 32 A, "
        "conductor at operating temperature"
    )


@pytest.mark.parametrize(
    ("earthing", "rests_on_rcd", "rcd_decides"),
    [
        (Earthing.TT, None, True),
        (Earthing.TT, False, False),
        (Earthing.TN_S, None, False),
        (Earthing.TN_C_S, None, False),
        (Earthing.TN_C_S, True, True),
    ],
)
def test_both_bases_come_back_with_the_one_that_decides(earthing, rests_on_rcd, rcd_decides):
    limits = loop_limits(B32, earthing, FINAL, RCD30, rests_on_rcd=rests_on_rcd)
    assert isinstance(limits.decides, Limit)
    assert isinstance(limits.other, Limit)
    assert (limits.decides.by_rcd, limits.other.by_rcd) == (rcd_decides, not rcd_decides)


def test_tt_without_an_rcd_rests_on_the_device_alone():
    limits = loop_limits(B32, Earthing.TT, FINAL)
    assert isinstance(limits.decides, Limit)
    assert (limits.decides.by_rcd, limits.other) == (False, None)


def test_tt_with_a_fuse_has_the_rcd_and_a_limit_to_enter_beside_it():
    limits = loop_limits(Device("BS 3036", "", Decimal(30)), Earthing.TT, FINAL, RCD30)
    assert isinstance(limits.decides, Limit)
    assert limits.decides.ohms_shown == Decimal(1666)
    assert limits.other == EnterLimit(
        "BS 3036 30 A: published fuse limits differ by edition and are not shipped: "
        "enter the limit from the standard or the maker, with its source."
    )


def test_the_rcd_basis_in_tn_is_marked_as_remembered():
    other = loop_limits(B32, Earthing.TN_S, FINAL, RCD30).other
    assert isinstance(other, Limit)
    assert other.confidence is Confidence.MEMORY


@pytest.mark.parametrize(
    ("standard", "kind"),
    [("BS EN 60898", "b"), ("bs en 60898-1:2019", " B "), ("BSEN61009", "B"), ("BS EN 61009-1:2012+A13", "B")],
)
def test_the_standard_is_known_as_people_write_it(standard, kind):
    decides = loop_limits(Device(standard, kind, Decimal(32)), Earthing.TN_S, FINAL).decides
    assert isinstance(decides, Limit)
    assert decides.ohms_exact == Decimal("1.0925")


@pytest.mark.parametrize(
    "device",
    [
        Device("BS 88-2", "gG", Decimal(32)),
        Device("BS 88-3", "", Decimal(32)),
        Device("BS 1361", "", Decimal(30)),
        Device("BS 1362", "", Decimal(13)),
        Device("BS 3036", "", Decimal(30)),
    ],
)
def test_fuse_limits_are_not_shipped(device):
    decides = loop_limits(device, Earthing.TN_S, FINAL).decides
    assert decides == EnterLimit(
        f"{device.words}: published fuse limits differ by edition and are not shipped: "
        "enter the limit from the standard or the maker, with its source."
    )


@pytest.mark.parametrize(
    "device",
    [
        Device("BS 3871", "B", Decimal(30)),
        Device("BS 3871", "", Decimal(30)),
        Device("BS EN 60898", "K", Decimal(32)),
        Device("BS EN 60898", "", Decimal(32)),
        Device("other", "B", Decimal(32)),
    ],
)
def test_other_devices_ask_for_the_limit(device):
    decides = loop_limits(device, Earthing.TN_S, FINAL).decides
    assert decides == EnterLimit(f"{device.words}: enter the limit from the standard or the maker, with its source.")


@pytest.mark.parametrize(
    ("standard", "kind", "ohms"),
    [("BS 3871", "1", "1.82"), ("bs3871-1:1965", "2", "1.04"), ("BS 3871", "3", "0.72"), ("BS 3871", "4", "0.14")],
)
def test_old_circuit_breakers_are_judged_from_memory_and_say_so(standard, kind, ohms):
    decides = loop_limits(Device(standard, kind, Decimal(30)), Earthing.TN_S, FINAL, conductor_cold=False).decides
    assert isinstance(decides, Limit)
    assert (decides.ohms_shown, decides.confidence) == (Decimal(ohms), Confidence.MEMORY)


@pytest.mark.parametrize(
    ("device", "standard"),
    [(None, ""), (B32, ""), (Device("BS EN 61009-1", "B", Decimal(16)), "BS EN 61009-1")],
)
def test_an_rcbo_s_rcd_is_of_its_own_standard(device, standard):
    assert rcbo_standard(device) == standard


def test_an_adjustable_breaker_asks_for_the_maker_s_data():
    decides = loop_limits(Device("BS EN 60947-2", "", Decimal(100)), Earthing.TN_S, FINAL).decides
    assert decides == EnterLimit(
        "BS EN 60947-2 100 A: its trip goes by the maker and how it is set: enter the limit from the maker's data for "
        "that setting, with its source."
    )


def test_a_voltage_operated_breaker_is_no_rcd():
    old = Rcd(None, VOLTAGE_OPERATED)
    limits = loop_limits(B32, Earthing.TT, FINAL, old)
    assert isinstance(limits.decides, EnterLimit)
    assert limits.decides.reason.startswith("A voltage-operated earth leakage breaker is no RCD")
    assert isinstance(limits.other, Limit)


@pytest.mark.parametrize(
    ("edition", "role", "ohms"),
    [
        (Edition.A1_2011, FINAL, "0.872"),  # 0.8 × 1.09, the tables of 2008
        (Edition.A1_2011, CircuitRole.DISTRIBUTION, None),
        (Edition.EARLIER, FINAL, None),
        (Edition.A3_2015, FINAL, None),
        (Edition.A4_2026, FINAL, None),
    ],
)
def test_a_fuse_is_judged_only_by_a_table_that_was_read(edition, role, ohms):
    decides = loop_limits(Device("BS 3036", "", Decimal(30)), Earthing.TN_S, role, edition=edition).decides
    if ohms is None:
        assert isinstance(decides, EnterLimit)
    else:
        assert isinstance(decides, Limit)
        assert decides.ohms_exact == Decimal(ohms)


@pytest.mark.parametrize("more", [{"earthing": Earthing.TT}, {"u0_volts": Decimal(240)}])
def test_a_fuse_table_is_for_230_volts_and_tn(more):
    usual = {"earthing": Earthing.TN_S, "role": FINAL, "edition": Edition.A1_2011}
    decides = loop_limits(Device("BS 3036", "", Decimal(30)), **usual | more).decides
    assert isinstance(decides, EnterLimit)


def test_a_fuse_limit_that_was_looked_up_judges():
    facts = Facts({"fuse.bs-3036.30-a.0.4-s": Correction(Decimal("1.04"), "BS 7671 Table 41.2")})
    decides = loop_limits(Device("BS 3036", "", Decimal(30)), Earthing.TN_S, FINAL, facts=facts).decides
    assert isinstance(decides, Limit)
    assert (decides.ohms_exact, decides.confidence) == (Decimal("0.832"), Confidence.GIVEN)
    assert decides.basis == ("0.8 × 1.04 Ω (BS 7671 Table 41.2): final circuit, TN-S, BS 3036 30 A, conductor cold")


@pytest.mark.parametrize(
    ("rounding", "b32", "b6", "words"),
    [
        (Rounding.EXACT, "1.0925", "5.8266", "0.8 × 1.366 Ω"),
        (Rounding.TABULATED, "1.096", "5.824", "0.8 × 1.37 Ω"),
        (Rounding.DOWN, "1.09", "5.82", "0.8 × 1.366 Ω, rounded down"),
        (Rounding.NEAREST, "1.09", "5.83", "0.8 × 1.366 Ω, rounded to the nearest"),
    ],
)
def test_the_rounding_is_a_setting(rounding, b32, b6, words):
    found = loop_limits(B32, Earthing.TN_S, FINAL, rounding=rounding).decides
    small = loop_limits(Device("BS EN 60898", "B", Decimal(6)), Earthing.TN_S, FINAL, rounding=rounding).decides
    assert isinstance(found, Limit)
    assert isinstance(small, Limit)
    assert (found.ohms_exact, f"{small.ohms_exact:.6f}"[: len(b6)]) == (Decimal(b32), b6)
    assert found.basis.startswith(f"{words} (0.95 × 230 V ÷ (5 × 32 A))")


def test_corrected_facts_decide():
    facts = Facts(
        {"loop.trip.bs-3871.2": Correction(Decimal(8), "the maker"), "loop.cmin": Correction(Decimal("0.9"), "a table")}
    )
    limit = loop_limits(Device("BS 3871", "2", Decimal(30)), Earthing.TN_S, FINAL, facts=facts).decides
    assert isinstance(limit, Limit)
    assert limit.tabulated_ohms == Decimal("0.9") * 230 / (8 * 30)
    assert limit.confidence is Confidence.GIVEN


def test_a_rating_nobody_makes_is_asked_about():
    decides = loop_limits(Device("BS EN 60898", "B", Decimal(23)), Earthing.TN_S, FINAL).decides
    assert decides == EnterLimit(
        "23 A is no rating we know for BS EN 60898: check the rating, or "
        "enter the limit from the standard or the maker, with its source."
    )


def test_a_missing_device_asks_for_it():
    decides = loop_limits(None, Earthing.TN_S, FINAL).decides
    assert decides == EnterLimit("The protective device isn't recorded: record it, or enter the limit with its source.")


@pytest.mark.parametrize("earthing", [Earthing.IT, Earthing.UNKNOWN])
def test_no_limit_is_computed_without_a_tn_or_tt_system(earthing):
    limits = loop_limits(B32, earthing, FINAL, RCD30)
    assert isinstance(limits.decides, EnterLimit)
    assert limits.other is None


@pytest.mark.parametrize("bad", ["0", "-1", "1.01", "NaN", "Infinity", "1E-9"])
def test_a_factor_that_cannot_be_is_refused(bad):
    with pytest.raises(ValueError, match="factor for a cold conductor"):
        loop_limits(B32, Earthing.TN_S, FINAL, factor=Decimal(bad))


@pytest.mark.parametrize("bad", ["0", "-230", "1001", "NaN"])
def test_a_voltage_that_cannot_be_is_refused(bad):
    with pytest.raises(ValueError, match="nominal voltage"):
        loop_limits(B32, Earthing.TN_S, FINAL, u0_volts=Decimal(bad))


@pytest.mark.parametrize("bad", ["0", "-6", "NaN", "sNaN", "Infinity", "1E+999999"])
def test_a_rating_that_cannot_be_is_refused(bad):
    with pytest.raises(ValueError, match="rating of a protective device"):
        Device("BS EN 60898", "B", Decimal(bad))
    with pytest.raises(ValueError, match="rated residual current"):
        Rcd(Decimal(bad))


def test_an_entered_limit_uses_the_factor_once():
    full = limits_of(entered(Decimal("1.37"), "BS 7671 Table 41.3"))
    corrected = limits_of(entered(Decimal("1.1"), "a guide's table", already_corrected=True))
    assert isinstance(full.decides, Limit)
    assert isinstance(corrected.decides, Limit)
    assert (full.decides.ohms_exact, full.decides.basis) == (
        Decimal("1.096"),
        "0.8 × 1.37 Ω: entered from BS 7671 Table 41.3, conductor cold",
    )
    assert (corrected.decides.ohms_exact, corrected.decides.basis) == (
        Decimal("1.1"),
        "1.1 Ω: entered from a guide's table, already corrected for a cold conductor",
    )


@pytest.mark.parametrize(
    ("ohms", "source", "words"),
    [
        ("0", "the maker", "more than|above 0"),
        ("NaN", "the maker", "above 0"),
        ("1.37", "  ", "where the limit is from"),
    ],
)
def test_an_entered_limit_needs_a_value_and_a_source(ohms, source, words):
    with pytest.raises(ValueError, match=words):
        limits_of(entered(Decimal(ohms), source))


@given(
    rating=st.sampled_from(sorted(RATINGS_A)),
    kind=st.sampled_from("BCD"),
    role=st.sampled_from(CircuitRole),
    earthing=st.sampled_from([Earthing.TN_S, Earthing.TN_C_S, Earthing.TT]),
    factor=st.decimals("0.5", "1", places=2),
)
def test_what_is_shown_never_exceeds_what_is_judged_by(rating, kind, role, earthing, factor):
    decides = loop_limits(Device("BS EN 60898", kind, rating), earthing, role, factor=factor).decides
    assert isinstance(decides, Limit)
    assert 0 <= decides.ohms_exact - decides.ohms_shown < Decimal("0.01") or decides.ohms_exact >= 100
    assert decides.ohms_exact == factor * decides.tabulated_ohms


def test_shown_never_rounds_up():
    assert [shown(Decimal(v)) for v in ("0.729", "1.0999", "99.999", "166.9", "1666.67")] == [
        Decimal("0.72"),
        Decimal("1.09"),
        Decimal("99.99"),
        Decimal(166),
        Decimal(1666),
    ]


DEVICES = [
    None,
    B32,
    Device("BS EN 61009", "C", Decimal(20)),
    Device("BS EN 60898", "D", Decimal(32)),
    Device("BS 3871", "2", Decimal(30)),
    Device("BS 3036", "", Decimal(30)),
    Device("BS EN 60947-2", "", Decimal(100)),
]
RCDS = [None, RCD30, Rcd(Decimal(100), "S"), Rcd(None, VOLTAGE_OPERATED)]


@pytest.mark.parametrize("edition", Edition)
@pytest.mark.parametrize("earthing", Earthing)
@pytest.mark.parametrize("role", CircuitRole)
@pytest.mark.parametrize("rests_on_rcd", [None, True, False])
def test_every_circuit_has_a_limit_or_a_reason(edition, earthing, role, rests_on_rcd):
    """Final or distribution, TN or TT, overcurrent device or RCD: one basis decides, the other is shown beside it."""
    for device in DEVICES:
        for rcd in RCDS:
            found = loop_limits(device, earthing, role, rcd, edition=edition, rests_on_rcd=rests_on_rcd)
            bases = [basis for basis in (found.decides, found.other) if basis is not None]
            known = earthing not in (Earthing.IT, Earthing.UNKNOWN)
            assert len(bases) == (2 if rcd and known else 1)
            for basis in bases:
                said = basis.basis if isinstance(basis, Limit) else basis.reason
                assert said
                assert not isinstance(basis, Limit) or (basis.ohms_exact > 0 and f"{earthing}" in said)
            on_rcd = rests_on_rcd if rests_on_rcd is not None else earthing is Earthing.TT
            if rcd and known and isinstance(found.decides, Limit):
                assert found.decides.by_rcd == on_rcd
