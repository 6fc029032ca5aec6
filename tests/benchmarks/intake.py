"""What taking in costs: a list of boards and circuits and a report on them, read and taken in as the worker does it.

Each size runs in a child process of its own, so that its peak of memory is its own; figures are printed, nothing fails.
Run by `make bench`, or alone as `python -m tests.benchmarks.intake`.
"""

import json
import os
import resource
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
    """What one size cost: seconds of the clock and of the processor, peak memory of the process in MB."""

    rows: int
    read_s: float
    take_in_s: float
    processor_s: float
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
    from inspections.intake import operations
    from inspections.models import Intake
    from jobsite import clock
    from jobsite.ids import new_id
    from tests.factories import anybody, make_site, unit_of

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
    cost = Cost(rows, read_s, take_s, time.process_time() - processor, before, _memory())
    sys.stdout.write(json.dumps({name: round(value, 2) for name, value in asdict(cost).items()}))


def _memory() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / MEGABYTE


def costs(database: str, files: str) -> list[dict[str, float]]:
    """Each size in a child process."""
    found = []
    for times in SIZES:
        command = [sys.executable, "-m", "tests.benchmarks.intake", database, files, str(times)]
        env = {**os.environ, "DJANGO_SETTINGS_MODULE": "tests.settings"}
        done = subprocess.run(command, capture_output=True, text=True, env=env, check=True, cwd=Path.cwd())
        found.append(json.loads(done.stdout.splitlines()[-1]))
    return found


def table(found: list[dict[str, float]]) -> str:
    """The figures for reading."""
    head = f"{'rows taken in':>14}{'read s':>9}{'take in s':>11}{'processor s':>13}{'MB before':>11}{'MB peak':>9}"
    rows = [
        f"{f['rows']:>14,.0f}{f['read_s']:>9}{f['take_in_s']:>11}{f['processor_s']:>13}{f['before_mb']:>11}{f['peak_mb']:>9}"
        for f in found
    ]
    return "\n".join([head, *rows])


if __name__ == "__main__":
    if len(sys.argv) > 1:
        child(sys.argv[1], sys.argv[2], int(sys.argv[3]))
