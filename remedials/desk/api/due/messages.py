"""Messages: what was said to whom and why, to read; and what a person decides about one that did not arrive."""

from typing import Any

import django_filters
from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from django_filters.rest_framework import FilterSet
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers

from jobsite.messages import operations
from jobsite.messages.models import Message
from jobsite.people.rights import Right
from jobsite.premises.queries.messages import seen_messages
from remedials.desk.api.fields import Nothing
from remedials.desk.api.ground import Act, Text, verb
from remedials.desk.api.reading import YES_OR_NO, List, One


class MessageShown(serializers.ModelSerializer):
    """One e-mail for one occasion. `why`: the rule by which it was written. `to`: the key of the person or party.

    `state`: "unknown" where the mail server may or may not have taken it; nothing goes out twice unless a person says so.
    """

    to = serializers.UUIDField(source="to_id", read_only=True)

    class Meta:
        model = Message
        fields = [
            "id", "number", "to_kind", "to", "address", "subject", "body", "danger", "reminder", "why", "site", "state",
            "attempts", "written_at", "next_try_at", "settled_at", "error", "address_refused", "delayed_why", "returned_at",
            "returned_why", "attachment", "instead_of",
        ]  # fmt: skip


class MessageFilter(FilterSet):
    state = django_filters.MultipleChoiceFilter(choices=Message.State.choices)
    to = django_filters.UUIDFilter(field_name="to_id", label="the key of a person or party")
    site = django_filters.UUIDFilter(field_name="site")
    address = django_filters.CharFilter(field_name="address", lookup_expr="iexact")
    danger = django_filters.ChoiceFilter(choices=YES_OR_NO, method="by_danger", label="of danger")

    def by_danger(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        return rows.filter(danger=value == "true")


class OfMessages:
    """Rows of messages by their own door: the firm's own people see all of them."""

    request: Any

    def get_queryset(self) -> QuerySet[Message]:
        """The messages that this person may read; none while the schema is drawn."""
        if getattr(self, "swagger_fake_view", False):
            return Message.objects.none()
        return seen_messages(self.request.user)


@extend_schema_view(get=extend_schema(summary="Messages, in the order of their numbers."))
class Messages(OfMessages, List):
    right = Right.SEE_MESSAGES
    queryset = Message.objects.all()
    serializer_class = MessageShown
    filterset_class = MessageFilter


@extend_schema_view(get=extend_schema(summary="One message."))
class OneMessage(OfMessages, One):
    right = Right.SEE_MESSAGES
    queryset = Message.objects.all()
    serializer_class = MessageShown


class MessageAct(Act):
    """A verb on one message."""

    model = Message
    right = Right.SEE_MESSAGES

    def thing(self) -> Message:
        """The message, if this person may read it."""
        return get_object_or_404(seen_messages(self.request.user), pk=self.kwargs["pk"])  # type: ignore[arg-type]


@verb(MessageShown, summary="Send a message again that failed, came back, or whose outcome is not known.")
class SendAgain(MessageAct):
    serializer_class = Nothing

    def do(self, thing: Message, given: dict[str, Any]) -> Message:
        return operations.send_again(thing, **self.doing)


class AnotherAddress(serializers.Serializer):
    """Where it goes instead."""

    address = serializers.EmailField(max_length=254)

    example = {"address": "petra.landlady@example.com"}


@verb(MessageShown, summary="Send what did not arrive to another address, as a message of its own.")
class SendTo(MessageAct):
    serializer_class = AnotherAddress

    def do(self, thing: Message, given: dict[str, Any]) -> Message:
        return operations.send_to(thing, **given, **self.doing)


class CameBackSaid(serializers.Serializer):
    """What the mail that came back says, or who told you."""

    why = Text(max_length=2_000)

    example = {"why": "No such mailbox"}


@verb(MessageShown, summary="Note that a message came back.")
class CameBack(MessageAct):
    serializer_class = CameBackSaid

    def do(self, thing: Message, given: dict[str, Any]) -> Message:
        return operations.came_back(thing, **given, **self.doing)
