"""Small makers for tests of works and visits: a photograph, a reading that stands, a remedial on its way."""

from datetime import datetime
from io import BytesIO
from typing import Any

from PIL import Image

from jobsite.ids import new_id
from tests.factories import (
    NOON,
    anybody,
    make_board,
    make_circuit,
    make_instrument,
    make_observation,
    make_remedial,
    make_site,
)


def photo_bytes(shade: int = 90) -> bytes:
    """A small photograph; another `shade` is another picture."""
    out = BytesIO()
    Image.new("RGB", (40, 30), (shade, 120, 60)).save(out, "JPEG")
    return out.getvalue()


def on_the_way(*codes: str, site=None, stage: str = "approved", **fields: Any):
    """A remedial for an observation of each code at one site, approved, with no photo asked for unless told."""
    site = site or make_site(earthing="TN-C-S")
    observations = [make_observation(site, f"Item {n}", code=code) for n, code in enumerate(codes or ("C3",), 1)]
    return make_remedial(*observations, stage=stage, **{"photo_required": False} | fields)


def ask_reading(remedial, *, designation: str = "Kitchen sockets", quantity: str = "loop-impedance", **device: Any):
    """Ask for a reading of `quantity` on a B32 circuit (or `device`) of a new board of the site: the circuit."""
    from remedials.works.models import RequiredReading

    board = remedial.site.boards.first() or make_board(remedial.site)
    circuit = make_circuit(board, designation=designation, **device)
    RequiredReading.objects.create(remedial=remedial, circuit=circuit, quantity=quantity)
    return circuit


def take(
    circuit,
    typed: str,
    *,
    quantity: str = "loop-impedance",
    by=None,
    now: datetime = NOON,
    instrument=None,
    **more: Any,
):
    """A reading, as it is typed, taken by the operation that the pages use."""
    from inspections.operations import take_reading
    from inspections.standards.readings import Quantity, read
    from jobsite.people.models import Instrument

    instrument = instrument or Instrument.objects.first() or make_instrument()
    what = Quantity(quantity)
    usual = {"quantity": what, "by": by or anybody("engineer"), "now": now, "instrument": instrument}
    return take_reading(circuit, **{"id": new_id(), "value": read(what, typed)} | usual | more)


def close(remedial, *, by=None, now: datetime = NOON, **more: Any):
    """Close it with proof, by the operation that the pages use."""
    from remedials.works.operations import close_remedial

    return close_remedial(remedial, **{"id": new_id(), "by": by or anybody("engineer"), "now": now} | more)
