"""Each observation keeps its telling words, folded: by them it is found again when another inspection sees the defect."""

from django.db import migrations, models

# Grammar, and the many ways to say that something is not there: most observations say so, and none alike.
# Chosen and measured in tests/inspections/test_alike.py. Changed words are a new function and a new column.
SILENT = (
    "a|an|and|are|at|be|by|can|could|does|for|from|has|have|in|into|is|it|its|may|more|of|on|or|that|the|their|to|under|"
    "was|where|which|with|within|no|not|none|without|missing|lacking|absent|fitted|installed"
)
MAKE = rf"""
CREATE FUNCTION telling_words(said text) RETURNS text LANGUAGE sql IMMUTABLE STRICT PARALLEL SAFE
RETURN regexp_replace(
    regexp_replace(normalize(lower(said), NFKD), '[\u0300-\u036f]', '', 'g'), '\m({SILENT})\M', ' ', 'g'
);
"""


class Migration(migrations.Migration):
    dependencies = [
        ("ledger", "0001_start"),  # which makes the extension pg_trgm
        ("inspections", "0005_meters_compared"),
    ]

    operations = [
        migrations.RunSQL(MAKE, "DROP FUNCTION telling_words(text);"),
        migrations.AddField(
            model_name="observation",
            name="telling",
            field=models.GeneratedField(
                db_persist=True,
                expression=models.Func("text", function="telling_words"),
                help_text="The words of `text` that tell one defect from another, folded; likeness is measured by them.",
                output_field=models.TextField(),
            ),
        ),
    ]
