"""Bad input and two people at once: never an error of ours, never two of what there should be one of."""

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from inspections.models import Observation
from jobsite.ids import new_id
from jobsite.refused import Refused
from remedials.visits.operations import book_visit
from remedials.works.models import Approval, Proof, ProofReview, Remedial
from remedials.works.operations import approve_remedial, edit_remedial, make_remedial, review_proof, wait_on
from tests import factories as make
from tests.at_once import at_once
from tests.remedials.work import ask_reading, close, on_the_way

BAD = [
    "\0",
    "\ud800",
    str(2**63),
    "1" * 40,
    "-1",
    "NaN",
    "1e999",
    "9999-12-31",
    "0001-01-01T00:00",
    "<script>",
    "x" * 11_000,
]
FIELDS = {
    "works:make": ("id", "observations", "unit", "work", "owner", "step_by", "minutes", "skill", "circuits", "certificate_kind"),
    "works:edit": ("version", "work", "minutes", "skill", "see_to_first", "circuits", "certificate_kind"),
    "works:approve": ("given_by", "how", "given_on", "pounds", "party", "reference"),
    "works:decline": ("who", "reason", "offer_again_on"),
    "works:cancel": ("reason", "who"),
    "works:by_others": ("who", "on", "reference", "reason"),
    "works:wait": ("id", "on_whom", "for_what", "asked_on", "promised_for", "chase_on", "owner"),
    "works:wait_observation": ("id", "on_whom", "for_what", "asked_on", "promised_for", "chase_on", "owner"),
    "works:take_on": ("owner", "step_by"),
    "works:reopen": ("reason",),
    "works:chase": ("id", "chase_on", "said"),
    "works:end_waiting": ("how",),
    "works:close": ("id", "exception_reason", "note", "supervisor_name", "certificate_number"),
    "works:power": ("id", "kind", "where"),
    "works:photo_add": ("id", "observation"),
    "works:part_done": ("id", "came", "because", "minutes", "used"),
    "works:review": ("decision", "reason"),
    "visits:book": ("id", "remedials", "engineers", "start", "end", "access", "outage", "move"),
    "visits:cancel": ("reason",),
}  # fmt: skip


@pytest.fixture
def rows(office):
    """What each page is about: the remedial, but where another row is named."""
    remedial = on_the_way("C2", certificate_kind="minor works certificate")
    ask_reading(remedial)
    observation = remedial.observations.get()
    waiting = wait_on(
        id=new_id(), remedial=remedial, on_whom="a", for_what="b", asked_on=make.TODAY, chase_on=make.TODAY, by=office,
        now=make.NOON,
    )  # fmt: skip
    start = make.NOON.replace(hour=13)
    visit = book_visit(
        remedial.site, id=new_id(), remedials=[on_the_way("C3", site=remedial.site)],
        engineers=[make.make_user("Ada Wire", "engineer")], start=start, end=start.replace(hour=14), by=office,
        now=make.NOON,
    )  # fmt: skip
    other = {"works:make": remedial.site, "works:wait_observation": observation, "visits:cancel": visit}
    other |= {"works:chase": waiting, "works:end_waiting": waiting}
    return {name: other.get(name, remedial) for name in FIELDS}


@pytest.mark.django_db
@pytest.mark.parametrize("name", FIELDS)
def test_hostile_values_are_never_our_error(client, rows, qualified, name) -> None:
    qualified.roles = ["office", "engineer"]
    qualified.save()
    row = rows[name]
    address = f"{reverse(name)}?remedial={row.pk}" if name == "visits:book" else reverse(name, args=[row.pk])
    with time_machine.travel(make.NOON, tick=False):
        client.force_login(qualified)
        for bad in BAD:
            value = bad.encode("utf-8", "surrogatepass").decode("latin-1") if bad == "\ud800" else bad
            answer = client.post(address, dict.fromkeys(FIELDS[name], value))
            assert answer.status_code in {200, 302, 403, 422}, (bad[:20], answer.status_code)


@pytest.mark.django_db
@pytest.mark.parametrize("bad", BAD)
def test_hostile_readings_are_never_our_error(client, engineer, bad) -> None:
    remedial = on_the_way("C2")
    ask_reading(remedial, device_standard="BS 3036", device_type="")
    need, tool = remedial.required_readings.get(), make.make_instrument()
    names = ("id", "value", "instrument", "limit_entered", "limit_source")
    good = {"id": str(new_id()), "value": "0.5", "instrument": str(tool.pk), "limit_entered": "1", "limit_source": "x"}
    value = "\N{REPLACEMENT CHARACTER}" if bad == "\ud800" else bad
    with time_machine.travel(make.NOON, tick=False):
        client.force_login(engineer)
        for name in names:
            data = {f"{need.pk}-{key}": text for key, text in (good | {name: value}).items()}
            answer = client.post(reverse("works:reading", args=[need.pk]), data)
            assert answer.status_code in {302, 422}, (name, answer.status_code)


@pytest.mark.django_db
@pytest.mark.parametrize(
    "query", ["q=%F0%90", "stage=%00", f"owner={2**63}", "q=" + "9" * 40, "after=" + "A" * 3000, "as=pdf"]
)
def test_hostile_addresses_of_the_list(client, office, query) -> None:
    client.force_login(office)
    assert client.get(f"/remedials/?{query}").status_code in {200, 400}


@pytest.mark.django_db
@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"\xff\xd8\xff\xe0 cut short",
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        b"GIF89a",
        b"\0" * 100,
        b"%PDF-1.7",
    ],
)
def test_hostile_photos_are_refused_and_nothing_is_kept(client, engineer, data) -> None:
    remedial = on_the_way("C2")
    client.force_login(engineer)
    photo = SimpleUploadedFile("after.jpg", data, content_type="image/jpeg")
    answer = client.post(reverse("works:photo_add", args=[remedial.pk]), {"photo": photo})
    assert (answer.status_code, remedial.photos.count()) == (422, 0)


# --- two at once ------------------------------------------------------------------------------------------------------


@pytest.mark.django_db(transaction=True)
def test_two_approvals_at_once_are_one() -> None:
    office = make.anybody("office")
    remedial = on_the_way("C2", stage="to-price")
    yes = {"given_by": "Petra", "how": "phone", "given_on": make.TODAY, "by": office, "now": make.NOON}
    results = at_once(*[lambda: approve_remedial(remedial, **yes).stage] * 3)
    assert (results, Approval.objects.count()) == (["approved"] * 3, 1)


@pytest.mark.django_db(transaction=True)
def test_of_two_different_approvals_at_once_one_is_told() -> None:
    office = make.anybody("office")
    remedial = on_the_way("C2", stage="to-price")
    yes = {"how": "phone", "given_on": make.TODAY, "by": office, "now": make.NOON}
    results = at_once(*[lambda who=who: approve_remedial(remedial, given_by=who, **yes) for who in ("Petra", "Paul")])
    told = [str(result) for result in results if isinstance(result, Refused)]
    assert told == [f"Remedial {remedial.number} cannot be approved: its stage is approved."]
    assert Approval.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_two_reviewers_at_once_leave_one_decision() -> None:
    one, two = make.make_qualified("Anna Able"), make.make_qualified("Ben Able")
    remedial = on_the_way("C2")
    proof = close(remedial, by=make.make_user("Edwin Wire", "engineer"))
    results = at_once(
        lambda: review_proof(proof, decision="accepted", by=one, now=make.NOON),
        lambda: review_proof(proof, decision="sent-back", reason="Blurred", by=two, now=make.NOON),
    )
    decided = ProofReview.objects.get()
    assert [type(result) for result in results if isinstance(result, Refused)] == [Refused]
    ended = Observation.objects.get().ended
    remedial.refresh_from_db()
    expected = {"accepted": ("reviewed", "remedied", "stands"), "sent-back": ("approved", "", "sent-back")}
    assert (remedial.stage, ended, Proof.objects.get().state) == expected[decided.decision]


@pytest.mark.django_db(transaction=True)
def test_the_same_form_sent_twice_at_once_makes_one_remedial() -> None:
    office, key = make.anybody("office"), new_id()
    observation = make.make_observation(make.make_site())
    fields = {"id": key, "work": "Fit a cover", "by": office, "now": make.NOON}
    results = at_once(*[lambda: make_remedial([observation], **fields).pk] * 2)
    assert (results, Remedial.objects.count()) == ([key, key], 1)


@pytest.mark.django_db(transaction=True)
def test_two_people_changing_at_once_one_is_told() -> None:
    office = make.anybody("office")
    remedial = on_the_way("C2", stage="to-price")
    results = at_once(
        *[lambda w=w: edit_remedial(remedial, version=1, work=w, by=office, now=make.NOON).work for w in ("A", "B")]
    )
    told = [result for result in results if isinstance(result, Refused)]
    remedial.refresh_from_db()
    assert (len(told), remedial.version, remedial.work in results) == (1, 2, True)
