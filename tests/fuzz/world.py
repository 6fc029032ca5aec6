"""A firm in which the examples of the API's description work: a row of each kind, with the key that examples give it."""

from typing import Any
from uuid import UUID

from django.apps import apps
from django.db import connection, models, transaction

from jobsite.api.examples import key_of
from tests.factories import make_user
from tests.faults.world import everything

ROLES = ("office", "engineer", "manager")
COLUMNS = """
    SELECT table_name, column_name FROM information_schema.columns
    JOIN information_schema.tables USING (table_schema, table_name)
    WHERE table_schema = 'public' AND data_type = 'uuid' AND table_type = 'BASE TABLE'"""


def settled() -> Any:
    """Fill the firm; the person who may do everything in it, a qualified one of all roles."""
    by = make_user("Robin Roleplay", *ROLES)
    shown = {value for value in everything(by).values() if isinstance(value, UUID)} | {by.pk}
    rekey({row.pk: UUID(key_of(type(row))) for row in one_of_each(shown)})
    return type(by).objects.get(pk=key_of(type(by)))


def one_of_each(preferred: set[UUID]) -> list[models.Model]:
    """A row of each kind with a UUID as its key: one of `preferred` where there is one, best one whose key another row shares."""
    found = []
    for model in apps.get_models():
        if isinstance(model._meta.pk, models.UUIDField) and model._meta.managed:
            rows = model._default_manager.order_by("pk")
            best, good = rows.filter(pk__in=preferred & shared(model)), rows.filter(pk__in=preferred)
            if (row := best.first() or good.first() or rows.first()) is not None:
                found.append(row)
    return found


def shared(model: Any) -> set[UUID]:
    """The keys that rows of other kinds have from a row of `model`."""
    same = [other for other in apps.get_models() if getattr(other._meta.pk.remote_field, "model", None) is model]
    return {key for other in same for key in other._default_manager.values_list("pk", flat=True)}


def rekey(keys: dict[UUID, UUID]) -> None:
    """Give rows other keys, wherever they stand. Triggers are set aside: a row never changes its key but here."""
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("SET LOCAL session_replication_role = replica")
        cursor.execute("CREATE TEMP TABLE other_keys (former uuid PRIMARY KEY, other uuid) ON COMMIT DROP")
        cursor.executemany("INSERT INTO other_keys VALUES (%s, %s)", list(keys.items()))
        cursor.execute(COLUMNS)
        for table, column in cursor.fetchall():
            cursor.execute(f'UPDATE "{table}" SET "{column}" = other FROM other_keys WHERE "{column}" = former')
