"""Fields that the forms of remedials share."""

from typing import Any, ClassVar

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile

from jobsite.fields import LineField
from jobsite.people.models import User
from jobsite.people.rights import Role
from remedials.works.models import Remedial

AREA = forms.Textarea(attrs={"rows": 3})
LINE, PAGE = 200, 2_000  # letters in a name or a reference, in what is to be done or why
MOST_BYTES = 20 * 1024 * 1024
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


class PaperField(forms.FileField):
    """A certificate or a letter: a PDF of at most 20 MB."""

    def __init__(self, *, label: str, **more: Any) -> None:
        widget = forms.FileInput(attrs={"accept": "application/pdf"})
        super().__init__(label=label, required=False, widget=widget, help_text="A PDF of at most 20 MB.", **more)

    def clean(self, data: Any, initial: Any = None) -> Any:
        """The uploaded file. ValidationError for what is too large or no PDF."""
        file = super().clean(data, initial)
        if isinstance(file, UploadedFile):
            if (file.size or 0) > MOST_BYTES:
                raise ValidationError("This file is larger than 20 MB.")
            if file.read(5) != b"%PDF-":
                raise ValidationError("This file is not a PDF.")
            file.seek(0)
        return file


def certificate_choices(remedial: Remedial | None = None) -> list[tuple[str, str]]:
    """The kinds of certificate, and the one that a remedial already asks for."""
    kind = remedial.certificate_kind if remedial else ""
    return CERTIFICATES if kind in dict(CERTIFICATES) else [*CERTIFICATES, (kind, kind)]
