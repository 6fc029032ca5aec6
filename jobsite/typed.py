"""What is chosen by typing: a text field whose suggestions the browser narrows, and photographs taken in place."""

from collections.abc import Iterable
from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile

PHOTOS = "image/jpeg,image/png,image/webp"


class Suggested(forms.TextInput):
    """A field to type in, with `options` (value, what it is) offered below it; anything else may be typed as well."""

    template_name = "forms/suggested.html"
    options: Iterable[tuple[str, str]] = ()

    def __init__(self, attrs: dict[str, Any] | None = None) -> None:
        super().__init__({"autocomplete": "off"} | (attrs or {}))

    def get_context(self, name: str, value: Any, attrs: dict[str, Any] | None) -> dict[str, Any]:
        """The widget's context with the suggestions and the name of their list."""
        context = super().get_context(name, value, attrs)
        listed = f"{context['widget']['attrs'].get('id', name)}_list"
        context["widget"]["attrs"]["list"] = listed
        context["widget"] |= {"list": listed, "options": list(self.options)}
        return context


class PhotosInput(forms.FileInput):
    """Photographs from the phone's camera or from its album, several of them."""

    template_name = "forms/photos.html"
    allow_multiple_selected = True

    def __init__(self, attrs: dict[str, Any] | None = None) -> None:
        super().__init__({"accept": PHOTOS, "multiple": True} | (attrs or {}))

    def value_from_datadict(self, data: Any, files: Any, name: str) -> list[UploadedFile]:
        """All that were chosen, of both inputs."""
        return [one for one in files.getlist(name) if one] if hasattr(files, "getlist") else []

    def value_omitted_from_data(self, data: Any, files: Any, name: str) -> bool:
        """Whether neither input was sent."""
        return name not in files


class PhotosField(forms.FileField):
    """Several photographs, at most `most`; cleaned, a list that may be empty."""

    widget = PhotosInput

    def __init__(self, *, most: int = 12, **kwargs: Any) -> None:
        self.most = most
        super().__init__(required=False, **kwargs)

    def clean(self, data: Any, initial: Any = None) -> Any:
        """The uploaded files. ValidationError for too many, or an empty one."""
        found = [forms.FileField.clean(self, one, initial) for one in data or ()]
        if len(found) > self.most:
            raise forms.ValidationError(f"At most {self.most} photos at once: send the rest afterwards.")
        return found
