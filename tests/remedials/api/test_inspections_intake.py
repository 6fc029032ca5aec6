"""A spreadsheet, or a pasted report, by the API: sent, read, looked over row by row, put right, taken in, set aside."""

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile

from inspections.models import Inspection, Intake, Observation
from jobsite.ids import new_id
from jobsite.premises.models import Board
from tests import factories as make
from tests.factories import NOON, unit_of
from tests.inspections.intake.books import OBSERVATION_HEADS, workbook
from tests.remedials.api.sending import entries, form, sent
from tests.remedials.test_api_verbs import fresh, post, refusal

pytestmark = pytest.mark.django_db
BOARDS = b"Board,Phases\r\nDB1,L1\r\nDB2,L9\r\n"
REPORT = workbook(OBSERVATION_HEADS, [1, "C2", "Cover missing"], [2, "C2/C3", "two codes"], [3, "C3", "No label"])
ABOUT = {"firm_name": "Bygone Electrics", "inspected_on": "2025-11-03", "edition": "2018+A2:2022"}


@pytest.fixture(autouse=True)
def at_noon():
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def read(client, office, site):
    """A file sent and read: its key."""

    def send(data: bytes = REPORT, name: str = "report.xlsx", **fields) -> str:
        key = str(new_id())
        form(client, office, f"sites/{site.pk}/receive", file=SimpleUploadedFile(name, data), id=key, **fields)
        sent(client, office, f"intakes/{key}/read-here")
        return key

    return send


@pytest.fixture
def report(read) -> str:
    return read(kind="report", **ABOUT)


def of(key: str) -> Intake:
    return Intake.objects.get(pk=key)


def test_send_a_list_of_boards_once(client, office, site):
    key = str(new_id())
    with entries() as left:
        for _ in range(2):
            shown = form(
                client,
                office,
                f"sites/{site.pk}/receive",
                file=SimpleUploadedFile("b.csv", BOARDS),
                id=key,
                kind="boards",
            )
    assert (shown["state"], shown["file_name"], shown["unit"]) == ("received", "b.csv", str(unit_of(site).pk))
    assert left == [("intake.received", key)]
    assert client.get(f"/api/v1/intakes/{key}/file/").content == BOARDS
    with entries() as left:
        found = sent(client, office, f"intakes/{key}/read-here")
    assert (found["state"], found["found"]["accepted"], found["found"]["refused"]) == ("read", 1, 1)
    assert left == [("intake.read", key)]


def test_a_pasted_report_and_another_instead(client, office, site):
    body = ABOUT | {
        "id": str(new_id()),
        "kind": "report",
        "text": "1 C2 No bonding to the gas pipe\n",
        "limitations": [" loft "],
    }
    shown = sent(client, office, f"sites/{site.pk}/receive", 201, **body)
    assert (shown["header"]["pasted"], shown["header"]["limitations"]) == (True, ["loft"])
    other = body | {"id": str(new_id()), "text": "1 C3 No label at the board\n", "instead_of": body["id"]}
    with entries() as left:
        sent(client, office, f"sites/{site.pk}/receive", 201, **other)
    assert left == [("intake.received", other["id"]), ("intake.set-aside", body["id"])]
    assert of(body["id"]).state == "set-aside"


def test_what_is_not_received(client, office, engineer, site):
    address = f"sites/{site.pk}/receive"
    body = ABOUT | {"id": str(new_id()), "kind": "report", "text": "1 C2 No bonding\n"}
    assert refusal(post(client, office, address, **body | {"text": " "}), 409)["field"] == "file"
    assert refusal(post(client, office, address, **body | {"kind": "boards"}), 409)["detail"] == "Send a file."
    for name in ABOUT:
        lacks = {key: value for key, value in body.items() if key != name}
        assert refusal(post(client, office, address, **lacks), 409)["field"] == name
    future = refusal(post(client, office, address, **body | {"inspected_on": "2026-02-04"}), 409)
    assert (future["field"], future["detail"]) == ("inspected_on", "The day of the inspection lies in the future.")
    early = refusal(post(client, office, address, **body | {"next_due_on": "2025-11-03"}), 409)
    assert early["field"] == "next_due_on"
    assert refusal(post(client, engineer, address, **body), 403)["title"] == "Not allowed"
    client.force_login(office)
    for data in (b"", b"%PDF-1.7", b"\x89PNG\r\n\x1a\n"):
        fields = {"id": str(new_id()), "kind": "boards", "file": SimpleUploadedFile("b.xlsx", data)}
        told = client.post(f"/api/v1/{address}/", fields, headers=fresh())
        assert refusal(told, 409)["field"] == "file"
    make.make_unit(site)
    told = refusal(post(client, office, address, **body), 409)
    assert (told["field"], told["detail"]) == ("unit", "This site has several units: name the one.")
    assert Intake.objects.count() == 0


def test_rows_are_put_right_and_as_they_were(client, office, engineer, report):
    row = "Sheet, row 3"
    assert [one["row"] for one in of(report).found["refused"]] == [row]
    refusal(post(client, engineer, f"intakes/{report}/put-right", rows=[{"row": row, "cells": {"code": "C2"}}]), 403)
    asked = [{"row": row, "cells": {"code": "C2"}}]
    with entries() as left:
        shown = [sent(client, office, f"intakes/{report}/put-right", rows=asked) for _ in range(2)]
        after = sent(client, office, f"intakes/{report}/take-back-correction", row=row)
    assert (
        shown[0]["corrections"]
        == shown[1]["corrections"]
        == {row: {"code": {"head": "Code", "was": "C2/C3", "now": "C2"}}}
    )
    assert (shown[0]["found"]["refused"], after["found"]["refused"], after["corrections"]) == (0, 1, {})
    assert left == [("intake.corrected", report), ("intake.uncorrected", report)]
    told = refusal(
        post(client, office, f"intakes/{report}/put-right", rows=[{"row": row, "cells": {"shade": "x"}}]), 409
    )
    assert told["detail"]


def test_rows_are_left_out_and_taken_in_after_all(client, office, report):
    row = "Sheet, row 2"
    with entries() as left:
        shown = sent(client, office, f"intakes/{report}/leave-out", row=row, reason="put right since")
        after = sent(client, office, f"intakes/{report}/put-back", row=row)
        why = sent(
            client, office, f"intakes/{report}/put-right", rows=[{"row": "Sheet, row 3", "reason": "no such thing"}]
        )
    assert (shown["left_out"], shown["found"]["accepted"]) == ({row: "put right since"}, 1)
    assert (after["left_out"], after["found"]["accepted"]) == ({}, 2)
    assert why["left_out"] == {"Sheet, row 3": "no such thing"}
    assert left == [("intake.left-out", report), ("intake.put-back", report), ("intake.left-out", report)]
    told = refusal(post(client, office, f"intakes/{report}/leave-out", row="Sheet, row 99", reason="x"), 409)
    assert told["detail"]


def test_a_row_is_an_earlier_observation(client, office, site, report):
    seen = make.make_observation(site, "Cover missing", on=NOON.date().replace(year=2024))
    row = "Sheet, row 2"
    with entries() as left:
        shown = [
            sent(client, office, f"intakes/{report}/say-same", row=row, observation=str(seen.pk)) for _ in range(2)
        ]
        after = sent(client, office, f"intakes/{report}/ask-same-again", row=row)
        is_new = sent(client, office, f"intakes/{report}/say-same", row=row, observation=None)
    assert (shown[0]["same"], shown[1]["same"], after["same"]) == ({row: str(seen.pk)}, {row: str(seen.pk)}, {})
    assert is_new["same"] == {row: "new"}
    assert left == [("intake.said-same", report), ("intake.unsaid-same", report), ("intake.said-same", report)]
    younger = make.make_observation(site, "Later")
    told = refusal(post(client, office, f"intakes/{report}/say-same", row=row, observation=str(younger.pk)), 409)
    assert told["detail"]


def test_taken_in_once(client, office, engineer, site, report):
    address = f"intakes/{report}/take-in"
    told = refusal(post(client, office, address), 409)
    assert "Say why Sheet, row 3, is left out" in told["detail"]
    refusal(post(client, engineer, address, reason_for_all="x"), 403)
    assert Inspection.objects.count() == 0
    with entries() as left:
        shown = [sent(client, office, address, reason_for_all="Illegible") for _ in range(2)]
    made = Inspection.objects.get()
    assert (shown[0], shown[0]["state"], shown[0]["inspection"]) == (shown[1], "taken-in", str(made.pk))
    assert shown[0]["left_out"] == {"Sheet, row 3": "Illegible"}
    assert (made.firm_name, sorted(Observation.objects.values_list("text", flat=True))) == (
        "Bygone Electrics", ["Cover missing", "No label"],
    )  # fmt: skip
    kinds = [verb for verb, _ in left if not verb.startswith("paper.")]
    assert sorted(kinds) == sorted(
        ["intake.taken-in", "inspection.started", "inspection.issued", *["observation.noted"] * 2]
    )


def test_boards_are_taken_in(client, office, site, read):
    key = read(BOARDS, "b.csv", kind="boards")
    with entries() as left:
        shown = sent(client, office, f"intakes/{key}/take-in", reason_for_all="no such phase")
    assert (shown["state"], Board.objects.get().designation) == ("taken-in", "DB1")
    assert ("intake.taken-in", key) in left


def test_read_again_and_set_aside(client, office, report):
    with entries() as left:
        again = sent(client, office, f"intakes/{report}/read-again")
        sent(client, office, f"intakes/{report}/read-here")
        aside = [sent(client, office, f"intakes/{report}/set-aside", reason="Sent twice") for _ in range(2)]
    assert (again["state"], aside[0]["state"]) == ("received", "set-aside")
    assert aside[0] == aside[1]
    assert left == [("intake.read-again", report), ("intake.read", report), ("intake.set-aside", report)]
    assert refusal(post(client, office, f"intakes/{report}/take-in"), 409)["detail"].startswith(
        "This file is set aside"
    )
