"""How a view answers: full page or fragment, a form with its errors, a refusal where the person stands."""

import csv
import io
from pathlib import Path
from types import SimpleNamespace

import pytest
from django import forms
from django.conf import settings
from django.http import HttpResponse
from django.test import Client
from django.urls import include, path
from openpyxl import load_workbook

from jobsite.forms import CreateForm, PlainForm
from jobsite.pages import act, as_file, asked_anew, bound, file_wanted, form_page, go, next_address, page, pager
from jobsite.paging import Slice
from jobsite.refused import ChangedMeanwhile, NotAllowed, Refused
from jobsite.shell import Shell, longest_start

KIT = Path(__file__).parent / "kit"
REFUSALS = {
    "field": Refused("There is a board of that name already.", field="name"),
    "elsewhere": Refused("The site is closed.", field="no_such_field"),
    "forbidden": NotAllowed("Only the office may add boards."),
    "meanwhile": ChangedMeanwhile(
        "Olive saved this at 10:04.", theirs=SimpleNamespace(name="Kiln", ways=12, version=7)
    ),
}
done: list[object] = []


class BoardForm(CreateForm):
    name = forms.CharField(label="Designation")
    ways = forms.IntegerField(label="Ways", required=False)
    version = forms.IntegerField(widget=forms.HiddenInput, initial=3)


def list_view(request):
    found = Slice(["row"], "token")
    if kind := file_wanted(request):
        return as_file(kind, "Boards: open", ["Board", "Ways"], [["=1+1", 12], ["Kiln\x07", None]])
    return page(request, "kit_list.html", {"pager": pager(request, found)}, fragment="_kit_list.html")


def form_view(request):
    form = bound(request, BoardForm)
    return form_page(
        request, "kit_form.html", form, do=lambda: add(request, form), then=lambda made: f"/{made}", said="Board added."
    )


def add(request, form):
    if refusal := REFUSALS.get(request.GET.get("refuse")):
        raise refusal
    done.append(form.cleaned_data)
    return "list"


def act_view(request):
    again = (lambda refused: page(request, "kit_list.html", {"refused": refused})) if "again" in request.GET else None
    return act(request, lambda: add(request, SimpleNamespace(cleaned_data={})), then="/list", said="Done.", again=again)


def row_view(request):
    answer = lambda made: page(request, "_kit_row.html", {"row": made})  # noqa: E731
    return act(request, lambda: add(request, SimpleNamespace(cleaned_data={})), then=answer, said="Row saved.")


def on_view(request):
    return go(request, next_address(request, "/list"))


def broken_view(request):
    raise RuntimeError("a fault of ours")


@asked_anew
def changing_view(request):
    return page(request, "kit_list.html")


def nothing_view(request):
    return HttpResponse("ok")


urlpatterns = [
    path("list", list_view),
    path("form", form_view),
    path("act", act_view),
    path("on", on_view),
    path("row", row_view),
    path("changing", changing_view),
    path("broken", broken_view),
    path("people/", include(([path("", nothing_view, name="people")], "people"))),
    path("", include(([path("due", nothing_view, name="due"), path("search", nothing_view, name="search")], "desk"))),
]


@pytest.fixture(autouse=True)
def kit(settings):
    """The addresses and templates of this file in place of the service's."""
    settings.ROOT_URLCONF = __name__
    settings.TEMPLATES = [settings.TEMPLATES[0] | {"DIRS": [KIT, *settings.TEMPLATES[0]["DIRS"]]}]
    done.clear()


HTMX = {"HX-Request": "true"}


def text(response) -> str:
    return response.content.decode()


# --- lists ------------------------------------------------------------------------------------------------------------


def test_page_is_whole_for_a_browser(client):
    response = client.get("/list")
    assert "<!doctype html>" in text(response)
    assert "HX-Request" in response["Vary"]


def test_page_is_its_fragment_for_an_htmx_update(client):
    response = client.get("/list", headers=HTMX)
    assert text(response).startswith("<p>rows</p>")
    assert "<html" not in text(response)


def test_page_is_whole_when_fetched_for_the_history(client):
    response = client.get("/list", headers=HTMX | {"HX-History-Restore-Request": "true"})
    assert "<!doctype html>" in text(response)


def test_pager_keeps_the_filters(client):
    shown = text(client.get("/list?code=C1&after=old"))
    assert 'href="/list?code=C1&amp;after=token"' in shown
    assert 'href="/list?code=C1">Top of the list' in shown


def test_pager_says_where_the_list_ends(rf):
    request = rf.get("/list?after=old")
    assert pager(request, Slice([])) == {"next": "", "first": "/list"}


def test_csv_holds_the_rows_and_no_formula(client):
    response = client.get("/list?as=csv")
    rows = list(csv.reader(io.StringIO(response.content.decode("utf-8-sig"))))
    assert rows == [["Board", "Ways"], ["'=1+1", "12"], ["Kiln\x07", ""]]
    assert response["Content-Disposition"] == 'attachment; filename="boards-open.csv"'


def test_workbook_holds_text_as_text(client):
    sheet = load_workbook(io.BytesIO(client.get("/list?as=xlsx").content)).active
    cells = [[(cell.value, cell.data_type) for cell in row] for row in sheet.iter_rows()]
    assert cells == [
        [("Board", "s"), ("Ways", "s")],
        [("=1+1", "s"), (12, "n")],
        [("Kiln", "s"), (None, "n")],
    ]
    assert [sheet.column_dimensions[letter].width for letter in "AB"] == [7, 6]  # the longest of each, and room
    assert sheet.auto_filter.ref == "A1:B3"


def test_unknown_kind_of_file_is_the_page(client):
    assert "<!doctype html>" in text(client.get("/list?as=exe"))


# --- forms ------------------------------------------------------------------------------------------------------------

GOOD = {"id": "0190163d-8694-739b-aea5-966c26f8ad91", "name": "Main intake", "ways": "12", "version": "3"}


def test_form_opens_with_a_fresh_key_each_time(client):
    keys = {client.get("/form").context["form"]["id"].value() for _ in range(2)}
    assert len(keys) == 2
    assert client.get("/form").status_code == 200


def test_form_done_goes_on_and_says_so(client):
    response = client.post("/form", GOOD, follow=True)
    assert response.redirect_chain == [("/list", 302)]
    assert "Board added." in text(response)
    assert [made["name"] for made in done] == ["Main intake"]


def test_form_with_errors_keeps_what_was_typed(client):
    response = client.post("/form", GOOD | {"name": "", "ways": "twelve"})
    shown = text(response)
    assert response.status_code == 422
    assert done == []
    assert 'value="twelve"' in shown
    assert f'value="{GOOD["id"]}"' in shown
    assert '<a href="#id_ways">Ways</a>: Write a whole number, such as 32.' in shown
    assert 'id="id_name_error">Needed: fill this in.' in shown
    assert 'aria-invalid="true" aria-describedby="id_name_error"' in shown


def test_refusal_stands_beside_its_field(client):
    response = client.post("/form?refuse=field", GOOD)
    assert response.status_code == 422
    assert 'id="id_name_error">There is a board of that name already.' in text(response)
    assert 'value="Main intake"' in text(response)


def test_refusal_without_a_field_of_the_form_stands_at_the_top(client):
    response = client.post("/form?refuse=elsewhere", GOOD)
    assert response.context["form"].non_field_errors() == ["The site is closed."]
    assert "<li>The site is closed.</li>" in text(response)


def test_not_allowed_is_403_with_its_sentence(client):
    response = client.post("/form?refuse=forbidden", GOOD)
    assert response.status_code == 403
    assert "Only the office may add boards." in text(response)


def test_the_second_editor_sees_both_and_can_save_over(client):
    response = client.post("/form?refuse=meanwhile", GOOD)
    shown, form = text(response), response.context["form"]
    assert response.status_code == 422
    assert form.theirs == {"name": "Kiln"}  # the ways are the same
    assert "Saved by somebody else: <strong>Kiln</strong>" in shown
    assert 'value="Main intake"' in shown
    assert '<input type="hidden" name="version" value="7"' in shown
    assert "Save mine over theirs" in shown


def test_htmx_form_goes_on_as_a_whole_page(client):
    response = client.post("/form", GOOD, headers=HTMX)
    assert response["HX-Redirect"] == "/list"


def test_form_without_the_token_is_answered_kindly():
    response = Client(enforce_csrf_checks=True).post("/form", GOOD)
    assert response.status_code == 403
    assert "this form had gone stale" in text(response)
    assert done == []


# --- one thing --------------------------------------------------------------------------------------------------------


def test_act_done_goes_on(client):
    response = client.post("/act", follow=True)
    assert response.redirect_chain == [("/list", 302)]
    assert "Done." in text(response)


def test_act_refused_shows_the_page_where_the_person_stands(client):
    response = client.post("/act?again=1&refuse=elsewhere")
    assert response.status_code == 422
    assert '<div id="list">' in text(response)
    assert "<p>The site is closed.</p>" in text(response)


def test_act_refused_without_a_page_offers_the_way_back(client):
    response = client.post("/act?refuse=field")
    assert response.status_code == 422
    assert "There is a board of that name already." in text(response)
    assert 'href="/list">Go back' in text(response)


def test_act_not_allowed_is_403(client):
    assert client.post("/act?refuse=forbidden").status_code == 403


def test_act_may_answer_with_the_row_and_says_so_beside_it(client):
    shown = text(client.post("/row", headers=HTMX))
    assert shown.startswith("<p>list</p>")
    assert '<div id="said" role="status" aria-live="polite" hx-swap-oob="true">' in shown
    assert "Row saved." in shown


@pytest.mark.parametrize(
    ("wanted", "goes_to"),
    [
        ("/sites?q=a", "/sites?q=a"),
        ("", "/list"),
        ("https://example.org/", "/list"),
        ("//example.org", "/list"),
        ("javascript:alert(1)", "/list"),
    ],
)
def test_next_address_stays_on_this_service(client, wanted, goes_to):
    assert client.get("/on", {"next": wanted}).url == goes_to


# --- errors -----------------------------------------------------------------------------------------------------------


def test_missing_page_says_what_may_be(client):
    response = client.get("/nowhere")
    assert response.status_code == 404
    assert "There is nothing here" in text(response)


def test_fault_of_ours_is_a_plain_page_that_needs_nothing():
    response = Client(raise_request_exception=False).get("/broken")
    assert response.status_code == 500
    assert "Something went wrong on our side" in text(response)
    assert "a fault of ours" not in text(response)


def test_no_page_asks_another_host_or_runs_inline_script(client):
    for address in ("/list", "/form", "/nowhere"):
        shown = text(client.get(address))
        assert "style=" not in shown
        assert "<style" not in shown
        assert "http://" not in shown
        assert "https://" not in shown
        assert shown.count("<script") == shown.count('<script src="/static/')


# --- the shell --------------------------------------------------------------------------------------------------------


def shell_for(request, *rights) -> Shell:
    request.user = SimpleNamespace(is_authenticated=bool(rights), may=lambda right: right in rights)
    return Shell(request)


def test_nav_shows_what_exists_and_the_person_may(rf):
    nav = shell_for(rf.get("/people/invite"), "see-work", "keep-people", "do-work").nav
    assert nav == [
        {"label": "Due", "address": "/due", "here": False},
        {"label": "People", "address": "/people/", "here": True},
    ]


def test_nav_leaves_out_what_the_person_may_not(rf):
    assert [entry["label"] for entry in shell_for(rf.get("/"), "see-work").nav] == ["Due"]


def test_nobody_gets_no_nav_and_no_banner(rf):
    shell = shell_for(rf.get("/"))
    assert (shell.nav, shell.banners) == ([], [])


def stopped(request) -> str:
    return "The clockwork has stopped."


def running(request) -> str:
    return ""


def test_banners_are_the_sentences_of_the_named_functions(rf, settings):
    settings.SHELL_BANNERS = [f"{__name__}.running", f"{__name__}.stopped"]
    assert shell_for(rf.get("/"), "see-work").banners == ["The clockwork has stopped."]


def test_search_words_stand_in_the_box_again(rf):
    shell = shell_for(rf.get("/search", {"q": "kiln"}), "see-work")
    assert (shell.find, shell.find_words) == ("/search", "kiln")
    assert shell_for(rf.get("/due", {"q": "kiln"}), "see-work").find_words == ""


def test_longest_start_picks_the_nearest_entry():
    addresses = ["/", "/sites/", "/sites/new/"]
    assert longest_start("/sites/new/1", addresses) == "/sites/new/"
    assert longest_start("/sites/4", addresses) == "/sites/"
    assert longest_start("/", addresses) == "/"
    assert longest_start("/people/", addresses) == ""


def test_plain_form_is_dressed_by_our_templates():
    assert settings.FORM_RENDERER == "jobsite.forms.Renderer"
    assert 'class="field"' in str(PlainFormWithOne())


class PlainFormWithOne(PlainForm):
    name = forms.CharField()


# --- pages that a phone fetches to keep them --------------------------------------------------------------------------


def test_what_is_said_once_is_left_for_the_page_that_is_looked_at(client):
    client.post("/act")
    assert "Done." not in text(client.get("/list", headers={"X-Pack": "yes"}))
    assert "Done." in text(client.get("/list"))
    assert "Done." not in text(client.get("/list"))


def test_a_page_that_browsers_ask_for_anew_is_kept_by_its_persons_phone_alone(client):
    assert "no-store" in client.get("/changing")["Cache-Control"]
    assert client.get("/changing", headers={"X-Pack": "yes"})["Cache-Control"] == "private, no-cache"
