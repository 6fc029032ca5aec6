import django.db.models.deletion
import jobsite.ids
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    initial = True

    dependencies = [
        ("firm", "0001_start"),
        ("ledger", "0001_start"),
        ("people", "0001_start"),
        ("premises", "0001_start"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="Inspection",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("number", models.BigIntegerField(unique=True)),
                (
                    "kind",
                    models.TextField(
                        choices=[
                            ("periodic", "periodic inspection"),
                            ("initial", "initial verification"),
                            ("survey", "visual survey"),
                            ("call-out", "call-out"),
                        ],
                        default="periodic",
                    ),
                ),
                ("other_firm", models.BooleanField(default=False)),
                ("inspected_on", models.DateField()),
                (
                    "edition",
                    models.TextField(
                        help_text="Edition and amendment of the standard: a value of standards.editions.Edition."
                    ),
                ),
                ("inspector_name", models.TextField(blank=True, default="")),
                ("firm_name", models.TextField(blank=True, default="")),
                ("qualified_person_name", models.TextField(blank=True, default="")),
                ("reference", models.TextField(blank=True, default="")),
                ("extent", models.TextField(blank=True, default="")),
                (
                    "next_due_on",
                    models.DateField(
                        blank=True, help_text="The date for the next inspection it recommends.", null=True
                    ),
                ),
                (
                    "remedy_limit_days",
                    models.IntegerField(blank=True, help_text="A limit written in the report itself.", null=True),
                ),
                (
                    "outcome_written",
                    models.TextField(
                        blank=True,
                        choices=[
                            ("satisfactory", "satisfactory"),
                            ("unsatisfactory", "unsatisfactory"),
                            ("", "not stated"),
                        ],
                        default="",
                    ),
                ),
                (
                    "state",
                    models.TextField(
                        choices=[
                            ("draft", "being written"),
                            ("issued", "issued"),
                            ("replaced", "replaced by a reissue"),
                        ],
                        default="draft",
                    ),
                ),
                ("issued_at", models.DateTimeField(null=True)),
                (
                    "outcome",
                    models.TextField(
                        blank=True,
                        choices=[
                            ("satisfactory", "satisfactory"),
                            ("unsatisfactory", "unsatisfactory"),
                            ("", "not stated"),
                        ],
                        default="",
                        help_text="By the rule of its edition, at issue.",
                    ),
                ),
                ("outcome_basis", models.TextField(blank=True, default="")),
                ("file_name", models.TextField(blank=True, default="")),
                ("recorded_at", models.DateTimeField()),
                ("version", models.IntegerField(default=1)),
                ("boards", models.ManyToManyField(blank=True, related_name="inspections", to="premises.board")),
                (
                    "file",
                    models.ForeignKey(
                        null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="ledger.storedfile"
                    ),
                ),
                (
                    "inspector",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "issued_by",
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
                    "replaces",
                    models.OneToOneField(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="replaced_by",
                        to="inspections.inspection",
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="inspections", to="premises.site"
                    ),
                ),
                ("units", models.ManyToManyField(related_name="inspections", to="premises.unit")),
            ],
        ),
        migrations.CreateModel(
            name="InspectionDue",
            fields=[
                (
                    "unit",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.CASCADE,
                        primary_key=True,
                        related_name="inspection_due",
                        serialize=False,
                        to="premises.unit",
                    ),
                ),
                ("due_on", models.DateField()),
                ("basis", models.TextField()),
                ("by_law", models.BooleanField(default=False)),
                ("shows_from", models.DateField(help_text="From this day it stands in the due list.")),
                (
                    "after",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to="inspections.inspection",
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
            ],
        ),
        migrations.CreateModel(
            name="Intake",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                (
                    "kind",
                    models.TextField(
                        choices=[("boards", "boards and circuits"), ("report", "observations of an earlier report")]
                    ),
                ),
                ("file_name", models.TextField()),
                ("header", models.JSONField(default=dict)),
                (
                    "state",
                    models.TextField(
                        choices=[
                            ("received", "received, being read"),
                            ("read", "read, to be looked over"),
                            ("unreadable", "could not be read"),
                            ("taken-in", "taken in"),
                            ("set-aside", "set aside"),
                        ],
                        default="received",
                    ),
                ),
                ("found", models.JSONField(default=dict)),
                ("left_out", models.JSONField(default=dict)),
                ("uploaded_at", models.DateTimeField()),
                ("taken_in_at", models.DateTimeField(null=True)),
                (
                    "file",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="ledger.storedfile"
                    ),
                ),
                (
                    "inspection",
                    models.OneToOneField(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="intake",
                        to="inspections.inspection",
                    ),
                ),
                (
                    "progress",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="firm.progress"
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="intakes", to="premises.site"
                    ),
                ),
                (
                    "unit",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="premises.unit"
                    ),
                ),
                (
                    "uploaded_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Limitation",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("what", models.TextField()),
                ("why", models.TextField(blank=True, default="")),
                ("agreed_with", models.TextField(blank=True, default="")),
                (
                    "board",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="limitations",
                        to="premises.board",
                    ),
                ),
                (
                    "covered_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="covers",
                        to="inspections.inspection",
                    ),
                ),
                (
                    "inspection",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="limitations",
                        to="inspections.inspection",
                    ),
                ),
                (
                    "unit",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="limitations",
                        to="premises.unit",
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Observation",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("number", models.BigIntegerField(unique=True)),
                ("place", models.TextField(blank=True, default="")),
                ("item", models.TextField(blank=True, default="", help_text="Its number in the report.")),
                ("text", models.TextField()),
                ("code_written", models.TextField(blank=True, default="")),
                (
                    "code",
                    models.TextField(
                        blank=True,
                        choices=[
                            ("C1", "danger present"),
                            ("C2", "potentially dangerous"),
                            ("FI", "further investigation required without delay"),
                            ("C3", "improvement recommended"),
                        ],
                        default="",
                    ),
                ),
                ("draft", models.BooleanField(default=False)),
                (
                    "reviewed",
                    models.BooleanField(default=False, help_text="A qualified person of ours has decided on its code."),
                ),
                ("recorded_on", models.DateField()),
                ("first_recorded_on", models.DateField()),
                ("recorded_at", models.DateTimeField()),
                (
                    "reported_by",
                    models.TextField(blank=True, default="", help_text="Who rang, where no inspection found it."),
                ),
                ("make_safe_by", models.DateField(null=True)),
                ("remedy_by", models.DateField(null=True)),
                ("remedy_basis", models.TextField(blank=True, default="")),
                ("remedy_by_law", models.BooleanField(default=False)),
                (
                    "made_safe",
                    models.BooleanField(default=False, help_text="A made-safe stands now; the defect is still open."),
                ),
                ("step_by", models.DateField(blank=True, null=True)),
                (
                    "ended",
                    models.TextField(
                        blank=True,
                        choices=[
                            ("", "open"),
                            ("remedied", "remedied"),
                            ("no-code", "needs no code"),
                            ("finding", "the investigation ended in a finding"),
                            ("others", "done by others"),
                            ("continued", "continued by a later observation"),
                            ("withdrawn", "withdrawn"),
                        ],
                        default="",
                    ),
                ),
                ("ended_on", models.DateField(null=True)),
                ("ended_reason", models.TextField(blank=True, default="")),
                ("version", models.IntegerField(default=1)),
                (
                    "board",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="observations",
                        to="premises.board",
                    ),
                ),
                (
                    "circuit",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="observations",
                        to="premises.circuit",
                    ),
                ),
                (
                    "continues",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="continued_by",
                        to="inspections.observation",
                    ),
                ),
                (
                    "inspection",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="observations",
                        to="inspections.inspection",
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
                    "recorded_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="observations", to="premises.site"
                    ),
                ),
                (
                    "unit",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="observations", to="premises.unit"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="MadeSafe",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                (
                    "how",
                    models.TextField(
                        choices=[
                            ("locked", "isolated and locked"),
                            ("covered", "covered"),
                            ("disconnected", "disconnected"),
                        ]
                    ),
                ),
                ("what", models.TextField()),
                ("agreed_with", models.TextField()),
                ("lock", models.TextField(blank=True, default="")),
                ("key_holder", models.TextField(blank=True, default="")),
                ("at", models.DateTimeField()),
                ("look_again_on", models.DateField()),
                (
                    "ended",
                    models.TextField(
                        blank=True,
                        choices=[("remedied", "remedied"), ("reconnected", "reconnected: danger present again")],
                        default="",
                    ),
                ),
                ("ended_at", models.DateTimeField(null=True)),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "looker",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "photo",
                    models.ForeignKey(
                        null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="ledger.storedfile"
                    ),
                ),
                (
                    "observation",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="made_safes",
                        to="inspections.observation",
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="DangerNotice",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("number", models.BigIntegerField(unique=True)),
                ("why", models.TextField()),
                ("advised", models.TextField()),
                ("given_to", models.TextField()),
                (
                    "how",
                    models.TextField(
                        choices=[
                            ("hand", "handed over"),
                            ("email", "by e-mail"),
                            ("left", "left at the site"),
                            ("post", "by post"),
                        ]
                    ),
                ),
                ("given_at", models.DateTimeField()),
                (
                    "answer",
                    models.TextField(
                        blank=True,
                        choices=[("acknowledged", "acknowledged"), ("refused", "refused"), ("", "no answer yet")],
                        default="",
                    ),
                ),
                ("answered_at", models.DateTimeField(null=True)),
                (
                    "given_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="danger_notices", to="premises.site"
                    ),
                ),
                ("observations", models.ManyToManyField(related_name="danger_notices", to="inspections.observation")),
            ],
        ),
        migrations.CreateModel(
            name="ObservationPhoto",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("width", models.IntegerField()),
                ("height", models.IntegerField()),
                ("taken", models.TextField(blank=True, default="")),
                ("caption", models.TextField(blank=True, default="")),
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
                        on_delete=django.db.models.deletion.PROTECT, related_name="photos", to="inspections.observation"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Reading",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("quantity", models.TextField(choices=[("loop-impedance", "earth fault loop impedance")])),
                ("value", models.DecimalField(decimal_places=3, help_text="in `unit`", max_digits=10)),
                ("above_range", models.BooleanField(default=False, help_text='The instrument showed ">" this value.')),
                ("unit", models.TextField(default="Ω")),
                ("limit", models.DecimalField(decimal_places=4, help_text="exact, in `unit`", max_digits=10)),
                ("basis", models.TextField(help_text="The rule, factor, table and edition, in words.")),
                (
                    "limit_entered",
                    models.BooleanField(
                        default=False, help_text="Entered from the standard or the maker, not computed."
                    ),
                ),
                (
                    "verdict",
                    models.TextField(choices=[("pass", "pass"), ("warning", "pass with a warning"), ("fail", "fail")]),
                ),
                ("instrument_in_check", models.BooleanField()),
                ("taken_at", models.DateTimeField()),
                (
                    "circuit",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="readings", to="premises.circuit"
                    ),
                ),
                (
                    "instrument",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="readings", to="people.instrument"
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="readings", to="premises.site"
                    ),
                ),
                (
                    "taken_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Review",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                (
                    "decision",
                    models.TextField(
                        choices=[
                            ("agree", "agrees"),
                            ("recode", "recodes"),
                            ("no-code", "finds that it deserves no code"),
                        ]
                    ),
                ),
                (
                    "code_before",
                    models.TextField(
                        blank=True,
                        choices=[
                            ("C1", "danger present"),
                            ("C2", "potentially dangerous"),
                            ("FI", "further investigation required without delay"),
                            ("C3", "improvement recommended"),
                        ],
                        default="",
                    ),
                ),
                (
                    "code",
                    models.TextField(
                        blank=True,
                        choices=[
                            ("C1", "danger present"),
                            ("C2", "potentially dangerous"),
                            ("FI", "further investigation required without delay"),
                            ("C3", "improvement recommended"),
                        ],
                        default="",
                    ),
                ),
                ("reason", models.TextField()),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "observation",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="reviews",
                        to="inspections.observation",
                    ),
                ),
            ],
        ),
        migrations.AddIndex(
            model_name="inspection",
            index=models.Index(fields=["site", "-inspected_on"], name="inspection_of_site"),
        ),
        migrations.AddConstraint(
            model_name="inspection",
            constraint=models.CheckConstraint(
                condition=models.Q(("kind__in", ["periodic", "initial", "survey", "call-out"])), name="inspection_kind"
            ),
        ),
        migrations.AddConstraint(
            model_name="inspection",
            constraint=models.CheckConstraint(
                condition=models.Q(("state__in", ["draft", "issued", "replaced"])), name="inspection_state"
            ),
        ),
        migrations.AddConstraint(
            model_name="inspection",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("state", "draft"),
                    models.Q(("issued_at__isnull", False), ("outcome__in", ["satisfactory", "unsatisfactory"])),
                    _connector="OR",
                ),
                name="inspection_issued_has_outcome",
            ),
        ),
        migrations.AddConstraint(
            model_name="inspection",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("next_due_on__isnull", True), ("next_due_on__gt", models.F("inspected_on")), _connector="OR"
                ),
                name="inspection_next_is_later",
            ),
        ),
        migrations.AddConstraint(
            model_name="intake",
            constraint=models.CheckConstraint(
                condition=models.Q(("state__in", ["received", "read", "unreadable", "taken-in", "set-aside"])),
                name="intake_state",
            ),
        ),
        migrations.AddConstraint(
            model_name="intake",
            constraint=models.UniqueConstraint(
                condition=models.Q(("state", "taken-in")), fields=("site", "kind", "file"), name="intake_same_file_once"
            ),
        ),
        migrations.AddConstraint(
            model_name="limitation",
            constraint=models.CheckConstraint(
                condition=models.Q(("what", ""), _negated=True), name="limitation_says_what"
            ),
        ),
        migrations.AddIndex(
            model_name="observation",
            index=models.Index(condition=models.Q(("ended", "")), fields=["site"], name="observation_open_at_site"),
        ),
        migrations.AddIndex(
            model_name="observation",
            index=models.Index(fields=["inspection"], name="observation_of_inspection"),
        ),
        migrations.AddIndex(
            model_name="observation",
            index=models.Index(condition=models.Q(("ended", "")), fields=["board"], name="observation_open_at_board"),
        ),
        migrations.AddConstraint(
            model_name="observation",
            constraint=models.CheckConstraint(
                condition=models.Q(("code__in", ["", "C1", "C2", "FI", "C3"])), name="observation_code"
            ),
        ),
        migrations.AddConstraint(
            model_name="observation",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("ended__in", ["", "remedied", "no-code", "finding", "others", "continued", "withdrawn"])
                ),
                name="observation_ended",
            ),
        ),
        migrations.AddConstraint(
            model_name="observation",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("ended", ""), ("ended_on__isnull", True)),
                    models.Q(models.Q(("ended", ""), _negated=True), ("ended_on__isnull", False)),
                    _connector="OR",
                ),
                name="observation_ended_has_date",
            ),
        ),
        migrations.AddConstraint(
            model_name="observation",
            constraint=models.CheckConstraint(
                condition=models.Q(("text", ""), _negated=True), name="observation_says_something"
            ),
        ),
        migrations.AddConstraint(
            model_name="observation",
            constraint=models.CheckConstraint(
                condition=models.Q(("first_recorded_on__lte", models.F("recorded_on"))),
                name="observation_age_runs_from_first",
            ),
        ),
        migrations.AddConstraint(
            model_name="madesafe",
            constraint=models.UniqueConstraint(
                condition=models.Q(("ended", "")), fields=("observation",), name="made_safe_one_stands"
            ),
        ),
        migrations.AddConstraint(
            model_name="madesafe",
            constraint=models.CheckConstraint(
                condition=models.Q(("agreed_with", ""), _negated=True), name="made_safe_agreed_with"
            ),
        ),
        migrations.AddConstraint(
            model_name="madesafe",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("how", "locked"), _negated=True),
                    models.Q(("key_holder", ""), _negated=True),
                    _connector="OR",
                ),
                name="made_safe_key_holder",
            ),
        ),
        migrations.AddConstraint(
            model_name="madesafe",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("ended", ""), ("ended_at__isnull", True)),
                    models.Q(models.Q(("ended", ""), _negated=True), ("ended_at__isnull", False)),
                    _connector="OR",
                ),
                name="made_safe_ended_when",
            ),
        ),
        migrations.AddConstraint(
            model_name="dangernotice",
            constraint=models.CheckConstraint(
                condition=models.Q(models.Q(("given_to", ""), _negated=True), models.Q(("advised", ""), _negated=True)),
                name="danger_notice_complete",
            ),
        ),
        migrations.AddConstraint(
            model_name="dangernotice",
            constraint=models.CheckConstraint(
                condition=models.Q(("answer", ""), ("answered_at__gte", models.F("given_at")), _connector="OR"),
                name="danger_notice_answer",
            ),
        ),
        migrations.AddConstraint(
            model_name="observationphoto",
            constraint=models.UniqueConstraint(fields=("observation", "file"), name="observation_photo_once"),
        ),
        migrations.AddIndex(
            model_name="reading",
            index=models.Index(fields=["circuit", "-taken_at"], name="reading_of_circuit"),
        ),
        migrations.AddConstraint(
            model_name="reading",
            constraint=models.CheckConstraint(
                condition=models.Q(("value__gte", 0), ("limit__gt", 0)), name="reading_positive"
            ),
        ),
        migrations.AddConstraint(
            model_name="reading",
            constraint=models.CheckConstraint(
                condition=models.Q(("verdict__in", ["pass", "warning", "fail"])), name="reading_verdict"
            ),
        ),
        migrations.AddIndex(
            model_name="review",
            index=models.Index(fields=["observation", "-at"], name="review_of_observation"),
        ),
        migrations.AddConstraint(
            model_name="review",
            constraint=models.CheckConstraint(
                condition=models.Q(("decision__in", ["agree", "recode", "no-code"])), name="review_decision"
            ),
        ),
        migrations.AddConstraint(
            model_name="review",
            constraint=models.CheckConstraint(
                condition=models.Q(("code__in", ["", "C1", "C2", "FI", "C3"])), name="review_code"
            ),
        ),
        migrations.AddConstraint(
            model_name="review",
            constraint=models.CheckConstraint(
                condition=models.Q(("decision", "agree"), models.Q(("reason", ""), _negated=True), _connector="OR"),
                name="review_says_why",
            ),
        ),
    ]
