"""What a migration may do to tables that a running service uses, judged by its SQL.

Sources: PostgreSQL 18's manual, ALTER TABLE (notes: which forms rewrite or scan the table, and under which lock) and CREATE
INDEX (building indexes concurrently): from memory, not looked up again. That the former version of the program still runs
while a new one starts is our own requirement.
"""

import re

NAME = r'(?:ONLY )?"?(?P<table>\w+)"?'
CREATED = re.compile(rf"CREATE TABLE (?:IF NOT EXISTS )?{NAME}", re.IGNORECASE)
ALTERED = re.compile(rf"ALTER TABLE (?:IF EXISTS )?{NAME} (?P<rest>.*)", re.IGNORECASE | re.DOTALL)
INDEXED = re.compile(
    rf"CREATE (?:UNIQUE )?INDEX (?!CONCURRENTLY)(?:IF NOT EXISTS )?\"?\w+\"? ON {NAME}", re.IGNORECASE | re.DOTALL
)
WRITTEN = re.compile(r"\s*(UPDATE|DELETE FROM|INSERT INTO)\b", re.IGNORECASE)
VOLATILE = r"(?:gen_random_uuid|uuidv7|uuidv4|nextval|random|clock_timestamp|timeofday)\s*\("

# What an ALTER TABLE does, and the sentence for it; the first that fits counts.
FORMS: list[tuple[str, str]] = [
    (r"ADD COLUMN .*\bGENERATED\b", "a generated or counted column rewrites the whole table under a lock"),
    (rf"ADD COLUMN .*\bDEFAULT\b.*{VOLATILE}", "a default that differs by row rewrites the whole table under a lock"),
    (r"ADD COLUMN .*\b(?:SMALL|BIG)?SERIAL\b", "a counted column rewrites the whole table under a lock"),
    (
        r"ADD COLUMN (?!.*\bDEFAULT\b).*\bNOT NULL\b",
        "a column that must be filled needs a default that stays in the database (db_default)",
    ),
    (r"ALTER COLUMN .* TYPE\b", "another type rewrites the whole table under a lock; add a column beside it"),
    (
        r"ALTER COLUMN .* SET NOT NULL",
        "NOT NULL looks at every row under a lock; first a CHECK that is NOT VALID, then VALIDATE it",
    ),
    (
        r"ALTER COLUMN .* DROP DEFAULT",
        "the former version of the program does not fill that column; keep the default in the database (db_default)",
    ),
    (r"DROP COLUMN", "the former version of the program still reads that column; drop it one version later"),
    (r"RENAME (?:COLUMN|TO)", "the former version of the program still uses that name"),
    (
        r"ADD CONSTRAINT .*\b(?:UNIQUE|EXCLUDE|PRIMARY KEY)\b",
        "its index is built under a lock; build it CONCURRENTLY before",
    ),
    (r"ADD CONSTRAINT (?!.*NOT VALID)", "it looks at every row under a lock; add it NOT VALID, then VALIDATE it apart"),
]
COMPILED = [(re.compile(form, re.IGNORECASE | re.DOTALL), said) for form, said in FORMS]


def faults_of(statements: list[str]) -> list[str]:
    """What is wrong with these statements of one migration, a sentence each: "table: why".

    A table that the migration itself makes is empty, and nobody uses it yet.
    """
    new: set[str] = set()
    found: list[str] = []
    changes_tables = any(ALTERED.match(one) or CREATED.match(one) for one in statements)
    for statement in statements:
        if made := CREATED.match(statement):
            new.add(made["table"])
        elif (indexed := INDEXED.match(statement)) and indexed["table"] not in new:
            found.append(
                f"{indexed['table']}: an index is built under a lock; use AddIndexConcurrently, atomic = False"
            )
        elif (altered := ALTERED.match(statement)) and altered["table"] not in new:
            found += [f"{altered['table']}: {said}" for form, said in COMPILED if form.match(altered["rest"])][:1]
        elif WRITTEN.match(statement) and changes_tables:
            found.append("it changes tables and rows in one: a long change of rows then holds the tables' locks")
    return list(dict.fromkeys(found))
