"""Kinds of premises that the published intervals know too; the day of the present tenancy."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("premises", "0011_voltage_operated_breakers"),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name="unit",
            name="unit_kind",
        ),
        migrations.AddField(
            model_name="unit",
            name="tenancy_granted_on",
            field=models.DateField(
                blank=True,
                help_text="Of the present tenancy, where it is let: which rule of law binds depends on it.",
                null=True,
            ),
        ),
        migrations.AlterField(
            model_name="unit",
            name="kind",
            field=models.TextField(
                choices=[
                    ("house", "house or flat"),
                    ("hmo", "house in multiple occupation"),
                    ("communal", "hall of residence, common parts"),
                    ("commercial", "commercial"),
                    ("educational", "school or college"),
                    ("industrial", "industrial"),
                    ("offices", "offices"),
                    ("shop", "shop"),
                    ("laboratory", "laboratory"),
                    ("hospital", "hospital or clinic, general areas"),
                    ("medical", "hospital or clinic, medical locations"),
                    ("cinema", "cinema"),
                    ("church", "church"),
                    ("leisure", "leisure complex, not pools"),
                    ("entertainment", "place of public entertainment"),
                    ("hotel", "restaurant or hotel"),
                    ("theatre", "theatre"),
                    ("public-house", "public house"),
                    ("village-hall", "village hall, community centre"),
                    ("agricultural", "agricultural or horticultural"),
                    ("caravan", "caravan"),
                    ("caravan-park", "caravan park"),
                    ("highway", "highway: street lighting and signs"),
                    ("marina", "marina"),
                    ("fish-farm", "fish farm"),
                    ("swimming-pool", "swimming pool"),
                    ("launderette", "launderette"),
                    ("petrol-station", "petrol filling station"),
                    ("construction-site", "construction site"),
                    ("other", "other premises"),
                ],
                default="house",
            ),
        ),
        migrations.AddConstraint(
            model_name="unit",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    (
                        "kind__in",
                        [
                            "house",
                            "hmo",
                            "communal",
                            "commercial",
                            "educational",
                            "industrial",
                            "offices",
                            "shop",
                            "laboratory",
                            "hospital",
                            "medical",
                            "cinema",
                            "church",
                            "leisure",
                            "entertainment",
                            "hotel",
                            "theatre",
                            "public-house",
                            "village-hall",
                            "agricultural",
                            "caravan",
                            "caravan-park",
                            "highway",
                            "marina",
                            "fish-farm",
                            "swimming-pool",
                            "launderette",
                            "petrol-station",
                            "construction-site",
                            "other",
                        ],
                    )
                ),
                name="unit_kind",
            ),
        ),
    ]
