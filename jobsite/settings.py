"""Settings of the service. Everything that differs between machines comes from the environment.

Without DATABASE_URL the embedded server below var/ is used and the site is meant for one computer;
with it, the settings are those of production: https only, and a secret that must be given.
"""

import os
from pathlib import Path
from typing import Any

import environ
from csp.constants import NONE, SELF
from django.core.exceptions import ImproperlyConfigured

from jobsite import embedded
from jobsite.secret import kept_secret, strong_secret
from jobsite.versions import static_version
from jobsite.web import metrics_part

BASE_DIR = Path(__file__).resolve().parent.parent
env = environ.Env()
VAR = Path(env.str("JOBSITE_VAR", default=str(BASE_DIR / "var")))
VAR.mkdir(parents=True, exist_ok=True)

EMBEDDED = not env.str("DATABASE_URL", default="")
DEBUG = env.bool("DEBUG", default=False)
# Plain http only where the service is not open to others, or behind a proxy that a test stands in for.
HTTPS = env.bool("HTTPS", default=not EMBEDDED)

SECRET_KEY = kept_secret(VAR / "secret") if EMBEDDED else strong_secret(env.str("SECRET_KEY", default=""))
# Former secrets: what was signed or sealed with one (alarm codes) still opens while it is named here.
SECRET_KEY_FALLBACKS = [
    strong_secret(former, name="Each of SECRET_KEY_FALLBACKS")
    for former in env.list("SECRET_KEY_FALLBACKS", default=[])
]
ALLOWED_HOSTS = env.list("ALLOWED_HOSTS", default=["localhost", "127.0.0.1"] if EMBEDDED else [])
if not EMBEDDED and not ALLOWED_HOSTS:
    raise ImproperlyConfigured("ALLOWED_HOSTS must name the host names by which the service is reached.")
CSRF_TRUSTED_ORIGINS = [f"https://{host}" for host in ALLOWED_HOSTS if HTTPS]
# `make run` leaves its address, with its port, in var/address for commands in another terminal.
KEPT_ADDRESS = (VAR / "address").read_text() if EMBEDDED and (VAR / "address").exists() else "http://localhost:8000"
SITE_ADDRESS = env.str("SITE_ADDRESS", default=KEPT_ADDRESS if EMBEDDED else f"https://{ALLOWED_HOSTS[0]}")

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django.contrib.postgres",
    "django.contrib.humanize",  # the page of allauth that lists sessions asks for it
    "django_htmx",
    "django_filters",
    "rest_framework",
    "drf_spectacular",
    "pgtrigger",
    "csp",
    "allauth",
    "allauth.account",
    "allauth.mfa",
    "allauth.usersessions",
    "jobsite.ledger",
    "jobsite.firm",
    "jobsite.messages",
    "jobsite.people",
    "jobsite.premises",
    "jobsite.running",
    "inspections",
    "remedials.works",
    "remedials.quotes",
    "remedials.visits",
    "remedials.due",
    "remedials.status",
    "remedials.desk",
]

MIDDLEWARE = [
    "jobsite.running.watching.Watched",
    # What stands in every answer, also in those of the next three: the policy, whose answer it is, how it is kept.
    "csp.middleware.CSPMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "jobsite.edge.Edge",
    "django.middleware.security.SecurityMiddleware",
    "jobsite.edge.Smaller",
    "jobsite.edge.Readable",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "allauth.account.middleware.AccountMiddleware",
    "jobsite.people.bearer.Bearer",
    "jobsite.once.Once",
]

ROOT_URLCONF = "jobsite.urls"
WSGI_APPLICATION = "jobsite.wsgi.application"
FORM_RENDERER = "jobsite.forms.Renderer"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "jobsite" / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "jobsite.pages.shell",
            ]
        },
    }
]
# Functions (user, by=, now=) of the floors above: what ends when somebody leaves the firm.
WHEN_PERSON_LEAVES = ["remedials.visits.operations.feeds.end_feeds_of"]
# Functions (site) -> sentence or "" of the floors above: why a site may not leave the lists now.
WHY_NOT_ARCHIVE = ["remedials.quotes.queries.premises.why_not_archive", "remedials.due.queries.why_not_archive"]
# Functions (site, former customer, by=, now=) -> facts for the entry, of the floors above: what ends when a site goes to
# another customer.
WHEN_SITE_CHANGES_HANDS = [
    "remedials.quotes.operations.premises.withdraw_from_former",
    "remedials.visits.operations.premises.asked_anew",
    "remedials.due.operations.leaving.not_for_another",
]
# Functions (site, by=, now=) of the floors above: what is past once an archived site is on the lists again.
WHEN_SITE_COMES_BACK = ["remedials.due.operations.leaving.came_back"]
# Functions (gone, into) of the floors above: what stands once a site or unit, before all of `gone` goes over to `into`.
WHEN_SITES_MERGE = [
    "remedials.due.operations.sweeping.between_sweeps",
    "remedials.due.operations.leaving.not_while_leaving",
    "remedials.quotes.operations.premises.at_one_site",
    "remedials.visits.operations.premises.of_one_unit",
]
# Models that hold one row a unit, which one of those functions took over already.
TAKEN_OVER_WITH_UNITS = ["visits.OccupierNote"]
# Functions (observation, now=) -> facts for the entry, of the floors above: what ends together with an observation.
WHEN_OBSERVATION_ENDS = ["remedials.works.operations.waits_no_more"]
# Functions (earlier, later, by=, now=) -> facts for the entry, of the floors above: what goes over from an observation to
# the later one that continues it.
WHEN_OBSERVATION_GOES_ON = ["remedials.works.operations.follow"]
# Functions (earlier, later, what went over, by=, now=) -> facts for the entry: what goes back when they are two after all.
WHEN_OBSERVATIONS_PART = ["remedials.works.operations.go_back"]
# Functions (units, by=, now=), of the floors above: what depends on nation, tenure, kind or tenancy is counted again.
WHEN_UNITS_CHANGE = ["inspections.operations.count_units_again"]
# Functions (copies by the key of the former, now=) -> facts: what goes over from observations to their copies in a reissue.
WHEN_REPORT_IS_REISSUED = ["remedials.works.operations.take_over"]
# Functions (paper, now=) -> Made, of the floors above: the documents of papers whose facts they keep.
DOCUMENTS_OF_PAPERS = {
    "confirmation": "remedials.works.queries.confirming.confirmation_document",
    "notice": "remedials.works.queries.notifying.notification_sheet",
}
# Models of the floors above that hold one row a unit, worked out from others: anew where two units become one.
WORKED_OUT_OF_UNITS = ["inspections.InspectionDue"]
# Function (site, user, visit=, remedial=) -> what that visit and that remedial preset where something else was found, of the
# floors above: keys, unit, board, circuit, back.
FOUND_WHILE_AT = "remedials.visits.queries.found.while_at"
# Functions (user, first, last) -> sentences, of the floors above: what is planned for somebody on days they are away.
WHEN_SOMEBODY_IS_AWAY = ["remedials.visits.queries.booking.booked_then"]
# Functions () -> names of skills that work asks for, of the floors above: so that people's skills are named alike.
SKILLS_ASKED_FOR = ["remedials.works.queries.skills.skills_asked_for"]
# Functions (remedials) -> the first day on which work may begin, by remedial: asked by visits of rooms beside it.
HELD_BACK_UNTIL = ["remedials.quotes.queries.held_back.held_back_until"]
# Functions (party) -> words, href, loud: what the floors above say of a customer on the customer's page.
PARTY_NOTES = ["remedials.due.queries.stopping.note_of"]
# Functions (request) -> sentence or "" whose sentences stand above every office page.
SHELL_BANNERS = [
    "remedials.due.queries.alone_banner",
    "remedials.due.queries.clockwork_banner",
    "remedials.due.queries.sending_banner",
    "remedials.due.queries.trouble_banner",
    "remedials.due.queries.held_banner",
]

DATABASES: dict[str, dict[str, Any]]
if EMBEDDED:
    DATABASES = {
        "default": {
            "ENGINE": "django.db.backends.postgresql",
            "HOST": str(embedded.start(VAR / "postgres")),
            "USER": "postgres",
            "NAME": "postgres",
            "ATOMIC_REQUESTS": False,
        }
    }
else:
    DATABASES = {"default": env.db("DATABASE_URL")}
DATABASES["default"]["CONN_MAX_AGE"] = 3600  # seconds: each keeps the plans of its heavy statements (`kept_plans`)
# Each trigger asks whether it is to be passed over; unanswered, that question costs an exception a row. And statements
# that take some milliseconds are not worth being compiled first (`jit`), which takes hundreds, nor being shared among
# processes of the database, of which there are as many as people who ask. What is prepared (`kept_plans`, and what triggers ask,
# all of it by keys) is planned once for all its values.
DATABASE_OPTIONS = DATABASES["default"].setdefault("OPTIONS", {})
FOR_EACH_CONNECTION = (
    "-c pgtrigger.ignore={} -c jit=off -c max_parallel_workers_per_gather=0 -c plan_cache_mode=force_generic_plan"
)
DATABASE_OPTIONS["options"] = f"{DATABASE_OPTIONS.get('options', '')} {FOR_EACH_CONNECTION}".strip()
DATABASES["default"]["CONN_HEALTH_CHECKS"] = True
# What each thread of a web server does before it takes requests (`jobsite.warming`).
BEFORE_REQUESTS = ["remedials.desk.queries.warming.plan_pages"]
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

REDIS_URL = env.str("REDIS_URL", default="")
CACHES = {
    "default": (
        {
            "BACKEND": "jobsite.counting.RedisOrTable",
            "LOCATION": REDIS_URL,
            "OPTIONS": {"socket_connect_timeout": 2, "socket_timeout": 2},  # seconds; then the table is asked
        }
        if REDIS_URL
        else {"BACKEND": "jobsite.counting.CountingCache", "LOCATION": "cache", "OPTIONS": {"MAX_ENTRIES": 20_000}}
    )
}

AUTH_USER_MODEL = "people.User"
AUTHENTICATION_BACKENDS = ["jobsite.people.backend.WithFirm"]
PASSWORD_HASHERS = ["django.contrib.auth.hashers.Argon2PasswordHasher"]
AUTH_PASSWORD_VALIDATORS = [
    {
        "NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator",
        "OPTIONS": {"user_attributes": ["email", "name"]},
    },
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 15}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "jobsite.people.signin.passwords.NotKnownToOthers"},
    {"NAME": "jobsite.people.signin.passwords.NotAboutUs"},
]
SESSION_ENGINE = "jobsite.people.signin.sessions"  # ends a session by the limits of jobsite.people.signin.limits
SESSION_COOKIE_AGE = 30 * 24 * 3600  # the longest of those limits; the shorter ones are kept on the server
PASSWORD_RESET_TIMEOUT = 3600  # seconds; invitations, which set a first password: limits.INVITATION
LOGIN_REDIRECT_URL = "/"
LOGIN_URL = "account_login"
ACCOUNT_ADAPTER = "jobsite.people.signin.adapter.Door"
ACCOUNT_USER_MODEL_USERNAME_FIELD = None
ACCOUNT_LOGIN_METHODS = {"email"}
ACCOUNT_SIGNUP_FIELDS = ["email*", "password1*"]
ACCOUNT_EMAIL_VERIFICATION = "none"
ACCOUNT_LOGOUT_REDIRECT_URL = "/accounts/login/"
ACCOUNT_SESSION_REMEMBER = True
ACCOUNT_PASSWORD_RESET_TOKEN_GENERATOR = "jobsite.people.signin.reset_links.LinkTokens"  # noqa: S105 - a class
ACCOUNT_EMAIL_NOTIFICATIONS = True
ACCOUNT_EMAIL_UNKNOWN_ACCOUNTS = False  # nobody is written to who has no account here
ACCOUNT_REAUTHENTICATION_REQUIRED = MFA_REAUTHENTICATION_REQUIRED = True
ACCOUNT_REAUTHENTICATION_TIMEOUT = 300
# The first is of accounts on devices that never signed in (jobsite.people.signin.tries). An office stands behind one address:
# what is only counted by address must not shut it out.
ACCOUNT_RATE_LIMITS = {"login_failed": "10/m/ip,5/300s/key", "login": "120/m/ip"}
ACCOUNT_FORMS = {
    "login": "jobsite.people.signin.forms.SignInForm",
    "change_password": "jobsite.people.signin.forms.OtherPasswordForm",
    "reset_password": "jobsite.people.signin.forms.ForgottenForm",
    "reset_password_from_key": "jobsite.people.signin.forms.PasswordByLinkForm",
    "reauthenticate": "jobsite.people.signin.forms.PasswordAgainForm",
}
MFA_ADAPTER = "jobsite.people.signin.means.SecondStep"
MFA_FORMS = {
    "activate_totp": "jobsite.people.signin.forms.SetUpAppForm",
    "authenticate": "jobsite.people.signin.forms.CodeForm",
    "reauthenticate": "jobsite.people.signin.forms.CodeAgainForm",
    "reauthenticate_webauthn": "jobsite.people.signin.forms.PasskeyAgainForm",
    "add_webauthn": "jobsite.people.signin.forms.NewPasskeyForm",
}
MFA_TOTP_TOLERANCE = 0
MFA_RATE_LIMITS = {"webauthn_login": "60/m/ip"}
MFA_WEBAUTHN_USER_VERIFICATION = "required"  # the device asks for a finger, a face or a PIN
MFA_SUPPORTED_TYPES = ["totp", "webauthn", "recovery_codes"]
MFA_PASSKEY_LOGIN_ENABLED = True
MFA_WEBAUTHN_ALLOW_INSECURE_ORIGIN = EMBEDDED
# How many proxies of our own stand in front: so many entries at the end of X-Forwarded-For are believed, and no other.
TRUSTED_PROXIES = ALLAUTH_TRUSTED_PROXY_COUNT = env.int("TRUSTED_PROXIES", default=0)

LANGUAGE_CODE = "en-gb"
USE_I18N = False
USE_TZ = True
TIME_ZONE = "Europe/London"

# Every address of a script or style names the version of them all: a page kept on a phone never meets another's scripts.
STATIC_VERSION = static_version(BASE_DIR)
STATIC_URL = f"/static/{STATIC_VERSION}/"
STATICFILES_DIRS = [BASE_DIR / "jobsite" / "static"]
STATIC_ROOT = VAR / "static"
STATIC_ROOT.mkdir(exist_ok=True)
WHITENOISE_USE_FINDERS = EMBEDDED
WHITENOISE_ALLOW_ALL_ORIGINS = False  # pages of others have no use for our scripts
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage", "OPTIONS": {"location": VAR / "files"}},
    "staticfiles": {
        "BACKEND": (
            "django.contrib.staticfiles.storage.StaticFilesStorage"
            if EMBEDDED
            else "whitenoise.storage.CompressedManifestStaticFilesStorage"
        )
    },
}
DATA_UPLOAD_MAX_MEMORY_SIZE = 5 * 1024 * 1024
DATA_UPLOAD_MAX_NUMBER_FIELDS = 3000
FILE_UPLOAD_MAX_MEMORY_SIZE = 2 * 1024 * 1024

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "script-src": [SELF],
        "style-src": [SELF],
        "img-src": [SELF, "blob:", "data:"],
        "font-src": [SELF],
        "connect-src": [SELF],
        "form-action": [SELF],
        "base-uri": [NONE],
        "object-src": [NONE],
        "frame-ancestors": [NONE],
        "manifest-src": [SELF],
        "worker-src": [SELF],
    }
}
X_FRAME_OPTIONS = "DENY"
SECURE_REFERRER_POLICY = "same-origin"
SECURE_CROSS_ORIGIN_OPENER_POLICY = "same-origin"
# A name that begins so is taken by a browser only with Secure, for every path and from this host (RFC 6265bis, 4.1.3.2): no
# neighbour below the same domain can put a cookie of its own in its place.
COOKIE_OF_HOST = "__Host-" if HTTPS else ""
SESSION_COOKIE_NAME, CSRF_COOKIE_NAME = f"{COOKIE_OF_HOST}sessionid", f"{COOKIE_OF_HOST}csrftoken"
MESSAGE_STORAGE = "jobsite.said.Said"
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
CSRF_COOKIE_HTTPONLY = False  # the htmx requests and the phone's outbox read it
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SECURE_SSL_REDIRECT = HTTPS
if HTTPS:
    SECURE_HSTS_SECONDS = 31_536_000
    SECURE_HSTS_INCLUDE_SUBDOMAINS = True
    SECURE_HSTS_PRELOAD = True
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if ALLAUTH_TRUSTED_PROXY_COUNT else None

EMAIL_URL = env.str("EMAIL_URL", default="")
if EMAIL_URL:
    vars().update(env.email("EMAIL_URL"))
else:
    EMAIL_BACKEND = "django.core.mail.backends.filebased.EmailBackend"
    EMAIL_FILE_PATH = str(VAR / "mail")
EMAIL_TIMEOUT = env.int("MAIL_TIMEOUT", default=10)  # seconds for the connection and for each answer of the mail server
# Seconds for its answer to a whole mail: who gives up earlier than the server never knows whether it was taken (RFC 5321,
# 4.5.3.2.6, even asks for ten minutes; a task that sends ends sooner).
MAIL_ANSWER_TIMEOUT = env.int("MAIL_ANSWER_TIMEOUT", default=60)
DEFAULT_FROM_EMAIL = env.str("FROM_EMAIL", default="office@example.com")
# Where mail servers send what they cannot deliver; what arrives there goes to `manage.py take_returned`.
RETURN_EMAIL = env.str("RETURN_EMAIL", default="")

# What the service tells of itself. The numbers of all its processes meet below one folder, which `make run` empties: each
# process has files named by its number there, so where processes have numbers of their own apart (in containers) each of those
# names a part of the folder, empties it when it starts, and all share the whole.
METRICS_TOKEN = env.str("METRICS_TOKEN", default="")
if METRICS_TOKEN:
    METRICS_TOKEN = strong_secret(METRICS_TOKEN, name="METRICS_TOKEN", least=24)
METRICS_FOLDER = VAR / "metrics"
os.environ["PROMETHEUS_MULTIPROC_DIR"] = str(METRICS_FOLDER / metrics_part())
Path(os.environ["PROMETHEUS_MULTIPROC_DIR"]).mkdir(parents=True, exist_ok=True)
SLOW_STATEMENT_MS = env.int("SLOW_STATEMENT_MS", default=500)
# Probes come past the proxy, by plain http; nothing of these says anything without its token. The API is not redirected but
# refused (jobsite.edge.Readable).
SECURE_REDIRECT_EXEMPT = [r"^health/$", r"^ready/$", r"^metrics/$", r"^api/"]

# Requests to the API a minute that one person or token may make; from one address five times as many. 0: not counted.
API_REQUESTS_A_MINUTE = env.int("API_REQUESTS_A_MINUTE", default=600)
REST_FRAMEWORK = {
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_PARSER_CLASSES": ["jobsite.api.parsing.CleanJSONParser"],
    "DEFAULT_AUTHENTICATION_CLASSES": [
        "jobsite.people.bearer.ByToken",
        "rest_framework.authentication.SessionAuthentication",
    ],
    "DEFAULT_PERMISSION_CLASSES": ["rest_framework.permissions.IsAuthenticated"],
    "DEFAULT_SCHEMA_CLASS": "jobsite.api.describing.Described",
    "EXCEPTION_HANDLER": "jobsite.api.problems.problem",
    "DEFAULT_PAGINATION_CLASS": "jobsite.api.keyset.KeysetPages",
    "PAGE_SIZE": 50,
    "COERCE_DECIMAL_TO_STRING": True,
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Sites, observations and remedials",
    "VERSION": "1",
    "OAS_VERSION": "3.1.0",
    "SERVE_INCLUDE_SCHEMA": False,
    "POSTPROCESSING_HOOKS": [
        "drf_spectacular.hooks.postprocess_schema_enums",
        "jobsite.api.describing.finish",
        "remedials.desk.api.linking.lead_on",
    ],
    "SERVE_PERMISSIONS": ["rest_framework.permissions.IsAuthenticated"],
    # Choices of several kinds of row that are called alike.
    "ENUM_NAME_OVERRIDES": {
        "InstrumentCheckKindEnum": "jobsite.people.models.InstrumentCheck.Kind",
        "RoleEnum": "remedials.desk.api.people.nouns.ROLES",
        "VisitStateEnum": "remedials.visits.models.visits.Visit.State",
        "AttemptHowEnum": "remedials.visits.choices.AttemptHow",
        "AskedHowEnum": "remedials.visits.choices.AskedHow",
        "AnsweredEnum": "remedials.visits.choices.Answered",
        "SeeToKindEnum": "remedials.visits.choices.SeeToKind",
        "SeverityEnum": "remedials.desk.api.visits.terms.SEVERITIES",
        "ProofDecisionEnum": "remedials.works.models.ProofReview.Decision",
        "RecallDecisionEnum": "remedials.works.models.RecallDecision.Decision",
        "PowerStepKindEnum": "remedials.works.models.PowerStep.Kind",
        "OfferStateEnum": "remedials.desk.api.quotes.quotes.STATES",
        "AnsweredHowEnum": "remedials.quotes.choices.AnsweredHow",
        "HeardHowEnum": "remedials.desk.api.quotes.going_out.HEARD",
        "SentHowEnum": "remedials.quotes.choices.SentHow",
        "LineSaysEnum": "remedials.quotes.choices.Says",
        "SaidToLineEnum": "remedials.desk.api.quotes.going_out.ANSWERS",
        "LeavingWhyEnum": "remedials.due.models.Leaving.Why",
        "ErasedWhyEnum": "remedials.status.privacy.forms.WHY_ERASED",
        "AsLinesEnum": "remedials.desk.api.quotes.building.HOW",
        "ItemKindEnum": "remedials.works.choices.ItemKind",
        "LineKindEnum": "remedials.quotes.choices.LineKind",
        "NationEnum": "jobsite.premises.choices.Nation",
        "TenureEnum": "jobsite.premises.choices.Tenure",
        "PremisesKindEnum": "jobsite.premises.choices.PremisesKind",
        "EarthingEnum": "jobsite.premises.choices.Earthing",
        "SwitchKindEnum": "jobsite.premises.choices.SwitchKind",
        "PhaseEnum": "jobsite.premises.choices.Phase",
        "DeviceStandardEnum": "jobsite.premises.choices.DeviceStandard",
        "RcdKindEnum": "jobsite.premises.choices.RcdKind",
        "ArrangementEnum": "jobsite.premises.choices.Arrangement",
        "HowVerifiedEnum": "jobsite.premises.choices.HowVerified",
        "RoleAtUnitEnum": "jobsite.premises.choices.RoleAtUnit",
        "FeedKindEnum": "jobsite.premises.choices.FeedKind",
        "SeenStateEnum": "jobsite.premises.choices.SeenState",
        "CircuitLinkKindEnum": "jobsite.premises.choices.LinkKind",
        "SourceKindEnum": "jobsite.premises.choices.SourceKind",
        "BoardDocumentKindEnum": "jobsite.premises.choices.DocumentKind",
        "CodeEnum": "inspections.choices.Code",
        "CodeDecisionEnum": "inspections.choices.Decision",
        "InspectionKindEnum": "inspections.choices.InspectionKind",
        "InspectionStateEnum": "inspections.choices.InspectionState",
        "IntakeKindEnum": "inspections.choices.IntakeKind",
        "IntakeStateEnum": "inspections.choices.IntakeState",
        "AssessmentWrittenEnum": "inspections.choices.Outcome",
        "NoticeAnswerEnum": "inspections.choices.NoticeAnswer",
        "NoticeHowEnum": "inspections.choices.NoticeHow",
        "PaperAnswerEnum": "inspections.choices.PaperAnswer",
        "StillThereEnum": "inspections.choices.StillThere",
        "SupplyHowEnum": "inspections.choices.SupplyHow",
        "SupplyCameEnum": "inspections.choices.SupplyCame",
        "MadeSafeHowEnum": "inspections.choices.MadeSafeHow",
        "MadeSafeEndEnum": "inspections.choices.MadeSafeEnd",
        "ObservationEndedEnum": "inspections.choices.Ended",
    },
}

# "json": a line of JSON for each thing, and one for each request; "plain": for a person at a terminal.
LOG_FORMAT = env.str("LOG_FORMAT", default="plain" if EMBEDDED else "json")
if LOG_FORMAT not in ("json", "plain"):
    raise ImproperlyConfigured("LOG_FORMAT must be json or plain.")
# Every line passes the filter that hides the tokens of private links; Django's own handlers would not.
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "filters": {"hide_tokens": {"()": "jobsite.logs.HideTokens"}},
    "formatters": {"json": {"()": "jobsite.logs.JsonLines"}, "plain": {"format": "%(message)s"}},
    "handlers": {
        "stderr": {"class": "logging.StreamHandler", "filters": ["hide_tokens"], "formatter": LOG_FORMAT},
    },
    "root": {"handlers": ["stderr"], "level": "WARNING"},
    "loggers": {
        "django": {"handlers": [], "level": "WARNING"},
        "jobsite.requests": {"level": "INFO" if LOG_FORMAT == "json" else "WARNING"},
        "django.server": {"handlers": ["stderr"], "level": "INFO", "propagate": False},
    },
}
