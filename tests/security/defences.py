"""Each test that ASVS.md names, with a way of taking away the defence that it stands for. `taken_away.py` says how it is run."""

# ruff: noqa: ARG005  what stands in the place of a defence takes what that took

import re
from dataclasses import dataclass
from datetime import timedelta
from typing import Any
from urllib.request import HTTPRedirectHandler

from django.forms.widgets import Input

from jobsite.edge import METHODS
from tests.security.taken_away import Way, code, constraint, setting, text, thing, trigger

HERE = "tests/security/"
SETTINGS = "jobsite/settings.py"
ANY_PY, ANY_HTML, ANY_JS = "jobsite/words.py", "jobsite/templates/plain.html", "jobsite/static/jobsite/keep.js"


class Unauthenticated:
    """A cipher in the place of AES-GCM that hides nothing and notices nothing."""

    def __init__(self, key: bytes) -> None:
        self.key = key

    def encrypt(self, nonce: bytes, said: bytes, beside: bytes) -> bytes:
        return said + bytes(16)

    def decrypt(self, nonce: bytes, kept: bytes, beside: bytes) -> bytes:
        return kept[:-16]


def any_session(store: Any) -> Any:
    """Whatever key is shown, a session that there is."""
    return store.model.objects.first()


def not_to_be_filled(widget: Any, name: str, _value: Any, attrs: Any) -> dict[str, Any]:
    """What a field for a password is drawn from, closed to managers of passwords."""
    return Input.get_context(widget, name, None, {**(attrs or {}), "autocomplete": "off"})


def shown_as_typed(widget: Any, name: str, _value: Any, attrs: Any) -> dict[str, Any]:
    """What a field for a password is drawn from, with what is typed to be read by whoever looks."""
    drawn = Input.get_context(widget, name, None, attrs)
    drawn["widget"]["type"] = "text"
    return drawn


@dataclass
class Priced:
    """What a page of customers is given holds a cost."""

    cost_pence: int


def source(test: str, line: str, file: str = ANY_PY) -> tuple[str, Way]:
    """A scan of the sources: it must hear the line that is put at the end of a file."""
    return f"{HERE}test_sources.py::{test}", text(file, "", f"\n{line}\n")


HEADERS, REQUESTS, UPLOADS = f"{HERE}test_headers.py::", f"{HERE}test_requests.py::", f"{HERE}test_uploads.py::"
SAID, IN_SETTINGS, PASSWORDS = f"{HERE}test_said.py::", f"{HERE}test_settings.py::", f"{HERE}test_passwords.py::"
KINDS, COOKIES = f"{HEADERS}test_of_every_kind_of_answer", f"{HEADERS}test_cookies_are_of_this_host_by_https_alone"
SESSION = "django.contrib.sessions.backends.base.SessionBase"

SOURCES: list[tuple[str, Way]] = [
    source("test_nothing_that_came_in_is_run_as_a_program", "eval(words)"),
    source("test_no_shell_is_started", 'os.system(f"convert {name}")'),
    source("test_nothing_is_unpacked_into_objects_but_our_own_counters", "pickle.loads(sent)"),
    source("test_markup_is_called_safe_only_where_it_is_ours", "mark_safe(name)"),
    source("test_markup_is_called_safe_only_where_it_is_ours", "{{ name|safe }}", ANY_HTML),
    source("test_attributes_are_quoted", "<p title={{ name }}>", ANY_HTML),
    source("test_sql_by_hand_is_where_it_is_known", "Site.objects.raw(words)"),
    source("test_scripts_write_text_as_text", "row.innerHTML = name;", ANY_JS),
    source("test_scripts_take_messages_from_our_own_pages_alone", 'window.addEventListener("message", take);', ANY_JS),
    source("test_scripts_reach_no_prototype", "kept.__proto__.name = name;", ANY_JS),
    source(
        "test_nothing_is_fetched_from_another_machine", '<script src="https://cdn.example.net/a.js"></script>', ANY_HTML
    ),
    source("test_the_program_speaks_to_few_others", "import urllib.request"),
    source("test_chance_that_matters_comes_from_the_system", "import random"),
    source("test_no_broken_hash_or_cipher_is_used", "hashlib.md5(token)"),
    source("test_no_template_is_made_of_words_from_outside", "Template(words)"),
    source("test_no_field_takes_whatever_is_sent", 'fields = "__all__"'),
    source("test_no_word_from_outside_is_a_pattern_to_be_filled_in", "typed.format(user=user)"),
    (f"{HERE}test_sources.py::test_xml_is_read_without_entities", thing("openpyxl.xml.DEFUSEDXML", False)),
    (
        f"{HERE}test_sources.py::test_no_secret_stands_in_what_is_handed_on",
        text("Dockerfile", "", "\nENV SECRET_KEY=8fQz1kV0pWm3xYt7bN\n"),
    ),
    (
        f"{HERE}test_sources.py::test_what_is_private_goes_into_no_image_and_no_repository",
        text(".dockerignore", ".git\n", ""),
    ),
]

OF_SETTINGS: list[tuple[str, Way]] = [
    (
        f"{IN_SETTINGS}test_in_production[DEBUG]",
        text(SETTINGS, 'DEBUG = env.bool("DEBUG", default=False)', "DEBUG = True"),
    ),
    (
        f"{IN_SETTINGS}test_in_production[PASSWORD_HASHERS]",
        text(SETTINGS, "hashers.Argon2PasswordHasher", "hashers.MD5PasswordHasher"),
    ),
    (f"{IN_SETTINGS}test_in_production[SESSION_COOKIE_NAME]", text(SETTINGS, '"__Host-" if HTTPS else ""', '""')),
    (
        f"{IN_SETTINGS}test_in_production[SECURE_HSTS_SECONDS]",
        text(SETTINGS, "SECURE_HSTS_SECONDS = 31_536_000", "SECURE_HSTS_SECONDS = 60"),
    ),
    (
        f"{IN_SETTINGS}test_a_weak_secret_is_refused",
        text(SETTINGS, 'strong_secret(env.str("SECRET_KEY", default=""))', 'env.str("SECRET_KEY", default="")'),
    ),
    (
        f"{IN_SETTINGS}test_the_secret_comes_from_the_environment_alone",
        text(SETTINGS, 'strong_secret(env.str("SECRET_KEY", default=""))', '"kM3vQ8" * 20'),
    ),
    (
        f"{IN_SETTINGS}test_the_secret_of_one_computer_is_its_owners_alone",
        code("jobsite.secret:kept_secret", "0o600", "0o644"),
    ),
    (
        f"{IN_SETTINGS}test_without_names_of_its_own_it_does_not_start",
        text(SETTINGS, 'default=["localhost", "127.0.0.1"] if EMBEDDED else [])', "default=['*'])"),
    ),
    (
        f"{IN_SETTINGS}test_without_a_proxy_nobody_says_that_it_was_https",
        text(SETTINGS, " if ALLAUTH_TRUSTED_PROXY_COUNT else None", ""),
    ),
    (
        f"{IN_SETTINGS}test_no_tool_for_development_is_installed",
        text(SETTINGS, '    "django_htmx",\n', '    "django_htmx",\n    "debug_toolbar",\n'),
    ),
    (
        f"{IN_SETTINGS}test_tasks_and_sessions_hold_nothing_but_json",
        text(SETTINGS, "USE_TZ = True", 'USE_TZ = True\nSESSION_SERIALIZER = "x.PickleSerializer"'),
    ),
    (
        f"{IN_SETTINGS}test_every_line_of_the_logs_goes_to_standard_error_alone",
        text(SETTINGS, '"class": "logging.StreamHandler"', '"class": "logging.FileHandler"'),
    ),
    (
        f"{IN_SETTINGS}test_djangos_own_check_finds_nothing",
        text(SETTINGS, "SECURE_SSL_REDIRECT = HTTPS", "SECURE_SSL_REDIRECT = False"),
    ),
]

OF_HEADERS: list[tuple[str, Way]] = [
    (KINDS, text(SETTINGS, '        "object-src": [NONE],\n', "")),
    (KINDS, text(SETTINGS, '        "frame-ancestors": [NONE],\n', "")),
    (KINDS, text(SETTINGS, '"script-src": [SELF]', '"script-src": [SELF, "\'unsafe-inline\'"]')),
    (KINDS, text(SETTINGS, "SECURE_HSTS_INCLUDE_SUBDOMAINS = True", "SECURE_HSTS_INCLUDE_SUBDOMAINS = False")),
    (KINDS, text(SETTINGS, 'SECURE_REFERRER_POLICY = "same-origin"', 'SECURE_REFERRER_POLICY = "unsafe-url"')),
    (KINDS, setting(SECURE_CONTENT_TYPE_NOSNIFF=False)),
    (KINDS, setting(WHITENOISE_ALLOW_ALL_ORIGINS=True)),
    (KINDS, setting(DEFAULT_CHARSET="latin-1")),
    (
        f"{HEADERS}test_another_site_is_allowed_nothing",
        code(
            "jobsite.edge:Edge.__call__",
            "response[SERVICE_HEADER] = self.service",
            'response[SERVICE_HEADER] = self.service; response["Access-Control-Allow-Origin"] = "*"',
        ),
    ),
    (
        f"{HEADERS}test_a_method_that_nobody_uses_here_is_turned_away",
        thing("jobsite.edge.METHODS", (*METHODS, "TRACE", "BREW", "CONNECT")),
    ),
    (
        f"{HEADERS}test_what_the_web_server_turns_away_says_it_too",
        thing("jobsite.edge.bare_headers", lambda: [("Content-Type", "text/plain; charset=utf-8")]),
    ),
    (
        f"{HEADERS}test_people_are_led_to_https",
        text(SETTINGS, "SECURE_SSL_REDIRECT = HTTPS", "SECURE_SSL_REDIRECT = False"),
    ),
    (
        f"{HEADERS}test_a_program_is_not_led_to_https_but_refused",
        code("jobsite.edge:Readable.__call__", "settings.SECURE_SSL_REDIRECT and", "False and"),
    ),
    (
        f"{HEADERS}test_another_name_than_ours_is_no_address",
        thing("django.http.request.validate_host", lambda host, allowed: True),
    ),
    (
        COOKIES,
        text(
            SETTINGS,
            "SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SECURE_SSL_REDIRECT = HTTPS",
            "SECURE_SSL_REDIRECT = HTTPS; SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = False",
        ),
    ),
    (COOKIES, text(SETTINGS, '"__Host-" if HTTPS else ""', '""')),
    (COOKIES, text(SETTINGS, 'SESSION_COOKIE_SAMESITE = "Lax"', 'SESSION_COOKIE_SAMESITE = "None"')),
    (COOKIES, text(SETTINGS, "SESSION_COOKIE_HTTPONLY = True", "SESSION_COOKIE_HTTPONLY = False")),
    (
        f"{HEADERS}test_the_session_is_another_one_after_signing_in_and_gone_after_signing_out",
        thing(f"{SESSION}.cycle_key", lambda self: None),
    ),
    (
        f"{HEADERS}test_the_session_is_another_one_after_signing_in_and_gone_after_signing_out",
        thing(f"{SESSION}.flush", lambda self: None),
    ),
    (
        f"{HEADERS}test_what_somebody_signed_in_reads_no_cache_keeps",
        code("jobsite.edge:Edge.__call__", '"private, no-store"', '"public, max-age=60"'),
    ),
    (
        f"{HEADERS}test_whoever_signs_out_is_told_to_forget_what_was_kept",
        thing("jobsite.edge.SIGNING_OUT", "/elsewhere/"),
    ),
]

OF_REQUESTS: list[tuple[str, Way]] = [
    (
        f"{REQUESTS}test_no_form_of_another_site_is_taken",
        thing("django.middleware.csrf.CsrfViewMiddleware.process_view", lambda *a: None),
    ),
    (
        f"{REQUESTS}test_a_plain_form_is_no_call_of_the_api",
        thing("rest_framework.request.Request._parse", lambda self: ({}, {})),
    ),
    (
        f"{REQUESTS}test_no_act_is_done_by_looking",
        code(
            "remedials.desk.views:site",
            "    user: Any = request.user\n",
            "    user: Any = request.user\n    from jobsite.premises.operations import archive_site\n    archive_site(Site.objects.get(pk=pk), by=user, now=request.now)\n",
        ),
    ),
    (
        f"{REQUESTS}test_nobody_is_led_elsewhere_by_signing_in",
        thing("allauth.account.adapter.DefaultAccountAdapter.is_safe_url", lambda self, url: True),
    ),
    (
        f"{REQUESTS}test_nobody_is_led_elsewhere_by_a_page",
        code(
            "jobsite.pages:next_address",
            "if url_has_allowed_host_and_scheme(wanted, {request.get_host()}, require_https=request.is_secure()):",
            "if wanted:",
        ),
    ),
    (
        f"{REQUESTS}test_nothing_lies_at_an_address_that_one_guesses",
        setting(WHITENOISE_ROOT=".", WHITENOISE_AUTOREFRESH=True),
    ),
    (
        f"{REQUESTS}test_a_token_is_256_bits_by_the_system_and_kept_as_a_hash",
        thing("jobsite.people.links.TOKEN_BYTES", 8),
    ),
    (
        f"{REQUESTS}test_the_description_of_the_api_and_the_numbers_are_not_for_everybody",
        thing("jobsite.running.views._may_read", lambda request: True),
    ),
    (
        f"{REQUESTS}test_a_token_of_one_purpose_opens_nothing_of_another",
        thing("remedials.due.operations.stopping.SALT", "people.tokens"),
    ),
    (
        f"{REQUESTS}test_a_token_of_one_purpose_opens_nothing_of_another",
        code("remedials.due.operations.stopping:reminder_of", "_signer().unsign(token)", 'token.partition(".")[0]'),
    ),
    (
        f"{REQUESTS}test_a_token_signed_with_another_secret_is_none",
        code("remedials.due.operations.stopping:_signer", 'Signer(sep="."', 'Signer(key="one for all", sep="."'),
    ),
    (
        f"{REQUESTS}test_a_link_to_choose_a_password_ends",
        thing("django.contrib.auth.tokens.PasswordResetTokenGenerator._num_seconds", lambda self, at: 0),
    ),
    (
        f"{REQUESTS}test_the_private_link_is_looked_up_by_its_purpose",
        code("jobsite.people.links:find_link", ", purpose=purpose)", ")"),
    ),
    (
        f"{REQUESTS}test_words_that_are_a_pattern_are_only_words",
        thing("django.db.models.lookups.IContains.lookup_name", "iregex"),
    ),
    (
        f"{REQUESTS}test_of_a_name_that_comes_twice_the_last_counts",
        thing(
            "django.utils.datastructures.MultiValueDict.__getitem__",
            lambda self, key: dict.__getitem__(self, key)[0] if dict.get(self, key) else "",
        ),
    ),
    (f"{REQUESTS}test_markup_that_was_typed_is_shown_as_text", thing("django.template.base.conditional_escape", str)),
    (
        f"{REQUESTS}test_what_was_decoded_once_is_not_decoded_again",
        thing(
            "django.http.request.QueryDict.get",
            lambda self, key, default=None: (
                __import__("urllib.parse").parse.unquote(self[key]) if key in self else default
            ),
        ),
    ),
]

OF_FILES: list[tuple[str, Way]] = [
    (
        f"{UPLOADS}test_what_is_no_still_photo_is_refused",
        code("jobsite.ledger.photographs:_redrawn", 'formats=("JPEG", "PNG", "WEBP")', "formats=None"),
    ),
    (f"{UPLOADS}test_what_is_no_still_photo_is_refused", thing("jobsite.ledger.photographs.MOST_PIXELS", 10**12)),
    (
        f"{UPLOADS}test_what_is_no_still_photo_is_refused",
        code(
            "jobsite.ledger.photographs:clean_photograph", "return _redrawn(data)", 'return Photograph(data, 1, 1, "")'
        ),
    ),
    (
        f"{UPLOADS}test_more_bytes_than_a_photo_has_are_refused_before_they_are_looked_at",
        thing("jobsite.ledger.photographs.MOST_BYTES", 10**12),
    ),
    (
        f"{UPLOADS}test_of_a_photo_nothing_is_kept_but_its_picture_and_its_time",
        code("jobsite.ledger.photographs:_redrawn", "image.info = {}", "pass"),
    ),
    (
        f"{UPLOADS}test_what_does_not_begin_as_a_pdf_is_no_paper",
        code("jobsite.fields:PaperField.clean", 'file.read(5) != b"%PDF-"', "False"),
    ),
    (f"{UPLOADS}test_a_paper_larger_than_20_mb_is_refused", thing("jobsite.fields.MOST_BYTES", 10**12)),
    (
        f"{UPLOADS}test_a_bomb_is_not_opened",
        code("inspections.intake.archive:open_archive", "_refuse_bomb(archive.infolist())", "pass"),
    ),
    (
        f"{UPLOADS}test_a_list_of_more_bytes_than_any_is_refused_by_its_size",
        thing("inspections.intake.archive.MOST_BYTES", 10**12),
    ),
    (
        f"{UPLOADS}test_what_was_sent_comes_back_as_a_download_that_runs_nowhere",
        code("jobsite.downloads:as_received", '"application/octet-stream"', '"text/html"'),
    ),
    (
        f"{UPLOADS}test_what_was_sent_comes_back_as_a_download_that_runs_nowhere",
        code("jobsite.downloads:as_received", 'filename="{safe}"', 'filename="{name!r}"'),
    ),
    (
        f"{UPLOADS}test_a_file_lies_under_its_hash_and_never_under_a_name_of_somebodys",
        code("jobsite.ledger.files:path_of", 'return f"{content_hash[:2]}/', 'return f"latest/{content_hash[:2]}/'),
    ),
    (f"{UPLOADS}test_more_fields_or_bytes_than_a_form_has_are_refused", setting(DATA_UPLOAD_MAX_MEMORY_SIZE=None)),
]

OF_WHAT_IS_SAID: list[tuple[str, Way]] = [
    (
        f"{SAID}test_who_was_refused_what_stands_in_the_log",
        code("jobsite.running.watching:Watched.__call__", "if person else {}", "if False else {}"),
    ),
    (f"{SAID}test_a_forged_form_stands_in_the_log", thing("django.middleware.csrf.log_response", lambda *a, **k: None)),
    (
        f"{SAID}test_what_a_form_or_the_guessing_of_links_was_refused_for_stands_in_the_log",
        thing("jobsite.running.watching.requests_log.info", lambda *a, **k: None),
    ),
    (
        f"{SAID}test_an_unexpected_error_is_in_the_log_whole_and_in_the_answer_not_at_all",
        thing("jobsite.logs.DOING", type("Nothing", (), {"get": staticmethod(dict)})),
    ),
    (f"{SAID}test_an_unexpected_error_is_in_the_log_whole_and_in_the_answer_not_at_all", setting(DEBUG=True)),
    (
        f"{SAID}test_no_password_and_no_session_stands_in_a_line",
        code(
            "jobsite.running.watching:Watched.__call__",
            'facts = {"method": method,',
            'facts = {"form": str(dict(request.POST)), "method": method,',
        ),
    ),
    (
        f"{SAID}test_a_line_break_in_what_was_typed_makes_no_line_of_its_own",
        code("jobsite.logs:JsonLines.format", "return json.dumps(", "return record.getMessage() or json.dumps("),
    ),
    (
        f"{SAID}test_a_line_says_who_what_when_and_where_in_utc",
        code("jobsite.logs:JsonLines.format", "record.created, UTC", "record.created"),
    ),
    (
        f"{SAID}test_a_line_says_who_what_when_and_where_in_utc",
        code("jobsite.logs:JsonLines.format", "**DOING.get(), ", ""),
    ),
    (
        f"{SAID}test_a_header_of_an_e_mail_takes_no_line_break",
        code("jobsite.messages.mail:one_line", '" ".join(text.split())', "text"),
    ),
    (
        f"{SAID}test_of_a_refused_change_nothing_stays",
        code("jobsite.ledger.operations:operation", "with transaction.atomic():", "if True:"),
    ),
    (
        f"{SAID}test_a_door_without_a_known_right_stays_shut",
        code("jobsite.people.rights:roles_carry", "return bool(ROLES_WITH[Right(right)] & roles)", "return True"),
    ),
    (
        f"{SAID}test_without_the_cache_pages_answer",
        code("jobsite.counting:RedisOrTable._or_table", "except (RedisError, OSError):", "except ZeroDivisionError:"),
    ),
    (
        f"{SAID}test_the_demo_firm_goes_into_no_database_given_from_outside",
        code("jobsite.serve:load_demo_once", "settings.EMBEDDED and ", ""),
    ),
    (
        f"{SAID}test_the_child_process_of_a_document_is_bounded",
        code("jobsite.documents.child:limit", "resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS))", "pass"),
    ),
    (
        f"{SAID}test_a_person_has_no_right_that_is_not_of_their_roles",
        code("jobsite.people.models:User.may", "self.is_active and ", ""),
    ),
]

OF_PASSWORDS: list[tuple[str, Way]] = [
    (f"{PASSWORDS}test_what_is_short_common_or_ones_own_name_is_refused", setting(AUTH_PASSWORD_VALIDATORS=[])),
    (
        f"{PASSWORDS}test_any_long_one_is_taken_whatever_it_is_made_of",
        setting(
            AUTH_PASSWORD_VALIDATORS=[
                {"NAME": "django.contrib.auth.password_validation.NumericPasswordValidator"},
                {
                    "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
                    "OPTIONS": {"min_length": 40},
                },
            ]
        ),
    ),
    (
        f"{PASSWORDS}test_every_character_counts_to_the_last",
        thing("django.contrib.auth.hashers.MD5PasswordHasher.verify", lambda self, password, encoded: True),
    ),
    (
        f"{PASSWORDS}test_a_new_password_asks_for_the_present_one",
        thing("allauth.account.forms.ChangePasswordForm.clean_oldpassword", lambda self: ""),
    ),
    (
        f"{PASSWORDS}test_the_field_may_be_filled_by_a_manager_of_passwords",
        thing("django.forms.widgets.PasswordInput.get_context", not_to_be_filled),
    ),
    (
        f"{PASSWORDS}test_the_field_may_be_filled_by_a_manager_of_passwords",
        thing("django.forms.widgets.PasswordInput.get_context", shown_as_typed),
    ),
    (
        f"{PASSWORDS}test_kept_passwords_are_argon2id",
        thing("django.contrib.auth.hashers.Argon2PasswordHasher.time_cost", 1),
    ),
    (
        f"{PASSWORDS}test_a_session_is_what_the_server_knows_and_nothing_else",
        thing("django.contrib.sessions.backends.db.SessionStore._get_session_from_db", any_session),
    ),
    (
        f"{PASSWORDS}test_no_account_can_be_made_by_oneself",
        thing("jobsite.people.signin.adapter.Door.is_open_for_signup", lambda self, request: True),
    ),
    (
        f"{PASSWORDS}test_every_page_offers_to_sign_out",
        text("jobsite/templates/_spine.html", "{% url 'account_logout' %}", "/"),
    ),
]

LINKS, ROUTES, WORKS = "tests/faults/test_links.py::", "tests/test_routes.py::", "tests/remedials/"

OF_OTHERS: list[tuple[str, Way]] = [
    (
        f"{LINKS}test_a_page_names_no_other_host_and_its_token_only_in_its_own_address",
        text(ANY_HTML, "</body>", '<a href="https://elsewhere.example.net/">x</a></body>'),
    ),
    (
        "tests/remedials/test_visits_operations.py::test_two_people_booking_the_same_engineers_at_once_one_wins",
        constraint("one_place_at_a_time"),
    ),
    (
        "tests/remedials/test_visits_operations.py::test_work_of_another_site_is_not_booked",
        code(
            "remedials.visits.operations.booking_work:must_be_bookable",
            "len(found) < len({remedial.pk for remedial in wanted.remedials}) or ",
            "",
        ),
    ),
    (
        "tests/remedials/test_works_deciding.py::test_approve_refuses_other_stages",
        code("remedials.works.operations.ground:moved", "if stage is None:", "if False:"),
    ),
    (
        "tests/remedials/test_plan_routing.py::test_no_redirect_is_followed",
        thing("remedials.visits.driving.routing._Stays", HTTPRedirectHandler),
    ),
    (
        "tests/remedials/test_privacy_retention.py::test_what_is_past_its_time_goes_once_and_what_happened_stays",
        thing("remedials.status.privacy.operations.shedding._shed", lambda kind, before, held: 0),
    ),
    (
        "tests/jobsite/test_people_operations.py::test_only_the_hash_of_a_token_is_kept",
        code("jobsite.people.links:token_hash", "hashlib.sha256(token.encode()).digest()", "token.encode()"),
    ),
    (f"{LINKS}test_also_what_no_view_answered_is_kept_nowhere", thing("jobsite.edge.PRIVATE", {})),
    (f"{LINKS}test_logs_know_every_private_address", thing("jobsite.logs.TOKEN", re.compile("(nothing)(at all)"))),
    (
        f"{LINKS}test_a_link_ends_at_its_instant_and_not_a_moment_later",
        code("jobsite.people.links:find_link", ", expires_at__gt=now", ""),
    ),
    (
        f"{LINKS}test_once_a_customer_is_erased_nothing_that_was_given_to_them_opens",
        code("jobsite.people.links:find_link", "withdrawn_at__isnull=True, ", ""),
    ),
    (
        f"{ROUTES}test_posting_without_the_right_is_refused_too[engineer]",
        thing("jobsite.people.models.User.may", lambda self, right: True),
    ),
    (
        f"{ROUTES}test_somebody_who_left_is_signed_out",
        thing("allauth.account.auth_backends.AuthenticationBackend.user_can_authenticate", lambda self, user: True),
    ),
    (
        f"{ROUTES}test_subcontractor_without_access_finds_nothing",
        code(
            "jobsite.premises.models.sites:SiteQuerySet.visible_to",
            "return self.filter(access__user=user)",
            "return self",
        ),
    ),
    (
        "tests/remedials/test_desk_site.py::test_not_yours_is_not_there",
        code(
            "jobsite.premises.models.sites:SiteQuerySet.visible_to",
            "return self.filter(access__user=user)",
            "return self",
        ),
    ),
    (
        "tests/test_house.py::test_templates_hold_no_inline_style_or_script",
        text(ANY_HTML, "</body>", "<script>run()</script></body>"),
    ),
    (
        "tests/jobsite/test_forms.py::test_number_that_no_column_holds_is_refused",
        thing("jobsite.forms.LARGEST", 10**60),
    ),
    ("tests/jobsite/test_forms.py::test_text_is_stripped_and_capped", thing("jobsite.forms.LONGEST", 10**9)),
    (
        "tests/jobsite/test_api_parsing.py::test_unstorable_bodies_are_refused",
        thing("jobsite.api.parsing.LARGEST", 10**60),
    ),
    (
        "tests/stack/test_compose.py::test_redis_answers_nobody_without_the_password",
        text("docker-compose.yml", '--requirepass "$$REDISCLI_AUTH"', ""),
    ),
    (
        "tests/jobsite/test_tokens.py::test_what_opens_nothing_is_not_told_apart",
        code("jobsite.people.bearer:token_of", "AccessToken.objects.standing(now)", "AccessToken.objects"),
    ),
    (
        "tests/jobsite/test_api_limits.py::test_a_token_that_asks_too_often_hears_when_to_go_on",
        thing("jobsite.api.limits.tried", lambda *a, **k: 0),
    ),
    (
        "tests/jobsite/test_api_limits.py::test_wrong_tokens_are_refused_after_fifty_even_uncounted_otherwise",
        thing("jobsite.api.limits.tried", lambda *a, **k: 0),
    ),
    (
        "tests/jobsite/test_throttle.py::test_one_address_is_held_back_and_another_is_not",
        code("jobsite.throttle:tried", "return 0 if within else limit.seconds - gone", "return 0"),
    ),
    (
        "tests/jobsite/test_throttle.py::test_everybody_together_is_held_back_and_one_who_goes_on_is_counted_once",
        code("jobsite.throttle:tried", "limit.together is None or everybodys <= limit.together", "True"),
    ),
    (
        "tests/jobsite/test_throttle.py::test_whose_word_for_an_address_is_believed",
        code(
            "jobsite.throttle:client_address",
            "told[-trusted] if 0 < trusted <= len(told) else heard",
            "told[0] if told else heard",
        ),
    ),
    (
        "tests/jobsite/test_messages_letters.py::test_a_quotation_mark_ends_no_address",
        thing("jobsite.messages.rules.letters.escape", lambda text, quote=True: text),
    ),
    (
        "tests/jobsite/test_running_sealed.py::test_any_byte_altered_is_found",
        thing("jobsite.running.sealed.AESGCM", Unauthenticated),
    ),
    (
        "tests/jobsite/test_running_sealed.py::test_weak_keys",
        code("jobsite.running.sealed:key_is_weak", "len(key) < LEAST_KEY or len(set(key)) < LEAST_DIFFERENT", "False"),
    ),
    (
        "tests/jobsite/test_running_watching.py::test_tasks_are_measured_and_their_lines_bear_their_id",
        code(
            "jobsite.running.watching:WatchedTask.__call__",
            'watched(task=str(self.request.id or ""), name=name)',
            "watched()",
        ),
    ),
    (
        "tests/jobsite/test_running_watching.py::test_the_line_of_a_request_holds_neither_token_nor_key_nor_address",
        code("jobsite.running.watching:route_of", 'return match.route or "/"', "return request.get_full_path()"),
    ),
    (
        "tests/jobsite/test_running_watching.py::test_numbers_are_for_the_token_or_for_this_machine",
        thing("jobsite.running.views._may_read", lambda request: True),
    ),
    (
        "tests/jobsite/test_logs.py::test_no_answer_behind_a_link_writes_its_token",
        thing("jobsite.logs.TOKEN", re.compile("(nothing)(at all)")),
    ),
    ("tests/jobsite/test_ledger.py::test_entries_cannot_be_changed", trigger("ledger.Entry:append_only")),
    (
        "tests/jobsite/test_ledger.py::test_a_changed_row_is_found",
        code(
            "jobsite.ledger.queries:_faults_of",
            "chained_hash(bytes(entry.previous), _fields(entry)) != previous",
            "False",
        ),
    ),
    (
        "tests/remedials/test_access_operations.py::test_a_code_is_sealed_and_opens_with_a_former_secret",
        code("jobsite.sealing:ring", ", *settings.SECRET_KEY_FALLBACKS", ""),
    ),
    (
        "tests/remedials/test_customers_fields.py::test_what_is_shown_has_the_fields_of_the_table",
        thing("remedials.status.portfolio.shown.Line.__dataclass_fields__", Priced.__dataclass_fields__),
    ),
    (
        "tests/test_pins.py::test_installed_is_what_is_pinned",
        text("requirements-dev.txt", "argon2-cffi==", "argon2-cffi==1."),
    ),
    (
        "tests/test_pins.py::test_every_line_is_one_exact_version",
        text("requirements.txt", "argon2-cffi==", "argon2-cffi>="),
    ),
]

SIGN_IN, SESSIONS = "tests/jobsite/test_signin.py::", "tests/jobsite/test_signin_sessions.py::"
SIGNIN = "jobsite.people.signin."

OF_SIGNING_IN: list[tuple[str, Way]] = [
    (f"{SESSIONS}test_which_passwords_are_refused", setting(AUTH_PASSWORD_VALIDATORS=[])),
    (
        f"{SESSIONS}test_which_passwords_are_refused",
        thing(f"{SIGNIN}passwords.NotAboutUs.validate", lambda self, password, user=None: None),
    ),
    (
        f"{SESSIONS}test_which_passwords_are_refused",
        thing(f"{SIGNIN}passwords.NotKnownToOthers.validate", lambda self, password, user=None: None),
    ),
    (
        f"{SESSIONS}test_the_list_of_stolen_passwords_is_there",
        thing(f"{SIGNIN}passwords.FREQUENCY_LISTS", {"passwords": []}),
    ),
    (
        f"{SESSIONS}test_a_changed_password_ends_the_others_and_tells_its_person",
        thing("allauth.account.forms.ChangePasswordForm.clean_oldpassword", lambda self: ""),
    ),
    (
        f"{SIGN_IN}test_five_wrong_passwords_shut_the_door_to_strangers",
        setting(ACCOUNT_RATE_LIMITS={"login_failed": "1000/m/ip,1000/300s/key", "login": "1000/m/ip"}),
    ),
    (
        f"{SIGN_IN}test_five_wrong_codes_shut_the_second_step",
        setting(ACCOUNT_RATE_LIMITS={"login_failed": "1000/m/ip,1000/300s/key", "login": "1000/m/ip"}),
    ),
    (
        f"{SIGN_IN}test_a_stranger_who_shuts_the_door_shuts_out_no_device_in_use",
        thing(f"{SIGNIN}tries.device_key", lambda request, email: ""),
    ),
    (
        f"{SIGN_IN}test_a_manager_without_one_gets_no_further_than_setting_it_up",
        thing("jobsite.people.models.User.lacks_second_step", False),
    ),
    (
        f"{SIGN_IN}test_password_alone_lets_nobody_in_who_has_a_second_step",
        thing("allauth.mfa.stages.AuthenticateStage.handle", lambda self: (None, True)),
    ),
    (
        f"{SESSIONS}test_a_reset_keeps_the_second_step_and_signs_nobody_in",
        thing("allauth.mfa.stages.AuthenticateStage.handle", lambda self: (None, True)),
    ),
    (f"{SESSIONS}test_a_reset_link_lives_an_hour", thing(f"{SIGNIN}reset_links.RESET_LINK", timedelta(days=3))),
    (f"{SESSIONS}test_an_invitation_lives_three_days", thing(f"{SIGNIN}reset_links.INVITATION", timedelta(days=300))),
    (
        f"{SESSIONS}test_nobody_adds_an_address_to_their_account_and_nobody_signs_up",
        thing(f"{SIGNIN}adapter.Door.is_open_for_signup", lambda self, request: True),
    ),
    (
        f"{SIGN_IN}test_a_lost_second_step_is_taken_away_knowingly",
        thing("jobsite.people.operations.signin.end_sessions_at_once", lambda user, **more: None),
    ),
    (
        f"{SIGN_IN}test_a_code_of_the_app_works_once",
        thing("allauth.mfa.totp.internal.auth.TOTP._mark_code_used", lambda self, code: True),
    ),
    (
        f"{SIGN_IN}test_recovery_codes_are_long_enough_and_each_works_once",
        thing("allauth.mfa.recovery_codes.internal.auth.RecoveryCodes._mark_code_used", lambda self, n: None),
    ),
    (
        f"{SIGN_IN}test_one_recovery_code_by_two_requests_at_once_works_once",
        code("allauth.mfa.recovery_codes.internal.auth:RecoveryCodes.validate_code", ".select_for_update()", ""),
    ),
    (
        f"{SIGN_IN}test_seeds_are_sealed_in_the_database",
        thing(f"{SIGNIN}means.SecondStep.encrypt", lambda self, text: text),
    ),
    (f"{SIGN_IN}test_a_code_of_the_step_before_opens_nothing", setting(MFA_TOTP_TOLERANCE=1)),
    (
        f"{SESSIONS}test_each_sign_in_and_each_proof_gives_another_key",
        thing("jobsite.people.signin.adapter.proved_again", lambda request: None),
    ),
    (
        f"{SESSIONS}test_a_sign_in_ends_without_use_and_altogether",
        thing(f"{SIGNIN}sessions.is_over", lambda held, now: False),
    ),
    (
        f"{SIGN_IN}test_who_leaves_loses_everything_at_once_and_their_history_stays",
        thing("jobsite.people.operations.accounts.end_sessions_at_once", lambda user, **more: None),
    ),
    (
        "tests/remedials/test_visits_feeds.py::test_it_ends_with_whoever_leaves",
        code("remedials.visits.operations.feeds:_end", "feed.withdrawn_at = now", "feed.withdrawn_at = None"),
    ),
    (f"{SESSIONS}test_all_others_end_at_once", thing("jobsite.people.views.signin._end_others", lambda request: None)),
    (
        f"{SESSIONS}test_a_manager_sees_and_ends_somebodys_sessions_after_the_password",
        thing("jobsite.people.operations.signin.end_sessions_at_once", lambda user, **more: None),
    ),
    (
        f"{SESSIONS}test_a_manager_signs_everybody_out",
        thing("jobsite.people.views.signin.operations.end_everybodys_sessions", lambda **more: 0),
    ),
    (
        f"{SIGN_IN}test_the_page_that_decides_it_asks_the_password_again",
        thing(f"{SIGNIN}again.is_reauthentication_required", lambda request, app="": False),
    ),
    (
        f"{SIGN_IN}test_setting_one_up_opens_everything_at_once",
        setting(MFA_REAUTHENTICATION_REQUIRED=False, ACCOUNT_REAUTHENTICATION_REQUIRED=False),
    ),
    (
        f"{SESSIONS}test_ones_own_sessions_end_only_after_the_password_again",
        thing(f"{SIGNIN}again.is_reauthentication_required", lambda request, app="": False),
    ),
    (
        f"{SIGN_IN}test_a_try_for_an_account_that_there_is_not_stands_in_the_log",
        code(f"{SIGNIN}adapter:Door._note_of", 'log.warning("A sign-in', 'log.info("A sign-in'),
    ),
    (
        f"{SIGN_IN}test_taking_it_away_is_refused_for_oneself_without_a_reason_and_to_others",
        code("jobsite.people.operations.signin:take_second_step_away", "if not how.strip():", "if False:"),
    ),
    (
        f"{SESSIONS}test_my_sessions_are_listed_and_ended_one_by_one",
        thing("jobsite.people.views.signin.operations.end_one_session", lambda session, **more: None),
    ),
    (
        f"{SIGN_IN}test_a_wrong_code_is_refused_with_a_sentence_and_written_down",
        thing(f"{SIGNIN}forms.note", lambda *a, **k: None),
    ),
]

DEFENCES = [
    *SOURCES,
    *OF_SETTINGS,
    *OF_HEADERS,
    *OF_REQUESTS,
    *OF_FILES,
    *OF_WHAT_IS_SAID,
    *OF_PASSWORDS,
    *OF_OTHERS,
    *OF_SIGNING_IN,
]
