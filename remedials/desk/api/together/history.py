"""What was done at a site: its ledger, in the words of the page."""

from typing import Any

import django_filters
from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django_filters.rest_framework import FilterSet
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from jobsite.ledger.models import Entry
from jobsite.premises.models import Site
from remedials.desk.api.files import File, file, kept
from remedials.desk.api.ground import rows
from remedials.desk.api.reading import List
from remedials.quotes.policy import may_price
from remedials.quotes.verbs import Verb as OfQuotes
from remedials.status.record import history as telling

TEXT = "text/plain"


class WordShown(serializers.Serializer):
    """One text that somebody wrote then. What was erased since is left out."""

    name = serializers.CharField()
    text = serializers.CharField()


class EntryShown(serializers.Serializer):
    """One thing that was done. Whoever sees no prices is told that something was priced, quoted or answered, and no more.

    `subject` is null there. `facts`: in words, without keys.
    """

    number = serializers.IntegerField(help_text="Its place in the record of this site, from 1, without a gap.")
    at = serializers.DateTimeField()
    actor_kind = serializers.ChoiceField(
        Entry.ActorKind.choices, help_text="Whether a person, the clock or a private link did it."
    )
    who = serializers.CharField(help_text="By name; of a private link to whom it was sent.")
    verb = serializers.CharField(help_text="What was done, as programs call it: `remedial.closed`.")
    said = serializers.CharField(help_text="The same as people call it.")
    subject_kind = serializers.CharField()
    subject = serializers.UUIDField(allow_null=True, help_text="The key of what it was done to.")
    about = serializers.CharField(help_text="The same in words.")
    facts = serializers.CharField()
    words = WordShown(many=True)


class EntryFilter(FilterSet):
    verb = django_filters.CharFilter(max_length=100, label="what was done, as programs call it")
    subject = django_filters.UUIDFilter(label="what it was done to")
    person = django_filters.UUIDFilter(field_name="actor", label="who did it")


def _shown(entry: Any, row: dict[str, Any], *, prices: bool) -> dict[str, Any]:
    # Of what quotes record the page has no address for who sees no prices: no key either.
    hidden = not prices and (entry.verb in OfQuotes.values or entry.subject_kind == telling.MESSAGE)
    return {
        "number": entry.number,
        "at": entry.at,
        "actor_kind": entry.actor_kind,
        "who": row["who"],
        "verb": entry.verb,
        "said": row["verb"],
        "subject_kind": entry.subject_kind,
        "subject": None if hidden else entry.subject,
        "about": row["subject"],
        "facts": row["facts"],
        "words": [{"name": name, "text": text} for name, text in row["words"]],
    }


@extend_schema_view(
    get=extend_schema(
        operation_id="sites_history_list",
        summary="What was done at a site, the newest first: an entry is never changed nor deleted.",
    )
)
class History(List):
    """A program that keeps in step stops at the number that it knows. A site that was recorded twice has a history of its own."""

    model = Site  # that the address names
    queryset = Entry.objects.all()
    serializer_class = EntryShown
    filterset_class = EntryFilter
    ordering = "-number"

    def get_queryset(self) -> QuerySet[Entry]:
        """Of the site that the address names, if this person sees it."""
        if getattr(self, "swagger_fake_view", False):
            return Entry.objects.none()
        return telling.entries_of(get_object_or_404(rows(self, Site), pk=self.kwargs["pk"]))

    def get(self, request: Request, **kwargs: Any) -> Response:
        """One page of it, in eight statements at most."""
        entries = self.paginate_queryset(self.filter_queryset(self.get_queryset())) or []
        prices = may_price(request.user)  # type: ignore[arg-type]
        told = telling.in_words(entries, prices=prices)
        shown = [_shown(entry, row, prices=prices) for entry, row in zip(entries, told, strict=True)]
        return self.get_paginated_response(self.get_serializer(shown, many=True).data)


@file(
    TEXT, summary="The whole history of a site as text, the oldest first; its last line proves it against the ledger."
)
class HistoryFile(File):
    """Keep it: whoever cuts or rewrites the record later is found out by it."""

    queryset = Site.objects.all()

    def answer(self, row: Site) -> HttpResponse:
        """The same as on its page."""
        lines = telling.as_text(row, now=self.request.now, prices=may_price(self.request.user))  # type: ignore[attr-defined, arg-type]
        text = "\n".join([*lines, ""]).encode()
        return kept(text, f"{TEXT}; charset=utf-8", f"history-of-site-{row.number}.txt")
