import django.contrib.postgres.fields
import django.db.models.deletion
import jobsite.ids
import pgtrigger.compiler
import pgtrigger.migrations
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    initial = True

    dependencies = [
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="Board",
            fields=[
                ("sort", models.TextField(default="", editable=False)),
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("designation", models.TextField()),
                ("label_found", models.TextField(blank=True, default="")),
                ("designation_verified", models.BooleanField(default=False)),
                ("place", models.TextField(blank=True, default="")),
                (
                    "phases",
                    django.contrib.postgres.fields.ArrayField(base_field=models.TextField(), default=list, size=None),
                ),
                ("main_switch", models.TextField(blank=True, default="")),
                (
                    "own_earthing",
                    models.TextField(
                        blank=True,
                        choices=[
                            ("TN-S", "TN-S"),
                            ("TN-C-S", "TN-C-S"),
                            ("TT", "TT"),
                            ("IT", "IT"),
                            ("unknown", "not known"),
                        ],
                        default="",
                    ),
                ),
                ("zdb_ohm", models.DecimalField(blank=True, decimal_places=3, max_digits=7, null=True)),
                ("fault_current_ka", models.DecimalField(blank=True, decimal_places=2, max_digits=6, null=True)),
                ("notes", models.TextField(blank=True, default="")),
                ("verified_on", models.DateField(null=True)),
                (
                    "verified_how",
                    models.TextField(
                        blank=True,
                        choices=[
                            ("traced", "traced"),
                            ("switched", "switched off and seen"),
                            ("read", "read from the cable"),
                            ("told", "told"),
                        ],
                        default="",
                    ),
                ),
                ("retired_at", models.DateTimeField(null=True)),
                ("version", models.IntegerField(default=1)),
                (
                    "verified_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Circuit",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("way", models.IntegerField()),
                (
                    "phase",
                    models.TextField(
                        choices=[("L1", "L1"), ("L2", "L2"), ("L3", "L3"), ("3", "three-phase")], default="L1"
                    ),
                ),
                ("label_found", models.TextField(blank=True, default="")),
                ("designation", models.TextField(blank=True, default="")),
                ("verified_on", models.DateField(null=True)),
                (
                    "verified_how",
                    models.TextField(
                        blank=True,
                        choices=[
                            ("traced", "traced"),
                            ("switched", "switched off and seen"),
                            ("read", "read from the cable"),
                            ("told", "told"),
                        ],
                        default="",
                    ),
                ),
                (
                    "device_standard",
                    models.TextField(
                        blank=True,
                        choices=[
                            ("BS EN 60898", "BS EN 60898 circuit-breaker"),
                            ("BS EN 61009", "BS EN 61009 RCBO"),
                            ("BS EN 60947-2", "BS EN 60947-2 circuit-breaker"),
                            ("BS 3871", "BS 3871 circuit-breaker"),
                            ("BS 88-2", "BS 88-2 fuse"),
                            ("BS 88-3", "BS 88-3 fuse"),
                            ("BS 1361", "BS 1361 fuse"),
                            ("BS 1362", "BS 1362 fuse"),
                            ("BS 3036", "BS 3036 rewireable fuse"),
                            ("other", "another device"),
                        ],
                        default="",
                    ),
                ),
                ("device_type", models.TextField(blank=True, default="")),
                ("rating_a", models.DecimalField(blank=True, decimal_places=1, max_digits=6, null=True)),
                ("poles", models.IntegerField(blank=True, null=True)),
                (
                    "rcd_kind",
                    models.TextField(
                        blank=True,
                        choices=[
                            ("AC", "type AC"),
                            ("A", "type A"),
                            ("F", "type F"),
                            ("B", "type B"),
                            ("S", "time-delayed (S)"),
                            ("unknown", "type not known"),
                        ],
                        default="",
                    ),
                ),
                ("rcd_ma", models.IntegerField(blank=True, null=True)),
                ("rcd_shared", models.BooleanField(default=False)),
                (
                    "arrangement",
                    models.TextField(
                        blank=True,
                        choices=[
                            ("radial", "radial"),
                            ("ring", "ring final"),
                            ("distribution", "distribution circuit"),
                            ("", "not known"),
                        ],
                        default="",
                    ),
                ),
                ("line_mm2", models.DecimalField(blank=True, decimal_places=2, max_digits=6, null=True)),
                ("cpc_mm2", models.DecimalField(blank=True, decimal_places=2, max_digits=6, null=True)),
                ("points", models.IntegerField(blank=True, null=True)),
                ("must_not_lose_power", models.TextField(blank=True, default="")),
                ("spare", models.BooleanField(default=False)),
                ("blanked", models.BooleanField(default=False)),
                ("retired_at", models.DateTimeField(null=True)),
                ("version", models.IntegerField(default=1)),
                (
                    "board",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="circuits", to="premises.board"
                    ),
                ),
                (
                    "verified_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Party",
            fields=[
                ("sort", models.TextField(default="", editable=False)),
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("name", models.TextField()),
                ("organisation", models.BooleanField(default=False)),
                ("email", models.EmailField(blank=True, default="", max_length=254)),
                ("phone", models.TextField(blank=True, default="")),
                ("address", models.TextField(blank=True, default="")),
                ("archived_at", models.DateTimeField(null=True)),
                ("version", models.IntegerField(default=1)),
            ],
            options={
                "indexes": [models.Index(fields=["sort", "id"], name="party_list")],
                "constraints": [
                    models.CheckConstraint(condition=models.Q(("name", ""), _negated=True), name="party_has_a_name")
                ],
            },
        ),
        migrations.CreateModel(
            name="Site",
            fields=[
                ("sort", models.TextField(default="", editable=False)),
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("number", models.BigIntegerField(unique=True)),
                ("name", models.TextField()),
                ("address", models.TextField()),
                ("postcode", models.TextField(blank=True, default="")),
                (
                    "nation",
                    models.TextField(
                        choices=[
                            ("england", "England"),
                            ("wales", "Wales"),
                            ("scotland", "Scotland"),
                            ("northern-ireland", "Northern Ireland"),
                        ],
                        default="england",
                    ),
                ),
                ("access_notes", models.TextField(blank=True, default="")),
                ("latitude", models.DecimalField(blank=True, decimal_places=5, max_digits=8, null=True)),
                ("longitude", models.DecimalField(blank=True, decimal_places=5, max_digits=8, null=True)),
                ("archived_at", models.DateTimeField(null=True)),
                ("version", models.IntegerField(default=1)),
                (
                    "customer",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="sites", to="premises.party"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="SecondSource",
            fields=[
                ("sort", models.TextField(default="", editable=False)),
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("name", models.TextField()),
                (
                    "kind",
                    models.TextField(
                        choices=[
                            ("pv", "solar (PV)"),
                            ("battery", "battery"),
                            ("generator", "generator"),
                            ("wind", "wind turbine"),
                        ]
                    ),
                ),
                ("rating_kw", models.DecimalField(blank=True, decimal_places=2, max_digits=7, null=True)),
                (
                    "phases",
                    django.contrib.postgres.fields.ArrayField(base_field=models.TextField(), default=list, size=None),
                ),
                ("isolate_supply_side", models.TextField(blank=True, default="")),
                ("isolate_source_side", models.TextField(blank=True, default="")),
                ("wait_minutes", models.IntegerField(blank=True, null=True)),
                ("retired_at", models.DateTimeField(null=True)),
                ("version", models.IntegerField(default=1)),
                (
                    "board",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="second_sources", to="premises.board"
                    ),
                ),
                (
                    "circuit",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="second_sources",
                        to="premises.circuit",
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="second_sources", to="premises.site"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="CircuitLink",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                (
                    "kind",
                    models.TextField(choices=[("neutral", "shares a neutral with"), ("feed", "is also fed from")]),
                ),
                ("noted_on", models.DateField()),
                (
                    "noted_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "one",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="links_from", to="premises.circuit"
                    ),
                ),
                (
                    "other",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="links_to", to="premises.circuit"
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="circuit_links", to="premises.site"
                    ),
                ),
            ],
        ),
        migrations.AddField(
            model_name="circuit",
            name="site",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="circuits", to="premises.site"
            ),
        ),
        migrations.AddField(
            model_name="board",
            name="site",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="boards", to="premises.site"
            ),
        ),
        migrations.CreateModel(
            name="SiteAccess",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("granted_at", models.DateTimeField()),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="access", to="premises.site"
                    ),
                ),
                (
                    "user",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="site_access",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Supply",
            fields=[
                ("sort", models.TextField(default="", editable=False)),
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("name", models.TextField(default="Supply")),
                (
                    "phases",
                    django.contrib.postgres.fields.ArrayField(base_field=models.TextField(), default=list, size=None),
                ),
                ("voltage", models.IntegerField(default=230, help_text="nominal, volts to earth")),
                ("main_fuse_a", models.IntegerField(blank=True, null=True)),
                (
                    "earthing",
                    models.TextField(
                        choices=[
                            ("TN-S", "TN-S"),
                            ("TN-C-S", "TN-C-S"),
                            ("TT", "TT"),
                            ("IT", "IT"),
                            ("unknown", "not known"),
                        ],
                        default="unknown",
                    ),
                ),
                ("ze_ohm", models.DecimalField(blank=True, decimal_places=3, max_digits=7, null=True)),
                ("fault_current_ka", models.DecimalField(blank=True, decimal_places=2, max_digits=6, null=True)),
                ("retired_at", models.DateTimeField(null=True)),
                ("version", models.IntegerField(default=1)),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="supplies", to="premises.site"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Feed",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                (
                    "kind",
                    models.TextField(
                        choices=[("normal", "normal feed"), ("alternative", "alternative feed")], default="normal"
                    ),
                ),
                ("verified", models.BooleanField(default=False)),
                ("verified_on", models.DateField(null=True)),
                (
                    "verified_how",
                    models.TextField(
                        blank=True,
                        choices=[
                            ("traced", "traced"),
                            ("switched", "switched off and seen"),
                            ("read", "read from the cable"),
                            ("told", "told"),
                        ],
                        default="",
                    ),
                ),
                (
                    "changeover",
                    models.TextField(
                        blank=True, default="", help_text="How an alternative feed takes over, and where."
                    ),
                ),
                ("version", models.IntegerField(default=1)),
                (
                    "board",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="feeds", to="premises.board"
                    ),
                ),
                (
                    "from_circuit",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="feeds",
                        to="premises.circuit",
                    ),
                ),
                (
                    "verified_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="feeds", to="premises.site"
                    ),
                ),
                (
                    "from_supply",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="feeds",
                        to="premises.supply",
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Unit",
            fields=[
                ("sort", models.TextField(default="", editable=False)),
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("name", models.TextField()),
                (
                    "kind",
                    models.TextField(
                        choices=[
                            ("house", "house or flat"),
                            ("communal", "hall of residence, house in multiple occupation, common parts"),
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
                            ("marina", "marina"),
                            ("fish-farm", "fish farm"),
                            ("swimming-pool", "swimming pool"),
                            ("launderette", "launderette"),
                            ("petrol-station", "petrol filling station"),
                            ("construction-site", "construction site"),
                        ],
                        default="house",
                    ),
                ),
                (
                    "tenure",
                    models.TextField(
                        choices=[
                            ("owner-occupied", "owner-occupied"),
                            ("private-rented", "rented from a private landlord"),
                            ("social-rented", "rented from a social landlord"),
                            ("not-a-home", "not a home"),
                        ],
                        default="owner-occupied",
                    ),
                ),
                ("common_parts", models.BooleanField(default=False)),
                (
                    "whole_site",
                    models.BooleanField(
                        default=False, help_text="The one unit of a simple site; nobody sees the word."
                    ),
                ),
                ("retired_at", models.DateTimeField(null=True)),
                ("version", models.IntegerField(default=1)),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="units", to="premises.site"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="PartyAtUnit",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                (
                    "role",
                    models.TextField(
                        choices=[
                            ("owner", "owner"),
                            ("agent", "agent"),
                            ("occupier", "occupier"),
                            ("payer", "pays"),
                            ("approver", "approves work"),
                        ]
                    ),
                ),
                ("limit_pounds", models.DecimalField(blank=True, decimal_places=2, max_digits=10, null=True)),
                ("since", models.DateField()),
                ("until", models.DateField(blank=True, null=True)),
                (
                    "party",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="roles", to="premises.party"
                    ),
                ),
                (
                    "unit",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="parties", to="premises.unit"
                    ),
                ),
            ],
        ),
        migrations.AddField(
            model_name="circuit",
            name="unit",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="circuits",
                to="premises.unit",
            ),
        ),
        migrations.AddField(
            model_name="board",
            name="units",
            field=models.ManyToManyField(blank=True, related_name="boards", to="premises.unit"),
        ),
        migrations.AddIndex(
            model_name="site",
            index=models.Index(fields=["sort", "id"], name="site_list"),
        ),
        migrations.AddIndex(
            model_name="site",
            index=models.Index(fields=["customer"], name="site_of_customer"),
        ),
        migrations.AddConstraint(
            model_name="site",
            constraint=models.CheckConstraint(condition=models.Q(("name", ""), _negated=True), name="site_has_a_name"),
        ),
        migrations.AddConstraint(
            model_name="site",
            constraint=models.CheckConstraint(
                condition=models.Q(("nation__in", ["england", "wales", "scotland", "northern-ireland"])),
                name="site_nation",
            ),
        ),
        migrations.AddConstraint(
            model_name="secondsource",
            constraint=models.CheckConstraint(
                condition=models.Q(("kind__in", ["pv", "battery", "generator", "wind"])), name="second_source_kind"
            ),
        ),
        migrations.AddConstraint(
            model_name="secondsource",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("phases__contained_by", ["L1", "L2", "L3"]), models.Q(("phases", []), _negated=True)
                ),
                name="second_source_phases",
            ),
        ),
        migrations.AddConstraint(
            model_name="secondsource",
            constraint=models.CheckConstraint(
                condition=models.Q(("wait_minutes__isnull", True), ("wait_minutes__gte", 0), _connector="OR"),
                name="second_source_wait",
            ),
        ),
        migrations.AddConstraint(
            model_name="circuitlink",
            constraint=models.UniqueConstraint(fields=("one", "other", "kind"), name="circuit_link_once"),
        ),
        migrations.AddConstraint(
            model_name="circuitlink",
            constraint=models.CheckConstraint(
                condition=models.Q(("one__lt", models.F("other"))), name="circuit_link_in_one_order"
            ),
        ),
        migrations.AddConstraint(
            model_name="circuitlink",
            constraint=models.CheckConstraint(
                condition=models.Q(("kind__in", ["neutral", "feed"])), name="circuit_link_kind"
            ),
        ),
        migrations.AddConstraint(
            model_name="siteaccess",
            constraint=models.UniqueConstraint(fields=("site", "user"), name="site_access_once"),
        ),
        migrations.AddConstraint(
            model_name="supply",
            constraint=models.UniqueConstraint(fields=("site", "sort"), name="supply_name_once_a_site"),
        ),
        migrations.AddConstraint(
            model_name="supply",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("phases__contained_by", ["L1", "L2", "L3"]), models.Q(("phases", []), _negated=True)
                ),
                name="supply_phases",
            ),
        ),
        migrations.AddConstraint(
            model_name="supply",
            constraint=models.CheckConstraint(
                condition=models.Q(("earthing__in", ["TN-S", "TN-C-S", "TT", "IT", "unknown"])), name="supply_earthing"
            ),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name="supply",
            trigger=pgtrigger.compiler.Trigger(
                name="supply_holds",
                sql=pgtrigger.compiler.UpsertTriggerSql(
                    constraint="CONSTRAINT",
                    func="PERFORM premises_hold_supply(NEW.site_id); RETURN NULL;",
                    hash="e77972a7cd6b41162b19119565a3ea8aa80e314f",
                    operation='UPDATE OF "phases", "site_id"',
                    pgid="pgtrigger_supply_holds_e6c19",
                    table="premises_supply",
                    timing="DEFERRABLE INITIALLY DEFERRED",
                    when="AFTER",
                ),
            ),
        ),
        migrations.AddConstraint(
            model_name="feed",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("from_circuit__isnull", False), ("from_supply__isnull", True)),
                    models.Q(("from_circuit__isnull", True), ("from_supply__isnull", False)),
                    _connector="OR",
                ),
                name="feed_from_one_thing",
            ),
        ),
        migrations.AddConstraint(
            model_name="feed",
            constraint=models.UniqueConstraint(
                condition=models.Q(("kind", "normal"), ("verified", True)),
                fields=("board",),
                name="feed_one_verified_normal",
            ),
        ),
        migrations.AddConstraint(
            model_name="feed",
            constraint=models.UniqueConstraint(
                fields=("board", "from_circuit", "from_supply"), name="feed_once", nulls_distinct=False
            ),
        ),
        migrations.AddConstraint(
            model_name="feed",
            constraint=models.CheckConstraint(
                condition=models.Q(("verified", False), ("verified_on__isnull", False), _connector="OR"),
                name="feed_verified_when",
            ),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name="feed",
            trigger=pgtrigger.compiler.Trigger(
                name="feed_holds",
                sql=pgtrigger.compiler.UpsertTriggerSql(
                    constraint="CONSTRAINT",
                    func="PERFORM premises_hold_supply(NEW.site_id); RETURN NULL;",
                    hash="5d057b81045bbc564c6a865a1223d0f1693c9c95",
                    operation='INSERT OR UPDATE OF "board_id", "from_circuit_id", "from_supply_id", "site_id"',
                    pgid="pgtrigger_feed_holds_40128",
                    table="premises_feed",
                    timing="DEFERRABLE INITIALLY DEFERRED",
                    when="AFTER",
                ),
            ),
        ),
        migrations.AddConstraint(
            model_name="unit",
            constraint=models.UniqueConstraint(fields=("site", "sort"), name="unit_name_once_a_site"),
        ),
        migrations.AddConstraint(
            model_name="unit",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    (
                        "kind__in",
                        [
                            "house",
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
                            "marina",
                            "fish-farm",
                            "swimming-pool",
                            "launderette",
                            "petrol-station",
                            "construction-site",
                        ],
                    )
                ),
                name="unit_kind",
            ),
        ),
        migrations.AddConstraint(
            model_name="unit",
            constraint=models.CheckConstraint(
                condition=models.Q(("tenure__in", ["owner-occupied", "private-rented", "social-rented", "not-a-home"])),
                name="unit_tenure",
            ),
        ),
        migrations.AddConstraint(
            model_name="partyatunit",
            constraint=models.UniqueConstraint(fields=("unit", "party", "role", "since"), name="party_role_once"),
        ),
        migrations.AddConstraint(
            model_name="partyatunit",
            constraint=models.CheckConstraint(
                condition=models.Q(("until__isnull", True), ("until__gte", models.F("since")), _connector="OR"),
                name="party_role_dates",
            ),
        ),
        migrations.AddConstraint(
            model_name="partyatunit",
            constraint=models.CheckConstraint(
                condition=models.Q(("role__in", ["owner", "agent", "occupier", "payer", "approver"])),
                name="party_role_known",
            ),
        ),
        migrations.AddConstraint(
            model_name="circuit",
            constraint=models.UniqueConstraint(
                condition=models.Q(("retired_at__isnull", True)),
                fields=("board", "way", "phase"),
                name="circuit_one_a_way",
            ),
        ),
        migrations.AddConstraint(
            model_name="circuit",
            constraint=models.CheckConstraint(
                condition=models.Q(("way__gte", 1), ("way__lte", 999)), name="circuit_way"
            ),
        ),
        migrations.AddConstraint(
            model_name="circuit",
            constraint=models.CheckConstraint(
                condition=models.Q(("phase__in", ["L1", "L2", "L3", "3"])), name="circuit_phase"
            ),
        ),
        migrations.AddConstraint(
            model_name="circuit",
            constraint=models.CheckConstraint(
                condition=models.Q(("rating_a__isnull", True), ("rating_a__gt", 0), _connector="OR"),
                name="circuit_rating",
            ),
        ),
        migrations.AddConstraint(
            model_name="circuit",
            constraint=models.CheckConstraint(
                condition=models.Q(("rcd_ma__isnull", True), ("rcd_ma__gt", 0), _connector="OR"), name="circuit_rcd"
            ),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name="circuit",
            trigger=pgtrigger.compiler.Trigger(
                name="circuit_holds",
                sql=pgtrigger.compiler.UpsertTriggerSql(
                    constraint="CONSTRAINT",
                    func="PERFORM premises_hold_supply(NEW.site_id); RETURN NULL;",
                    hash="23ba6f57118ed36b4b04e00314e27a001758d22f",
                    operation='UPDATE OF "phase", "board_id", "site_id"',
                    pgid="pgtrigger_circuit_holds_de53a",
                    table="premises_circuit",
                    timing="DEFERRABLE INITIALLY DEFERRED",
                    when="AFTER",
                ),
            ),
        ),
        migrations.AddIndex(
            model_name="board",
            index=models.Index(fields=["site", "sort"], name="board_list"),
        ),
        migrations.AddConstraint(
            model_name="board",
            constraint=models.UniqueConstraint(
                condition=models.Q(("retired_at__isnull", True)), fields=("site", "sort"), name="board_name_once_a_site"
            ),
        ),
        migrations.AddConstraint(
            model_name="board",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("phases__contained_by", ["L1", "L2", "L3"]), models.Q(("phases", []), _negated=True)
                ),
                name="board_phases",
            ),
        ),
        migrations.AddConstraint(
            model_name="board",
            constraint=models.CheckConstraint(
                condition=models.Q(("designation", ""), _negated=True), name="board_has_a_designation"
            ),
        ),
        migrations.AddConstraint(
            model_name="board",
            constraint=models.CheckConstraint(
                condition=models.Q(("designation_verified", False), ("verified_on__isnull", False), _connector="OR"),
                name="board_verified_when",
            ),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name="board",
            trigger=pgtrigger.compiler.Trigger(
                name="board_holds",
                sql=pgtrigger.compiler.UpsertTriggerSql(
                    constraint="CONSTRAINT",
                    func="PERFORM premises_hold_supply(NEW.site_id); RETURN NULL;",
                    hash="8ab0d397bc1a7e3d99c30e2f627a5627f9d3a8e4",
                    operation='UPDATE OF "phases", "site_id"',
                    pgid="pgtrigger_board_holds_cc506",
                    table="premises_board",
                    timing="DEFERRABLE INITIALLY DEFERRED",
                    when="AFTER",
                ),
            ),
        ),
    ]
