"""Logging in, one's own password, and the owner's pages of everybody who has a login."""

from typing import Any

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.views import INTERNAL_RESET_SESSION_TOKEN, LoginView, PasswordResetConfirmView
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_GET, require_http_methods, require_POST, require_safe

from fleet import clock, models
from fleet.elements import mail
from fleet.models.people import Role
from fleet.office.actions import first_owner, logins
from fleet.office.actions import people as actions
from fleet.office.forms.people import (
    ChangedPasswordForm,
    ForgottenForm,
    NewPasswordForm,
    NewPersonForm,
    PersonForm,
    SwitchOffForm,
)
from fleet.office.pages import people as pages
from fleet.office.queries import people as queries
from fleet.refusals import Refused
from fleet.rules.logins import Wait
from fleet.web import access, lists

_log_in = LoginView.as_view(template_name="login.html")
_log_in_first = LoginView.as_view(template_name="login.html", extra_context={"is_new": True})

# -- logging in


@sensitive_post_parameters("password")
@require_http_methods(["GET", "HEAD", "POST"])
def login(request: HttpRequest) -> HttpResponseBase:
    """Let somebody in by name and password; wrong ones in a row slow the next down, and lock the name in the end."""
    if request.method != "POST":
        return _log_in_first(request) if first_owner.is_wanted() else _log_in(request)
    name = request.POST.get("username", "")
    if wait := logins.begin(name=name, at=clock.now()):
        return _told_to_wait(request, wait)
    response = _log_in(request)
    if response.status_code == 302:
        logins.forget(name=name)
        return response
    if wait := queries.wait_for(name, at=clock.now()):
        return _told_to_wait(request, wait)
    return response


def _told_to_wait(request: HttpRequest, wait: Wait) -> HttpResponse:
    form = AuthenticationForm(request, initial={"username": request.POST.get("username", "")[:150]})
    words = wait.words(clock.now())
    context = {"form": form, "next": request.POST.get("next", ""), "locked": wait.locked, "wait": words}
    return render(request, "login.html", context, status=429)


# -- one's own password


@sensitive_post_parameters()
@require_http_methods(["GET", "HEAD", "POST"])
def password(request: HttpRequest) -> HttpResponse:
    """Change one's own password; the old one is asked, and guesses at it count like those at the login."""
    me = access.person(request)
    form = ChangedPasswordForm(me, _sent(request))
    if request.method != "POST":
        return render(request, "people/password.html", {"form": form})
    if wait := logins.begin(name=me.username, at=clock.now()):
        words = f"Too many wrong passwords. Try again in {wait.words(clock.now())}."
        return render(request, "people/password.html", {"form": ChangedPasswordForm(me), "wait": words}, status=429)
    readable = form.is_valid()
    if "old_password" in form.cleaned_data:
        logins.forget(name=me.username)
    if not readable:
        return render(request, "people/password.html", {"form": form}, status=422)
    actions.set_password(person=me, password=form.cleaned_data["new_password1"], by=me)
    update_session_auth_hash(request, me)
    messages.success(request, "Your password is changed. You are logged out everywhere else.")
    return redirect("home")


@require_http_methods(["GET", "HEAD", "POST"])
def password_forgotten(request: HttpRequest) -> HttpResponse:
    """Have a link mailed to whoever forgot a password; what is answered does not tell whether anybody has the address."""
    form = ForgottenForm(_sent(request))
    if request.method != "POST":
        return render(request, "password/forgotten.html", {"form": form})
    if not form.is_valid():
        return render(request, "password/forgotten.html", {"form": form}, status=422)
    actions.ask_for_link(email=form.cleaned_data["email"], root=request.build_absolute_uri("/"), at=clock.now())
    return redirect("password_sent")


@require_safe
def password_sent(request: HttpRequest) -> HttpResponse:
    """The page that says where to look for the link to a new password."""
    return render(request, "password/sent.html", {"mail_works": mail.works()})


class PasswordNewView(PasswordResetConfirmView):
    """Set a new password through a link: Django's own view, which keeps the link's secret out of the address."""

    template_name = "password/new.html"
    token_generator = actions.link_tokens
    form_class = NewPasswordForm

    def get_user(self, uidb64: str) -> Any:
        """Find whom the link is for; nobody who was switched off."""
        user = super().get_user(uidb64)
        return user if user is not None and user.is_active else None

    def form_valid(self, form: Any) -> HttpResponse:
        """Set the password by the action, which also logs it and opens the login."""
        assert isinstance(self.user, models.User)  # without whom no form was shown
        actions.set_password(
            person=self.user, password=form.cleaned_data["new_password1"], by=self.user, how="by a link"
        )
        del self.request.session[INTERNAL_RESET_SESSION_TOKEN]
        messages.success(self.request, "Your new password is set. Log in with it now.")
        return redirect("login")


# -- everybody


@require_safe
def people(request: HttpRequest) -> HttpResponseBase:
    """List everybody who has a login, as a page or a file."""
    return lists.respond(request, queries.people(clock.now()), "people/people.html")


@require_http_methods(["GET", "HEAD", "POST"])
def person_add(request: HttpRequest) -> HttpResponse:
    """Add a person with a login, and show the link by which they set its password."""
    form = NewPersonForm(_sent(request))
    by = access.person(request)
    if request.method != "POST":
        return render(request, "people/add.html", {"form": form})
    made = None
    if form.is_valid():
        with form.may_be_refused():
            made = actions.add(**form.cleaned_data, by=by)
    if made is None:
        return render(request, "people/add.html", {"form": form}, status=422)
    messages.success(request, f"{made} has a login now. Give them the link below to set a password.")
    return _given(request, made)


@require_safe
def person(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one person, with what was changed about them."""
    return _shown(request, pk)


@require_POST
def person_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Change somebody's name, e-mail address or role."""
    user = get_object_or_404(models.User, pk=pk)
    form = PersonForm(request.POST)
    if not form.is_valid():
        return _shown(request, pk, form)
    try:
        changed = actions.change(person=user, **form.cleaned_data, by=access.person(request))
    except Refused as refused:
        form.refuse(refused)
        return _shown(request, pk, form)
    messages.success(request, "Saved." if changed else "Nothing changed.")
    return redirect("person", pk)


@require_POST
def person_off(request: HttpRequest, pk: int) -> HttpResponse:
    """Let somebody in no more, and give their booked visits to somebody else."""
    user = get_object_or_404(models.User, pk=pk)
    form = SwitchOffForm(request.POST, heirs=queries.heirs(pk))
    if form.is_valid():
        with form.may_be_refused():
            actions.switch_off(
                person=user,
                visits=form.cleaned_data["visits"],
                by=access.person(request),
                at=clock.now(),
                on=clock.today(),
            )
            said = f"{user} is switched off and logged out everywhere. Everything they did stays on file."
            messages.success(request, said)
            return redirect("person", pk)
    return _shown(request, pk, off=form)


@require_POST
def person_on(request: HttpRequest, pk: int) -> HttpResponse:
    """Let somebody in again."""
    user = get_object_or_404(models.User, pk=pk)
    actions.switch_on(person=user, by=access.person(request))
    messages.success(request, f"{user} can log in again.")
    return redirect("person", pk)


@require_POST
def person_unlock(request: HttpRequest, pk: int) -> HttpResponse:
    """Forget the wrong passwords tried under somebody's name."""
    user = get_object_or_404(models.User, pk=pk)
    actions.unlock(person=user, by=access.person(request))
    messages.success(request, f"{user} can try to log in again.")
    return redirect("person", pk)


@require_POST
def person_link(request: HttpRequest, pk: int) -> HttpResponse:
    """Show a link by which somebody sets a new password."""
    user = get_object_or_404(models.User, pk=pk)
    return _given(request, user)


@require_GET
def roles(request: HttpRequest) -> HttpResponse:
    """Show which role may do what."""
    addresses = [(address.words, address.roles) for address in access.table().values() if address.roles]
    page = pages.roles_page(addresses, tuple(Role.values))
    return render(request, "people/roles.html", {"page": page})


def _sent(request: HttpRequest) -> QueryDict | None:
    """What was sent, even if it is empty; None where a form is only asked for."""
    return request.POST if request.method == "POST" else None


def _given(request: HttpRequest, person: models.User) -> HttpResponse:
    """Keep the link for the next page alone, mail it where that can be done, and show the person."""
    by = access.person(request)
    try:
        address = actions.link(person=person, by=by)
    except Refused as refused:
        messages.error(request, str(refused))
        return redirect("person", person.pk)
    root = request.build_absolute_uri("/")
    request.session["given"] = {"person": person.pk, "link": root.rstrip("/") + address}
    if person.email and mail.works():
        actions.mail_soon(person=person, root=root, at=clock.now(), by=by)
        messages.success(request, f"The link was also emailed to {person.email}.")
    return redirect("person", person.pk)


def _shown(
    request: HttpRequest, pk: int, form: PersonForm | None = None, *, off: SwitchOffForm | None = None
) -> HttpResponse:
    page = queries.page(pk, me=access.person(request), at=clock.now())
    if page is None:
        raise Http404
    given = request.session.pop("given", None) if form is None and off is None else None
    context = {
        "page": page,
        "form": form or PersonForm(initial={field: getattr(page, field) for field in actions.FIELDS}),
        "off": off or SwitchOffForm(heirs=queries.heirs(pk)),
        "link": given["link"] if given and given["person"] == pk else "",
        "days": settings.PASSWORD_RESET_TIMEOUT // (24 * 60 * 60),
    }
    return render(request, "people/person.html", context, status=off.status if off else 422 if form else 200)
