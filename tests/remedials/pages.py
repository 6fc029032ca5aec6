"""Small helpers for tests of the pages of works."""

from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from tests.remedials.desk import text_of
from tests.remedials.work import photo_bytes


def at(name: str, row) -> str:
    return reverse(f"works:{name}", args=[row.pk])


def refused(response, sentence: str) -> bool:
    assert response.status_code == 422
    assert sentence in text_of(response)
    return True


def photo_file(shade: int = 90) -> SimpleUploadedFile:
    return SimpleUploadedFile("after.jpg", photo_bytes(shade), content_type="image/jpeg")
