"""Asks a routing server for its matrix by the open request form of a table service, over plain HTTP.

`GET {address}/{lon,lat;lon,lat;…}?annotations=duration,distance&sources=0;1&destinations=2;3` is answered by JSON with
`durations` in seconds and `distances` in metres, a row for each source; null where there is no way. Nothing else of the
answer is read. The address is the manager's; no redirect is followed and no proxy asked, so nothing goes elsewhere.
"""

import json
from collections.abc import Mapping, Sequence
from http.client import HTTPException
from typing import Any
from urllib.error import HTTPError, URLError
from urllib.parse import urlsplit
from urllib.request import HTTPRedirectHandler, ProxyHandler, Request, build_opener

AT_ONCE = 50  # places on each side of one request: an address of some two thousand letters
LARGEST = 4_000_000  # bytes of one answer
PATIENCE = 10.0  # seconds that the server may be silent
FARTHEST = 48 * 3600  # seconds: a longer way is no way of a working week

Point = tuple[float, float]  # latitude, longitude
Matrix = dict[str, dict[str, int]]


class NoMatrix(Exception):
    """The server gave no matrix that can be used; the text is a sentence for the person."""


class _Stays(HTTPRedirectHandler):
    def redirect_request(self, *args: Any, **kwargs: Any) -> None:
        """Refuses: the redirect comes out as an HTTPError."""


def matrix_from(
    address: str, places: Mapping[str, Point], *, patience: float = PATIENCE
) -> tuple[Matrix, dict[str, dict[str, float]]]:
    """Whole minutes (rounded up) and kilometres between all of `places`, by their keys.

    Raises NoMatrix with a sentence where the server cannot be asked, answers too much or too late, or leaves a way out.
    """
    if urlsplit(address).scheme not in {"http", "https"} or not urlsplit(address).hostname:
        raise NoMatrix("The routing server's address must begin with http:// or https://.")
    keys = sorted(places)
    minutes: Matrix = {a: {} for a in keys}
    km: dict[str, dict[str, float]] = {a: {} for a in keys}
    parts = [keys[start : start + AT_ONCE] for start in range(0, len(keys), AT_ONCE)]
    for rows in parts:
        for columns in parts:
            seconds, metres = _block(address, [places[k] for k in rows], [places[k] for k in columns], patience)
            for n, a in enumerate(rows):
                minutes[a] |= {b: -(-round(seconds[n][m]) // 60) if a != b else 0 for m, b in enumerate(columns)}
                km[a] |= {b: round(metres[n][m] / 1000, 1) if a != b else 0.0 for m, b in enumerate(columns)}
    return minutes, km


Figures = list[list[float]]


def _block(address: str, rows: Sequence[Point], columns: Sequence[Point], patience: float) -> tuple[Figures, Figures]:
    """One request: seconds and metres from each of `rows` to each of `columns`."""
    points = ";".join(f"{longitude:.5f},{latitude:.5f}" for latitude, longitude in [*rows, *columns])
    sources = ";".join(str(n) for n in range(len(rows)))
    targets = ";".join(str(n) for n in range(len(rows), len(rows) + len(columns)))
    query = f"annotations=duration,distance&sources={sources}&destinations={targets}"
    told = _answer(f"{address.rstrip('/')}/{points}?{query}", patience)
    return tuple(_figures(told.get(name), len(rows), len(columns)) for name in ("durations", "distances"))  # type: ignore[return-value]


def _answer(where: str, patience: float) -> dict[str, Any]:
    opener = build_opener(ProxyHandler({}), _Stays())
    try:
        with opener.open(Request(where, headers={"Accept": "application/json"}), timeout=patience) as response:  # noqa: S310 - the scheme is looked at above
            data = response.read(LARGEST + 1)
    except HTTPError as error:
        error.close()
        raise NoMatrix(f"The routing server answered with {error.code}.") from error
    except TimeoutError as error:
        raise NoMatrix("The routing server did not answer in time.") from error
    except (URLError, HTTPException, OSError, ValueError) as error:
        late = isinstance(getattr(error, "reason", None), TimeoutError)
        why = "did not answer in time" if late else "could not be reached"
        raise NoMatrix(f"The routing server {why}.") from error
    if len(data) > LARGEST:
        raise NoMatrix("The routing server's answer was too large.")
    try:
        told = json.loads(data)
    except (ValueError, RecursionError) as error:
        raise NoMatrix("The routing server's answer was no JSON.") from error
    if not isinstance(told, dict):
        raise NoMatrix("The routing server's answer held no matrix.")
    return told


def _figures(rows: Any, high: int, wide: int) -> Figures:
    """`rows` if they are a matrix of that size with a figure everywhere. Raises NoMatrix."""
    if not isinstance(rows, list) or len(rows) != high or any(not isinstance(r, list) or len(r) != wide for r in rows):
        raise NoMatrix("The routing server's answer held no matrix of durations and distances.")
    for cell in (cell for row in rows for cell in row):
        if cell is None:
            raise NoMatrix("The routing server knows no way between two of the places.")
        if isinstance(cell, bool) or not isinstance(cell, int | float) or not 0 <= cell <= FARTHEST * 60:
            raise NoMatrix("The routing server's answer held something that is no duration or distance.")
    return rows
