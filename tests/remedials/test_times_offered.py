"""Times offered by a private link: chosen once, refused when they went, and nothing by merely opening it."""

from datetime import UTC, datetime, timedelta
from threading import Barrier, Thread

import pytest
import time_machine
from django.core import mail
from django.db import connection
from django.urls import reverse

from jobsite.ids import new_id
from jobsite.messages.models import Message
from jobsite.people.models import PrivateLink
from jobsite.premises.models import Party
from jobsite.refused import NotAllowed, Refused
from remedials.due.operations import send
from remedials.visits.models import Attendance, Confirmation, TimesOffer, Visit
from remedials.visits.operations.times import choose_time, none_suits, offer_times, withdraw_times
from remedials.visits.operations.times_links import make_times_link
from remedials.visits.operations.times_mail import send_times
from tests import factories as make
from tests.factories import NOON, TODAY, recorded

FIRST = datetime(2026, 2, 9, 10, 0, tzinfo=UTC)  # a Monday
HOUR = timedelta(hours=1)
SPANS = [(FIRST, FIRST + 2 * HOUR), (FIRST + 24 * HOUR, FIRST + 26 * HOUR)]


@pytest.fixture
def work(site):
    return make.make_remedial(make.make_observation(site), stage="approved")


def offered(site, work, engineer, by, **more) -> TimesOffer:
    usual = {
        "id": new_id(), "remedials": [work], "engineers": [engineer], "times": SPANS, "answer_by": TODAY + timedelta(days=2),
        "by": by, "now": NOON,
    }  # fmt: skip
    return offer_times(site, **usual | more)


@pytest.fixture
def offer(site, work, engineer, office):
    return offered(site, work, engineer, office)


@pytest.fixture
def link(offer, office):
    return make_times_link(offer, id=new_id(), sent_to="Petra", by=office, now=NOON)


def choose(offer, link, number: int = 0, **more):
    usual = {"link": link[0], "name": "Petra", "words": "Ring first", "now": NOON}
    return choose_time(offer, list(offer.times.all())[number], **usual | more)


# --- operations -------------------------------------------------------------------------------------------------------


@pytest.mark.django_db
def test_chosen_time_is_a_confirmed_visit_and_the_office_hears(offer, link, work, engineer, office) -> None:
    with recorded() as told:
        visit = choose(offer, link)
        assert choose(offer, link) == visit
    assert [entry.verb for entry in told if entry.verb.startswith(("visit.", "times."))] == [
        "visit.booked",
        "times.chosen",
    ]
    visit.refresh_from_db()
    assert (visit.start, visit.end, visit.answered) == (*SPANS[0], "confirmed")
    assert Confirmation.objects.get().whom == "Petra"
    work.refresh_from_db()
    assert work.stage == "booked"
    assert Message.objects.get(to_id=office.pk).subject == "Answer to the times offered: Sample House"
    with pytest.raises(Refused, match="chosen already"):
        choose(offer, link, 1)


@pytest.mark.django_db
def test_time_that_went_meanwhile_is_refused_and_the_other_is_left(offer, link, engineer, client) -> None:
    make.make_visit(make.make_site("Elsewhere"), engineers=[engineer], start=FIRST + HOUR)
    with pytest.raises(Refused, match="no longer free"):
        choose(offer, link)
    assert choose(offer, link, 1).start == SPANS[1][0]


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("more", "sentence"),
    [
        ({"times": []}, "at least one"),
        ({"times": [(FIRST, FIRST)]}, "end after"),
        ({"times": [SPANS[0], (FIRST, FIRST + HOUR)]}, "begin together"),
        ({"engineers": []}, "who goes"),
        ({"remedials": []}, "approved"),
        ({"answer_by": TODAY - timedelta(days=1)}, "past"),
        ({"answer_by": TODAY + timedelta(days=30)}, "after the day of the answer"),
    ],
)
def test_what_cannot_be_offered(site, work, engineer, office, more, sentence) -> None:
    with pytest.raises(Refused, match=sentence):
        offered(site, work, engineer, office, **more)
    assert not TimesOffer.objects.exists()


@pytest.mark.django_db
def test_time_against_which_something_speaks_is_not_offered(site, work, engineer, office) -> None:
    make.make_closed_days(site, first=FIRST.date(), last=FIRST.date())
    with pytest.raises(Refused, match=r"lets people in not on 9 Feb 2026.*say why"):
        offered(site, work, engineer, office)


@pytest.mark.django_db
def test_only_an_open_link_to_this_offer_chooses(offer, link, site, office) -> None:
    other = make.make_times_link(make.make_times_offer(site))
    with pytest.raises(NotAllowed):
        choose(offer, other)
    with pytest.raises(NotAllowed):
        choose(offer, make.make_link(site, thing=offer.pk))
    with pytest.raises(Refused, match="no longer open"):
        choose(offer, link, now=NOON + timedelta(days=3))
    withdraw_times(offer, by=office, now=NOON)
    with pytest.raises(NotAllowed):
        choose(offer, link)
    assert not Visit.objects.exists()


@pytest.mark.django_db
def test_who_offered_and_may_book_no_longer_books_nothing(offer, link, office) -> None:
    office.roles = ["engineer"]
    office.save()
    with pytest.raises(Refused, match="ring us"):
        choose(offer, link)


@pytest.mark.django_db
def test_none_suits_because(offer, link) -> None:
    with pytest.raises(Refused, match="why"):
        none_suits(offer, link=link[0], name="Petra", words=" ", now=NOON)
    with recorded() as told:
        for _ in range(2):
            none_suits(offer, link=link[0], name="Petra", words="Away until March", now=NOON)
    assert [entry.verb for entry in told] == ["times.none-suits"]
    with pytest.raises(Refused, match="none suits"):
        choose(offer, link)


@pytest.mark.django_db(transaction=True)
def test_two_customers_choose_the_same_hour_of_one_engineer_at_once(office, engineer) -> None:
    both = []
    for name in ("One", "Two"):
        site = make.make_site(name)
        row = offered(site, make.make_remedial(make.make_observation(site), stage="approved"), engineer, office)
        both.append((row, make_times_link(row, id=new_id(), sent_to=name, by=office, now=NOON)))
    begin, came = Barrier(2), []

    def run(row, link) -> None:
        begin.wait()
        try:
            came.append(choose(TimesOffer.objects.get(pk=row.pk), link).number)
        except Refused as refused:
            came.append(refused.sentence)
        finally:
            connection.close()

    threads = [Thread(target=run, args=one) for one in both]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(30)
    assert len([one for one in came if isinstance(one, int)]) == 1, came
    assert len([one for one in came if "no longer free" in str(one)]) == 1, came
    assert Attendance.objects.filter(cancelled=False).count() == 1


@pytest.mark.django_db
def test_a_time_that_only_warns_is_offered_when_the_office_says_why(site, work, engineer, office) -> None:
    make.make_see_to(site, what="Ask for the register")
    with pytest.raises(Refused, match="say why") as refused:
        offered(site, work, engineer, office)
    assert refused.value.field == "despite"
    assert not TimesOffer.objects.exists()
    with recorded() as told:
        offer = offered(site, work, engineer, office, despite=" It comes on Friday ")
    assert [entry.words for entry in told if entry.verb == "times.offered"] == [{"despite": "It comes on Friday"}]
    visit = choose(offer, make_times_link(offer, id=new_id(), sent_to="Petra", by=office, now=NOON))
    assert (visit.despite, visit.answered) == ("It comes on Friday", "confirmed")
    told_office = Message.objects.get(to_id=office.pk, subject__startswith="Answer to the times").body
    assert "Booked all the same, though: " in told_office
    assert "Ask for the register" in told_office


@pytest.mark.django_db
def test_a_time_at_which_nobody_could_be_booked_is_not_offered_whatever_is_said(site, work, engineer, office) -> None:
    make.make_leave(engineer, FIRST.date())
    with pytest.raises(Refused, match="cannot be offered") as refused:
        offered(site, work, engineer, office, despite="He said he would")
    assert refused.value.field == "times"
    assert not TimesOffer.objects.exists()


@pytest.mark.django_db
def test_the_customer_is_told_what_is_wrong(offer, link, work, engineer, site) -> None:
    leave = make.make_leave(engineer, FIRST.date())
    with pytest.raises(Refused, match="We cannot come at this time after all"):
        choose(offer, link)
    leave.delete()
    work.stage = "cancelled"
    work.save()
    with pytest.raises(Refused, match="no longer open: please ring us"):
        choose(offer, link)
    work.stage = "approved"
    work.save()
    assert choose(offer, link).start == FIRST


# --- by e-mail --------------------------------------------------------------------------------------------------------


def to_petra() -> list:
    return [one for one in mail.outbox if one.to == ["petra@example.com"]]


@pytest.mark.django_db
def test_times_go_by_e_mail_once_with_a_link_that_is_in_no_row(offer, office, client) -> None:
    key = new_id()
    with recorded() as told:
        for _ in range(2):
            send_times(offer, id=key, sent_to="Petra", email="petra@example.com", by=office, now=NOON)
    assert [entry.verb for entry in told] == ["access.attempt"]  # it stands in the evidence
    for _ in range(2):
        send(now=NOON)
    (sent,) = to_petra()
    assert "- 9 Feb 2026, 10:00" in sent.body
    assert "ring ." not in sent.body
    token = next(word for word in sent.body.split() if "/t/" in word).rstrip("/").rsplit("/", 1)[1]
    assert not Message.objects.filter(body__contains=token).exists()
    with time_machine.travel(NOON, tick=False):
        assert "Choose a time" in client.get(reverse("visits:times", args=[token])).content.decode()
    choose(offer, (PrivateLink.objects.get(thing=offer.pk), token))
    assert send_times(offer, id=key, sent_to="Petra", email="petra@example.com", by=office, now=NOON).pk == key


@pytest.mark.django_db
@pytest.mark.parametrize("how", ["withdrawn", "past"])
def test_times_that_are_no_longer_open_are_not_sent(offer, office, how) -> None:
    send_times(offer, id=new_id(), sent_to="Petra", email="petra@example.com", by=office, now=NOON)
    later = NOON if how == "withdrawn" else NOON + timedelta(days=3)
    if how == "withdrawn":
        withdraw_times(offer, by=office, now=NOON)
    with pytest.raises(Refused, match="not open"):
        send_times(offer, id=new_id(), sent_to="Petra", email="petra@example.com", by=office, now=later)
    send(now=later)
    assert to_petra() == []


@pytest.mark.django_db
@pytest.mark.usefixtures("at_noon")
def test_office_e_mails_the_link_only_when_it_says_so_and_has_an_address(at_desk, offer) -> None:
    Party.objects.filter(pk=offer.site.customer_id).update(email="petra@example.com")
    where = reverse("visits:times_link", args=[offer.pk])
    shown = at_desk.get(where).content.decode()
    assert 'value="petra@example.com"' in shown
    typed = {"id": new_id(), "sent_to": "Petra", "how": "email", "email": ""}
    assert at_desk.post(where, typed).status_code == 422
    assert "/t/" in at_desk.post(where, typed | {"how": "hand", "email": "petra@example.com"}).content.decode()
    send(now=NOON)
    assert to_petra() == []
    said = at_desk.post(where, typed | {"id": new_id(), "email": "petra@example.com"}, follow=True).content.decode()
    assert "It goes to petra@example.com now" in said
    assert "petra@example.com, e-mail waiting to be sent" in said
    send(now=NOON)
    assert len(to_petra()) == 1


# --- the customer's page ----------------------------------------------------------------------------------------------


@pytest.mark.django_db
@pytest.mark.usefixtures("at_noon")
def test_page_chooses_nothing_until_it_is_confirmed(client, offer, link) -> None:
    where = reverse("visits:times", args=[link[1]])
    opened = client.get(where)
    said = opened.content.decode()
    assert "Mon 9 Feb" in said or "9 Feb 2026" in said
    assert "Edwin" not in said
    assert not opened.cookies
    headers = ("Cache-Control", "Referrer-Policy", "X-Robots-Tag")
    assert [opened[name] for name in headers] == ["no-store", "no-referrer", "noindex, nofollow, noarchive"]
    time = offer.times.first()
    assert client.post(f"{where}choose/", {}).status_code == 422
    assert client.post(f"{where}choose/", {"time": "x" * 3}).status_code == 422
    looked = client.post(f"{where}choose/", {"time": time.pk})
    assert "Nothing is booked before you confirm here." in looked.content.decode()
    assert client.post(f"{where}choose/", {"time": time.pk, "confirm": "yes", "name": ""}).status_code == 422
    client.get(f"{where}choose/?time={time.pk}&confirm=yes&name=Petra")
    assert not Visit.objects.exists()
    done = client.post(f"{where}choose/", {"time": time.pk, "confirm": "yes", "name": "Petra", "words": ""})
    assert (done.status_code, Visit.objects.count()) == (302, 1)
    assert "We come" in client.get(where).content.decode()


@pytest.mark.django_db
@pytest.mark.usefixtures("at_noon")
def test_page_shows_what_is_left_when_a_time_went(client, offer, link, engineer) -> None:
    where = reverse("visits:times", args=[link[1]])
    time = offer.times.first()
    make.make_visit(make.make_site("Elsewhere"), engineers=[engineer], start=FIRST)
    refused = client.post(f"{where}choose/", {"time": time.pk, "confirm": "yes", "name": "Petra", "words": ""})
    said = refused.content.decode()
    assert refused.status_code == 422
    assert "This time is no longer free." in said
    assert str(time.pk) not in said
    assert str(offer.times.last().pk) in said
    none = client.post(f"{where}none/", {"name": "Petra", "words": "Away"})
    assert none.status_code == 302
    assert "none of the times suits" in client.get(where).content.decode()


@pytest.mark.django_db
@pytest.mark.parametrize("token", ["x", "A" * 43, "%00", "..%2F..", "'%20OR%201=1"])
def test_wrong_tokens_open_nothing(client, offer, token) -> None:
    assert client.get(f"/t/{token}/").status_code in {400, 404}  # no address holds a zero byte
    assert client.post(f"/t/{token}/choose/", {"time": offer.times.first().pk}).status_code in {400, 404}


@pytest.mark.django_db
@pytest.mark.usefixtures("at_noon")
def test_office_offers_times_and_makes_a_link_shown_once(at_desk, site, work, engineer) -> None:
    where = reverse("visits:times_offer_new", args=[site.pk])
    typed = {
        "id": new_id(), "remedials": [work.pk], "engineers": [engineer.pk], "answer_by": "5 Feb 2026",
        "start_1": "2026-02-09T10:00", "end_1": "2026-02-09T12:00", "start_2": "2026-02-10T10:00",
    }  # fmt: skip
    assert at_desk.get(where).status_code == 200
    assert "This field is required." not in at_desk.post(where, {"id": new_id()}).content.decode()
    assert at_desk.post(where, typed).status_code == 422
    assert at_desk.post(where, typed | {"end_2": "2026-02-10T12:00"}).status_code == 302
    offer = TimesOffer.objects.get()
    made = {"id": new_id(), "sent_to": "Petra", "how": "hand"}
    link = reverse("visits:times_link", args=[offer.pk])
    assert "/t/" in at_desk.post(link, made).content.decode()
    assert "shown then" in at_desk.post(link, made).content.decode()
    assert "Petra, made" in at_desk.get(reverse("visits:times_offer", args=[offer.pk])).content.decode()
    at_desk.post(reverse("visits:times_withdraw", args=[offer.pk]))
    assert TimesOffer.objects.get().state == "withdrawn"
