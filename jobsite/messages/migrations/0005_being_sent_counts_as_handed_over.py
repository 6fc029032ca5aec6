from django.db import migrations

# What was being sent when this came: nobody noted how far it was, so the mail server may have it.
HANDED_OVER = "UPDATE post_message SET handed_at = claimed_at WHERE state = 'sending' AND handed_at IS NULL"


class Migration(migrations.Migration):
    dependencies = [
        ("post", "0004_claims_and_returns"),
    ]

    operations = [
        migrations.RunSQL(HANDED_OVER, migrations.RunSQL.noop),
    ]
