"""What pages show of how driving is reckoned."""

from typing import Any

from remedials.visits.driving.table import HEADS
from remedials.visits.models import DiaryTerms, DrivingTime

ROWS = ("from_district", "to_district", "minutes", "km")


def table_cells() -> list[tuple[Any, ...]]:
    """The rows of the firm's table, as they go out in a file below HEADS. One statement."""
    return list(DrivingTime.objects.order_by("from_district", "to_district").values_list(*ROWS))


def driving_page(terms: DiaryTerms) -> dict[str, Any]:
    """How driving is reckoned now, in the order in which it is tried. One statement."""
    rows = table_cells()
    ways = []
    if terms.matrix_address:
        ways.append(f"By the routing server at {terms.matrix_address}, between places whose coordinates are known.")
    if rows:
        ways.append("By the table of postcode districts, where it names both.")
    ways.append(
        "By the straight line over the earth, where coordinates are known: "
        f"{terms.winding_factor} times as far by road, at {terms.speed_kmh} km an hour."
    )
    return {"heads": HEADS, "rows": rows[:200], "count": len(rows), "more": len(rows) > 200, "ways": ways}
