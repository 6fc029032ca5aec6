"""A small history played with real operations, and what a stranger does with the archive that is drawn out of it."""

import subprocess
import sys
from datetime import date, timedelta
from io import BytesIO
from pathlib import Path
from typing import Any
from zipfile import ZipFile

from inspections import operations as inspect
from jobsite.ids import new_id
from jobsite.people import operations as people
from jobsite.premises import operations as premises
from remedials.status import facts, queries
from remedials.status.bundles import operations
from remedials.status.models import Bundle
from remedials.works import operations as work
from tests.factories import NOON, make_party, make_qualified, make_user, picture, unit_of

HOUR = timedelta(hours=1)


class Played:
    """A small history: a report with three items, one made safe, noticed and refused, one declined, one put right."""

    def __init__(self, *, competent: bool = True) -> None:
        self.office, self.engineer = make_user("Olive Desk", "office"), make_user("Edwin Wire", "engineer")
        self.manager, self.qualified = make_user("Mira Owner", "manager"), make_qualified("Quentin Prover")
        if competent:
            people.record_competence(
                self.qualified, id=new_id(), since=date(2025, 1, 1), evidence="Certificate 7",
                by=self.manager, now=NOON - 10 * HOUR,
            )  # fmt: skip
        self.site = premises.open_site(
            id=new_id(), name="Sample Barn", customer=make_party(), address="1 Sample Lane", postcode="ZZ1 1ZZ",
            access_notes="The key is below the third pot", by=self.office, now=NOON - 9 * HOUR,
        )  # fmt: skip
        self.unit = unit_of(self.site)
        self.instants = [NOON - HOUR]
        self.pages: list[Any] = []
        self.codes = ("C1", "C2", "C3")
        self._report()
        self._danger()
        self._works()
        self._look()

    def _mark(self, hours: int) -> Any:
        """The instant of the next act; the one a minute later is looked at."""
        self._look()
        now = NOON + hours * HOUR
        self.instants.append(now + timedelta(minutes=1))
        return now

    def _look(self) -> None:
        """What the customer's page shows at the last instant, by the rows as they are now that nothing later was done."""
        scope = facts.scope_at(self.site.pk)
        assert scope is not None
        self.pages.append(queries.status_in(scope, now=self.instants[-1]))

    def _report(self) -> None:
        now = self._mark(0)
        self.draft = inspect.start_inspection(
            self.site, id=new_id(), units=[self.unit], kind="periodic", other_firm=False, inspected_on=NOON.date(),
            edition="2018+A2:2022", by=self.qualified, now=now,
        )  # fmt: skip
        for code in self.codes:
            inspect.note_observation(
                self.draft,
                id=new_id(),
                unit=self.unit,
                text=f"An item of code {code}",
                code=code,
                by=self.qualified,
                now=now,
            )
        inspect.issue_inspection(self.draft, by=self.qualified, now=self._mark(1))
        self.items = list(self.draft.observations.order_by("number"))

    def _danger(self) -> None:
        danger = self.items[0]
        inspect.add_photo(danger, data=picture(), by=self.engineer, now=self._mark(2))
        inspect.make_safe(
            danger, id=new_id(), how="locked", what="Switched off", agreed_with="Petra", key_holder="Petra", lock="7",
            photo=picture("blue"), look_again_on=NOON.date() + timedelta(days=3), by=self.engineer, now=self._mark(3),
        )  # fmt: skip
        notice = inspect.give_danger_notice(
            self.items[:2], id=new_id(), why="Live parts", advised="Keep off", given_to="Petra Landlady", how="hand", by=self.engineer,
            now=self._mark(4),
        )  # fmt: skip
        inspect.answer_notice(
            notice, answer="refused", answered_by="Petra", answer_note="No!", by=self.office, now=self._mark(5)
        )

    def _works(self) -> None:
        other, small = self.items[1:]
        declined = work.make_remedial([other], id=new_id(), work="Renew it", by=self.office, now=self._mark(6))
        work.decline_remedial(
            declined, who="Petra", reason="Too dear", offer_again_on=NOON.date() + timedelta(days=30), by=self.office,
            now=self._mark(7),
        )  # fmt: skip
        inspect.review(
            small, decision="recode", code="C2", reason="Worse than written", by=self.qualified, now=self._mark(8)
        )

    def bundle(self, instant: Any, **fields: Any) -> Bundle:
        return operations.ask_for_bundle(
            self.site, **{"id": new_id(), "instant": instant, "reason": "The insurer asks", "by": self.office, "now": NOON + 99 * HOUR}
            | fields,
        )  # fmt: skip


def unpacked(data: bytes, folder: Path) -> dict[str, bytes]:
    """The files of an archive by name, written into `folder`."""
    with ZipFile(BytesIO(data)) as archive:
        archive.extractall(folder)
        return {name: archive.read(name) for name in archive.namelist()}


def stranger(folder: Path, *given: str) -> subprocess.CompletedProcess[str]:
    """What somebody sees who knows nothing of us: Python alone, in an environment without anything of ours."""
    command = [sys.executable, "-I", "-S", str(folder / "check.py"), *given]
    return subprocess.run(command, capture_output=True, text=True, check=False, env={}, cwd="/", timeout=60)
