"""How lists are narrowed: everything in the address, so that it can be bookmarked."""

from collections.abc import Iterable
from typing import Any
from uuid import UUID

from django import forms
from django.http import HttpRequest, QueryDict

from inspections.choices import Code
from jobsite.forms import CreateForm, DayField, LineField, PlainForm
from jobsite.ids import key_in
from jobsite.people.models import User
from jobsite.people.rights import Right
from remedials.desk.queries.waits import CHASED, KINDS, Wait, line_of
from remedials.due.queries import HEAP_WORDS

WORDS = {"type": "search", "maxlength": "200"}
CODES = [("", "Any code"), *((code.value, code.value) for code in Code), ("none", "No code")]
STANDINGS = [
    ("", "All current"),
    ("danger", "With a C1, C2 or FI open"),
    ("inspection", "Next inspection overdue"),
    ("archived", "Archived"),
]
ORDERS = [("name", "Name"), ("number", "Newest first"), ("customer", "Customer"), ("inspection", "Next inspection")]


class Narrowing(PlainForm):
    """A form whose every field may be left out; what cannot be read counts as left out."""

    def chosen(self) -> dict[str, str]:
        """What was chosen, field by field, "" where nothing was."""
        self.is_valid()
        return {name: self.cleaned_data.get(name) or "" for name in self.fields}


class DueNarrowing(Narrowing):
    """The due list by owner, code, heap, whom it waits on, and words."""

    owner = forms.ChoiceField(label="Who", required=False)
    code = forms.ChoiceField(label="Code", required=False, choices=CODES)
    only = forms.ChoiceField(label="Only", required=False, choices=[("", "Everything due"), *HEAP_WORDS.items()])
    waits_on = forms.CharField(label="Waits on", required=False, widget=forms.TextInput(WORDS))
    q = forms.CharField(label="Words", required=False, widget=forms.TextInput(WORDS))

    def __init__(self, data: QueryDict, user: User, people: Iterable[User]) -> None:
        """`data` from the address; `people`: all of the firm, also who has left. No statement.

        Who plans the work sees everybody's, others begin with their own.
        """
        self.user = user
        usual = "all" if user.may(Right.PLAN_WORK) else "mine"
        self.usual = {"owner": usual, "code": "", "only": "", "waits_on": "", "q": ""}
        super().__init__({name: data.get(name, value) for name, value in self.usual.items()})
        others = [(str(person.pk), person.name) for person in people if person.is_active and person != user]
        owner: Any = self.fields["owner"]
        owner.choices = [("all", "Everybody"), ("mine", "Mine"), ("nobody", "Nobody"), *others]

    def has_changed(self) -> bool:
        """Whether the list is narrowed otherwise than usual."""
        return self.chosen() != self.usual

    def narrowing(self) -> dict[str, str]:
        """The arguments for `due.queries.narrowed`."""
        chosen = self.chosen()
        owner = {"all": "", "mine": str(self.user.pk)}.get(chosen["owner"], chosen["owner"])
        return {
            "owner": owner, "code": chosen["code"], "waits_on": chosen["waits_on"], "words": chosen["q"],
            "heap": chosen["only"],
        }  # fmt: skip

    def of_person(self) -> UUID | None:
        """The one person whose rows are asked for; None for everybody's, or nobody's."""
        return key_in(self.narrowing()["owner"])


class SitesNarrowing(Narrowing):
    """The list of sites by words and standing, in one of four orders."""

    q = forms.CharField(label="Words", required=False, widget=forms.TextInput(WORDS))
    standing = forms.ChoiceField(label="Which", required=False, choices=STANDINGS)
    sort = forms.ChoiceField(label="In the order of", required=False, choices=ORDERS)

    def __init__(self, request: HttpRequest) -> None:
        """Reads the address."""
        usual = {"q": "", "standing": "", "sort": "name"}
        super().__init__({name: request.GET.get(name, value) for name, value in usual.items()})
        self.usual = usual

    def has_changed(self) -> bool:
        """Whether the list is other than the usual one."""
        return self.chosen() != self.usual

    def narrowing(self) -> dict[str, str]:
        """The arguments for `queries.sites.found_sites`."""
        chosen = self.chosen()
        return {"words": chosen["q"], "standing": chosen["standing"], "sort": chosen["sort"] or "name"}


class WaitsNarrowing(Narrowing):
    """What we wait for: by kind, by our owner, by words. The owners are those of the rows: no statement."""

    kind = forms.ChoiceField(label="What", required=False, choices=[("", "Everything"), *KINDS.items()])
    owner = forms.ChoiceField(label="Our owner", required=False)
    q = forms.CharField(label="Words", required=False, widget=forms.TextInput(WORDS))

    def __init__(self, data: QueryDict, waits: Iterable[Wait]) -> None:
        super().__init__({name: data.get(name, "") for name in self.base_fields})
        people = {str(wait.owner.pk): wait.owner.name for wait in waits if wait.owner}
        owner: Any = self.fields["owner"]
        owner.choices = [("", "Anybody"), *sorted(people.items(), key=lambda one: one[1])]

    def has_changed(self) -> bool:
        """Whether anything was chosen."""
        return any(self.chosen().values())


class ChaseForm(CreateForm):
    """A chase: what it is about, to which address, its words, and when to chase next."""

    things = forms.MultipleChoiceField(
        label="What is chased",
        widget=forms.CheckboxSelectMultiple,
        help_text="Each is to be chased next on the day below. The time of a visit is asked for again on the visit's page.",
        error_messages={"required": "Choose what is chased."},
    )
    address = forms.EmailField(label="E-mail address")
    subject = LineField(label="Subject")
    words = forms.CharField(label="Message", widget=forms.Textarea({"class": "tall"}))
    chase_on = DayField(label="Chase next on")

    def __init__(self, *args: Any, waits: Iterable[Wait], **kwargs: Any) -> None:
        chased = [(wait.token, line_of(wait)) for wait in waits if wait.kind in CHASED]
        kwargs.setdefault("initial", {})["things"] = [token for token, _ in chased]
        super().__init__(*args, **kwargs)
        things: Any = self.fields["things"]
        things.choices = chased
