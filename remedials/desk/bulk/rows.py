"""A row as a line of JSON, written by the database itself, and back into what COPY takes.

Numbers with places are text ("1.50"), so that no program makes a binary fraction of them; instants are ISO 8601 in UTC to the
microsecond, days and times ISO 8601, bytes hexadecimal, lists and JSON as they are. The same row makes the same line.
"""

import json
import secrets
from collections.abc import Callable, Iterator
from typing import Any

from django.contrib.auth.hashers import make_password
from django.db import connection
from psycopg import sql

from remedials.desk.bulk.kinds import SECRET_COLUMNS, Kind, label_of

AT_ONCE = 2_000
"""Rows that are in memory at a time."""
IN_ITS_ORDER = {"ledger.Entry": ("chain", "number")}
"""Kinds that are not read by their key, but as a reader wants them."""


class WrongLine(ValueError):
    """A line that cannot be a row; the text says why."""


def lines(kind: Kind) -> Iterator[str]:
    """Each row of `kind` as a line without its end, in a fixed order. Reads on while the caller writes: one transaction."""
    with connection.cursor() as clock:
        clock.execute("SET LOCAL TIME ZONE 'UTC'")
    with connection.chunked_cursor() as cursor:
        cursor.execute(_select(kind).as_string(connection.connection))
        while rows := cursor.fetchmany(AT_ONCE):
            for (line,) in rows:
                yield line


def _select(kind: Kind) -> sql.Composed:
    told = [sql.SQL("{} AS {}").format(_told(field), sql.Identifier(field.column)) for field in kind.fields]
    key: Any = kind.model._meta.pk
    order = [_sorted(kind, name) for name in IN_ITS_ORDER.get(kind.label, (key.column,))]
    return sql.SQL("SELECT row_to_json(r)::text FROM (SELECT {} FROM {} ORDER BY {}) r").format(
        sql.SQL(", ").join(told), sql.Identifier(kind.table), sql.SQL(", ").join(order)
    )


def _told(field: Any) -> sql.Composable:
    column = sql.Identifier(field.column)
    match field.get_internal_type():
        case "BinaryField":
            return sql.SQL("encode({}, 'hex')").format(column)
        case "DecimalField":
            return sql.SQL("{}::text").format(column)
    return column


def _sorted(kind: Kind, name: str) -> sql.Composed:
    """Text by its bytes: what a server's own language thinks of letters must not change an archive."""
    (field,) = [field for field in kind.fields if field.column == name]
    collated = ' COLLATE "C"' if field.get_internal_type() in ("TextField", "CharField") else ""
    return sql.Composed([sql.Identifier(name), sql.SQL(collated)])


def filled_in(kind: Kind) -> dict[str, Callable[[], Any]]:
    """By column what stands where a secret was not taken out: a password that fits nothing, a token that nobody has."""
    made: dict[str, Callable[[], Any]] = {
        "unusable": lambda: make_password(None),
        "random": lambda: f"\\x{secrets.token_bytes(32).hex()}",
    }
    taken = {field.name for field in kind.fields}
    return {name: made[how] for name, how in SECRET_COLUMNS.get(label_of(kind.model), {}).items() if name not in taken}


def cells(kind: Kind, line: bytes) -> list[Any]:
    """What COPY takes for the columns of `kind`, in their order. Raises WrongLine."""
    try:
        row = json.loads(line)
    except ValueError as error:
        raise WrongLine(f"it is no JSON ({error})") from None
    if not isinstance(row, dict):
        raise WrongLine("it is no object with a value for each column")
    wanted = [field.column for field in kind.fields]
    if list(row) != wanted:
        odd = sorted(set(row) ^ set(wanted))
        raise WrongLine(f"its columns are not those of this table ({', '.join(odd) or 'another order'})")
    return [_cell(field, row[field.column]) for field in kind.fields]


def _cell(field: Any, value: Any) -> Any:
    kind = field.get_internal_type()
    if kind == "JSONField":
        return None if value is None and field.null else json.dumps(value, ensure_ascii=False)
    if value is None:
        return None
    if kind == "ArrayField" and isinstance(value, list):
        return value
    if kind == "BooleanField" and isinstance(value, bool):
        return "t" if value else "f"
    whole = isinstance(value, int) and not isinstance(value, bool)
    if whole and (kind.endswith(("IntegerField", "AutoField")) or _points_at_number(field)):
        return str(value)
    if isinstance(value, str):
        return f"\\x{value}" if kind == "BinaryField" else value
    raise WrongLine(f"{json.dumps(value)[:60]} is no value for {field.column}")


def _points_at_number(field: Any) -> bool:
    return bool(field.is_relation) and field.target_field.get_internal_type().endswith(("IntegerField", "AutoField"))
