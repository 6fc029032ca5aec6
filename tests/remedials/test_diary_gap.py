"""This gap: what due work fits an empty stretch of somebody's day."""

import re
from datetime import date, timedelta
from decimal import Decimal

import pytest

from jobsite.people.models import Skill
from remedials.visits.rules.gap import when_in
from remedials.works.models import Waiting
from tests import factories as make
from tests.remedials.desk import text_of
from tests.remedials.test_diary import at

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


def minute(n: int):
    return at(8) + timedelta(minutes=n)


@pytest.mark.parametrize(
    ("minutes", "there", "onward", "windows", "when"),
    [
        (60, 0, 0, None, (0, 60)),
        (60, 20, 20, None, (30, 90)),  # 20 minutes there, then the next quarter of an hour
        (90, 15, 15, None, (15, 105)),  # just fits
        (95, 15, 15, None, None),
        (60, 0, 0, [(60, 120), (20, 70)], (60, 120)),  # the earlier window is too short from its first quarter on
        (30, 0, 0, [(20, 70)], (30, 60)),
        (30, 0, 100, [(20, 120)], None),  # no time to drive on
        (30, 0, 0, [], None),
    ],
)
def test_when_it_fits(minutes, there, onward, windows, when) -> None:
    stretch = (minute(0), minute(120))
    spans = None if windows is None else [(minute(a), minute(b)) for a, b in windows]
    assert when_in(stretch, minutes, there, onward, spans) == (when and (minute(when[0]), minute(when[1])))


def place(name: str, north: str = "52.00", **more):
    return make.make_site(name, latitude=Decimal(north), longitude=Decimal("-1.0"), **more)


def work(site, text: str, code: str = "C2", **fields):
    usual = {"stage": "approved", "minutes": 60}
    return make.make_remedial(make.make_observation(site, code=code), work=text, **usual | fields)


@pytest.fixture
def homed(engineer):
    engineer.home_latitude, engineer.home_longitude = Decimal("52.0"), Decimal("-1.0")
    engineer.save()
    return engineer


def asked(client, engineer, **more):
    usual = {"who": engineer.pk, "day": "2026-02-04", "start": "09:00", "until": "12:00"}
    return client.get("/diary/gap/", usual | more)


def listed(answer) -> list[str]:
    return re.findall(r">\d+ · ([^<]+)</a>", answer.content.decode())


def test_the_most_dangerous_first_then_the_nearest(at_desk, homed) -> None:
    work(place("Near", "52.01"), "Near C2")
    work(place("Far", "52.20"), "Far C2")
    work(place("Further", "52.25"), "Further C1", "C1")
    work(place("Too far", "52.90"), "Too far C1", "C1")
    work(place("Here"), "Here C3", "C3")
    answer = asked(at_desk, homed)
    assert listed(answer) == ["Further C1", "Near C2", "Far C2", "Here C3"]
    # 0.01 degree of latitude is 1.11 km: by road 1.45 km, at 40 km/h 3 minutes (rounded up).
    assert "60 min 09:15–10:15 3 min there, 3 min onward" in text_of(answer).replace("\u202f", " ")


def test_a_visit_before_and_one_after_are_where_it_begins_and_ends(at_desk, homed) -> None:
    make.make_visit(place("Before", "52.20"), engineers=[homed], start=at(8, date(2026, 2, 4)), hours=1)
    make.make_visit(place("After", "52.20"), engineers=[homed], start=at(12, date(2026, 2, 4)), hours=1)
    make.make_visit(place("Yesterday", "53.20"), engineers=[homed], start=at(8), hours=1)
    work(place("There", "52.20"), "Fit it")
    answer = asked(at_desk, homed)
    assert "with the driving from Before and on to After" in text_of(answer)
    assert "09:00–10:00 0 min there, 0 min onward" in text_of(answer).replace("\u202f", " ")


def test_left_out_is_what_something_holds_back(at_desk, homed, office) -> None:
    site = place("Here")
    work(site, "Fits", skill="Testing")
    Skill.objects.create(user=homed, name="testing", sort="testing", since=date(2026, 1, 1), until=date(2026, 2, 4))
    Skill.objects.create(user=homed, name="lifts", sort="lifts", since=date(2026, 1, 1), until=date(2026, 2, 3))
    work(site, "No skill any more", skill="lifts")
    work(site, "No skill", skill="gas")
    work(site, "Takes two", crew=2)
    work(site, "Takes long", minutes=300)
    work(site, "Parts to come", parts_ready_on=date(2026, 2, 5))
    work(site, "Parts there", parts_ready_on=date(2026, 2, 4))
    work(site, "Priced only", stage="quoted")
    held = work(site, "Waits")
    days = {"asked_on": make.TODAY, "chase_on": make.TODAY}
    Waiting.objects.create(site=site, remedial=held, on_whom="The shop", for_what="parts", recorded_by=office, **days)
    make.make_see_to(site, remedial=work(site, "Unmet"))
    make.make_see_to(site, remedial=work(site, "Met"), met_on=make.TODAY, met_how="seen")
    assert sorted(listed(asked(at_desk, homed))) == ["Fits", "Met", "Parts there"]


def test_what_a_consumer_may_still_cancel_is_left_out(at_desk, homed) -> None:
    """They accepted yesterday without asking for work to begin at once: 14 days to cancel (SI 2013/3134, reg. 30)."""
    remedial = work(place("Here"), "Accepted yesterday")
    offer = make.make_sent_offer(remedial, at=make.NOON - timedelta(days=3))
    answer_of(offer, given_at=make.NOON - timedelta(days=1))
    assert listed(asked(at_desk, homed)) == []
    assert listed(asked(at_desk, homed, day="2026-02-17")) == ["Accepted yesterday"]


def answer_of(offer, **fields):
    """A yes to every line of `offer`, given by its customer."""
    from remedials.quotes.models import Answer, LineAnswer

    usual = {"name": "Petra Landlady", "how": "email", "recorded_by": make.anybody("office"), "recorded_at": make.NOON}
    usual |= {"party": offer.quote.party, "fingerprint": "ab" * 32, "net": 100, "vat": 20, "to_pay": 120}
    answer = Answer.objects.create(offer=offer, **usual | fields)
    for line in offer.lines.all():
        LineAnswer.objects.create(answer=answer, line=line, says="yes", stands=True)


def test_within_the_customers_access_times(at_desk, homed) -> None:
    from datetime import time

    from remedials.visits.models import AccessTime

    site, shut = place("Here"), place("Shut")
    AccessTime.objects.create(site=site, weekdays=[2], start=time(10, 20), end=time(12))
    AccessTime.objects.create(site=shut, weekdays=[3], start=time(9), end=time(12))
    work(site, "Let in late")
    work(shut, "Another day")
    answer = asked(at_desk, homed)
    assert listed(answer) == ["Let in late"]
    assert "10:30–11:30" in text_of(answer)


def test_unknown_places_and_times_are_told_not_guessed(at_desk, homed) -> None:
    work(make.make_site("Lost Lane"), "Somewhere")
    work(place("Here"), "How long?", minutes=None)
    shown = text_of(asked(at_desk, homed))
    assert "It is not known where these are, so no driving there is reckoned: Lost Lane." in shown
    assert "1 remedial left out: nobody has said how long the work takes." in shown
    assert "Nothing due fits here" in shown


def test_with_a_home_that_nobody_knows(at_desk, engineer) -> None:
    work(place("Here"), "Fit it")
    answer = asked(at_desk, engineer)
    assert listed(answer) == ["Fit it"]
    assert "reckoned: the home of Edwin Wireman." in text_of(answer)
    assert "there not known, onward not known" in text_of(answer)


def test_book_it_here_opens_the_booking_filled_in(at_desk, homed) -> None:
    remedial = work(place("Here"), "Fit it")
    where = re.search(r'href="(/visits/new/[^"]*)"', asked(at_desk, homed).content.decode())[1].replace("&amp;", "&")
    shown = at_desk.get(where).content.decode()
    assert 'value="2026-02-04T09:00"' in shown
    assert 'value="2026-02-04T10:00"' in shown
    for key in (remedial.pk, homed.pk):
        assert re.search(rf'value="{key}"[^>]*checked', shown)


@pytest.mark.parametrize(
    ("more", "sentence"),
    [
        ({"until": "08:00"}, "It must end after it begins."),
        ({"start": "nine"}, "Write the time as 09:30."),
        ({"day": ""}, "Needed: fill this in."),
        ({"who": "nobody"}, "Choose one of those offered."),
    ],
)
def test_a_stretch_that_cannot_be(at_desk, homed, more, sentence) -> None:
    answer = asked(at_desk, homed, **more)
    shown = text_of(answer)
    assert (answer.status_code, shown.count(sentence), "Not saved yet" in shown) == (422, 1, False)


def test_the_form_alone(at_desk) -> None:
    answer = at_desk.get("/diary/gap/")
    assert (answer.status_code, "Show what fits" in text_of(answer)) == (200, True)


@pytest.mark.parametrize("count", [1, 5])
def test_statements_of_a_gap(at_desk, homed, django_assert_num_queries, count) -> None:
    for n in range(count):
        work(place(f"Place {n}", f"52.0{n}"), "Fit it", skill="testing" if n else "")
        make.make_visit(place(f"Visit {n}"), engineers=[homed], start=at(13 + n, date(2026, 2, 4)), hours=1)
    asked(at_desk, homed)
    # session, person, banner; people, skills, names of skills, work, visits that day, terms, access (2), observations, held back
    with django_assert_num_queries(13):
        assert asked(at_desk, homed).status_code == 200
