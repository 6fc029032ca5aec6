"""A site as a customer may see it at its largest: 47 items in words of their own, pictures, boards, several reports' worth."""

from datetime import date, timedelta
from io import BytesIO
from random import Random
from typing import Any

from PIL import Image, ImageDraw

from inspections.models import InspectionDue, Limitation, MadeSafe, ObservationPhoto
from jobsite.ledger.photographs import store_photograph
from remedials.works.models import Proof, ProofPhoto, ProofReview
from tests import factories as make
from tests.factories import NOON, TODAY

DEFECTS = (
    "Blank missing at a spare way, live parts can be reached with a finger",
    "No main protective bonding to the incoming water pipe",
    "Socket-outlet for equipment outdoors has no 30 mA RCD",
    "Accessory broken, conductors visible behind the plate",
    "Loop impedance above the limit for the device on this circuit",
    "Cable not clipped, hanging across the access to the roof space",
    "Cover of a joint box missing, connector block exposed",
    "No CPC at the lighting points, metal fittings in use",
    "Enclosure of the board is cracked and no longer keeps fingers out",
    "Signs of heating at the neutral bar, insulation discoloured",
    "Fuse wire too thick for the cable that it protects",
    "Flexible cable of the hand dryer perished where it enters",
    "No label for the second source of supply at the meter position",
    "Borrowed neutral between the two landing lights",
    "Emergency luminaire does not light when its supply is lost",
    "Immersion heater fed by a plug and socket that runs hot",
    "Cable buried within a wall without mechanical protection or RCD",
    "Gland missing where the armoured cable enters the switch",
    "Earth electrode resistance high and not stable on repeated tests",
    "Circuits are not identified, the chart belongs to an older board",
    "Isolator for the ventilation plant is out of reach",
    "Polarity reversed at the socket beside the sink",
    "RCD does not trip by its test button",
    "Neutral of the ring broken between two sockets",
)
WORKS = (
    "Fit a proper blank and check the others", "Run new bonding and label the clamp", "Replace the breaker by one with an RCD",
    "Replace the accessory and make off the conductors anew", "Renew the joint and measure the loop again",
    "Clip the cable back and sleeve it at the hatch", "Fit a cover and close the entries", "Rewire the lighting circuit with a CPC",
    "Replace the board, with every circuit named", "Cut back, make off and torque the terminals",
    "Trace the neutral and part the two circuits", "Replace the luminaire and test its duration",
)  # fmt: skip
PLACES = (
    "under the stairs", "in the plant room", "kitchen, left of the sink", "landing, first floor", "behind the bar", "roof space",
    "boiler house", "workshop, north wall", "corridor by the hall", "office 3", "caretaker's store", "bike shed",
)  # fmt: skip
CODES = ("C2", "C2", "C3", "FI", "C2", "C3", "C1")


def picture(seed: int, size: tuple[int, int] = (1600, 1200)) -> bytes:
    """A photograph's worth of shapes, others for each seed."""
    chance, image = Random(seed), Image.new("RGB", size, "grey")
    draw = ImageDraw.Draw(image)
    for _ in range(60):
        x, y, colour = chance.randrange(size[0]), chance.randrange(size[1]), chance.randrange(0xFFFFFF)
        draw.rectangle((x, y, x + 180, y + 120), fill=f"#{colour:06x}")
    out = BytesIO()
    image.save(out, "JPEG", quality=85)
    return out.getvalue()


def stored(seed: int, size: tuple[int, int] = (1600, 1200)) -> dict[str, Any]:
    """The fields of a row that holds the photograph."""
    file, cleaned = store_photograph(picture(seed, size), now=NOON)
    return {
        "file": file,
        "width": cleaned.width,
        "height": cleaned.height,
        "added_by": make.anybody(),
        "added_at": NOON,
    }


def large_site(
    site,
    items: int = 47,
    closed: int = 24,
    *,
    photos: bool = True,
    boards: int = 12,
    on: date = TODAY,
    letters: int = 0,
) -> Any:
    """`site` with so many open and closed items; each fourth open and each closed one has a picture, the closed two.

    `letters`: each item is so many letters by chance, in place of words.
    """
    chance = Random(items)
    nodes = [make.make_board(site, f"Board {n + 1}", place=PLACES[n % len(PLACES)]) for n in range(boards)]
    inspection = make.make_inspection(site, extent="All fixed wiring that can be reached without taking anything down")
    InspectionDue.objects.create(
        unit=make.unit_of(site), due_on=on + timedelta(days=900), basis="Recommended by the report.", shows_from=on
    )
    Limitation.objects.create(inspection=inspection, what="The flat above the shop", why="nobody in")
    for n in range(items + closed):
        text = f"{DEFECTS[chance.randrange(24)]}, {chance.choice(PLACES)}; found with item {chance.randrange(1000)}"
        if letters:
            text = "".join(chance.choice("abcdefghijklmnopqrstuvwxyz ") for _ in range(letters))
        ended = {} if n < items else {"ended": "remedied", "ended_on": on, "owner": None, "step_by": None}
        item = make.make_observation(
            site, text, code=chance.choice(CODES), board=chance.choice(nodes) if nodes else None,
            place=chance.choice(PLACES), inspection=inspection, remedy_by=on + timedelta(days=chance.randrange(60)),
            remedy_basis=f"The firm's policy: {chance.randrange(7, 60)} days.", **ended,
        )  # fmt: skip
        remedial = make.make_remedial(
            item, stage="reviewed" if ended else chance.choice(("to-price", "approved", "quoted")),
            work=f"{chance.choice(WORKS)}, {chance.randrange(2, 40)} m",
        )  # fmt: skip
        if photos and (ended or n % 4 == 0):
            ObservationPhoto.objects.create(observation=item, **stored(n, (400, 300)))
        if ended:
            proof = Proof.objects.create(
                remedial=remedial, state="stands", done_by=make.anybody("engineer"), done_at=NOON
            )
            ProofReview.objects.create(proof=proof, decision="accepted", by=make.anybody(), at=NOON)
            if photos:
                ProofPhoto.objects.create(remedial=remedial, proof=proof, **stored(1000 + n, (400, 300)))
        elif item.code == "C1":
            MadeSafe.objects.create(
                observation=item,
                how="covered",
                what="tape",
                agreed_with="P",
                at=NOON,
                by=make.anybody(),
                look_again_on=on,
            )
            item.made_safe = True
            item.save(update_fields=["made_safe"])
    return site
