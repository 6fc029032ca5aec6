"""Sites with visits to come: one that goes to another customer, one that was recorded twice, one that leaves the lists."""

from datetime import timedelta

import pytest

from jobsite.premises import operations, queries
from jobsite.refused import Refused
from remedials.visits.models import OccupierNote, TimesOffer, Visit
from remedials.visits.operations.codes import look_at_code
from tests import factories as make
from tests.factories import NOON, TODAY, recorded

pytestmark = pytest.mark.django_db
SOON = NOON + timedelta(days=3)


@pytest.fixture
def twice():
    """One house, recorded twice for one customer."""
    customer = make.make_party()
    return make.make_site("A", customer=customer), make.make_site("B", customer=customer)


def merged(gone, into, by) -> None:
    operations.merge_sites(
        gone, into=into, names={row.pk: f"{row} (2)" for row in queries.clashing(gone, into)}, reason="Same door", by=by,
        now=NOON,
    )  # fmt: skip


def note(site, **fields) -> OccupierNote:
    return OccupierNote.objects.create(site=site, unit=make.unit_of(site), **fields)


def test_what_is_noted_of_occupiers_becomes_one_note(twice, office) -> None:
    gone, into = twice
    note(gone, contact="Tina", phone="01632 960001", mind="Hard of hearing", loses_power_badly=True)
    note(into, contact="Tina", phone="01632 960002", email="tina@example.com")
    merged(gone, into, office)
    one = OccupierNote.objects.get()
    assert (one.site, one.unit, one.contact, one.phone) == (
        into,
        into.units.current().get(),
        "Tina",
        "01632 960002; 01632 960001",
    )
    assert (one.mind, one.email, one.loses_power_badly) == ("Hard of hearing", "tina@example.com", True)


def test_what_only_one_record_notes_goes_over(twice, office) -> None:
    gone, into = twice
    note(gone, mind="Two dogs")
    merged(gone, into, office)
    one = OccupierNote.objects.get()
    assert (one.site, one.unit, one.mind) == (into, into.units.current().get(), "Two dogs")


def test_all_of_getting_in_goes_over(twice, office, engineer) -> None:
    gone, into = twice
    visit = make.make_visit(gone, engineers=[engineer], start=SOON)
    make.make_visit_line(visit, unit=make.unit_of(gone))
    key, seen_to, tried = make.make_key(gone), make.make_see_to(gone, unit=make.unit_of(gone)), make.make_attempt(gone)
    merged(gone, into, office)
    for row in (visit, key, seen_to, tried):
        row.refresh_from_db()
        assert row.site == into
    assert visit.lines.get().unit == seen_to.unit == into.units.current().get()


def test_two_inspections_of_one_house_are_not_both_kept(twice, office, engineer, other_engineer) -> None:
    gone, into = twice
    visits = [
        make.make_visit(site, engineers=[who], start=SOON)
        for site, who in ((gone, engineer), (into, other_engineer))
    ]  # fmt: skip
    for visit in visits:
        make.make_visit_line(visit, unit=make.unit_of(visit.site))
    with pytest.raises(Refused) as refused:
        merged(gone, into, office)
    assert refused.value.sentence == "Visits 1 and 2 are both booked to inspect it: take it off one of them first."
    gone.refresh_from_db()
    assert gone.merged_into is None
    visits[0].lines.update(settled_at=NOON)
    merged(gone, into, office)
    assert Visit.objects.filter(site=into).count() == 2


def test_a_new_customer_is_asked_whether_the_visits_to_come_suit(site, office, engineer) -> None:
    work = [make.make_remedial(make.make_observation(site), stage="approved") for _ in range(2)]
    asked = make.make_visit(site, engineers=[engineer], start=SOON, answered="confirmed", confirm_by=TODAY)
    make.make_visit(site, engineers=[engineer], start=NOON - timedelta(days=2), answered="confirmed", confirm_by=TODAY)
    make.make_times_offer(site, work[0], party=site.customer)
    make.make_times_offer(site, work[1], party=make.make_party("Oona Occupier"))
    with recorded() as told:
        operations.hand_over_site(
            site,
            to=make.make_party("Nadia Newowner"),
            on=TODAY,
            reason="Sold",
            version=site.version,
            by=office,
            now=NOON,
        )
    assert sorted(Visit.objects.order_by("number").values_list("answered", flat=True)) == ["confirmed", "not-asked"]
    assert sorted(TimesOffer.objects.values_list("state", flat=True)) == ["open", "withdrawn"]
    (entry,) = [one for one in told if one.verb == "site.handed-over"]
    assert (entry.facts["visits_to_confirm"], entry.facts["times_withdrawn"]) == ([asked.number], 1)


def test_alarm_codes_of_the_former_customer_are_erased(site, office, engineer) -> None:
    make.make_visit(site, engineers=[engineer], start=NOON)
    elsewhere = make.make_code(make.make_site("Elsewhere"))
    codes = [make.make_code(site, place="Hall"), make.make_code(site, place="Gate")]
    make.make_code(site, retired_at=NOON - timedelta(days=9), place="Old")
    assert look_at_code(codes[0], by=engineer, now=NOON) == "4711"
    to = make.make_party("Nadia Newowner")
    with recorded() as told:
        operations.hand_over_site(site, to=to, on=TODAY, reason="Sold", version=site.version, by=office, now=NOON)
    (entry,) = [one for one in told if one.verb == "site.handed-over"]
    assert entry.facts["codes_retired"] == sorted(str(code.pk) for code in codes)
    for code in codes:
        code.refresh_from_db()
        assert (bytes(code.sealed), code.retired_at) == (b"", NOON)
        with pytest.raises(Refused, match="can no longer be read"):
            look_at_code(code, by=engineer, now=NOON)
    elsewhere.refresh_from_db()
    assert elsewhere.retired_at is None


@pytest.mark.parametrize("kind", ["visit", "key"])
def test_a_site_with_a_visit_to_come_or_a_key_that_is_out_stays_on_the_lists(site, office, engineer, kind) -> None:
    if kind == "visit":
        remedial = make.make_remedial(make.make_observation(site, code="C3"), stage="booked", owner=engineer)
        make.make_visit(site, remedial, engineers=[engineer], start=SOON)
    else:
        make.make_key(site, out_to=engineer, back_by=TODAY)
    with pytest.raises(Refused) as refused:
        operations.archive_site(site, by=office, now=NOON)
    assert refused.value.sentence.startswith("This is still open here")
    site.refresh_from_db()
    assert site.archived_at is None
