"""What may be typed into a form, and what becomes of it."""

import copy
from datetime import UTC, date, datetime
from decimal import Decimal
from types import SimpleNamespace
from uuid import UUID

import pytest
from django import forms
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import QueryDict
from django.template.loader import render_to_string
from django.urls import get_resolver
from hypothesis import given
from hypothesis import strategies as st

from jobsite.forms import (
    DAY_FAR,
    DAY_WRONG,
    UNKEEPABLE_WORDS,
    CreateForm,
    DayField,
    LineField,
    MomentField,
    NumberField,
    PlainForm,
    _cap,
    _plain_sentences,
    number,
)


class Sample(PlainForm):
    units = {"fuse": "A"}

    name = forms.CharField(label="Name", help_text="As the customer says it.")
    notes = forms.CharField(required=False, widget=forms.Textarea)
    fuse = forms.IntegerField(required=False)
    ze = NumberField(unit="Ω", required=False, label="Ze")
    earthing = forms.ChoiceField(
        choices=[("TN-S", "TN-S"), ("TT", "TT earth rod")], widget=forms.RadioSelect, required=False
    )
    on = DayField(required=False)
    at = MomentField(required=False)
    kept = forms.BooleanField(required=False, label="Kept locked")


def sample(**typed) -> Sample:
    return Sample({"name": "Kiln room"} | typed)


# --- text -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("unkeepable", ["Kiln\0room", "Kiln\ud800room"])
@pytest.mark.parametrize("field", ["name", "notes", "fuse", "on"])
def test_character_that_no_column_holds_is_refused_and_shown_replaced(field, unkeepable):
    form = sample(**{field: unkeepable})
    assert UNKEEPABLE_WORDS in form.errors[field]
    assert "Kiln\ufffdroom".encode() in str(form).encode()  # neither lost nor unencodable


def test_choice_with_a_nul_is_refused_in_our_words():
    form = sample(earthing="TT\0")
    assert form.errors == {"earthing": ["Choose one of those offered.", UNKEEPABLE_WORDS]}


def test_query_dict_with_a_nul_keeps_its_other_values():
    form = Sample(QueryDict("name=a%00b&notes=kept"))
    assert form.errors == {"name": [UNKEEPABLE_WORDS]}
    assert form["notes"].value() == "kept"


def test_text_is_stripped_and_capped():
    assert sample(name="  Kiln room ").is_valid()
    assert sample(notes="x" * 10_001).errors == {"notes": ["This is longer than 10000 characters."]}


@given(st.dictionaries(st.sampled_from(list(Sample.base_fields)), st.text(max_size=40)))
def test_any_text_is_cleaned_or_refused_and_can_be_shown(typed):
    form = Sample(typed)
    form.is_valid()
    str(form).encode()


# --- numbers ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("typed", [str(2**31), str(2**63), str(10**40)])
def test_number_that_no_column_holds_is_refused(typed):
    assert sample(fuse=typed).errors == {"fuse": ["This number is too large."]}
    assert sample(fuse=f"-{typed}").errors == {"fuse": ["This number is too small."]}


def test_limits_that_the_form_states_itself_stay():
    class Own(PlainForm):
        ways = forms.IntegerField(max_value=96, error_messages={"max_value": "No board has more than 96 ways."})

    assert Own({"ways": 97}).errors == {"ways": ["No board has more than 96 ways."]}


@pytest.mark.parametrize("typed", ["0.64", " 0.64 ", "0.64 Ω", "0.64Ω"])
def test_number_with_or_without_its_unit(typed):
    form = sample(ze=typed)
    assert form.is_valid()
    assert form.cleaned_data["ze"] == Decimal("0.64")


@pytest.mark.parametrize("typed", ["NaN", "Infinity", "-inf", "0,64", "lots", "1" * 13])
def test_what_is_no_number_is_refused_and_kept(typed):
    form = sample(ze=typed)
    assert list(form.errors) == ["ze"]
    assert f'value="{typed}"' in str(form["ze"])


def test_number_is_a_text_field_with_the_number_pad():
    assert 'type="text"' in str(sample()["fuse"])
    assert 'inputmode="numeric"' in str(sample()["fuse"])
    assert 'inputmode="decimal"' in str(sample()["ze"])


def test_hidden_number_stays_hidden():
    class Versioned(PlainForm):
        version = forms.IntegerField(widget=forms.HiddenInput, initial=4)

    assert 'type="hidden"' in str(Versioned()["version"])


# --- days and times ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "typed", ["2026-02-03", "3/2/2026", "03/02/2026", "3 Feb 2026", "3 February 2026", " 3  feb 2026", "3.2.2026"]
)
def test_day_is_read_in_british_order(typed):
    assert DayField().clean(typed) == date(2026, 2, 3)


def test_sept_is_september():
    assert DayField().clean("24 Sept 2026") == date(2026, 9, 24)


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [("2/30/2026", DAY_WRONG), ("30 Feb 2026", DAY_WRONG), ("soon", DAY_WRONG), ("0001-01-01", DAY_FAR)],
)
def test_day_that_is_none_is_refused(typed, sentence):
    with pytest.raises(forms.ValidationError) as refused:
        DayField().clean(typed)
    assert refused.value.messages == [sentence]


def test_day_the_browser_could_not_show_is_shown_as_text():
    assert 'type="date" name="on" value="2026-02-03"' in str(sample(on="2026-02-03")["on"])
    assert 'type="text" name="on" value="soon"' in str(sample(on="soon")["on"])


@pytest.mark.parametrize(
    ("typed", "instant"),
    [
        ("2026-11-24T09:30", datetime(2026, 11, 24, 9, 30, tzinfo=UTC)),
        ("2026-07-01T00:30", datetime(2026, 6, 30, 23, 30, tzinfo=UTC)),
        ("24/11/2026 09:30", datetime(2026, 11, 24, 9, 30, tzinfo=UTC)),
        ("24 Nov 2026, 09:30", datetime(2026, 11, 24, 9, 30, tzinfo=UTC)),
    ],
)
def test_moment_is_londons_clock(typed, instant):
    cleaned = MomentField().clean(typed)
    assert cleaned == instant
    assert cleaned.tzinfo is UTC


@pytest.mark.parametrize(
    ("typed", "words"), [("2026-03-29T01:30", "go forward"), ("2026-10-25T01:30", "go back")]
)  # the two changes of the clock in 2026
def test_moment_that_the_clock_skips_or_repeats_is_refused(typed, words):
    with pytest.raises(forms.ValidationError) as refused:
        MomentField().clean(typed)
    assert words in refused.value.messages[0]


def test_moment_is_shown_as_londons_clock():
    form = Sample(initial={"at": datetime(2026, 6, 30, 23, 30, tzinfo=UTC)})
    assert 'type="datetime-local" name="at" value="2026-07-01T00:30"' in str(form["at"])


# --- how a field is shown ---------------------------------------------------------------------------------------------


def test_label_then_help_then_error_then_field():
    shown = Sample({"name": ""})["name"].as_field_group()
    order = ["<label", "As the customer says it.", "Needed: fill this in.", "<input"]
    assert sorted(order, key=shown.index) == order
    assert 'aria-describedby="id_name_helptext id_name_error"' in shown


def test_unit_stands_beside_the_number_and_in_the_label():
    shown = sample()["fuse"].as_field_group()
    assert '<span class="vh"> in A</span></label>' in shown
    assert '<span class="unit" aria-hidden="true">A</span>' in shown


def test_unit_of_the_widget_is_shown():
    class Own(PlainForm):
        rating = forms.IntegerField(widget=number("A"))

    assert Own()["rating"].unit == "A"


def test_needed_is_said_in_words():
    assert '<span class="needed">needed</span>' in sample()["name"].as_field_group()
    assert "needed" not in sample()["notes"].as_field_group()


def test_choices_are_a_group_with_a_legend():
    shown = sample()["earthing"].as_field_group()
    assert shown.startswith('<fieldset class="field">')
    assert shown.count('id="id_earthing"') == 1


def test_tick_stands_before_its_label():
    shown = sample()["kept"].as_field_group()
    assert shown.index("<input") < shown.index("<label")


def test_ready_made_sentences_are_replaced_and_own_ones_stay():
    class Own(PlainForm):
        said = forms.CharField(error_messages={"required": "Say who told us."})
        kind = forms.ChoiceField(choices=[("a", "A")])

    assert Own({}).errors == {"said": ["Say who told us."], "kind": ["Choose one."]}
    assert Own({"said": "x", "kind": "b"}).errors == {"kind": ["Choose one of those offered."]}


class Measured(PlainForm):
    email = forms.EmailField(required=False)
    days = forms.IntegerField(min_value=1, max_value=3650, required=False)
    ohms = NumberField(max_digits=5, decimal_places=2, min_value=0, required=False)
    short = forms.CharField(min_length=3, max_length=5, required=False)
    line = LineField(required=False)
    many = forms.MultipleChoiceField(choices=[("a", "A")], required=False)
    own = forms.IntegerField(min_value=1, error_messages={"min_value": "At least one."}, required=False)


@pytest.mark.parametrize(
    ("name", "typed", "sentence"),
    [
        ("email", "ada at example", "Write an e-mail address, such as name@example.com."),
        ("days", "0", "Write 1 or more."),
        ("days", "4000", "Write 3650 or less."),
        ("ohms", "-1", "Write 0 or more."),
        ("ohms", "0.123", "Write at most 2 digits after the point."),
        ("ohms", "1234", "Write at most 3 digits before the point."),
        ("short", "ab", "This is too short: at least 3 characters."),
        ("short", "abcdef", "This is too long: at most 5 characters, and it has 6."),
        ("line", "x" * 201, "This is longer than 200 characters."),
        ("many", ["b"], "Choose one of those offered."),
        ("own", "0", "At least one."),
    ],
)
def test_what_the_validators_find_is_said_in_our_words(name, typed, sentence):
    assert Measured({name: typed}).errors == {name: [sentence]}


def test_no_form_of_ours_says_a_ready_made_sentence():
    """Every form class of the program: what Django would say by itself stands in none of its fields."""
    assert get_resolver().url_patterns  # all views are read, and with them all forms
    stock = ("Ensure ", "Enter a", "Select a valid", "This field is required", "No file was")
    said = []
    for form in every_form(PlainForm):
        for name, declared in form.base_fields.items():
            field = copy.deepcopy(declared)
            _cap(field)
            _plain_sentences(field)
            said += [(form.__name__, name, str(s)) for s in field.error_messages.values() if str(s).startswith(stock)]
    assert said == []


def every_form(base):
    for one in base.__subclasses__():
        yield one
        yield from every_form(one)


# --- keys and versions ------------------------------------------------------------------------------------------------


def test_key_of_a_new_row_is_a_version_7_uuid_that_comes_back():
    key = UUID(CreateForm()["id"].value())
    assert key.version == 7
    form = CreateForm({"id": str(key)})
    assert form.is_valid()
    assert form.cleaned_data == {"id": key}


def test_damaged_key_is_refused_in_words():
    assert CreateForm({"id": "x"}).errors == {"id": ["This form was damaged on its way: open it again."]}


def test_meeting_another_edit_shows_what_differs():
    form = sample(ze="0.35", on="2026-02-03", earthing="TN-S", kept="on")
    assert form.is_valid()
    form.meet(SimpleNamespace(name="Kiln room", ze=None, on=date(2020, 1, 1), earthing="TT", kept=False))
    assert form.theirs == {"ze": "nothing", "on": "1 Jan 2020", "earthing": "TT earth rod", "kept": "no"}
    assert form["ze"].value() == "0.35"


# --- files ------------------------------------------------------------------------------------------------------------


class WithFile(PlainForm):
    name = forms.CharField()
    picture = forms.FileField(required=False)


@pytest.mark.parametrize("sent", [True, False])
def test_files_are_asked_for_again_only_where_some_were_sent(sent):
    files = {"picture": SimpleUploadedFile("a.txt", b"a")} if sent else {}
    shown = render_to_string("_form.html", {"form": WithFile({"name": ""}, files), "csrf_token": "x"})
    assert ("Choose your files again" in shown) is sent
