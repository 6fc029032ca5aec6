"""Which quotes are accepted, as the page of quotes counts it, narrowed to sites. One statement."""

from datetime import date

from jobsite.people.models import User
from jobsite.words import day
from remedials.desk.figures.queries.narrowing import Narrowed
from remedials.desk.figures.tables import COUNT, PERCENT, POUNDS, TEXT, Column, Table
from remedials.quotes.queries import figures as of_quotes
from remedials.quotes.rules import figures as rules

KINDS = {of_quotes.COUNT: COUNT, of_quotes.POUNDS: POUNDS, of_quotes.PERCENT: PERCENT}


def acceptance(user: User, narrowed: Narrowed, first: date, last: date, *, today: date) -> list[Table]:
    """What became of the lines sent in the period: by code, by price, and why not."""
    sites = None if narrowed.all else narrowed.sites(user)
    lines = rules.counted(of_quotes.offered(user, first, last, today=today, sites=sites))
    tables = [as_ours(table) for table in of_quotes.shares(lines)]
    period = f", sent from {day(first)} to {day(last)}"
    tables[0] = Table(**{**vars(tables[0]), "title": tables[0].title + period})
    return tables


def as_ours(table: of_quotes.Table) -> Table:
    """A table of the page of quotes in the shape that all figures have."""
    columns = (Column(table.first, TEXT), *(Column(column.head, KINDS[column.kind]) for column in table.columns))
    totals = table.totals if table.rows else 0
    return Table(table.key, table.title, columns, table.rows, table.empty, (table.says,), totals=totals)
