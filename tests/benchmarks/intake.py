"""What taking in costs: a list of boards and circuits and a report on them, read and taken in as the worker does it.

Each size runs in a child process of its own, so that its peak of memory is its own; figures are printed, nothing fails.
Run by `make bench`.
"""

import json
import os
import subprocess
import sys
import time
from dataclasses import asdict, dataclass
from io import BytesIO
from pathlib import Path
from typing import Any

import django
from django.conf import settings

SIZES = (1, 4, 16)
"""How many times 60 boards, 900 circuits and 300 observations: about 1,300, 5,000 and 20,000 rows."""
BOARDS, CIRCUITS_ON_EACH, OBSERVATIONS = 60, 15, 300
CODES = ("C2", "C3", "FI", "C3")
MEGABYTE = 1024  # kilobytes, as Linux counts the peak


@dataclass
class Cost:
    """What one size cost: seconds of the clock and of the processor, memory of the process in MB before and at its peak.

    `page_s` and `page_kb`: the page on which the boards are looked over, before they are taken in.
    """

    rows: int
    read_s: float
    take_in_s: float
    processor_s: float
    page_s: float
    page_kb: float
    before_mb: float
    peak_mb: float


def boards_file(times: int) -> bytes:
    """A workbook of boards, each fed from the supply, and 15 circuits on each."""
    from openpyxl import Workbook

    book = Workbook(write_only=True)
    boards, circuits = book.create_sheet("Boards"), book.create_sheet("Circuits")
    boards.append(["Board", "Label found", "Place", "Phases", "Main switch", "Fed from", "Zdb (Ω)"])
    circuits.append(
        ["Board", "Way", "Designation", "Label found", "Device", "RCD", "Arrangement", "Line (mm²)", "Points"]
    )
    for board in range(1, BOARDS * times + 1):
        boards.append([f"Board {board}", f"DB{board}", f"riser {board % 9}", "three phase", "100 A", "supply", 0.21])
        for way in range(1, CIRCUITS_ON_EACH + 1):
            said = f"Sockets {board}.{way}"
            circuits.append([f"Board {board}", f"{way}L{way % 3 + 1}", said, said, "B32", "30 mA", "ring", 2.5, 8])
    return _saved(book)


def report_file(times: int) -> bytes:
    """A workbook of observations on those boards."""
    from openpyxl import Workbook

    book = Workbook(write_only=True)
    sheet = book.create_sheet("Observations")
    sheet.append(["Item", "Code", "Observation", "Board", "Way", "Place"])
    for item in range(1, OBSERVATIONS * times + 1):
        said = f"Invented observation {item}: the cover is cracked and the label names another load"
        sheet.append(
            [item, CODES[item % 4], said, f"Board {item % BOARDS + 1}", f"{item % 15 + 1}", f"room {item % 40}"]
        )
    return _saved(book)


def _saved(book: Any) -> bytes:
    out = BytesIO()
    book.save(out)
    return out.getvalue()


def child(database: str, files: str, times: int) -> None:
    """Take in both files at a site of its own and print what it cost."""
    settings.DATABASES["default"]["NAME"] = database
    settings.STORAGES["default"]["OPTIONS"]["location"] = files
    django.setup()
    from django.test import Client
    from django.test.utils import setup_test_environment

    from inspections.intake import operations
    from inspections.models import Intake
    from jobsite import clock
    from jobsite.ids import new_id
    from tests.factories import anybody, make_site, unit_of

    setup_test_environment(debug=False)
    by, now = anybody("office"), clock.now()
    site = make_site(f"Measured {times}", phases=("L1", "L2", "L3"))
    header = {"inspected_on": "2025-02-03", "edition": "2018+A2:2022", "firm_name": "Sample Inspections"}
    read_s = take_s = 0.0
    rows, files_in = 0, [("boards", boards_file(times)), ("report", report_file(times))]
    before, processor = _memory(), time.process_time()
    for kind, data in files_in:
        more = {"header": header} if kind == "report" else {}
        intake = operations.receive(
            site,
            id=new_id(),
            kind=kind,
            data=data,
            file_name=f"{kind}.xlsx",
            unit=unit_of(site),
            by=by,
            now=now,
            **more,
        )
        began = time.perf_counter()
        operations.read(intake.pk, now=now)
        read_s += time.perf_counter() - began
        began = time.perf_counter()
        operations.take_in(Intake.objects.select_related("site").get(pk=intake.pk), left_out={}, by=by, now=now)
        take_s += time.perf_counter() - began
        rows += len(Intake.objects.get(pk=intake.pk).found["accepted"])
    spent, peak = time.process_time() - processor, _memory()
    # What comes now is the web server's, not the worker's.
    other = make_site(f"Looked over {times}", phases=("L1", "L2", "L3"))
    asked: Any = {"kind": "boards", "data": boards_file(times), "file_name": "boards.xlsx", "unit": unit_of(other)}
    intake = operations.receive(other, id=new_id(), by=by, now=now, **asked)
    operations.read(intake.pk, now=now)
    client = Client()
    client.force_login(by)
    began = time.perf_counter()
    page_kb = len(client.get(f"/intake/{intake.pk}/").content) / 1000
    page_s = time.perf_counter() - began
    cost = Cost(rows, read_s, take_s, spent, page_s, page_kb, before, peak)
    sys.stdout.write(json.dumps({name: round(value, 2) for name, value in asdict(cost).items()}))


def _memory() -> float:
    """The most that this process has held, in MB. What `getrusage` says is at least what its parent held when it began."""
    line = next(line for line in Path("/proc/self/status").read_text().splitlines() if line.startswith("VmHWM:"))
    return int(line.split()[1]) / MEGABYTE


def costs() -> list[dict[str, float]]:
    """Each size in a child process, on the database and among the files of this one."""
    database, files = settings.DATABASES["default"]["NAME"], settings.STORAGES["default"]["OPTIONS"]["location"]
    found = []
    for times in SIZES:
        command = [sys.executable, "-m", "tests.benchmarks.intake", str(database), str(files), str(times)]
        env = {**os.environ, "DJANGO_SETTINGS_MODULE": "tests.settings"}
        done = subprocess.run(command, capture_output=True, text=True, env=env, check=True, cwd=Path.cwd())
        found.append(json.loads(done.stdout.splitlines()[-1]))
    return found


COLUMNS = {
    "rows": "rows taken in",
    "read_s": "read s",
    "take_in_s": "take in s",
    "processor_s": "processor s",
    "page_s": "look over s",
    "page_kb": "page kB",
    "before_mb": "MB before",
    "peak_mb": "MB peak",
}


def table(found: list[dict[str, float]]) -> str:
    """The figures for reading."""
    rows = ["".join(f"{one[name]:>14,}" for name in COLUMNS) for one in found]
    return "\n".join(["".join(f"{head:>14}" for head in COLUMNS.values()), *rows])


if __name__ == "__main__":
    child(sys.argv[1], sys.argv[2], int(sys.argv[3]))
