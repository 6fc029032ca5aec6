"""Circuit charts: made from the record, kept, read back from the paper."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.core.management import call_command
from django.urls import reverse

from jobsite.ids import new_id
from jobsite.ledger.files import read_file
from jobsite.ledger.queries import heads
from jobsite.premises import operations
from jobsite.premises.models import BoardDocument
from jobsite.premises.queries.chart import chart_facts
from jobsite.refused import NotAllowed, Refused
from tests import factories as make
from tests.factories import NOON, Told, recorded
from tests.jobsite.papers import codes_of, reader, tags_of, words_of
from tests.jobsite.premises import posted, text_of

pytestmark = pytest.mark.django_db
SEEN = {"verified_how": "traced", "verified_on": NOON.date()}


@pytest.fixture
def board(db):
    """A board with a way that is verified, one believed, one only labelled, one spare, and PV on the last."""
    site = make.make_site("Yard", earthing="TN-S")
    row = make.make_board(site, "Workshop", place="by the door", main_switch="100 A", own_earthing="TT")
    make.make_circuit(row, 1, designation="Lights", points=4, line_mm2=Decimal("1.50"), cpc_mm2=Decimal(1), **SEEN)
    make.make_circuit(row, 2, designation="Sockets", rcd_ma=30, rcd_kind="A")
    make.make_circuit(row, 3, designation="", label_found="old crane")
    make.make_circuit(
        row, 5, designation="", label_found="", device_type="", rating_a=None, device_standard="", spare=True
    )
    panels = make.make_circuit(row, 6, designation="Roof panels", **SEEN)
    make.make_second_source(
        row, "Roof panels", circuit=panels, isolate_supply_side="isolator beside it", wait_minutes=15
    )
    return row


def chart(board, **more) -> BoardDocument:
    usual = {"id": new_id(), "paper": "a4", "turned": None, "by": make.anybody(), "now": NOON}
    return operations.make_chart(board, **usual | more)


def test_chart_is_kept_with_its_file_and_told_once(board, engineer) -> None:
    with recorded() as told:
        made = chart(board, by=engineer)
        assert chart(board, id=made.pk, by=engineer, now=NOON + timedelta(days=1)) == made
    facts = {"board": str(board.pk), "kind": "chart", "file": made.file.hash, "fingerprint": made.fingerprint}
    assert told == [Told("board-document.made", made.pk, facts)]
    assert (made.made_by, made.made_at, made.words) == (engineer, NOON, "A4 landscape")
    assert made.file.media_type == "application/pdf"


def test_earthing_by_way_of_a_feed_that_nobody_verified_is_marked(board) -> None:
    shed = make.make_board(board.site, "Shed", fed=False)
    feed = make.make_feed(shed, board.circuits.get(way=2), verified=False)
    assert ["Earthing", "“TN-S”", False] in map(list, chart_facts(shed)["particulars"])
    type(feed).objects.filter(pk=feed.pk).update(verified=True, verified_how="traced", verified_on=NOON.date())
    assert ["Earthing", "TN-S", True] in map(list, chart_facts(shed)["particulars"])


def test_same_record_makes_the_same_bytes(board, engineer) -> None:
    """But for the head of the ledger: here the site has none yet, since factories leave no entry."""
    from django.db import transaction

    with transaction.atomic():
        first = read_file(chart(board, by=engineer).file)
        transaction.set_rollback(True)
    assert read_file(chart(board, by=engineer).file) == first


def test_chart_says_what_is_verified_and_marks_what_is_not(board) -> None:
    words = words_of(chart(board))
    for part in (
        "Workshop Yard, 1 Sample Street",
        "Fed from Intake",
        "Earthing TT, its own",
        "1L1 Lights B32 1.5 / 1 4",
        "2L1 “Sockets” B32 30\u202fmA, type A".replace("\u202f", " "),
        "3L1 “old crane”",
        "4 nothing recorded",
        "5L1 spare",
        "spare, not blanked",
        "More than one source of supply.",
        "Roof panels: solar (PV) 3.68 kW, L1, at Workshop, way 6L1 · B32, isolated on the supply side at isolator beside it",
        "isolator beside it, then wait 15 min",
        "5 ways, 2 not verified. Made by",
        "prove dead",
    ):
        assert part in words.replace("\u202f", " "), part
    assert "“Lights”" not in words


def test_chart_without_doubt_says_nothing_of_doubts(db) -> None:
    board = make.make_board(make.make_site())
    make.make_circuit(board, 1, designation="Lights", **SEEN)
    words = words_of(chart(board))
    assert "not verified" not in words
    assert "More than one source" not in words


def test_what_is_on_record_of_a_board_that_nobody_verified_is_marked_too(board) -> None:
    believed = make.make_board(
        board.site, "Hut", main_switch="80 A", zdb_ohm=Decimal("0.310"), designation_verified=False
    )
    said = {name: (words, sure) for name, words, sure in chart_facts(believed)["particulars"]}
    assert (said["Main switch"], said["Measured"]) == (("“80 A”", False), ("“Zdb 0.310\u202fΩ”", False))
    assert ("Main switch", "100 A", True) in chart_facts(board)["particulars"]


def test_source_further_down_is_warned_of_and_one_further_up_is_not(board) -> None:
    """PV on a board that this one feeds can keep its bars live; whatever is not verified counts."""
    hut = make.make_board(board.site, "Hut", fed=False)
    make.make_feed(hut, board.circuits.get(way=2), verified=False)
    shed = make.make_board(board.site, "Shed", fed=False)
    make.make_feed(shed, make.make_circuit(hut))
    make.make_second_source(shed, "Battery", kind="battery")
    assert "Battery: battery" in words_of(chart(hut))
    assert "Roof panels" not in words_of(chart(hut))
    assert "feeds Hut (believed)" in words_of(chart(board))


def test_believed_feed_stands_in_quotes(db) -> None:
    site = make.make_site()
    board = make.make_board(site, fed=False)
    make.make_feed(board, make.supply_of(site), verified=False)
    assert "Fed from “Intake”" in words_of(chart(board))


def test_code_leads_to_the_boards_page(board, settings) -> None:
    settings.SITE_ADDRESS = "https://works.example.com"
    made = chart(board, paper="a5")
    assert codes_of(made) == [f"https://works.example.com/boards/{board.pk}/"]


def test_chart_reads_as_a_table_with_heads(board) -> None:
    tags = tags_of(chart(board))
    assert (tags[0], "H1" in tags, tags.count("Figure")) == ("Document", True, 1)
    assert tags.count("TH") == 7
    assert tags.count("TR") == 1 + 6


@pytest.mark.parametrize(("paper", "turned", "width"), [("a4", False, 595), ("a4", True, 842), ("a5", False, 420)])
def test_paper_as_asked_for(board, paper, turned, width) -> None:
    made = chart(board, paper=paper, turned=turned)
    assert round(float(reader(made).pages[0].mediabox.width)) == width


@pytest.mark.parametrize(("ways", "pages"), [(0, 1), (1, 1), (24, 1), (40, 1), (84, 2)])
def test_chart_on_as_few_pages_as_it_goes(db, ways, pages) -> None:
    """84 ways are 28 of three phases, the largest board that is made in one enclosure (common practice)."""
    board = make.make_board(make.make_site(phases=("L1", "L2", "L3")))
    for place in range(ways):
        make.make_circuit(board, place // 3 + 1, phase=f"L{place % 3 + 1}", designation="Sockets by the door", **SEEN)
    made = chart(board)
    assert len(reader(made).pages) == pages
    assert f"page 1 of {pages}" in words_of(made)


def test_hostile_words_are_printed_as_they_are(db) -> None:
    site = make.make_site('#panic("x") $y$', address="<script>\n*bold*")
    board = make.make_board(site, "W" * 300)
    make.make_circuit(board, 1, designation="\U0001f525 _kitchen_ " + "X" * 500, label_found="@ref")
    words = words_of(chart(board))
    assert '#panic("x") $y$' in words
    assert "<script>, *bold*" in words
    assert "[?] _kitchen_" in words


def test_head_of_the_ledger_stands_in_the_chart(board, tmp_path) -> None:
    chart(board)
    (head,) = heads([board.site_id])
    made = chart(board)
    assert head.line() in words_of(made)
    (tmp_path / "chart.pdf").write_bytes(read_file(made.file))
    call_command("check_ledger", tmp_path / "chart.pdf")


def test_nothing_is_made_for_a_board_that_is_gone(board, office) -> None:
    board.retired_at = NOON
    board.save()
    with pytest.raises(Refused, match="Workshop was taken out"):
        chart(board)


def test_who_may_not_keep_premises_makes_nothing(board) -> None:
    with pytest.raises(NotAllowed):
        chart(board, by=make.make_user("Sid Lent", "engineer", subcontractor=True))
    assert not BoardDocument.objects.exists()


# --- pages ------------------------------------------------------------------------------------------------------------


def documents_of(board) -> str:
    return reverse("premises:board_documents", args=[board.pk])


def test_chart_is_chosen_made_and_opened(client, board, engineer) -> None:
    client.force_login(engineer)
    assert "Nothing made yet" in text_of(client.get(documents_of(board)))
    where = reverse("premises:chart", args=[board.pk])
    response = client.post(where, posted(client.get(where)) | {"paper": "a5", "turned": "portrait"}, follow=True)
    assert "Circuit chart A5 portrait" in text_of(response)
    file = client.get(reverse("premises:board_document", args=[BoardDocument.objects.get().pk]))
    assert file["Content-Disposition"] == 'inline; filename="chart-workshop.pdf"'
    assert (file["Content-Type"], file["X-Content-Type-Options"]) == ("application/pdf", "nosniff")
    assert file["Cache-Control"] == "private, no-store"
    assert file.content.startswith(b"%PDF")


def test_page_says_when_the_board_was_changed_since(client, board, engineer) -> None:
    client.force_login(engineer)
    chart(board)
    assert "was changed since" not in text_of(client.get(documents_of(board)))
    board.circuits.filter(way=2).update(designation="Cooker")
    assert "The board was changed since its last chart was made, 3 Feb 2026, 12:00." in text_of(
        client.get(documents_of(board))
    )


def test_paper_that_there_is_not_is_refused_in_place(client, board, engineer) -> None:
    client.force_login(engineer)
    where = reverse("premises:chart", args=[board.pk])
    response = client.post(where, posted(client.get(where)) | {"paper": "a0"})
    assert response.status_code == 422
    assert not BoardDocument.objects.exists()


def test_document_of_a_site_that_is_not_theirs_is_not_there(client, board) -> None:
    made = chart(board)
    client.force_login(make.make_user("Sid Lent", "engineer", subcontractor=True))
    assert client.get(reverse("premises:board_document", args=[made.pk])).status_code == 404


@pytest.mark.parametrize("ways", [1, 12])
def test_statements_of_the_page_whatever_the_size(client, engineer, django_assert_num_queries, ways) -> None:
    board = make.make_board(make.make_site())
    for way in range(1, ways + 1):
        make.make_circuit(board, way)
        chart(board, now=NOON + timedelta(minutes=way))
    client.force_login(engineer)
    client.get(documents_of(board))
    with django_assert_num_queries(15):
        client.get(documents_of(board))
