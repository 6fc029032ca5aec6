"""The other sites of the demo firm: a school, a pottery works, a house of flats, a plain house, a hall, a bakery."""

from decimal import Decimal

from inspections.choices import Quantity
from inspections.operations import (
    Recipient,
    give_danger_notice,
    make_paper_document,
    make_safe,
    record_supply,
    report_defect,
)
from inspections.standards.duties import Trigger
from jobsite.premises.choices import PremisesKind, RoleAtUnit, Tenure
from jobsite.premises.models import Party, Unit
from jobsite.premises.operations import add_second_source, add_unit, edit_unit, give_role
from remedials.desk.demo.story import Story
from remedials.works.operations import cancel_remedial, decline_remedial, done_by_others, wait_on


def school(story: Story) -> None:
    """An FI that is late, one found to be a C2, and a report of our own."""
    story.day(120)
    trust = story.party(
        "Brackwater Schools Trust", organisation=True, email="estates@example.org", phone="01632 960130"
    )
    site = story.site(
        "Brackwater School",
        trust,
        "Millrace Road, Brackwater",
        "QX7 3ZB",
        kind=PremisesKind.EDUCATIONAL,
        tenure=Tenure.NOT_A_HOME,
        phases=("L1", "L2", "L3"),
        earthing="TN-C-S",
        main_fuse_a=200,
        access_notes="Sign in at reception. No power off while the school is open.",
    )
    unit, supply = site.units.get(), site.supplies.get()
    intake = story.board(site, "Switchroom", "123", supply, place="beside the boiler house")
    kiln = story.circuit(intake, "3", "Kiln room", "C63", arrangement="distribution")
    hall = story.circuit(intake, "4", "Hall", "C40", arrangement="distribution")
    kiln_room = story.board(site, "Kiln room", "123", kiln, place="art block")
    story.board(site, "Hall", "123", hall, place="behind the stage")
    seven = story.circuit(kiln_room, "7L2", "Sockets north wall", "B32", arrangement="ring")
    report = story.own_inspection(site, [unit], 60, next_due_on=story.date(60 - 5 * 365))
    low = story.note(report, "1", "FI", "Low insulation on circuit 7, cause unknown", board=kiln_room, circuit=seven)
    heat = story.note(report, "2", "FI", "Signs of heat at the neutral bar, extent unknown", board=intake)
    story.note(report, "3", "C3", "Labels faded", board=intake)
    story.issue(report)
    story.take_on(low, 54)
    story.day(50)
    look = story.remedial([heat], "Open the neutral bar and look", minutes=60, power_off=True)
    story.approve(look, "Bursar", "email", reference="PO 77120")
    story.book([look], 40, 16)
    story.day(40, 18)
    proof = story.close(look, "cover", note="Two neutrals loose, insulation browned.")
    story.day(39)
    story.accept(proof, finding_code="C2", finding_text="Neutral terminals loose and overheated at the Switchroom")
    found = site.observations.get(continues=heat)
    story.day(30)
    mend = story.remedial([found], "Renew the neutral bar and remake its terminals", minutes=180, power_off=True)
    story.make(
        wait_on,
        remedial=mend,
        on_whom="board maker's supplier",
        for_what="neutral bar, six weeks on order",
        reference="SO 5512",
        asked_on=story.date(30),
        promised_for=story.date(-9),
        chase_on=story.date(-1),
    )


def pottery(story: Story) -> None:
    """Rung in this morning: a C1 that nobody has made safe yet; a generator behind a changeover."""
    story.day(400)
    works = story.party("Marlpit Pottery", organisation=True, email="marlpit@example.com", phone="01632 960140")
    site = story.site(
        "Marlpit Pottery works",
        works,
        "Claypit Lane, Marlpit",
        "QX2 5ZC",
        kind=PremisesKind.INDUSTRIAL,
        tenure=Tenure.NOT_A_HOME,
        phases=("L1", "L2", "L3"),
        earthing="TN-S",
        main_fuse_a=160,
    )
    unit, supply = site.units.get(), site.supplies.get()
    main = story.board(site, "Works main", "123", supply, place="glaze store")
    kilns = story.board(
        site, "Kilns", "123", story.circuit(main, "1", "Kilns", "D100", arrangement="distribution"), place="kiln hall"
    )
    story.circuits(kilns, ("1", "Kiln 1", "D40"), ("2", "Kiln 2", "D40"), ("3L1", "Extractor", "C16"))
    office = story.board(site, "Office", "1", story.circuit(main, "4L1", "Office", "B40", arrangement="distribution"))
    story.make(
        add_second_source, main, name="Standby generator", kind="generator", phases=["L1", "L2", "L3"], rating_kw="30",
        isolate_supply_side="changeover switch beside Works main", isolate_source_side="breaker on the set", wait_minutes=5,
    )  # fmt: skip
    report = story.own_inspection(site, [unit], 380, next_due_on=story.date(380 - 3 * 365))
    door = story.note(report, "1", "C3", "Board door does not close", board=office)
    story.issue(report)
    story.day(370)
    remedial = story.remedial([door], "Ease the hinge of the board door", minutes=30)
    story.approve(remedial, "Works manager", "phone")
    story.book([remedial], 365, 14, 1)
    story.day(365, 15)
    story.close(remedial, "cover")
    story.day(0, 7)
    seen = story.make(
        report_defect, site, unit=unit, text="Sparks and a smell of burning at the extractor's isolator",
        reported_by="Works manager, by telephone", board=kilns, owner=story.cast.engineer,
    )  # fmt: skip
    story.review(seen, "recode", "C1", "Arcing at an accessible isolator, seen in the picture sent in.")


TENANTS = ("Ms Yarrow Teasel", "Mr Odo Fennimore", "Dr Hesper Quaile", "The Marlings")


def flats(story: Story) -> None:
    """A house of flats: owners, an agent, common parts; the law's clock; one declined, one done by others."""
    story.day(200)
    agent = story.party("Ebbsford Lettings", organisation=True, email="lettings@example.com", phone="020 7946 0150")
    site = story.site(
        "Tollgate House",
        agent,
        "1 Tollgate, Ebbsford",
        "QX4 1ZD",
        tenure=Tenure.PRIVATE_RENTED,
        phases=("L1", "L2", "L3"),
        earthing="TN-C-S",
        main_fuse_a=100,
    )
    common = site.units.get()
    story.do(
        edit_unit, common, version=common.version, name="Common parts", common_parts=True, kind=PremisesKind.COMMUNAL
    )
    landlord = story.board(
        site, "Landlord's board", "123", site.supplies.get(), place="under the stairs", units=[common]
    )
    units = [common]
    for number, owner in enumerate(("Mrs I. Ferrant-Hale", "Mr T. Quill", "Wendle Estates", "Ms O. Larkspur"), start=1):
        unit: Unit = story.make(add_unit, site, name=f"Flat {number}", tenure=Tenure.PRIVATE_RENTED)
        party = story.party(owner, email=f"flat{number}@example.org", phone=f"01632 96016{number}")
        since = story.date(900)
        story.make(give_role, unit, party=party, role=RoleAtUnit.OWNER, since=since)
        story.make(give_role, unit, party=agent, role=RoleAtUnit.APPROVER, since=since, limit_pounds=Decimal(250))
        tenant = story.party(TENANTS[number - 1], email=f"tenant{number}@example.org", phone=f"01632 96017{number}")
        story.make(give_role, unit, party=tenant, role=RoleAtUnit.OCCUPIER, since=story.date(600))
        way = story.circuit(
            landlord, f"{number}L{(number - 1) % 3 + 1}", f"Flat {number}", "B63", arrangement="distribution"
        )
        board = story.board(site, f"Flat {number}", str((number - 1) % 3 + 1), way, place="hall cupboard", units=[unit])
        story.circuits(
            board, (f"1L{(number - 1) % 3 + 1}", "Sockets", "B32"), (f"2L{(number - 1) % 3 + 1}", "Lights", "B6")
        )
        units.append(unit)
    _flat_reports(story, units)


def _flat_reports(story: Story, units: list[Unit]) -> None:
    one, two, three, four = units[1:]
    for unit, days, item in (
        (one, 49, "No RCD for sockets used outdoors"),
        (three, 45, "No earth at the bathroom light"),
    ):
        report = story.report(unit.site, [unit], days, firm="Lamplight Inspections", taken_in=days - 2)
        story.note(report, "1", "C2", item, unit=unit)
        story.note(report, "2", "C3", "Cable clips missing in the loft", unit=unit)
        story.issue(report)
    story.day(40)
    wet, dry = (unit.observations.get(code="C2") for unit in (one, three))
    story.review(wet, "agree")
    story.remedial([wet], "Fit an RCBO to the sockets", minutes=60, unit=one)
    lamp = story.remedial([dry], "Run an earth to the bathroom light", minutes=120, unit=three)
    story.day(30)
    story.make(
        give_danger_notice, [dry], why="The light's metal case could become live.",
        advised="Do not use the light until it is earthed.", given_to="Wendle Estates", how="email", by=story.cast.qualified,
    )  # fmt: skip
    story.do(
        decline_remedial, lamp, who="Wendle Estates", reason="Own electrician, later", offer_again_on=story.date(-5)
    )
    others = story.report(two.site, [two], 300, firm="Lamplight Inspections", taken_in=190)
    heater = story.note(others, "1", "C2", "Water heater on a plug and socket, plug browned", unit=two)
    story.issue(others)
    story.day(180)
    handed = story.remedial([heater], "Wire the water heater to a switch with flex outlet", minutes=90, unit=two)
    story.day(150)
    story.do(done_by_others, handed, who="Quill's electrician", reference="minor works 118, seen", on=story.date(160))
    clean = story.own_inspection(four.site, [four], 25, next_due_on=story.date(25 - 5 * 365))
    story.note(clean, "1", "C3", "Bathroom light not switched by a cord", unit=four)
    story.issue(clean)
    _flat_papers(story, one, two)
    story.day(25)
    neutral = story.make(
        report_defect, one.site, unit=units[0], text="Stair lights dim when a shower is used",
        reported_by="tenant of flat 2, by telephone", by=story.cast.office,
    )  # fmt: skip
    story.review(neutral, "recode", "FI", "May be a failing supply neutral: the network operator must look.")
    story.make(
        wait_on, observation=neutral, on_whom="network operator", for_what="check of the supply neutral", reference="NO-88123",
        asked_on=story.date(25), promised_for=story.date(24), chase_on=story.date(0),
    )  # fmt: skip


def _flat_papers(story: Story, one: Unit, two: Unit) -> None:
    """What the law asked in writing and was given; of the other flats it is still open, one of them late."""
    story.day(150)
    for paper in two.papers.filter(trigger=Trigger.COMPLETION):
        whom = Recipient(paper.named or paper.to or "Mr T. Quill", occupier_of(two) if paper.named else None)
        given = {"came": "given", "how": "post", "on": story.date(150), "version": paper.version, "settles": True}
        story.make(record_supply, paper, to=[whom], **given)
    story.day(29)
    paper = one.papers.get(trigger=Trigger.INSPECTION)
    document = story.make(make_paper_document, paper)
    to = [Recipient(paper.named, occupier_of(one))]
    given = {"came": "given", "how": "hand", "on": story.date(30), "version": paper.version, "settles": True}
    story.make(record_supply, paper, to=to, document=document, **given)


def occupier_of(unit: Unit) -> Party:
    """Who lives in a flat of the demo."""
    return unit.parties.get(role=RoleAtUnit.OCCUPIER).party


def plain_house(story: Story) -> None:
    """One family's house: all in order, one improvement recommended."""
    story.day(700)
    family = story.party("The Wrens", email="wrens@example.org", phone="07700 900170")
    site = story.site("3 Lantern Row", family, "3 Lantern Row, Ebbsford", "QX4 2ZE", earthing="TN-C-S", main_fuse_a=80)
    unit = site.units.get()
    board = story.board(site, "Consumer unit", "1", site.supplies.get(), place="hall cupboard")
    story.circuits(
        board, ("1L1", "Cooker", "B32"), ("2L1", "Sockets", "B32"), ("3L1", "Shower", "B40"), ("4L1", "Lights", "B6")
    )
    report = story.own_inspection(site, [unit], 690, next_due_on=story.date(690 - 10 * 365))
    lights = story.note(report, "1", "C3", "No RCD for the lighting circuit", board=board)
    story.issue(report)
    story.day(660)
    remedial = story.remedial([lights], "Change the lighting circuit's breaker for an RCBO", minutes=45)
    story.do(cancel_remedial, remedial, who="Mr Wren", reason="They are rewiring in two years and want to wait.")


def hall(story: Story) -> None:
    """The next inspection is overdue, and the caretaker rang."""
    story.day(1_900)
    committee = story.party(
        "Fell Road Hall committee", organisation=True, email="hall@example.org", phone="01632 960180"
    )
    site = story.site(
        "Fell Road community hall", committee, "12 Fell Road, Brackwater", "QX7 8ZF",
        kind=PremisesKind.VILLAGE_HALL, tenure=Tenure.NOT_A_HOME, earthing="TT", main_fuse_a=80,
    )  # fmt: skip
    board = story.board(site, "Hall board", "1", site.supplies.get(), place="kitchen", main_switch_kind="all")
    story.circuits(board, ("1L1", "Heaters", "B32"), ("2L1", "Sockets", "B32"), ("3L1", "Lights", "B10"))
    report = story.own_inspection(site, [site.units.get()], 1_850, next_due_on=story.date(1_850 - 5 * 365))
    story.issue(report)
    story.day(0, 8)
    story.make(
        report_defect, site, unit=site.units.get(), text="The tea urn trips everything in the kitchen",
        reported_by="caretaker, by telephone", board=board,
    )  # fmt: skip


def bakery(story: Story) -> None:
    """All that an unsatisfactory report required is confirmed complete, with pictures before and after."""
    story.day(330)
    baker = story.party("Saltings Bakery", organisation=True, email="bakery@example.com", phone="01632 960190")
    site = story.site(
        "Saltings Bakery", baker, "5 Quay Street, Ebbsford", "QX4 5ZG", kind=PremisesKind.SHOP, tenure=Tenure.NOT_A_HOME,
        phases=("L1", "L2", "L3"), earthing="TN-S", main_fuse_a=100,
    )  # fmt: skip
    board = story.board(site, "Bakehouse", "123", site.supplies.get(), place="behind the flour store")
    oven, proving = story.circuits(board, ("1", "Oven", "C32"), ("2L1", "Prover", "B16"))
    report = story.report(site, [site.units.get()], 320, firm="Lamplight Inspections", outcome_written="unsatisfactory")
    gland = story.note(report, "1", "C2", "Oven cable enters the board without a gland", board=board, circuit=oven)
    slow = story.note(report, "2", "C2", "Prover circuit: loop impedance above the limit", board=board, circuit=proving)
    story.issue(report)
    story.day(315)
    story.picture(gland, "gland")
    story.picture(slow, "cover")
    story.review(gland, "agree")
    story.review(slow, "agree")
    story.make(
        make_safe, slow, by=story.cast.qualified, how="disconnected", what="prover disconnected at the board",
        agreed_with="the baker", look_again_on=story.date(308), no_photo="flour in the air, lens blind",
    )  # fmt: skip
    first = story.remedial(
        [gland], "Fit a gland and earth the armour", minutes=60, power_off=True, certificate_kind="minor works"
    )
    second = story.remedial([slow], "Renew the prover's cable", minutes=150, readings=[(proving, None, "")])
    for remedial in (first, second):
        story.approve(remedial, "Saltings Bakery", "email", reference="BK-12")
    story.book([first, second], 310, 14, 4)
    story.day(310, 18)
    proofs = [
        story.close(first, "gland", certificate_number="MW-DEMO-0007"),
        story.close(second, "cover", reading=[(proving, Quantity.LOOP, "1.02")]),
    ]
    story.day(309)
    for proof in proofs:
        story.accept(proof)
