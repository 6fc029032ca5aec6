"""What may be typed about getting in: times, occupiers, attempts, keys, codes, what must be seen to, working alone."""

from typing import Any

from django import forms

from jobsite.fields import DayField, MomentField
from jobsite.forms import CreateForm, PlainForm
from jobsite.people.models import User
from jobsite.people.rights import Role
from jobsite.premises.models import Site, Unit
from jobsite.typed import PHOTOS
from jobsite.words import WEEKDAYS
from remedials.visits.choices import AttemptHow, SeeToKind
from remedials.works.forms.fields import PersonField, text
from remedials.works.models import Remedial

LETTERS = frozenset({AttemptHow.FIRST_LETTER, AttemptHow.SECOND_LETTER, AttemptHow.FINAL_LETTER})
TIME = forms.TimeInput(attrs={"type": "time"}, format="%H:%M")


class AtSiteForm(CreateForm):
    """A form about `site` as a whole or one of its units; a site with one nameless unit is not asked which."""

    def __init__(self, *args: Any, site: Site, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        units = site.units.current().filter(whole_site=False).order_by("sort", "pk")
        if "unit" in self.fields and not units:
            del self.fields["unit"]
        elif "unit" in self.fields:
            field: Any = self.fields["unit"]
            field.queryset = units


def unit_field() -> forms.ModelChoiceField:
    """Which unit; empty: the whole site."""
    return forms.ModelChoiceField(Unit.objects.none(), label="Unit", required=False, empty_label="the whole site")


class AccessTimeForm(AtSiteForm):
    unit = unit_field()
    weekdays = forms.TypedMultipleChoiceField(
        label="On", coerce=int, choices=list(enumerate(WEEKDAYS)), widget=forms.CheckboxSelectMultiple
    )
    start = forms.TimeField(label="From", widget=TIME)
    end = forms.TimeField(label="Until", widget=TIME)
    note = text("Note", help_text="Such as: ask at the lodge.")


class ClosedDaysForm(AtSiteForm):
    unit = unit_field()
    first = DayField(label="First day")
    last = DayField(label="Last day, included")
    why = text("Why nobody may work there then", needed=True, help_text="Such as: term, stocktaking.")


class OccupierForm(PlainForm):
    contact = text("Whom to ask", help_text="A name, and who they are.")
    phone = text("Telephone")
    email = forms.EmailField(label="E-mail", required=False)
    best_times = text("Best times")
    mind = text(
        "What to mind",
        area=True,
        help_text="About people there who need care, in as few words as will do, and with their agreement. Shown only to the "
        "office and to the engineers booked there around their visit.",
    )
    loses_power_badly = forms.BooleanField(
        label="Somebody or something there must not lose power without being ready for it", required=False
    )
    version = forms.IntegerField(widget=forms.HiddenInput, required=False)


class AttemptForm(AtSiteForm):
    unit = unit_field()
    how = forms.ChoiceField(
        label="How",
        choices=[(how.value, how.label) for how in AttemptHow if how not in LETTERS],
        widget=forms.RadioSelect,
    )
    at = MomentField(label="When", moves=True)
    whom = text("Whom, or whose door", needed=True)
    said = text("What was asked", area=True)
    got_in = forms.BooleanField(label="We got in", required=False)
    reply = text("What they replied", area=True)
    replied_on = DayField(label="Day of the reply", required=False)
    next_on = DayField(label="Try again on", required=False, help_text="Leave open where nothing more is needed.")
    photo = forms.FileField(
        label="Photo, such as of the door or the card left",
        required=False,
        widget=forms.FileInput(attrs={"accept": PHOTOS}),
        help_text="JPEG, PNG or WebP, at most 20 MB. No people.",
    )


class ReplyForm(PlainForm):
    reply = text("What they replied", needed=True, area=True)
    replied_on = DayField(label="Day of the reply", moves=True)
    next_on = DayField(label="Try again on", required=False, help_text="Leave open where nothing more is needed.")


class KeyForm(CreateForm):
    tag = text("Tag", needed=True, help_text="Never the address: whoever finds the key must not know the door.")
    what = text("What it opens", needed=True)
    held_for = text("Whose it is", help_text="To whom it goes back.")
    place = text("Where it hangs")


class KeyOutForm(CreateForm):
    to = PersonField(label="To whom")
    back_by = DayField(label="Back by", required=False)
    note = text("Note")


class NoteForm(CreateForm):
    note = text("Note", help_text="Such as: to whom, who signed for it.")


class CodeForm(CreateForm):
    place = text("What it opens or silences", needed=True)
    code = forms.CharField(
        label="The code",
        widget=forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false"}),
        max_length=100,
        help_text="Kept encrypted. From now on only an engineer booked there can look at it, near the time of the visit.",
    )


class SeeToForm(AtSiteForm):
    unit = unit_field()
    remedial = forms.ModelChoiceField(
        Remedial.objects.none(), label="Only before this remedial", required=False, empty_label="all work there"
    )
    kind = forms.ChoiceField(label="Kind", choices=SeeToKind.choices)
    what = text("What must be seen to", needed=True, area=True)
    owner = PersonField(label="Who sees to it")
    due = DayField(label="By")

    def __init__(self, *args: Any, site: Site, **kwargs: Any) -> None:
        super().__init__(*args, site=site, **kwargs)
        field: Any = self.fields["remedial"]
        field.queryset = (
            Remedial.objects.filter(site=site).exclude(stage__in=["reviewed", "cancelled"]).order_by("number")
        )
        field.label_from_instance = lambda remedial: f"{remedial.number} · {remedial.work}"[:80]


class MetForm(PlainForm):
    met_on = DayField(label="Seen to on", moves=True)
    met_how = text("How", needed=True, area=True, help_text="The reference, who gave it.")
    holds_until = DayField(label="It holds until", required=False, help_text="That day included; leave open: for good.")
    version = forms.IntegerField(widget=forms.HiddenInput, required=False)


class WhyForm(PlainForm):
    why = text("Why", needed=True, area=True)


class OutByForm(CreateForm):
    out_by = MomentField(
        label="Out by", moves=True, help_text="If you have not checked out by then, somebody will ask after you."
    )


class FoundSafeForm(PlainForm):
    how = text("How you made sure", needed=True, area=True, help_text="Who spoke to them, where they are.")


class EvidenceForm(PlainForm):
    """Of which unit and which days attempts are printed."""

    unit = unit_field()
    first = DayField(label="From")
    last = DayField(label="Until, that day included")

    def __init__(self, *args: Any, site: Site, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field: Any = self.fields["unit"]
        field.queryset = site.units.order_by("sort", "pk")
        field.empty_label = "the whole site, every unit"

    def clean(self) -> dict[str, Any]:
        """The days in order."""
        data = super().clean() or self.cleaned_data
        if data.get("first") and data.get("last") and data["last"] < data["first"]:
            self.add_error("last", "The last day lies before the first.")
        return data


def engineers() -> Any:
    """Who may go to a visit, by name."""
    return User.objects.filter(is_active=True, roles__contains=[Role.ENGINEER.value]).order_by("name", "pk")
