"""A site with works that are closed and proven, for the tests of documents."""

from datetime import date, timedelta
from decimal import Decimal
from io import BytesIO

from PIL import Image
from pypdf import PdfReader

from inspections.models import DangerNotice, MadeSafe, ObservationPhoto, Review
from jobsite.ledger.photographs import store_photograph
from remedials.works.models import Proof, ProofPhoto, ProofReview, WayOut
from tests import factories as make
from tests.factories import NOON, TODAY


def picture(colour: str = "red", size: tuple[int, int] = (40, 30)) -> bytes:
    """A photograph of one colour."""
    out = BytesIO()
    Image.new("RGB", size, colour).save(out, "JPEG")
    return out.getvalue()


def photo_before(observation, data: bytes | None = None, caption: str = ""):
    """A photograph of the defect."""
    file, cleaned = store_photograph(data or picture(), now=NOON)
    return ObservationPhoto.objects.create(
        observation=observation, file=file, width=cleaned.width, height=cleaned.height, caption=caption,
        added_by=make.anybody(), added_at=NOON,
    )  # fmt: skip


def photo_after(proof, observation=None, data: bytes | None = None):
    """A photograph after the work."""
    file, cleaned = store_photograph(data or picture("green"), now=NOON)
    return ProofPhoto.objects.create(
        remedial=proof.remedial, proof=proof, observation=observation, file=file, width=cleaned.width,
        height=cleaned.height, added_by=make.anybody(), added_at=NOON,
    )  # fmt: skip


def put_right(site, text: str = "Socket cracked", *, code: str = "C2", circuit=None, inspection=None, engineer=None,
              reviewer=None, work: str = "Fit a new socket", pictures: bool = True, on: date = TODAY, **fields):  # fmt: skip
    """An observation that a remedial put right, with proof that somebody accepted; returns it and the proof."""
    observation = make.make_observation(
        site, text, code=code, circuit=circuit, board=circuit.board if circuit else None, inspection=inspection, on=on,
        ended="remedied", ended_on=TODAY, **fields,
    )  # fmt: skip
    remedial = make.make_remedial(observation, stage="reviewed", work=work, certificate_kind="Minor works certificate")
    proof = Proof.objects.create(
        remedial=remedial, done_by=engineer or make.anybody("engineer"), done_at=NOON, note="secret note",
        certificate_number="MW-17",
    )  # fmt: skip
    ProofReview.objects.create(proof=proof, decision="accepted", by=reviewer or make.anybody(), at=NOON)
    if pictures:
        photo_before(observation, caption="behind the door")
        photo_after(proof, observation)
    return observation, proof


def whole_site():
    """A site whose report required three things: put right with readings, made safe first, done by others; one is open."""
    site = make.make_site("Heron Wharf")
    board = make.make_board(site, "Hall board")
    circuit = make.make_circuit(board, 5)
    report = make.make_inspection(site, inspected_on=date(2026, 1, 5), reference="R-9", extent="All fixed wiring")
    engineer, reviewer = make.make_user("Dorrit Wirepull", "engineer"), make.make_qualified("Quill Overlook", "manager")
    _, proof = put_right(
        site, circuit=circuit, inspection=report, engineer=engineer, reviewer=reviewer, item="4.2", on=date(2026, 1, 5)
    )
    proof.readings.add(
        make.make_reading(
            circuit, quantity="loop-impedance", value=Decimal("0.62"), places=2, above_range=False, unit="Ω",
            limit_least=None, limit_most=Decimal("1.0925"), basis="B32, 0.4 s, at 80 %", by=engineer,
        )
    )  # fmt: skip
    bare, _ = put_right(
        site, "Bare conductor in the cellar", code="C1", inspection=report, engineer=engineer, reviewer=reviewer,
        work="Fit a cover",
    )  # fmt: skip
    by = make.anybody()
    MadeSafe.objects.create(
        observation=bare, how="locked", what="padlock", agreed_with="Petra", lock="L7", key_holder="Olive Deskworth",
        at=NOON - timedelta(days=9), by=by, look_again_on=TODAY, ended="remedied", ended_at=NOON,
    )  # fmt: skip
    notice = DangerNotice.objects.create(
        number=31, site=site, why="bare", advised="keep away", given_to="Petra", how="hand",
        given_at=NOON - timedelta(days=9), given_by=engineer,
    )  # fmt: skip
    notice.observations.add(bare)
    bonding = make.make_observation(
        site, "No bonding of the gas pipe", inspection=report, ended="others", ended_on=TODAY, code_written="C3"
    )
    Review.objects.create(
        observation=bonding, decision="recode", code_before="C3", code="C2", reason="r", by=reviewer, at=NOON
    )
    WayOut.objects.create(
        remedial=make.make_remedial(bonding, stage="by-others", work="Bond the gas pipe"), stage="by-others",
        who="Tern Electrical", on=TODAY, reference="T-5", recorded_by=by, recorded_at=NOON,
    )  # fmt: skip
    make.make_observation(site, "Blank missing", code="C3", inspection=report)
    return site


def text_of(pdf: bytes) -> str:
    """What a person reads in it, blanks run together."""
    words = " ".join(page.extract_text() for page in PdfReader(BytesIO(pdf)).pages)
    return " ".join(words.replace("\u202f", " ").split())
