"""When a verification was seen at the board, where it reached the record later: a phone without signal."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("premises", "0014_board_replaced_by"),
    ]

    operations = [
        migrations.AddField(
            model_name="verification",
            name="done_at",
            field=models.DateTimeField(
                help_text="When it was seen at the board, where it reached the record later.", null=True
            ),
        ),
    ]
