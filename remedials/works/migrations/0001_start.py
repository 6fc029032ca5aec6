import django.db.models.deletion
import jobsite.ids
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    initial = True

    dependencies = [
        ("inspections", "0001_start"),
        ("ledger", "0001_start"),
        ("premises", "0001_start"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="Remedial",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("number", models.BigIntegerField(unique=True)),
                ("work", models.TextField()),
                (
                    "stage",
                    models.TextField(
                        choices=[
                            ("to-price", "to price"),
                            ("quoted", "quoted"),
                            ("approved", "approved"),
                            ("booked", "booked"),
                            ("done", "done"),
                            ("reviewed", "reviewed"),
                            ("declined", "declined"),
                            ("cancelled", "cancelled"),
                            ("by-others", "done by others"),
                        ],
                        default="to-price",
                    ),
                ),
                ("skill", models.TextField(blank=True, default="")),
                ("minutes", models.IntegerField(blank=True, null=True)),
                ("power_off", models.BooleanField(default=False)),
                (
                    "see_to_first",
                    models.TextField(blank=True, default="", help_text="Asbestos register, height, permit, plan."),
                ),
                ("photo_required", models.BooleanField(default=True)),
                (
                    "certificate_kind",
                    models.TextField(blank=True, default="", help_text="Which certificate it needs, or none."),
                ),
                ("notifiable", models.BooleanField(default=False)),
                ("step_by", models.DateField(blank=True, null=True)),
                ("made_at", models.DateTimeField()),
                ("version", models.IntegerField(default=1)),
                (
                    "call_back_of",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="call_backs",
                        to="works.remedial",
                    ),
                ),
                (
                    "made_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "owner",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="remedials", to="premises.site"
                    ),
                ),
                (
                    "unit",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="remedials", to="premises.unit"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Proof",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                (
                    "state",
                    models.TextField(
                        choices=[
                            ("stands", "stands"),
                            ("beside", "filed beside the first"),
                            ("sent-back", "sent back"),
                            ("reopened", "reopened"),
                        ],
                        default="stands",
                    ),
                ),
                ("supervisor_name", models.TextField(blank=True, default="")),
                ("done_at", models.DateTimeField()),
                ("note", models.TextField(blank=True, default="")),
                ("no_photo_reason", models.TextField(blank=True, default="")),
                ("certificate_number", models.TextField(blank=True, default="")),
                (
                    "exception_reason",
                    models.TextField(blank=True, default="", help_text="Why a failing or doubtful reading is put up."),
                ),
                (
                    "certificate_file",
                    models.ForeignKey(
                        null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="ledger.storedfile"
                    ),
                ),
                (
                    "done_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                ("readings", models.ManyToManyField(blank=True, related_name="proofs", to="inspections.reading")),
                (
                    "remedial",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="proofs", to="works.remedial"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Approval",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("given_by", models.TextField()),
                (
                    "how",
                    models.TextField(
                        choices=[
                            ("phone", "by telephone"),
                            ("email", "by e-mail"),
                            ("letter", "in writing"),
                            ("spoken", "spoken on site"),
                            ("standing", "standing limit for urgent work"),
                        ]
                    ),
                ),
                ("given_on", models.DateField()),
                ("pounds", models.DecimalField(blank=True, decimal_places=2, max_digits=10, null=True)),
                ("reference", models.TextField(blank=True, default="", help_text="The customer's order number.")),
                ("recorded_at", models.DateTimeField()),
                (
                    "party",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="premises.party",
                    ),
                ),
                (
                    "recorded_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "remedial",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="approvals", to="works.remedial"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Remedies",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "observation",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="remedies",
                        to="inspections.observation",
                    ),
                ),
                (
                    "remedial",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="remedies", to="works.remedial"
                    ),
                ),
            ],
        ),
        migrations.AddField(
            model_name="remedial",
            name="observations",
            field=models.ManyToManyField(
                related_name="remedials", through="works.Remedies", to="inspections.observation"
            ),
        ),
        migrations.CreateModel(
            name="RequiredReading",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                (
                    "quantity",
                    models.TextField(
                        choices=[("loop-impedance", "earth fault loop impedance")], default="loop-impedance"
                    ),
                ),
                ("limit_entered", models.DecimalField(blank=True, decimal_places=4, max_digits=10, null=True)),
                ("limit_source", models.TextField(blank=True, default="")),
                (
                    "circuit",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="premises.circuit"
                    ),
                ),
                (
                    "remedial",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="required_readings",
                        to="works.remedial",
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Waiting",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("on_whom", models.TextField()),
                ("for_what", models.TextField()),
                ("reference", models.TextField(blank=True, default="")),
                ("asked_on", models.DateField()),
                ("promised_for", models.DateField(blank=True, null=True)),
                ("chase_on", models.DateField()),
                ("ended_at", models.DateTimeField(null=True)),
                ("ended_how", models.TextField(blank=True, default="")),
                (
                    "observation",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="waitings",
                        to="inspections.observation",
                    ),
                ),
                (
                    "owner",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "recorded_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "remedial",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="waitings",
                        to="works.remedial",
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="waitings", to="premises.site"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="WayOut",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                (
                    "stage",
                    models.TextField(
                        choices=[
                            ("to-price", "to price"),
                            ("quoted", "quoted"),
                            ("approved", "approved"),
                            ("booked", "booked"),
                            ("done", "done"),
                            ("reviewed", "reviewed"),
                            ("declined", "declined"),
                            ("cancelled", "cancelled"),
                            ("by-others", "done by others"),
                        ]
                    ),
                ),
                ("who", models.TextField(help_text="Who declined, asked to cancel, or did the work.")),
                ("reason", models.TextField(blank=True, default="")),
                ("on", models.DateField()),
                ("offer_again_on", models.DateField(blank=True, null=True)),
                ("reference", models.TextField(blank=True, default="", help_text="The others' certificate or letter.")),
                ("recorded_at", models.DateTimeField()),
                (
                    "file",
                    models.ForeignKey(
                        null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="ledger.storedfile"
                    ),
                ),
                (
                    "recorded_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "remedial",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="ways_out", to="works.remedial"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="ProofReview",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("decision", models.TextField(choices=[("accepted", "accepted"), ("sent-back", "sent back")])),
                ("reason", models.TextField(blank=True, default="")),
                ("self_review", models.BooleanField(default=False)),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "proof",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT, related_name="review", to="works.proof"
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("decision", "accepted"),
                            models.Q(("decision", "sent-back"), models.Q(("reason", ""), _negated=True)),
                            _connector="OR",
                        ),
                        name="proof_review_says_why",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="ProofPhoto",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("width", models.IntegerField()),
                ("height", models.IntegerField()),
                ("taken", models.TextField(blank=True, default="")),
                ("added_at", models.DateTimeField()),
                (
                    "added_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "file",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="ledger.storedfile"
                    ),
                ),
                (
                    "observation",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="after_photos",
                        to="inspections.observation",
                    ),
                ),
                (
                    "proof",
                    models.ForeignKey(
                        null=True, on_delete=django.db.models.deletion.PROTECT, related_name="photos", to="works.proof"
                    ),
                ),
                (
                    "remedial",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="photos", to="works.remedial"
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(
                        fields=("remedial", "observation", "file"), name="proof_photo_once", nulls_distinct=False
                    )
                ],
            },
        ),
        migrations.AddConstraint(
            model_name="proof",
            constraint=models.UniqueConstraint(
                condition=models.Q(("state", "stands")), fields=("remedial",), name="proof_one_stands"
            ),
        ),
        migrations.AddConstraint(
            model_name="proof",
            constraint=models.CheckConstraint(
                condition=models.Q(("state__in", ["stands", "beside", "sent-back", "reopened"])), name="proof_state"
            ),
        ),
        migrations.AddConstraint(
            model_name="approval",
            constraint=models.CheckConstraint(
                condition=models.Q(("given_by", ""), _negated=True), name="approval_given_by"
            ),
        ),
        migrations.AddConstraint(
            model_name="approval",
            constraint=models.CheckConstraint(
                condition=models.Q(("pounds__isnull", True), ("pounds__gte", 0), _connector="OR"),
                name="approval_pounds",
            ),
        ),
        migrations.AddConstraint(
            model_name="remedies",
            constraint=models.UniqueConstraint(fields=("remedial", "observation"), name="remedies_once"),
        ),
        migrations.AddIndex(
            model_name="remedial",
            index=models.Index(fields=["stage", "step_by"], name="remedial_by_stage"),
        ),
        migrations.AddIndex(
            model_name="remedial",
            index=models.Index(fields=["site"], name="remedial_of_site"),
        ),
        migrations.AddConstraint(
            model_name="remedial",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    (
                        "stage__in",
                        [
                            "to-price",
                            "quoted",
                            "approved",
                            "booked",
                            "done",
                            "reviewed",
                            "declined",
                            "cancelled",
                            "by-others",
                        ],
                    )
                ),
                name="remedial_stage",
            ),
        ),
        migrations.AddConstraint(
            model_name="remedial",
            constraint=models.CheckConstraint(
                condition=models.Q(("work", ""), _negated=True), name="remedial_says_what"
            ),
        ),
        migrations.AddConstraint(
            model_name="remedial",
            constraint=models.CheckConstraint(
                condition=models.Q(("minutes__isnull", True), ("minutes__gt", 0), _connector="OR"),
                name="remedial_minutes",
            ),
        ),
        migrations.AddConstraint(
            model_name="requiredreading",
            constraint=models.UniqueConstraint(
                fields=("remedial", "circuit", "quantity"), name="required_reading_once"
            ),
        ),
        migrations.AddConstraint(
            model_name="requiredreading",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("limit_entered__isnull", True),
                    models.Q(("limit_entered__gt", 0), models.Q(("limit_source", ""), _negated=True)),
                    _connector="OR",
                ),
                name="required_reading_limit_has_source",
            ),
        ),
        migrations.AddIndex(
            model_name="waiting",
            index=models.Index(
                condition=models.Q(("ended_at__isnull", True)), fields=["chase_on"], name="waiting_to_chase"
            ),
        ),
        migrations.AddConstraint(
            model_name="waiting",
            constraint=models.CheckConstraint(
                condition=models.Q(models.Q(("on_whom", ""), _negated=True), models.Q(("for_what", ""), _negated=True)),
                name="waiting_complete",
            ),
        ),
        migrations.AddConstraint(
            model_name="waiting",
            constraint=models.CheckConstraint(
                condition=models.Q(("observation__isnull", False), ("remedial__isnull", False), _connector="OR"),
                name="waiting_of_something",
            ),
        ),
        migrations.AddConstraint(
            model_name="wayout",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("stage__in", ["declined", "cancelled", "by-others"]), models.Q(("who", ""), _negated=True)
                ),
                name="way_out_complete",
            ),
        ),
    ]
