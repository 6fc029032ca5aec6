"""What came later at the demo firm's sites: the same defects again, a report corrected, feeds traced, codes to practise on."""

from inspections import operations as found
from inspections.choices import StillThere
from inspections.models import Inspection
from inspections.standards.editions import edition_in_force
from inspections.standards.example_codings import EXAMPLES
from jobsite.premises.choices import PremisesKind, Tenure
from jobsite.premises.models import Board, Circuit, Site
from jobsite.premises.operations import name_candidates, note_switching_test
from remedials.desk.demo.story import Story


def seen_again(story: Story) -> None:
    """A survey of two boards of the boatyard: some defects are still there, one is gone, at one nobody looked."""
    site = Site.objects.get(name="Orrin Reach boatyard")
    boards = {board.designation: board for board in site.boards.all()}
    open_here = {seen.text: seen for seen in site.observations.open()}
    on = story.day(1, 16)
    by = story.cast.qualified
    survey: Inspection = story.make(
        found.start_inspection, site, by=by, units=[site.units.get()], kind="survey", other_firm=False, inspected_on=on,
        edition=edition_in_force(on).value, boards=[boards["Slip hoist"], boards["Chandlery"]],
        extent="What can be seen of two boards without taking anything apart",
    )  # fmt: skip
    isolator = open_here["Live parts exposed at the hoist isolator"]
    story.note(
        survey, "1", "C1", "Hoist isolator: cover still missing, locked off when seen", by=by, board=isolator.board,
        circuit=isolator.circuit, continues=isolator,
    )  # fmt: skip
    gland = open_here["Armoured cable without a gland, earthing of the armour not known"]
    story.make(found.note_again, survey, earlier=gland, by=by)
    said = {
        "No circuit chart inside the door": (StillThere.GONE, "A printed chart hangs inside the door"),
        "Blank missing at way 8": (StillThere.NOT_LOOKED, ""),
    }
    for text, (answer, seen) in said.items():
        story.do(found.answer_not_seen, survey, observation=open_here[text], answer=answer, seen=seen, by=by)
    story.day(1, 17)
    story.issue(survey)


def corrected(story: Story) -> None:
    """Our own report of a flat named the wrong day for the next inspection: a reissue stands beside the former."""
    report = Inspection.objects.get(site__name="Tollgate House", units__name="Flat 4", other_firm=False)
    by = story.cast.qualified
    story.day(22)
    draft = story.make(
        found.reissue_inspection, report, reason="The next inspection was put a year too late.", by=by
    )  # fmt: skip
    story.do(found.edit_inspection, draft, version=draft.version, next_due_on=story.date(25 - 4 * 365), by=by)
    story.issue(draft)


def traced(story: Story) -> None:
    """Nobody knows what feeds the boat store: two ways may, one was switched off; labels of the café disagree."""
    site = Site.objects.get(name="Orrin Reach boatyard")
    boards = {board.designation: board for board in site.boards.all()}
    store, cafe = boards["Boat store"], boards["Café"]
    may_feed = [_way(boards["Main intake"], 7), _way(boards["Workshop"], 2)]
    story.day(3, 15)
    by = story.cast.engineer
    story.do(name_candidates, store, may_feed, by=by)
    story.make(
        note_switching_test, may_feed[1], at=story.now, seen={store: "alive", cafe: "alive"}, by=by,
        note="The workshop's sockets were off for ten minutes.",
    )  # fmt: skip
    story.circuit(cafe, "4L3", "Terrace heaters", "C20", label_found="Lights", arrangement="radial")
    story.circuit(cafe, "7L3", "", "B16", label_found="Chandlery", spare=True)


def _way(board: Board, way: int) -> Circuit:
    return board.circuits.get(way=way)


def practice(story: Story) -> None:
    """A report to practise on: the published examples, each coded C3 by an invented firm, none reviewed yet."""
    story.day(35)
    ours = story.party("The practice house", email="practice@example.com", phone="01632 960195")
    site = story.site(
        "The practice house", ours, "1 Trial Row, Ebbsford", "QX4 6ZH", kind=PremisesKind.HOUSE,
        tenure=Tenure.OWNER_OCCUPIED, earthing="TN-S", main_fuse_a=80,
        access_notes="No such house: its report is for practising codes.",
    )  # fmt: skip
    story.board(site, "Consumer unit", "1", site.supplies.get(), place="hall cupboard")
    report = story.report(site, [site.units.get()], 34, firm="All Threes Inspections", reference="PRACTICE-1")
    for number, example in enumerate(EXAMPLES, start=1):
        story.note(report, str(number), "C3", example.item)
    story.issue(report)
