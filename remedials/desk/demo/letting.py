"""A managing agent with 140 flats in two buildings: nearly all in order, a few dangerous, two whose doors nobody opens."""

from collections.abc import Sequence
from datetime import timedelta
from decimal import Decimal

from inspections import operations as found
from inspections.models import Paper
from inspections.operations.papers import Recipient, record_supply
from inspections.standards.duties import Trigger
from jobsite.ids import new_id
from jobsite.premises.choices import PremisesKind, Tenure
from jobsite.premises.models import Party, Site, Unit
from jobsite.premises.operations import add_unit, edit_unit
from remedials.desk.demo.story import Story
from remedials.visits.choices import AttemptHow
from remedials.visits.operations import attempts

PLACES = (
    ("Ropehouse Court", "Ropehouse Lane, Ebbsford", "QX4 2RC", 93, "54.65210", "-2.20140"),
    ("Capstan Walk", "1 to 47 Capstan Walk, Ebbsford", "QX4 2CW", 47, "54.65730", "-2.19360"),
)
A_REPORT = 24  # flats that one inspection covers
# By flat of the first building: what was found there.
SEEN = {
    7: ("C2", "Socket in the kitchen cracked, live parts behind the crack", "Change the socket"),
    18: ("C2", "No RCD for the socket on the balcony", "Fit an RCBO to the sockets"),
    33: ("FI", "Bathroom light: no earth found where the drawing shows one", "Trace the earth of the bathroom light"),
    52: ("C2", "Shower cable warm at the switch, insulation hard", "Run the shower cable anew"),
    70: ("C3", "Board without a chart of its circuits", ""),
    88: ("C3", "Board without a chart of its circuits", ""),
}


def tell(story: Story) -> None:
    """Both buildings, their inspections in parts, what was found, and the doors that stayed shut."""
    story.day(190)
    agent = story.party(
        "Cormorant Row Management", organisation=True, email="blocks@example.com", phone="020 7946 0190"
    )
    buildings = [_building(story, agent, *place) for place in PLACES]
    for at, (site, flats) in enumerate(buildings):
        for n, first in enumerate(range(0, len(flats), A_REPORT)):
            _inspected(story, site, flats[first : first + A_REPORT], 41 - 5 * n - 3 * at, first)
    _put_in_hand(story, buildings[0][0])
    _shut_doors(story, buildings[1][1])


def _building(
    story: Story, agent: Party, name: str, address: str, postcode: str, flats: int, north: str, east: str
) -> tuple[Site, list[Unit]]:
    at = {"latitude": Decimal(north), "longitude": Decimal(east)}
    site = story.site(
        name,
        agent,
        address,
        postcode,
        phases=("L1", "L2", "L3"),
        earthing="TN-C-S",
        main_fuse_a=200,
        tenure=Tenure.NOT_A_HOME,
        **at,
    )
    common = site.units.get()
    story.do(
        edit_unit, common, version=common.version, name="Common parts", common_parts=True, kind=PremisesKind.COMMUNAL
    )
    return site, [
        common,
        *(story.make(add_unit, site, name=f"Flat {n}", tenure=Tenure.PRIVATE_RENTED) for n in range(1, flats + 1)),
    ]


def _inspected(story: Story, site: Site, flats: Sequence[Unit], days_ago: int, first: int) -> None:
    """One report of ours for some flats, with what was seen in them."""
    report = story.own_inspection(
        site, flats, days_ago, extent="Each flat's board and its circuits; common parts apart"
    )
    if first == 0 and site.name == PLACES[1][0]:
        left_out = {"what": "the loft above it", "why": "no safe way up", "agreed_with": "the agent"}
        for flat in flats[20:]:  # it concerns these and no other that the report covers
            story.make(found.add_limitation, report, by=report.recorded_by, unit=flat, **left_out)
    for n, flat in enumerate(flats, start=first):
        if site.name == PLACES[0][0] and n in SEEN:
            code, text, _ = SEEN[n]
            story.note(report, str(n), code, text, unit=flat)
    story.issue(report)
    _given_to_tenants(story, flats, days_ago - 6)


def _given_to_tenants(story: Story, flats: Sequence[Unit], days_ago: int) -> None:
    """The report reached whoever lives in each flat, which the law on let homes asks for."""
    on = story.day(days_ago)
    for paper in Paper.objects.filter(unit__in=flats, trigger=Trigger.INSPECTION).select_related("unit"):
        given = {"came": "given", "how": "post", "on": on, "version": paper.version, "settles": True}
        story.make(record_supply, paper, to=[Recipient(f"whoever lives in {paper.unit.name}")], **given)


def _put_in_hand(story: Story, site: Site) -> None:
    """Each dangerous one has its work: priced, agreed, booked."""
    story.day(18)
    for n, (code, text, work) in SEEN.items():
        if work:
            flat = site.units.get(name=f"Flat {n}")
            remedial = story.remedial([flat.observations.get(code=code, text=text)], work, minutes=60, unit=flat)
            if n in (18, 52):
                story.approve(remedial, "Cormorant Row Management")


def _shut_doors(story: Story, flats: Sequence[Unit]) -> None:
    """Two flats where nobody opened, one of them twice and after a letter."""
    tried = (
        (12, 30, AttemptHow.VISIT, "Rang at 9:30 and again at 9:45, left a card."),
        (12, 24, AttemptHow.FIRST_LETTER, "Asked for a day in the next two weeks."),
        (12, 11, AttemptHow.VISIT, "Came as announced in the letter; nobody opened."),
        (31, 9, AttemptHow.VISIT, "A voice behind the door asked us to come another day."),
    )
    for n, days_ago, how, said in tried:
        story.day(days_ago, 10)
        by = story.cast.engineer if how == AttemptHow.VISIT else story.cast.office
        story.do(
            attempts.log_attempt, flats[n].site, id=new_id(), by=by, unit=flats[n], how=how, at=story.now - timedelta(minutes=30),
            whom=f"whoever lives in {flats[n].name}", said=said,
        )  # fmt: skip
