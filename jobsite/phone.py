"""What a phone needs to open our pages without signal: the worker's script, the manifest, and two small pages.

`jobsite/static/jobsite/worker.js` says how it works. Which pages are kept on the phone is the desk's matter
(`remedials/desk/phone.py`).
"""

import base64
import hashlib
import json
import re
from functools import cache
from pathlib import Path

from django.conf import settings
from django.contrib.staticfiles import finders
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.templatetags.static import static
from django.urls import reverse
from django.views.decorators.http import require_safe

from jobsite.edge import service_id
from jobsite.people.guard import open_to_all
from jobsite.shell import first_address
from jobsite.versions import static_files

HTMX = "django_htmx/htmx-2.min.js"
# Style and scripts of pages that no engineer opens in a plant room (the office's, customers'), and of the worker itself.
NOT_IN_SHELL = (
    "jobsite/status.css", "jobsite/worker.js", "jobsite/packing.js", "quotes/", "visits/diary.", "visits/plan.", "inspections/review.", "desk/",
    "due/", "status/",
)  # fmt: skip
IMPORT = re.compile(r'^import \{([^}]*)\} from "\./([\w-]+\.js)";$', re.MULTILINE)
EXPORT = re.compile(r"^export (?=(?:const|let|class|function|async function) (\w+))", re.MULTILINE)


@cache
def shell_files() -> tuple[dict[str, str], ...]:
    """The files that pages on a phone stand in: address, and digest as in Subresource Integrity (W3C).

    By the digest a phone keeps what was meant, and neither half of it nor somebody else's answer.
    """
    names = [path.relative_to(_static_of(path)).as_posix() for path in static_files(Path(settings.BASE_DIR))]
    names = [name for name in names if not name.startswith(NOT_IN_SHELL)]
    return tuple({"address": static(name), "digest": _digest(name)} for name in [*names, HTMX])


def _static_of(path: Path) -> Path:
    return next(parent for parent in path.parents if parent.name == "static")


def _digest(name: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(content_of(name)).digest()).decode()


def content_of(name: str) -> bytes:
    """The content of the static file `name`. Raises FileNotFoundError."""
    found = finders.find(name)
    if not found:
        raise FileNotFoundError(name)
    return Path(str(found)).read_bytes()


@cache
def in_one_piece(name: str) -> str:
    """The module `name` of ours with all that it imports, as one script that leaves them in `modules`.

    Not every browser takes a module for a service worker (from memory: Firefox does not). Imports and exports must be
    written as these files write them, else ValueError.
    """
    found: dict[str, str] = {}
    _add_module(name, found)
    return "const modules = {};\n" + "\n".join(found.values())


def _add_module(name: str, found: dict[str, str]) -> None:
    text = content_of(f"jobsite/{name}").decode()
    for needed in dict.fromkeys(match[2] for match in IMPORT.finditer(text)):
        if needed not in found:
            _add_module(needed, found)
    given = ", ".join(match[1] for match in EXPORT.finditer(text))
    body = EXPORT.sub("", IMPORT.sub(r'const {\1} = modules["\2"];', text))
    if re.search(r"^\s*(import|export)\b", body, re.MULTILINE):
        raise ValueError(f"{name} imports or exports in a way that cannot be put in one piece")
    found[name] = f'modules["{name}"] = (() => {{\n{body}\nreturn {{ {given} }};\n}})();'


@open_to_all
@require_safe
def worker(request: HttpRequest) -> HttpResponse:
    """The worker's script, at the root so that it answers for every page; it differs when anything of the shell does."""
    facts = {
        "service": service_id(),
        "version": settings.STATIC_VERSION,
        "static": settings.STATIC_URL,
        "pack": first_address(("desk:phone_pack",)),
        "here": reverse("phone:here"),
        "nothing": reverse("phone:nothing"),
        "shell": [*shell_files()],
    }
    script = f'{in_one_piece("worker.js")}\nmodules["worker.js"].begin({json.dumps(facts)});\n'
    headers = {"Cache-Control": "no-cache", "Service-Worker-Allowed": "/"}
    return HttpResponse(script, content_type="text/javascript; charset=utf-8", headers=headers)


@open_to_all
@require_safe
def here(request: HttpRequest) -> HttpResponse:
    """Nothing, said by us: by this a phone knows that it reaches us and not a guest network's own page."""
    return HttpResponse(status=204, headers={"Cache-Control": "no-store"})


@open_to_all
@require_safe
def nothing(request: HttpRequest) -> HttpResponse:
    """What the phone shows, from itself, for a page that is not on it."""
    return render(request, "phone/nothing.html", {"home": start_address()})


@open_to_all
@require_safe
def manifest(request: HttpRequest) -> HttpResponse:
    """The web app manifest (W3C): by it the service stands on the phone's first screen under a name of its own."""
    facts = {
        "id": "/",
        "name": "Works ledger",
        "short_name": "Works",
        "description": "My visits, what to do there and what was found.",
        "lang": "en-GB",
        "start_url": start_address(),
        "scope": "/",
        "display": "standalone",
        "background_color": "#f6f3ea",
        "theme_color": "#f6f3ea",
        "icons": [
            {"src": static("jobsite/icon.svg"), "sizes": "any", "type": "image/svg+xml", "purpose": "any"},
            {"src": static("jobsite/icon-192.png"), "sizes": "192x192", "type": "image/png", "purpose": "any"},
            {"src": static("jobsite/icon-512.png"), "sizes": "512x512", "type": "image/png", "purpose": "any"},
            {"src": static("jobsite/icon-512.png"), "sizes": "512x512", "type": "image/png", "purpose": "maskable"},
        ],
    }
    return JsonResponse(facts, content_type="application/manifest+json", headers={"Cache-Control": "no-cache"})


def start_address() -> str:
    """The page that an engineer's phone opens with."""
    return first_address(("visits:my_day",)) or "/"
