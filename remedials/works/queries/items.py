"""What a remedial takes besides time, for those who bring it: what, how much, from where. Never what it costs."""

from collections.abc import Iterable

from jobsite.words import THIN, joined
from remedials.works.models import Item


def to_bring(items: Iterable[Item]) -> list[dict[str, str]]:
    """Items in words, for a page that engineers see."""
    return [
        {
            "what": one.what,
            "quantity": f"{one.quantity.normalize():f}" + (f"{THIN}{one.unit}" if one.unit else ""),
            "kind": "" if one.kind == "material" else one.get_kind_display(),
            "from": joined(one.supplier, one.reference),
        }
        for one in items
    ]
