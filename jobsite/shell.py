"""What stands around every page: the entries of the navigation that this person may use, and the banners."""

from dataclasses import dataclass

from django.conf import settings
from django.http import HttpRequest
from django.urls import NoReverseMatch, reverse
from django.utils.functional import cached_property
from django.utils.module_loading import import_string

from jobsite.words import when


@dataclass(frozen=True)
class Entry:
    """One entry of the navigation: shown where an address of one of these names exists and `right` is held."""

    label: str
    url_names: tuple[str, ...]
    right: str = ""


ENTRIES = (
    Entry("My day", ("visits:my_day",), "do-work"),
    Entry("Due", ("desk:due",), "see-work"),
    Entry("Sites", ("desk:sites",), "see-work"),
    Entry("Inspections", ("inspections:inspections",), "see-work"),
    Entry("Remedials", ("works:remedials",), "see-work"),
    Entry("Reviews", ("works:reviews",), "review-proof"),
    Entry("Quotes", ("quotes:quotes",), "price"),
    Entry("Diary", ("visits:diary",), "see-work"),
    Entry("Customers", ("premises:parties",), "keep-customers"),
    Entry("Messages", ("messages:messages",), "see-messages"),
    Entry("People", ("people:people",), "keep-people"),
)


def shell(request: HttpRequest) -> dict[str, object]:
    """Context processor: `shell`, worked out only by pages that show it."""
    return {"shell": Shell(request)}


class Shell:
    """The surroundings of one page for one person; each part is read when the template asks for it."""

    def __init__(self, request: HttpRequest) -> None:
        self.request = request
        self.user = getattr(request, "user", None)

    @cached_property
    def nav(self) -> list[dict[str, object]]:
        """The entries for this person, in order, the one whose pages we are on marked `here`."""
        if not getattr(self.user, "is_authenticated", False):
            return []
        found = [
            {"label": entry.label, "address": address}
            for entry in ENTRIES
            if self.may(entry.right) and (address := first_address(entry.url_names))
        ]
        here = longest_start(self.request.path, [str(entry["address"]) for entry in found])
        return [entry | {"here": entry["address"] == here} for entry in found]

    def may(self, right: str) -> bool:
        """Whether this person holds `right`; an entry without a right is for everybody signed in."""
        return not right or bool(getattr(self.user, "is_authenticated", False) and self.user.may(right))  # type: ignore[union-attr]

    @cached_property
    def phone(self) -> str:
        """The address of the worker that puts pages on the phone of whoever does the work, "" for others."""
        user = getattr(self.user, "is_authenticated", False)
        return first_address(("phone:worker",)) if user and self.may("do-work") else ""

    @cached_property
    def packing(self) -> bool:
        """Whether a phone fetches this page for later: what is said once is then left for the page that is looked at."""
        return for_a_phone(self.request)

    @cached_property
    def find(self) -> str:
        """The address of the search page, "" where there is none."""
        return first_address(("desk:search",))

    @cached_property
    def find_words(self) -> str:
        """What was searched for, to stand in the box again on the page of answers."""
        return self.request.GET.get("q", "")[:200] if self.request.path == self.find else ""

    @cached_property
    def printed(self) -> str:
        """What stands at the head of a printed page: whose record it is from, and as it was when."""
        firm = getattr(self.user, "firm_name", "") or ""
        now = getattr(self.request, "now", None)
        return ", ".join(filter(None, [firm, f"printed {when(now)}" if now else ""]))

    @cached_property
    def banners(self) -> list[str]:
        """The sentences of the functions named in the setting SHELL_BANNERS, for people signed in."""
        if not getattr(self.user, "is_authenticated", False):
            return []
        sentences = [import_string(name)(self.request) for name in settings.SHELL_BANNERS]
        return [sentence for sentence in sentences if sentence]


def for_a_phone(request: HttpRequest) -> bool:
    """Whether the page is fetched to be kept on its person's phone (worker.js), not to be looked at now."""
    return "X-Pack" in request.headers


def first_address(url_names: tuple[str, ...]) -> str:
    """The address of the first of `url_names` that exists, or ""."""
    for name in url_names:
        try:
            return reverse(name)
        except NoReverseMatch:
            continue
    return ""


def longest_start(path: str, addresses: list[str]) -> str:
    """The longest of `addresses` that `path` begins with; the root counts only for itself. "" where none."""
    starts = [a for a in addresses if path == a or (a != "/" and path.startswith(a))]
    return max(starts, key=len, default="")
