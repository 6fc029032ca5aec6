"""Readings judged by the limit for that circuit, and where that limit is from."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest

from inspections import operations
from inspections.models import Reading
from inspections.operations.reading import Taken
from inspections.queries.situations import HowTested, ground_of
from inspections.standards.limits import Entered, EnterLimit
from inspections.standards.readings import Quantity, Value, limits_for, read
from inspections.standards.situation import Multiple
from jobsite.firm.models import Policy
from jobsite.ids import new_id
from jobsite.refused import NotAllowed, Refused
from tests import factories as make
from tests.factories import Told, recorded

pytestmark = pytest.mark.django_db
D = Decimal
ON = date(2026, 2, 3)


@pytest.fixture
def circuit(board):
    """B32 on TN-S: 0.8 × 0.95 × 230 V ÷ (5 × 32 A) = 1.0925 Ω (the sum of impedance.py, its sources named there)."""
    return make.make_circuit(board)


@pytest.fixture
def take(circuit, engineer, now):
    def one(value, **fields):
        quantity = fields.get("quantity", Quantity.LOOP)
        value = value if isinstance(value, Value) else read(quantity, value)
        usual = {"id": new_id(), "value": value, "by": engineer, "now": now}
        usual |= {} if "instrument" in fields else {"instrument": make.make_instrument(f"T-{new_id()}")}
        return operations.take_reading(fields.pop("at", circuit), **usual | fields)

    return one


def test_a_reading_is_recorded_once_with_its_limit(take, circuit, site, engineer) -> None:
    key, tester = new_id(), make.make_instrument()
    with recorded() as told:
        reading = take("0.35", id=key, instrument=tester)
        assert take("0.35", id=key, instrument=tester) == reading
    assert (reading.verdict, reading.limit_most, reading.taken_by) == ("pass", D("1.0925"), engineer)
    assert (reading.words, reading.board) == ("0.35 Ω", circuit.board)
    assert reading.basis == (
        "0.80 × 1.366 Ω (0.95 × 230 V ÷ (5 × 32 A)): final circuit, TN-S, BS EN 60898 type B 32 A, conductor cold; "
        "BS 7671:2018+A2:2022 (also with A3:2024)."
    )
    facts = {"at": str(circuit.pk), "quantity": "loop-impedance", "value": "0.35 Ω", "limit_least": None}
    facts |= {"limit_most": "1.0925", "limit_entered": False, "edition": "2018+A2:2022", "verdict": "pass"}
    facts |= {"instrument": str(tester.pk), "instrument_in_check": True}
    assert told == [Told("reading.taken", key, facts)]


@pytest.mark.parametrize(("value", "verdict"), [("1.092", "pass"), ("1.093", "fail"), ("3.4", "fail")])
def test_the_verdict(take, value, verdict) -> None:
    assert take(value).verdict == verdict


def test_above_the_range_fails(take) -> None:
    reading = take(">1999")
    assert (reading.verdict, reading.above_range, reading.value, reading.words) == ("fail", True, D(1999), ">1999 Ω")


@pytest.mark.parametrize("value", ["0", "-1", "NaN", "Infinity", "1e9", "1e400"])
def test_what_no_instrument_shows_is_refused(take, value) -> None:
    with recorded() as told, pytest.raises(Refused) as refused:
        take(Value(D(value)))
    assert (refused.value.field, told, Reading.objects.count()) == ("value", [], 0)


def test_more_places_than_are_kept_are_refused_and_not_rounded(take) -> None:
    with pytest.raises(Refused, match="six places"):
        take("0.3504001")


def test_an_unlikely_value_is_asked_about(take) -> None:
    with pytest.raises(Refused, match=r"did you mean 0\.35 Ω\?") as refused:
        take("350")
    assert refused.value.field == "value"
    assert take("350", as_read=True).verdict == "fail"


def entered(limit, source="", **more):
    return HowTested(entered=Entered(D(limit), source, **more))


def test_without_a_limit_one_must_be_entered(take, circuit) -> None:
    circuit.device_standard = "BS 3036"
    circuit.save()
    with pytest.raises(Refused, match="enter the limit from the standard or the maker") as refused:
        take("0.5")
    assert refused.value.field == "limit_entered"
    with pytest.raises(Refused, match="Say where the limit is from") as refused:
        take("0.5", test=entered("1.09"))
    assert refused.value.field == "limit_source"


def test_the_factor_is_used_on_an_entered_limit_unless_it_has_been(take) -> None:
    plain = take("1", test=entered("1.09", "Table 41.2"))
    ready = take("1", test=entered("1.09", "a pocket guide", already_corrected=True))
    assert (plain.limit_most, plain.verdict, plain.limit_entered) == (D("0.872"), "fail", True)
    assert (ready.limit_most, ready.verdict) == (D("1.09"), "pass")
    assert "entered from Table 41.2" in plain.basis


@pytest.mark.parametrize("limit", ["0", "-1", "0.0001", "5000000", "NaN", "1e400"])
def test_a_limit_that_cannot_be_is_refused(take, limit) -> None:
    with recorded() as told, pytest.raises(Refused) as refused:
        take("0.5", test=entered(limit, "a slip of the pen"))
    assert (refused.value.field, told) == ("limit_entered", [])


def test_an_instrument_out_of_its_check_is_flagged(take) -> None:
    assert not take("0.35", instrument=make.make_instrument("T-1", check_due=date(2026, 2, 2))).instrument_in_check
    assert not take("0.35", instrument=make.make_instrument("T-2", check_due=None)).instrument_in_check


def test_an_archived_instrument_is_refused(take, now) -> None:
    with pytest.raises(Refused) as refused:
        take("0.35", instrument=make.make_instrument(archived_at=now))
    assert refused.value.field == "instrument"


def test_what_a_phone_sends_later_is_judged_by_the_day_on_which_it_was_taken(take, now) -> None:
    """The edition in force, the instrument's check, the firm's factor and its list of instruments: all of that day."""
    taken, sent = now, datetime(2026, 10, 20, 12, tzinfo=UTC)
    meanwhile = make.make_instrument("T-5", check_due=date(2026, 2, 28), archived_at=sent - timedelta(days=1))
    Policy.objects.create(holds_from=date(2026, 2, 4), loop_factor=D("0.70"))
    late = take("0.9", now=sent, made_at=taken, instrument=meanwhile)
    assert (late.taken_at, late.edition, late.instrument_in_check, late.limit_most) == (
        taken, "2018+A2:2022", True, D("1.0925"),
    )  # fmt: skip
    just = take("0.9", now=sent, instrument=make.make_instrument("T-6", check_due=date(2026, 2, 28)))
    assert (just.taken_at, just.edition, just.instrument_in_check) == (sent, "2018+A4:2026", False)
    assert just.limit_most < late.limit_most
    with pytest.raises(Refused, match="not in use any more"):
        take("0.9", now=sent, instrument=meanwhile)


def test_a_warning_is_kept_with_the_basis(take, board) -> None:
    board.own_earthing = "TT"
    board.save()
    reading = take("250", at=make.make_circuit(board, rcd_ma=30), as_read=True)
    assert reading.verdict == "warning"
    assert reading.basis.endswith("Above 200 Ω the earth electrode may not be stable.")


def test_what_a_form_brings_besides_what_it_kept_before_is_kept_too(board, engineer, now) -> None:
    tester = make.make_instrument()
    one, other = (
        Taken(new_id(), make.make_circuit(board, way=way), Quantity.LOOP, read(Quantity.LOOP, value))
        for way, value in ((7, "0.35"), (8, "0.45"))
    )
    with recorded() as told:
        for taken in ([one], [one, other], [other, one]):
            made = operations.take_readings(taken, by=engineer, now=now, instrument=tester)
            assert [row.pk for row in made] == [row.id for row in taken]
    assert [entry.subject for entry in told] == [one.id, other.id]


def test_a_key_used_again_with_another_test_is_refused_and_not_taken_for_the_old_reading(take, circuit) -> None:
    tester, other, key, source = make.make_instrument("T-1"), make.make_instrument("T-2"), new_id(), "Table 41.2"
    given = {"id": key, "instrument": tester, "test": entered("1.09", source)}
    kept = take("1", **given)
    assert take("1", **given) == kept
    for change in (
        {"instrument": other},
        {"test": HowTested()},
        {"test": HowTested(equipment_connected=True, entered=Entered(D("1.09"), source))},
        {"test": entered("11.09", source)},
        {"test": entered("1.09", "Table 41")},
        {"test": entered("1.09", source, already_corrected=True)},
    ):
        with recorded() as told, pytest.raises(Refused, match="already used for something else"):
            take("1", **given | change)
        assert told == []
    ready = {"id": new_id(), "instrument": tester, "test": entered("1.09", source, already_corrected=True)}
    assert take("1", **ready) == take("1", **ready)


def test_an_rcd_s_time_at_another_multiple_is_another_reading(take, board) -> None:
    at = make.make_circuit(board, way=9, rcd_ma=30, rcd_kind="A")
    given = {"id": new_id(), "at": at, "quantity": Quantity.RCD_TIME, "instrument": make.make_instrument("T-3")}
    kept = take("35", **given)
    assert take("35", **given) == kept
    with pytest.raises(Refused, match="already used for something else"):
        take("35", **given, test=HowTested(multiple=Multiple.FIVE))
    limit = given | {"id": new_id(), "test": entered("40", "the maker's sheet")}
    assert take("35", **limit) == take("35", **limit)


def test_no_reading_is_taken_at_an_archived_site(take, circuit, site, now) -> None:
    tester = make.make_instrument()
    kept = take("0.35", id=new_id(), instrument=tester)
    type(site).objects.filter(pk=site.pk).update(archived_at=now)
    with pytest.raises(Refused, match="is archived"):
        take("0.36")
    assert take("0.35", id=kept.pk, instrument=tester) == kept


def test_a_link_takes_no_reading(take, site) -> None:
    with pytest.raises(NotAllowed):
        take("0.35", by=make.make_link(site)[0])


# --- what the record says of a circuit --------------------------------------------------------------------------------


def limit(circuit):
    common = ground_of(circuit.site_id, on=ON)
    return limits_for(Quantity.LOOP, common.situation(circuit, HowTested()), facts=common.facts).decides


def test_the_earthing_is_found_along_the_feeds(board) -> None:
    feeder = make.make_circuit(board, arrangement="distribution")
    shed = make.make_board(board.site, "Shed", fed=False)
    make.make_feed(shed, feeder, verified=False)
    lights = make.make_circuit(shed, device_type="B", rating_a=D(6))
    assert limit(lights).basis.startswith("0.80 × 7.283 Ω (0.95 × 230 V ÷ (5 × 6 A)): final circuit, TN-S")
    assert "distribution circuit, TN-S" in limit(feeder).basis


def test_an_outbuilding_with_its_own_earth(board) -> None:
    barn = make.make_board(board.site, "Barn", fed=False, own_earthing="TT")
    make.make_feed(barn, make.make_circuit(board))
    beyond = make.make_board(board.site, "Loft", fed=False)
    make.make_feed(beyond, make.make_circuit(barn))
    found = limit(make.make_circuit(beyond, rcd_ma=30))
    assert (found.by_rcd, found.ohms_shown) == (True, D(1666))


def at_board(board):
    return ground_of(board.site_id, on=ON, boards=[board.pk]).situation(board, HowTested())


def test_a_board_is_judged_by_the_rcd_of_what_feeds_it_too(board) -> None:
    barn = make.make_board(board.site, "Barn", fed=False, own_earthing="TT")
    make.make_feed(barn, make.make_circuit(board, rcd_ma=100), verified=False)
    make.make_circuit(barn, rcd_ma=30)
    found = at_board(barn)
    assert (found.feeder_rcd.rated_residual_ma, found.rcd.rated_residual_ma) == (100, 100)
    assert limits_for(Quantity.LOOP_BOARD, found).decides.ohms_shown == D(500)
    assert limits_for(Quantity.ELECTRODE, found).decides.most == D(500)


def test_of_several_candidates_none_feeds_the_board_but_the_electrode_serves_the_largest(board) -> None:
    barn = make.make_board(board.site, "Barn", fed=False, own_earthing="TT")
    for way, rated in ((7, 100), (8, 300)):
        make.make_feed(barn, make.make_circuit(board, way=way, rcd_ma=rated), verified=False)
    found = at_board(barn)
    assert (found.device, found.feeder_rcd, found.rcd.rated_residual_ma) == (None, None, 300)


def test_a_fault_current_is_laid_beside_what_the_device_breaks(take, board) -> None:
    weak = make.make_circuit(board, breaking_capacity_ka=D("1.5"))
    make.make_circuit(board, breaking_capacity_ka=D(6))
    here = {"quantity": Quantity.FAULT_CURRENT}
    assert (take("1.2", at=weak, **here).verdict, take("1.6", at=weak, **here).verdict) == ("pass", "fail")
    assert take("1.2", **here).verdict == "noted"  # nothing is on record of that one
    whole = take("1.6", at=board, **here)
    assert (whole.verdict, whole.limit_most) == ("fail", D("1.5"))
    assert whole.basis.startswith("rated breaking capacity of the weakest device of the board on record, 1.5 kA")
    assert take("1.2", at=board, **here).verdict == "warning"  # the circuit of which nothing is on record


def test_a_spare_way_is_no_device_that_breaks_too_little(board) -> None:
    make.make_circuit(board, breaking_capacity_ka=D(10))
    make.make_circuit(board, breaking_capacity_ka=D(1), spare=True)
    found = at_board(board)
    assert (found.breaking_capacity_ka, found.devices_unrecorded) == (10, 0)


def test_r1_r2_is_laid_beside_what_its_length_should_read(take, board) -> None:
    """18 m of 2.5/1.5 mm² copper: 18 × 19.51 mΩ/m (the table of conductors.py, its sources named there) = 0.35 Ω."""
    cable = {"line_mm2": D("2.5"), "cpc_mm2": D("1.5"), "length_m": D("18.0")}
    radial, ring = make.make_circuit(board, **cable), make.make_circuit(board, arrangement="ring", **cable)
    near, far = (take(ohms, at=radial, quantity=Quantity.R1_R2) for ohms in ("0.36", "0.90"))
    assert (near.verdict, far.verdict) == ("pass", "warning")
    # The length leads one way to the furthest point: what is read round a ring does not go by it.
    assert take("0.90", at=ring, quantity=Quantity.R1_R2).verdict == "noted"
    assert take("0.90", at=ring, quantity=Quantity.R2).verdict == "noted"


def test_a_board_that_nothing_feeds_has_no_limit(site) -> None:
    lost = make.make_board(site, "Lost", fed=False)
    found = limit(make.make_circuit(lost))
    assert isinstance(found, EnterLimit)
    assert found.reason.startswith("The earthing arrangement isn't recorded")


def test_feeds_that_disagree_settle_nothing(board) -> None:
    other = make.make_board(board.site, "Other", fed=False, own_earthing="TT")
    make.make_feed(other, make.make_circuit(board))
    shared = make.make_board(board.site, "Shared", fed=False)
    make.make_feed(shared, make.make_circuit(board), verified=False)
    make.make_feed(shared, make.make_circuit(other), verified=False)
    assert isinstance(limit(make.make_circuit(shared)), EnterLimit)


def test_the_firms_factor_of_the_day(circuit) -> None:
    Policy.objects.create(holds_from=date(2026, 1, 1), loop_factor=D("0.75"))
    assert limit(circuit).basis.startswith("0.75 × 1.366 Ω")


@pytest.mark.parametrize("boards", [1, 3])
def test_the_limit_takes_four_statements_whatever_the_size(board, django_assert_num_queries, boards) -> None:
    feeder = make.make_circuit(board)
    for n in range(boards):
        shed = make.make_board(board.site, f"Shed {n}", fed=False)
        make.make_feed(shed, feeder)
        feeder = make.make_circuit(shed, arrangement="")
    with django_assert_num_queries(4):
        limit(feeder)
