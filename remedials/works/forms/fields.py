"""Fields that the forms of remedials share."""

from typing import Any, ClassVar

from django import forms

from jobsite.fields import LineField, PaperField
from jobsite.people.models import User
from jobsite.people.rights import Role
from remedials.works.models import Remedial

__all__ = [
    "AREA",
    "CERTIFICATES",
    "ObservationsField",
    "PaperField",
    "PersonField",
    "PowerField",
    "certificate_choices",
    "text",
]
AREA = forms.Textarea(attrs={"rows": 3})
LINE, PAGE = 200, 2_000  # letters in a name or a reference, in what is to be done or why
# The certificates that BS 7671 has forms for (Appendix 6).
CERTIFICATES = [
    ("", "none"),
    ("minor works certificate", "minor works certificate"),
    ("installation certificate", "installation certificate"),
]


def text(label: str, *, needed: bool = False, help_text: str = "", area: bool = False, **more: Any) -> forms.CharField:
    """A field of words, of at most LINE characters, or PAGE in an area."""
    widget, most = (AREA, PAGE) if area else (forms.TextInput, LINE)
    return LineField(label=label, required=needed, help_text=help_text, widget=widget, most=most, **more)


class ObservationsField(forms.ModelMultipleChoiceField):
    def label_from_instance(self, obj: Any) -> str:
        """The observation as it stands in the list to tick."""
        place = ", ".join(filter(None, [str(obj.board or ""), obj.place]))
        return f"{obj.code or 'not coded'} · {obj.number} · {obj.text}" + (f" ({place})" if place else "")


class PersonField(forms.ModelChoiceField):
    """Somebody of the firm who has not left; `roles` narrows to those who hold one of them."""

    def __init__(self, *, label: str, needed: bool = True, roles: tuple[Role, ...] = (), **more: Any) -> None:
        people = User.objects.filter(is_active=True).order_by("name", "pk")
        if roles:
            people = people.filter(roles__overlap=[role.value for role in roles])
        super().__init__(people, label=label, required=needed, **more)


class PowerField(forms.ChoiceField):
    """Whether power must go off: True, False, or None while it is not known. Nothing is chosen beforehand."""

    WORDS: ClassVar = {"yes": True, "no": False, "unknown": None}

    def __init__(self) -> None:
        choices = [("yes", "yes"), ("no", "no"), ("unknown", "not known yet")]
        super().__init__(label="Must power go off for it?", choices=choices, widget=forms.RadioSelect)

    def prepare_value(self, value: Any) -> Any:
        """The choice of a stored value; None shows nothing chosen, so that a form says "unknown" itself."""
        return {True: "yes", False: "no"}.get(value, value) if isinstance(value, bool) else value

    def clean(self, value: Any) -> bool | None:
        """True, False or None."""
        return self.WORDS[super().clean(value)]


def certificate_choices(remedial: Remedial | None = None) -> list[tuple[str, str]]:
    """The kinds of certificate, and the one that a remedial already asks for."""
    kind = remedial.certificate_kind if remedial else ""
    return CERTIFICATES if kind in dict(CERTIFICATES) else [*CERTIFICATES, (kind, kind)]
