"""Pages of messages: what was sent to whom and why, and what needs a decision."""

from uuid import UUID

from django import forms
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_POST

from jobsite.forms import PlainForm
from jobsite.messages.models import Message
from jobsite.messages.operations import came_back, send_again, send_to
from jobsite.pages import act, bound, page, pager
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.people.views.common import ask
from jobsite.premises.queries.messages import held_up, message_page, seen_messages
from jobsite.premises.queries.messages import messages as messages_list


class Narrow(PlainForm):
    to = forms.CharField(label="Number, name or address", required=False, max_length=200)
    state = forms.ChoiceField(label="State", required=False, choices=[("", "any"), *Message.State.choices])
    danger = forms.ChoiceField(
        label="Danger", required=False, choices=[("", "with and without"), ("yes", "danger only"), ("no", "the rest")]
    )
    site = forms.UUIDField(required=False, widget=forms.HiddenInput)
    person = forms.UUIDField(required=False, widget=forms.HiddenInput)


class AddressForm(PlainForm):
    address = forms.EmailField(label="E-mail address", max_length=254)


class CameBackForm(PlainForm):
    why = forms.CharField(
        label="What came back says",
        widget=forms.Textarea,
        max_length=2000,
        help_text="The mail server's own words, or who told you that it did not arrive.",
    )


@needs(Right.SEE_MESSAGES)
def messages(request: Request) -> HttpResponse:
    """All messages, the latest first; narrowed by number, name or address, state, danger, `?site=` and `?person=`."""
    narrow = Narrow(request.GET)
    chosen = narrow.cleaned_data if narrow.is_valid() else {}
    found = messages_list(request.user, **chosen, after=request.GET.get("after", ""))
    context = {"rows": found.rows, "pager": pager(request, found), "filter": narrow, "narrowed": any(chosen.values())}
    return page(
        request,
        "messages/messages.html",
        context | {"held_up": held_up(now=request.now)},
        fragment="messages/_messages.html",
    )


@needs(Right.SEE_MESSAGES)
def message(request: Request, pk: UUID) -> HttpResponse:
    """One message: its words, why it was written, whom it went to, how that ended."""
    row = get_object_or_404(seen_messages(request.user), pk=pk)
    return page(request, "messages/message.html", message_page(row))


def _at(row: Message) -> str:
    return reverse("messages:message", args=[row.pk])


@require_POST
@needs(Right.SEE_MESSAGES)
def again(request: Request, pk: UUID) -> HttpResponse:
    """Send a message that failed, came back, or whose outcome is not known, once more."""
    row = get_object_or_404(seen_messages(request.user), pk=pk)
    return act(
        request,
        lambda: send_again(row, by=request.user, now=request.now),
        then=_at(row),
        said="It will be sent again within a few minutes.",
    )


@needs(Right.SEE_MESSAGES)
def to_another(request: Request, pk: UUID) -> HttpResponse:
    """Send what did not arrive to another address, as a message of its own."""
    row = get_object_or_404(seen_messages(request.user), pk=pk)
    form = bound(request, AddressForm, initial={"address": row.address})
    return ask(
        request,
        form,
        "Send it to another address",
        do=lambda: send_to(row, address=form.cleaned_data["address"], by=request.user, now=request.now),
        then=_at,
        said=lambda new: f"Message {new.number} goes to {new.address} within a few minutes.",
        back=_at(row),
        button="Send it there",
        about=f"Message {row.number}: {row.subject}",
        caution="Only this message goes there. Where the address itself is wrong, put it right at the customer or person too.",
    )


@needs(Right.SEE_MESSAGES)
def returned(request: Request, pk: UUID) -> HttpResponse:
    """Note that a message came back."""
    row = get_object_or_404(seen_messages(request.user), pk=pk)
    form = bound(request, CameBackForm)
    return ask(
        request,
        form,
        "It came back",
        do=lambda: came_back(row, why=form.cleaned_data["why"], by=request.user, now=request.now),
        then=_at(row),
        said="Noted: it came back. It can be sent to another address.",
        back=_at(row),
        button="Note that it came back",
        about=f"Message {row.number} to {row.address}: {row.subject}",
    )
