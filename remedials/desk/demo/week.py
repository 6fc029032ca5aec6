"""The demo firm's diary: work to be placed, visits agreed, moved and displaced, and a week proposed that waits to be looked at."""

from datetime import datetime, time, timedelta
from typing import Any

from inspections.models import Observation
from inspections.operations import report_defect
from jobsite import clock
from jobsite.people.models import User
from jobsite.premises.models import Site
from remedials.desk.demo.story import Story
from remedials.visits import operations as visits
from remedials.visits.choices import Answered, AskedHow, Effort
from remedials.visits.models import Visit
from remedials.visits.operations.planning import ask_plan
from remedials.visits.operations.working_out import work_out
from remedials.works.models import Remedial
from remedials.works.operations.parts import say_when_parts_are_ready

DAYS = 7
SEED = 1


def tell(story: Story) -> None:
    """Small works approved and not yet booked, then what is booked, moved, and gives way to an emergency."""
    at = {site.name: site for site in Site.objects.all()}
    story.day(9, 11)
    _small_works(story)
    story.day(3, 9)
    _parts_to_come(story)
    _inspection_and_call_out(story, at)
    _moved(story, at["Tollgate House"])
    story.day(0, 7)
    _today(story, at["Saltings Bakery"])
    story.day(0, 8)
    _emergency(story, at)


def _open(text: str, unit: str = "") -> Observation:
    found = Observation.objects.open().filter(text=text)
    return found.get(unit__name=unit) if unit else found.get()


def _small_works(story: Story) -> None:
    for unit, whom in (("Flat 1", "Mrs I. Ferrant-Hale"), ("Flat 3", "Wendle Estates")):
        clips = story.remedial(
            [_open("Cable clips missing in the loft", unit)], f"Clip the cables in the loft of {unit}", minutes=45
        )
        story.approve(clips, whom, "phone")
    labels = story.remedial([_open("Labels faded")], "Renew the labels in the switchroom", minutes=60)
    story.approve(labels, "Bursar", reference="PO 77164")


def _parts_to_come(story: Story) -> None:
    """A socket is on order: nobody can be booked before it is there."""
    socket = Remedial.objects.get(work="Socket renewed", site__name="7 Spindle Lane")
    story.do(say_when_parts_are_ready, socket, on=story.date(-4))


def _inspection_and_call_out(story: Story, at: dict[str, Site]) -> None:
    """The hall's inspection, late by now, and the tea urn on the same morning."""
    hall = at["Fell Road community hall"]
    visit = _book(
        story, hall, 2, 9, 3, story.cast.qualified, units=[hall.units.get()], access="The caretaker opens at half past eight."
    )  # fmt: skip
    story.make(visits.record_confirmation, visit, answered=Answered.CONFIRMED, how=AskedHow.PHONE, whom="the caretaker")
    house = at["3 Lantern Row"]
    again = _book(story, house, 4, 13, 2, story.cast.lent, units=[house.units.get()])
    story.make(visits.ask_whether_it_suits, again, how=AskedHow.PHONE, whom="Mr Wren")


def _moved(story: Story, house: Site) -> None:
    """Agreed for one day, then the owner asked for the next."""
    cord = story.remedial(
        [_open("Bathroom light not switched by a cord")], "Fit a cord switch for the bathroom light", minutes=40
    )
    story.approve(cord, "Ms O. Larkspur", "phone")
    visit = _book(
        story,
        house,
        3,
        14,
        1,
        story.cast.engineer,
        remedials=[cord],
        outage="Flat 4 off for half an hour",
        outage_with="Ms O. Larkspur",
    )
    start = _working_day(story, 4, 12)
    story.do(
        visits.move_visit, visit, start=start, end=start + timedelta(hours=1), engineers=[story.cast.engineer],
        version=visit.version, reason="Ms Larkspur is at home a day later.", despite=visit.despite,
    )  # fmt: skip
    story.make(
        visits.record_confirmation, Visit.objects.get(pk=visit.pk), answered=Answered.CANNOT, how=AskedHow.PHONE,
        whom="Ms O. Larkspur", words="Called away after all.",
    )  # fmt: skip


def _today(story: Story, bakery: Site) -> None:
    """Somebody goes to the bakery today, whichever day that is: an alarm has a code there, and a key hangs for it."""
    board = bakery.boards.get()
    seen = story.make(
        report_defect, bakery, unit=bakery.units.get(), text="The prover trips now and then",
        reported_by="The baker, by telephone", board=board, circuit=board.circuits.get(designation="Prover"),
        owner=story.cast.engineer,
    )  # fmt: skip
    story.review(seen, "recode", "C3", "The device acts as it should; what makes it trip is to be found.")
    start = datetime.combine(story.today, time(11), tzinfo=clock.LONDON)
    story.booked(
        bakery, engineers=[story.cast.engineer], start=start, end=start + timedelta(hours=3), call_outs=[seen],
        access="The baker is gone by ten: take the key from hook 11, the alarm is set.", confirm=False,
    )  # fmt: skip


def _emergency(story: Story, at: dict[str, Site]) -> None:
    """Sparks at the pottery: what was planned for that hour goes back to the office, knowingly."""
    gland = Remedial.objects.get(work__startswith="Open the cable entry")
    _book(story, at["Orrin Reach boatyard"], 1, 9, 2, story.cast.qualified, remedials=[gland])
    sparks = _open("Sparks and a smell of burning at the extractor's isolator")
    _book(
        story, at["Marlpit Pottery works"], 1, 10, 2, story.cast.qualified, call_outs=[sparks], emergency=True, displace=True,
        despite="Danger present: the extractor must be made safe first thing.", confirm=False,
    )  # fmt: skip


def _working_day(story: Story, ahead: int, hour: int) -> datetime:
    """An hour of the day so many working days from today."""
    return datetime.combine(story.working_day(ahead), time(hour), tzinfo=clock.LONDON)


def _book(story: Story, site: Site, ahead: int, hour: int, hours: int, who: User, **what: Any) -> Visit:
    start = _working_day(story, ahead, hour)
    asked = {"engineers": [who], "start": start, "end": start + timedelta(hours=hours)} | what
    visit: Visit = story.booked(site, **asked)
    return visit


def propose(story: Story) -> None:
    """A week from tomorrow, worked out here and now, so that it can be looked at without waiting for the worker."""
    people = [story.cast.engineer, story.cast.qualified, story.cast.lent]
    story.day(0, 9)
    plan = story.make(ask_plan, first=story.date(-1), days=DAYS, effort=Effort.QUICK, seed=SEED, engineers=people)
    work_out(plan.pk, now=story.now)
