"""What the engineer's phone has to show: a job begun this morning and to be finished today, and testers in every state."""

from datetime import datetime, time, timedelta
from decimal import Decimal

from inspections.choices import Quantity
from inspections.models import Observation
from inspections.operations import take_reading
from inspections.standards.readings import read
from jobsite import clock
from jobsite.ids import new_id
from jobsite.people import operations as people
from jobsite.people.models import InstrumentCheck
from jobsite.premises.models import Site
from remedials.desk.demo.story import Story
from remedials.works.models import PowerStep, Stint
from remedials.works.operations.leaving import Material, leave_remedial
from remedials.works.operations.power import record_power


def tell(story: Story) -> None:
    """The prover at the bakery, looked into early and not finished; two testers besides the one in use."""
    _testers(story)
    story.day(0, 7)
    _begun_this_morning(story, Site.objects.get(name="Saltings Bakery"))


def _testers(story: Story) -> None:
    """One is out of its check since a month, one came back from its check as wrong; nobody measures with either."""
    story.day(420)
    old, low = (
        people.add_instrument(id=new_id(), name=name, serial_number=serial, by=story.cast.manager, now=story.now)
        for name, serial in (("Loop and RCD tester", "DEMO-2210"), ("Insulation tester", "DEMO-3057"))
    )
    for instrument, due in ((old, 30), (low, 90)):
        people.check_instrument(
            instrument, id=new_id(), checked_on=story.date(430), due=story.date(due), by_whom="Sampleton Calibration",
            certificate=f"SC-1{due:02}77", by=story.cast.manager, now=story.now,
        )  # fmt: skip
    story.day(88)
    people.check_instrument(
        low, id=new_id(), checked_on=story.date(89), result=InstrumentCheck.Result.FAILED,
        last_good_on=story.date(430), by_whom="Sampleton Calibration", certificate="SC-20114",
        note="It reads 14 % high at 1 MΩ.", by=story.cast.manager, now=story.now,
    )  # fmt: skip


def _begun_this_morning(story: Story, bakery: Site) -> None:
    """Power off and on again by the engineer's word, a stint that did not end it, and the visit that should."""
    trips = Observation.objects.open().get(text="The prover trips now and then")
    story.picture(trips, "cover")
    engineer, prover = story.cast.engineer, trips.circuit
    work = story.remedial([trips], "Renew the heating element of the prover", minutes=60, power_off=True)
    story.approve(work, "The baker", "phone")
    if prover is not None:
        insulation = {"quantity": Quantity.INSULATION, "value": read(Quantity.INSULATION, "0.42")}
        story.make(take_reading, prover, by=engineer, instrument=story.cast.tester, **insulation)
    story.make(
        record_power, work, kind=PowerStep.Kind.OFF, by=engineer, where="Bakehouse, way 2L1, locked off; proved dead at the prover"
    )  # fmt: skip
    story.make(record_power, work, kind=PowerStep.Kind.ON, by=engineer)
    story.make(
        leave_remedial, work, by=engineer, came=Stint.Came.PART_DONE.value, minutes=35,
        because="The element leaks to earth when it is warm; a new one is fetched by noon. The prover stays unplugged.",
        used=[Material("Terminal strip", Decimal(1), "")],
    )  # fmt: skip
    start = datetime.combine(story.today, time(14, 30), tzinfo=clock.LONDON)
    story.booked(
        bakery, remedials=[work], engineers=[engineer], start=start, end=start + timedelta(minutes=90),
        access="The baker is gone by ten: take the key from hook 11, the alarm is set.", confirm=False,
    )  # fmt: skip
