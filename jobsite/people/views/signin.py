"""Pages of signing in: one's own sessions, what a manager may do for somebody, and whom the firm asks a second step of.

What changes how people sign in asks for the password (or the second step) again first: `proved_again_first`.
"""

from uuid import UUID

from allauth.account.internal.flows.logout import logout
from allauth.usersessions.models import UserSession
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from jobsite.firm.queries import the_firm
from jobsite.pages import act, bound, page
from jobsite.people import forms, operations
from jobsite.people.guard import Request, needs
from jobsite.people.invitations import mail_second_step_taken
from jobsite.people.models import User
from jobsite.people.queries import signin as queries
from jobsite.people.rights import Right
from jobsite.people.signin.again import proved_again_first
from jobsite.people.views.common import ask
from jobsite.refused import Refused

OUT = "Signed out everywhere, and their tokens have ended. Whoever sits at one of these devices signs in anew."


@never_cache
@needs(Right.SEE_WORK)
def my_sessions(request: Request) -> HttpResponse:
    """Where somebody is signed in, and what happened at the door; POST ends all but this session."""
    if request.method == "POST":
        return _others_out(request)
    context = {
        "sessions": queries.sessions(request.user, here=request.session.session_key, now=request.now),
        "events": queries.events(request.user),
        "means": ", ".join(queries.means(request.user)),
    }
    return page(request, "people/my_sessions.html", context)


@proved_again_first
def _others_out(request: Request) -> HttpResponse:
    return act(request, lambda: _end_others(request), then=reverse("people:my_sessions"), said="Signed out elsewhere.")


def _end_others(request: Request) -> None:
    for session in UserSession.objects.filter(user=request.user).exclude(session_key=request.session.session_key):
        operations.end_one_session(session, by=request.user, now=request.now)


@require_POST
@needs(Right.SEE_WORK)
@proved_again_first
def session_end(request: Request, pk: int) -> HttpResponse:
    """End one of one's own sessions; the one in use is a sign-out."""
    session = UserSession.objects.filter(pk=pk, user=request.user).first()
    if session is None:  # it ended meanwhile
        return redirect("people:my_sessions")
    if session.session_key == request.session.session_key:
        logout(request)
        return redirect("account_login")
    return act(
        request,
        lambda: operations.end_one_session(session, by=request.user, now=request.now),
        then=reverse("people:my_sessions"),
        said="Signed out there.",
    )


@needs(Right.KEEP_PEOPLE)
def person_sign_in(request: Request, pk: UUID) -> HttpResponse:
    """How somebody signs in, where they are signed in, and what a manager may do for them."""
    return _person(request, pk)


def _person(request: Request, pk: UUID, refused: Refused | None = None) -> HttpResponse:
    user = get_object_or_404(User, pk=pk)
    context = queries.of_person(user, now=request.now) | {
        "person": user,
        "refused": refused,
        "mine": user.pk == request.user.pk,
    }
    return page(request, "people/sign_in.html", context)


@require_POST
@needs(Right.KEEP_PEOPLE)
@proved_again_first
def sessions_end(request: Request, pk: UUID) -> HttpResponse:
    """Sign somebody out everywhere."""
    user = get_object_or_404(User, pk=pk)
    return act(
        request,
        lambda: operations.end_sessions(user, by=request.user, now=request.now),
        then=_at(user),
        said=OUT,
        again=lambda refused: _person(request, pk, refused),
    )


@require_POST
@needs(Right.KEEP_PEOPLE)
def tries_clear(request: Request, pk: UUID) -> HttpResponse:
    """Let somebody try again at once."""
    user = get_object_or_404(User, pk=pk)
    return act(
        request,
        lambda: operations.clear_tries(user, by=request.user, now=request.now),
        then=_at(user),
        said=f"{user.name} can try again.",
        again=lambda refused: _person(request, pk, refused),
    )


@needs(Right.KEEP_PEOPLE)
@proved_again_first
def second_step_away(request: Request, pk: UUID) -> HttpResponse:
    """Take the second step of somebody away who lost it, and tell them."""
    user = get_object_or_404(User, pk=pk)
    form = bound(request, forms.SecondStepAwayForm)

    def do() -> User:
        done = operations.take_second_step_away(user, by=request.user, now=request.now, **form.cleaned_data)
        mail_second_step_taken(done, by=request.user.name)
        return done

    return ask(
        request,
        form,
        f"{user.name}: take the second step away",
        do=do,
        then=_at(user),
        said=f"Taken away. {user.name} was told by e-mail and signs in with the password, then sets up another.",
        back=_at(user),
        button="Take it away",
        about="For somebody who lost the telephone or the key and has no recovery code left. Their sessions end too.",
        caution="Whoever talks somebody into this gets past the second step. Speak to them in person, or ring the number that "
        "the firm has always had for them; never the one that an e-mail or a caller gives.",
    )


@needs(Right.KEEP_FIRM)
@proved_again_first
def second_step_asked(request: Request) -> HttpResponse:
    """Decide of whom the firm asks a second step."""
    form = bound(request, forms.SecondStepForm, initial={"of": the_firm().second_step_for})
    return ask(
        request,
        form,
        "Who must use a second step",
        do=lambda: operations.ask_second_step(by=request.user, now=request.now, **form.cleaned_data),
        then=reverse("people:sign_ins"),
        said="Saved.",
        back=reverse("people:sign_ins"),
        about="Besides the password: a code of an app on their telephone, or a passkey. Who has none yet is led to setting one "
        "up at their next page and gets no further before.",
    )


@needs(Right.KEEP_PEOPLE)
def sign_ins(request: Request) -> HttpResponse:
    """How the firm's people sign in: who must use a second step, who has none, and the way to sign everybody out."""
    context = {"asked": queries.asked_words(), "without": queries.without_second_step()}
    return page(request, "people/sign_ins.html", context)


@require_POST
@needs(Right.KEEP_PEOPLE)
@proved_again_first
def everybody_out(request: Request) -> HttpResponse:
    """Sign everybody out, the one who asks for it too."""
    by = User.objects.get(pk=request.user.pk)
    logout(request)  # first: a session that is gone cannot be saved at the end of its own request
    operations.end_everybodys_sessions(by=by, now=request.now)
    return redirect("account_login")


def _at(user: User) -> str:
    return reverse("people:person_sign_in", args=[user.pk])
