"""A boatyard with eight boards, solar panels, a borrowed neutral, and an old report that nobody acted on."""

from decimal import Decimal

from inspections.choices import Quantity
from inspections.operations import add_limitation, give_danger_notice, look_again, make_safe
from jobsite.people.operations import person_left
from jobsite.premises.choices import LinkKind, PremisesKind, Tenure
from jobsite.premises.models import Circuit
from jobsite.premises.operations import add_second_source, edit_supply, link_circuits
from remedials.desk.demo.pictures import after_picture
from remedials.desk.demo.story import Story
from remedials.works.operations import Required

BREAKS_KA = Decimal(10)  # printed on each device of the intake
# What the cooker circuit is read again for after its joint was renewed, as the tester showed it.
RETESTED = {Quantity.INSULATION: ">200", Quantity.POLARITY: "OK", Quantity.LOOP: "0.71"}


def tell(story: Story) -> None:
    """Eight boards; a report of four years ago with disputed codes; every stage from a loose end to reviewed."""
    story.day(150)
    owner = story.party("Orrin Reach Moorings", organisation=True, email="moorings@example.com", phone="01632 960120")
    site = story.site(
        "Orrin Reach boatyard",
        owner,
        "Reach Lane, Ebbsford",
        "QX4 9ZA",
        kind=PremisesKind.MARINA,
        tenure=Tenure.NOT_A_HOME,
        phases=("L1", "L2", "L3"),
        earthing="TN-S",
        main_fuse_a=100,
        access_notes="Yard gate open 07:00 to 18:00; ask at the harbour office.",
    )
    unit, supply = site.units.get(), site.supplies.get()
    story.do(edit_supply, supply, version=supply.version, ze_ohm="0.180", fault_current_ka="2.90")
    boards, circuits = supply_the_yard(story, site, supply)
    old_report(story, site, unit, boards, circuits["cooker"])
    hoist_defect(story, site, unit, boards["hoist"], circuits["isolator"])


def supply_the_yard(story: Story, site, supply):
    """Eight boards, two of whose feeds nobody has verified, solar panels and a borrowed neutral."""
    intake = story.board(
        site,
        "Main intake",
        "123",
        supply,
        place="store behind the office",
        main_switch="100 A, 4-pole",
        main_switch_kind="all",
        zdb_ohm="0.180",
    )
    ways = {
        way: story.circuit(intake, way, name, device, arrangement="distribution", breaking_capacity_ka=BREAKS_KA)
        for way, name, device in (
            ("1", "Workshop", "C63"),
            ("2", "Slip hoist", "C63"),
            ("4L2", "Chandlery", "B40"),
            ("6L3", "Café", "C50"),
            ("7L1", "Boat store", "B32"),
        )
    }
    workshop = story.board(site, "Workshop", "123", ways["1"], place="by the roller door", main_switch_kind="all")
    hoist = story.board(
        site, "Slip hoist", "123", ways["2"], place="on the slip", label_found="old crane", main_switch_kind="all"
    )
    chandlery = story.board(site, "Chandlery", "2", ways["4L2"], place="under the stairs", main_switch_kind="lines")
    cafe = story.board(site, "Café", "3", ways["6L3"], place="kitchen cupboard")
    story.board(site, "Boat store", "1", ways["7L1"], place="inside the north door", verified="", label_found="Shed 2")
    solar_panels(story, workshop)
    pontoon_b = pontoons(story, site, hoist)
    isolator, lights = story.circuits(hoist, ("3", "Hoist isolator", "C32"), ("4L2", "Slip lighting", "B10"))
    shop = story.circuits(
        chandlery, ("1L2", "Till and sockets", "B32"), ("2L2", "Lights", "B6"), ("3L2", "Yard lights", "B6")
    )
    kitchen = story.circuits(cafe, ("1L3", "Cooker", "B32"), ("2L3", "Sockets", "B20"), ("3L3", "Lights", "B6"))
    story.make(link_circuits, lights, shop[2], kind=LinkKind.NEUTRAL)
    boards = {"intake": intake, "cafe": cafe, "chandlery": chandlery, "b": pontoon_b, "hoist": hoist}
    return boards, {"cooker": kitchen[0], "isolator": isolator}


def solar_panels(story: Story, workshop) -> None:
    """The second source that nobody mentioned."""
    solar = story.circuit(workshop, "9", "Solar inverter", "C32")
    story.circuits(workshop, ("1", "Welder", "C32"), ("2L1", "Sockets", "B32"))
    story.make(
        add_second_source,
        workshop,
        name="Solar inverter",
        kind="pv",
        circuit=solar,
        phases=["L1", "L2", "L3"],
        rating_kw="8",
        isolate_supply_side="rotary isolator beside the Workshop board",
        isolate_source_side="DC isolator under the inverter",
        wait_minutes=15,
    )


def pontoons(story: Story, site, hoist):
    """Two pontoons off the hoist's board; the feed of the second is only believed. Returns the second."""
    way_a = story.circuit(hoist, "5L1", "Pontoon A", "C40", arrangement="distribution")
    way_b = story.circuit(hoist, "6L2", "Pontoon B", "C40", arrangement="distribution")
    a = story.board(site, "Pontoon A", "1", way_a, place="at the head of the pontoon")
    b = story.board(site, "Pontoon B", "2", way_b, place="at the head of the pontoon", verified="")
    story.circuits(a, ("1L1", "Pillars 1 to 4", "B16"), ("2L1", "Pillars 5 to 8", "B16"))
    story.circuits(b, ("1L2", "Pillars 1 to 4", "B16"), ("2L2", "Pillars 5 to 8", "B16"))
    return b


def old_report(story: Story, site, unit, boards, cooker_circuit: Circuit) -> None:
    """Another firm's report, written years ago, taken in five months ago, its codes disputed."""
    report = story.report(
        site,
        [unit],
        1_750,
        firm="Somebody Else Electrical",
        taken_in=140,
        outcome_written="satisfactory",
        reference="SE-0417",
        qualified_person_name="not stated",
    )
    story.make(
        add_limitation,
        report,
        what="the boat store",
        why="locked on the day",
        agreed_with="the yard foreman",
        unit=unit,
    )
    bonding = story.note(report, "1", "C2", "No main bonding to the water pipe", board=boards["intake"])
    pillar = story.note(report, "2", "C3", "No RCD for the pillar sockets", board=boards["b"])
    blanks = [
        story.note(report, str(n), "C3", f"Blank missing at way {way}", board=board)
        for n, (board, way) in enumerate(
            [(boards["cafe"], 5), (boards["cafe"], 6), (boards["chandlery"], 8), (boards["chandlery"], 9)], start=3
        )
    ]
    gland = story.note(
        report, "7", "FI", "Armoured cable without a gland, earthing of the armour not known", board=boards["hoist"]
    )
    chart = story.note(report, "8", "C2", "No circuit chart inside the door", board=boards["chandlery"])
    cooker = story.note(
        report,
        "9",
        "C2",
        "Cooker circuit: loop impedance above the limit",
        board=boards["cafe"],
        circuit=cooker_circuit,
    )
    story.issue(report)
    story.day(132)
    story.picture(blanks[0], "blank")
    story.picture(bonding, "bond")
    story.review(bonding, "agree")
    story.review(pillar, "recode", "C2", "The sockets feed equipment used outdoors and on boats.")
    story.review(blanks[0], "recode", "C1", "A finger reaches the live busbar through the open way.")
    story.review(blanks[1], "agree")
    story.review(chart, "recode", "C3", "A missing chart by itself endangers nobody.")
    story.review(gland, "agree")
    story.review(cooker, "agree")
    shut_the_way(story, blanks[0])
    bond_the_pipe(story, bonding)
    later_works(story, blanks[1:], gland, cooker, cooker_circuit)
    loosen(story, pillar)


def later_works(story: Story, blanks, gland, cooker, cooker_circuit: Circuit) -> None:
    """Blanks booked for the day after tomorrow, an investigation to book, a repair closed with a reading."""
    story.day(20)
    cheap = story.remedial(blanks, "Fit blanks at three ways", minutes=45, power_off=True, photo_required=True)
    story.approve(cheap, "Ansel Reach, harbour master")
    story.book([cheap], -2, 9, outage="Café and Chandlery boards off 09:00 to 10:00, agreed with both")
    look_into = story.remedial([gland], "Open the cable entry and find out whether the armour is earthed", minutes=60)
    story.approve(look_into, "Ansel Reach, harbour master", "phone")
    repair = story.remedial(
        [cooker], "Renew the joint in the cooker circuit", minutes=90, power_off=True, readings=[Required(cooker_circuit, quantity=quantity) for quantity in RETESTED],
        certificate_kind="minor works",
    )  # fmt: skip
    story.approve(repair, "Ansel Reach, harbour master")
    story.book([repair], 1, 13)
    story.day(1, 15)
    story.close(
        repair,
        "cover",
        reading=[(cooker_circuit, quantity, typed) for quantity, typed in RETESTED.items()],
        certificate_number="MW-DEMO-0031",
        note="Joint remade.",
    )


def shut_the_way(story: Story, blank) -> None:
    """The C1 was made safe at once, remedied and reviewed."""
    story.make(
        make_safe,
        blank,
        by=story.cast.qualified,
        how="covered",
        what="blank taped over the way until a proper one is fitted",
        photo=after_picture("blank"),
        agreed_with="Ansel Reach, harbour master",
        look_again_on=story.date(125),
    )
    remedial = story.remedial([blank], "Fit a proper blank at way 5", minutes=15)
    story.approve(remedial, "Ansel Reach, harbour master", "spoken")
    story.book([remedial], 128, 10, 1)
    story.day(128, 11)
    proof = story.close(remedial, "blank", note="Blank fitted, removable with a tool only.")
    story.day(127)
    story.accept(proof)


def bond_the_pipe(story: Story, bonding) -> None:
    """Done and waiting for its review."""
    story.day(12)
    remedial = story.remedial(
        [bonding], "Fit main bonding, 16 mm², to the water pipe", minutes=120, certificate_kind="minor works"
    )
    story.approve(remedial, "Ansel Reach, harbour master")
    story.book([remedial], 2, 9)
    story.day(2, 11)
    story.close(remedial, "bond", certificate_number="MW-DEMO-0029")


def loosen(story: Story, pillar) -> None:
    """Whoever had the pillars left the firm, and nobody took them over: a loose end."""
    story.day(100)
    story.take_on(pillar, 21, owner=story.cast.leaver)
    story.day(6)
    story.do(person_left, story.cast.leaver, by=story.cast.manager)


def hoist_defect(story: Story, site, unit, hoist, isolator: Circuit) -> None:
    """A C1 found by our own engineer, locked off; the repair is approved and to be booked."""
    from inspections.operations import report_defect

    cast = story.cast
    story.day(4, 8)
    seen = story.make(
        report_defect,
        site,
        by=cast.qualified,
        unit=unit,
        text="Live parts exposed at the hoist isolator",
        reported_by="Mina Okonjo, on site",
        board=hoist,
        circuit=isolator,
    )
    story.picture(seen, "cover")
    story.review(seen, "recode", "C1", "The cover is gone and the terminals can be touched from the slip.")
    safe = story.make(
        make_safe,
        seen,
        by=cast.qualified,
        how="locked",
        what="isolated and locked off at Slip hoist, way 3",
        photo=after_picture("cover"),
        agreed_with="Ansel Reach, harbour master",
        lock="14",
        key_holder="Dirk Achterberg",
        look_again_on=story.date(2),
    )
    story.make(
        give_danger_notice,
        [seen],
        by=cast.qualified,
        why="Anybody on the slip could touch live terminals.",
        advised="Keep the hoist locked off until the isolator is replaced.",
        given_to="Ansel Reach, harbour master",
        how="hand",
    )
    story.day(2)
    story.make(look_again, safe, look_again_on=story.date(-3), by=cast.engineer, note="Lock in place.")
    remedial = story.remedial(
        [seen], "Replace the hoist isolator", minutes=90, power_off=True, readings=[(isolator, None, "")],
        certificate_kind="minor works",
    )  # fmt: skip
    story.approve(remedial, "Ansel Reach, harbour master", "phone")
