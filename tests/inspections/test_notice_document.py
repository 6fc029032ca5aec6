"""The danger notice as a document: what was found when it was given, pictures, the answer or lines to sign."""

from datetime import timedelta

import pytest
from django.urls import reverse

from inspections import operations
from inspections.models import DangerNotice
from inspections.queries.notices import notice_document
from jobsite.firm.models import Firm
from jobsite.ids import new_id
from jobsite.ledger.models import Entry
from jobsite.ledger.rules import read_heads
from tests import factories as make
from tests.factories import NOON, picture
from tests.jobsite.papers import reader, tags_of, words_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def seen(site, engineer):
    """A C1 on a circuit, photographed, made safe for now."""
    board = make.make_board(site, "Hoist board")
    circuit = make.make_circuit(board, 3)
    row = make.make_observation(site, "Live parts can be touched", code="C1", board=board, circuit=circuit)
    for colour in ("red", "blue"):
        operations.add_photo(row, data=picture(colour), caption=f"cover, {colour}", by=engineer, now=NOON)
    return row


@pytest.fixture
def give(engineer):
    def one(*observations, **fields) -> DangerNotice:
        usual = {"id": new_id(), "why": "Anybody could touch them.", "advised": "Leave it locked off."}
        usual |= {"given_to": "Petra Landlady, owner", "how": "hand", "by": engineer, "now": NOON}
        return operations.give_danger_notice(observations, **usual | fields)

    return one


def test_it_says_what_where_why_what_was_advised_to_whom_by_whom_and_when(site, seen, give) -> None:
    other = make.make_observation(site, "Cover loose", code="C2", place="loft")
    notice = give(other, seen)
    words = words_of(notice_document(notice).pdf)
    for part in (
        f"Danger notice {notice.number} Kiln Cottage, 1 Sample Street, Sampleton, QX1 2AB",
        "Given 3 Feb 2026, 12:00 To Petra Landlady, owner How handed over By Edwin, Your firm",
        f"C1 Hoist board, way 3L1: Live parts can be touched Observation {seen.number}, C1: danger present",
        f"C2 loft: Cover loose Observation {other.number}, C2: potentially dangerous",
        "Why it is dangerous Anybody could touch them.",
        "What is advised Leave it locked off.",
        "cover, red",
        "I agree to what is advised.",
        "I refuse what is advised.",
        "Signature",
        "until a competent person has put it right",
    ):
        assert part in words, part


def test_its_pictures_have_words_for_those_who_do_not_see_them(seen, give) -> None:
    tags = tags_of(notice_document(give(seen)).pdf)
    assert tags.count("Figure") == 2
    assert tags.count("H1") == 1
    assert tags.count("H2") == 4


def test_it_is_the_same_whatever_is_recorded_later(site, seen, give, engineer, office) -> None:
    """Somebody signed it: another code, another photograph, another name must not change the paper."""
    notice = give(seen)
    first = notice_document(notice)
    seen.code, seen.text = "C3", "Something else"
    seen.save()
    operations.add_photo(seen, data=picture("green"), caption="later", by=engineer, now=NOON + timedelta(days=1))
    Firm.objects.update_or_create(only=True, defaults={"name": "Another name"})
    site.name, engineer.name = "Renamed", "Edwin Married"
    site.save()
    engineer.save()
    operations.report_defect(site, id=new_id(), unit=make.unit_of(site), text="x", reported_by="y", by=office, now=NOON)
    assert notice_document(DangerNotice.objects.get()) == first


@pytest.mark.parametrize(("answer", "word"), [("acknowledged", "Acknowledged"), ("refused", "Refused")])
def test_answer_takes_the_place_of_the_lines_to_sign(seen, give, office, answer, word) -> None:
    notice = give(seen)
    later = NOON + timedelta(hours=2)
    operations.answer_notice(
        notice, answer=answer, answered_by="Petra Landlady", answer_note="Needs the hoist.", by=office, now=later
    )
    words = words_of(notice_document(DangerNotice.objects.get()).pdf)
    assert f"{word}, 3 Feb 2026, 14:00, by Petra Landlady Needs the hoist." in words
    assert "Signature" not in words


def test_what_was_made_safe_is_said_and_that_it_stays_dangerous(seen, give, engineer) -> None:
    operations.make_safe(
        seen, id=new_id(), how="locked", what="isolated at way 3", agreed_with="Petra", lock="14", key_holder="Edwin",
        look_again_on=NOON.date(), by=engineer, now=NOON, photo=picture(),
    )  # fmt: skip
    words = words_of(notice_document(give(seen)).pdf)
    assert (
        "Made safe for now. Isolated and locked: isolated at way 3; lock 14; key held by Edwin; agreed with Petra"
        in words
    )
    assert "It stays dangerous until it is put right." in words


def test_uncoded_defect_says_that_nobody_has_coded_it(site, give) -> None:
    assert "not coded" in words_of(notice_document(give(make.make_observation(site, "Sparks", code=""))).pdf)


def test_its_head_is_the_entry_that_recorded_it(seen, give, office) -> None:
    notice = give(seen)
    (head,) = set(read_heads([notice_document(notice).pdf.decode(errors="replace")]))
    entry = Entry.objects.get(subject=notice.pk)
    assert (head.chain, head.number, head.hash) == (notice.site_id, entry.number, bytes(entry.hash).hex())


def test_many_pictures_are_printed_small_and_some_only_counted(site, give, engineer) -> None:
    seen = make.make_observation(site, "Cover missing", code="C1")
    for n in range(7):
        operations.add_photo(seen, data=picture(f"#{n}{n}0000"), caption="", by=engineer, now=NOON)
    made = notice_document(give(seen)).pdf
    assert tags_of(made).count("Figure") == 4
    assert "3 more photographs on record" in words_of(made)


def test_lost_picture_does_not_keep_the_notice_from_being_made(seen, give) -> None:
    from django.core.files.storage import default_storage

    from jobsite.ledger.files import path_of

    for photo in seen.photos.all():
        default_storage.delete(path_of(photo.file_id))
    made = notice_document(give(seen)).pdf
    assert "2 more photographs on record" in words_of(made)


def test_notice_given_before_that_was_kept_is_made_from_the_record(seen, give) -> None:
    notice = give(seen)
    notice.as_given = {}
    notice.save()
    assert "Live parts can be touched" in words_of(notice_document(notice).pdf)


def test_hostile_words(site, give) -> None:
    seen = make.make_observation(site, '#read("/etc/passwd") \U0001f525 ' + "X" * 600, code="C1", place="$a$")
    made = notice_document(give(seen, why="*\n*\n= Head", given_to="<b>")).pdf
    assert '$a$: #read("/etc/passwd") [?]' in words_of(made)
    assert "= Head" in words_of(made)


def test_long_notice_numbers_its_pages(site, give) -> None:
    seen = [make.make_observation(site, "Cover missing. " * 30, code="C2") for _ in range(12)]
    made = notice_document(give(*seen)).pdf
    pages = len(reader(made).pages)
    assert pages > 1
    assert f"page {pages} of {pages}" in words_of(made)


# --- pages ------------------------------------------------------------------------------------------------------------


def test_it_is_reached_right_after_it_was_given(client, engineer, seen) -> None:
    client.force_login(engineer)
    values = {
        "id": str(new_id()),
        "observations": [str(seen.pk)],
        "why": "w",
        "advised": "a",
        "given_to": "g",
        "how": "left",
    }
    response = client.post(reverse("inspections:notice", args=[seen.pk]), values, follow=True)
    notice = DangerNotice.objects.get()
    where = reverse("inspections:notice_document", args=[notice.pk])
    assert f'href="{where}"' in response.content.decode()
    assert f'href="{where}"' in client.get(reverse("desk:observation", args=[seen.pk])).content.decode()
    file = client.get(where)
    assert file["Content-Disposition"] == f'inline; filename="danger-notice-{notice.number}.pdf"'
    assert file.content.startswith(b"%PDF")


def test_answered_notice_shows_its_answer_and_asks_no_more(client, engineer, seen, give) -> None:
    notice = give(seen)
    client.force_login(engineer)
    where = reverse("inspections:notice_answer", args=[notice.pk])
    client.post(where, {"answer": "refused", "answered_by": "Petra", "answer_note": "No money"})
    shown = client.get(where).content.decode()
    assert "Its answer is on record: refused." in shown
    assert "by Petra, No money" in shown
    assert "<form" not in shown.partition("<main")[2]


def test_notice_of_a_site_that_is_not_theirs_is_not_there(client, seen, give) -> None:
    notice = give(seen)
    client.force_login(make.make_user("Sid Lent", "engineer", subcontractor=True))
    assert client.get(reverse("inspections:notice_document", args=[notice.pk])).status_code == 404
