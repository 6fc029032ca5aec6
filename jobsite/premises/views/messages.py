"""Pages of messages: what was sent to whom and why, and what needs a decision."""

from uuid import UUID

from django import forms
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_POST

from jobsite.forms import PlainForm
from jobsite.messages.models import Message
from jobsite.messages.operations import send_again
from jobsite.pages import act, page, pager
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.premises.queries.messages import message_page, seen_messages
from jobsite.premises.queries.messages import messages as messages_list


class Narrow(PlainForm):
    state = forms.ChoiceField(label="State", required=False, choices=[("", "any"), *Message.State.choices])
    site = forms.UUIDField(required=False, widget=forms.HiddenInput)


@needs(Right.SEE_MESSAGES)
def messages(request: Request) -> HttpResponse:
    """All messages, the latest first; `?state=` and `?site=` narrow the list."""
    narrow = Narrow(request.GET)
    chosen = narrow.cleaned_data if narrow.is_valid() else {}
    found = messages_list(
        request.user,
        state=chosen.get("state", ""),
        site=chosen.get("site"),
        after=request.GET.get("after", ""),
    )
    context = {"rows": found.rows, "pager": pager(request, found), "filter": narrow}
    return page(request, "messages/messages.html", context, fragment="messages/_messages.html")


@needs(Right.SEE_MESSAGES)
def message(request: Request, pk: UUID) -> HttpResponse:
    """One message: its words, whom it went to, how that ended."""
    row = get_object_or_404(seen_messages(request.user), pk=pk)
    return page(request, "messages/message.html", message_page(row))


@require_POST
@needs(Right.SEE_MESSAGES)
def again(request: Request, pk: UUID) -> HttpResponse:
    """Send a message that failed, or whose outcome is not known, once more."""
    row = get_object_or_404(seen_messages(request.user), pk=pk)
    return act(
        request,
        lambda: send_again(row, by=request.user, now=request.now),
        then=reverse("messages:message", args=[row.pk]),
        said="It will be sent again within a few minutes.",
    )
