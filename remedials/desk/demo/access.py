"""Getting in at the demo firm's sites: where they lie, when they let people in, what was tried, keys, what comes first."""

from datetime import time, timedelta

from jobsite.premises.models import Site
from jobsite.premises.operations import edit_site
from remedials.desk.demo.story import Story
from remedials.visits.choices import AttemptHow, SeeToKind
from remedials.visits.operations import access, attempts, codes, keys, seeing_to

# Invented places in open country, where no such towns are: degrees north and east.
PLACES = {
    "Orrin Reach boatyard": ("54.65210", "-2.21840"),
    "Brackwater School": ("54.70480", "-2.12110"),
    "Marlpit Pottery works": ("54.60330", "-2.28250"),
    "Tollgate House": ("54.65890", "-2.20130"),
    "3 Lantern Row": ("54.65570", "-2.19480"),
    "Fell Road community hall": ("54.71120", "-2.13370"),
    "Saltings Bakery": ("54.65030", "-2.20960"),
    "The practice house": ("54.66140", "-2.18220"),
    "Candlewick Wharf": ("54.64760", "-2.22510"),
    "7 Spindle Lane": ("54.65320", "-2.20540"),
}
WORKING_DAYS = (0, 1, 2, 3, 4)


def tell(story: Story) -> None:
    """Places first; then the school's term, a flat that nobody opens, keys out, a code, what must be seen to."""
    story.day(30)
    for site in Site.objects.filter(name__in=PLACES):
        north, east = PLACES[site.name]
        story.do(edit_site, site, version=site.version, latitude=north, longitude=east)
    at = {site.name: site for site in Site.objects.all()}
    _times(story, at)
    _occupiers(story, at["Tollgate House"])
    _nobody_opens(story, at["Tollgate House"])
    _keys_and_codes(story, at)
    _first(story, at)


def _times(story: Story, at: dict[str, Site]) -> None:
    """The school lets nobody work in term; the boatyard opens its gate early; a hall is free in the mornings."""
    story.make(
        access.add_access_time, at["Brackwater School"], weekdays=WORKING_DAYS, start=time(7, 30), end=time(16),
        note="sign in at reception",
    )  # fmt: skip
    story.make(
        access.add_closed_days, at["Brackwater School"], first=story.date(40), last=story.date(-17),
        why="term: no work that needs the power off",
    )  # fmt: skip
    story.make(
        access.add_access_time, at["Orrin Reach boatyard"], weekdays=(*WORKING_DAYS, 5), start=time(7), end=time(18)
    )
    story.make(
        access.add_access_time, at["Fell Road community hall"], weekdays=(0, 1, 2), start=time(8), end=time(13),
        note="playgroup in the afternoons",
    )  # fmt: skip


def _occupiers(story: Story, house: Site) -> None:
    flat = {unit.name: unit for unit in house.units.all()}
    story.make(
        access.add_access_time, house, unit=flat["Flat 1"], weekdays=(1, 3), start=time(13), end=time(17),
        note="works nights: not before one",
    )  # fmt: skip
    story.do(
        access.note_occupier, flat["Flat 1"], contact="Wilf Dunmore", phone="07700 900161", best_times="afternoons"
    )
    story.do(
        access.note_occupier, flat["Flat 3"], contact="Mrs Enid Farrow", phone="01632 960163",
        mind="Uses an oxygen concentrator: agree any outage with her first.", loses_power_badly=True,
    )  # fmt: skip


def _nobody_opens(story: Story, house: Site) -> None:
    """Flat 2 does not answer: went there, rang, wrote, wrote again; the next letter is due tomorrow."""
    flat = house.units.get(name="Flat 2")
    tried = (
        (26, 22, AttemptHow.PHONE, "Voicemail: asked to ring back about the earthing of the water heater."),
        (21, 19, AttemptHow.VISIT, "Rang and knocked for ten minutes, left a card."),
        (19, 5, AttemptHow.FIRST_LETTER, "Asked for a day in the next two weeks."),
        (5, -1, AttemptHow.SECOND_LETTER, "Three days offered, all in daylight."),
    )
    for days_ago, again, how, said in tried:
        story.day(days_ago, 10)
        by = story.cast.engineer if how == AttemptHow.VISIT else story.cast.office
        story.make(
            attempts.log_attempt, house, by=by, unit=flat, how=how, at=story.now - timedelta(minutes=20),
            whom="whoever lives in Flat 2", said=said,
            next_on=story.date(again),
        )  # fmt: skip


def _keys_and_codes(story: Story, at: dict[str, Site]) -> None:
    """The hall's key should have been back yesterday; the bakery's hangs in its place, its alarm has a code."""
    story.day(20)
    hall = story.make(
        keys.take_key, at["Fell Road community hall"], tag="T-07", what="kitchen door", held_for="the caretaker", place="hook 7"
    )  # fmt: skip
    story.make(
        keys.take_key, at["Saltings Bakery"], tag="T-11", what="yard door", held_for="the baker", place="hook 11"
    )
    story.make(codes.keep_code, at["Saltings Bakery"], place="alarm panel inside the yard door", code="not a code 19")
    story.day(3)
    story.make(keys.give_key_out, hall, to=story.cast.engineer, back_by=story.date(1))


def _first(story: Story, at: dict[str, Site]) -> None:
    """What must be seen to before work: an asbestos register nobody has sent yet, a plan for work above the stage."""
    story.day(6)
    story.make(
        seeing_to.note_to_see_to, at["Marlpit Pottery works"], kind=SeeToKind.ASBESTOS,
        what="The works' asbestos register, for the kiln hall", owner=story.cast.office, due=story.date(-2),
    )  # fmt: skip
    plan = story.make(
        seeing_to.note_to_see_to, at["Brackwater School"], kind=SeeToKind.HEIGHT, what="A plan for work above the stage",
        owner=story.cast.qualified, due=story.date(1),
    )  # fmt: skip
    story.day(2)
    story.do(
        seeing_to.note_met, plan, met_on=story.date(2), met_how="Tower with guard rails, written down and seen"
    )  # fmt: skip
