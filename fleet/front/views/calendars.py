"""The calendar of clocks that a phone or desk subscribes to, and the page on which its links are made and revoked."""

from dataclasses import replace

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.crypto import salted_hmac
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from fleet import clock, models
from fleet.claims.actions import calendars as actions
from fleet.claims.forms.calendars import CalendarForm
from fleet.claims.papers import calendars as drawn
from fleet.facts import company
from fleet.front.queries import calendars as queries
from fleet.web import access, fresh


@require_safe
def calendar_feed(request: HttpRequest, token: str) -> HttpResponse:
    """Hand out the calendar to whoever has the link: the secret in the address is the key, there is no other."""
    link = queries.link_of(token, roles=access.roles_of("calendars"))
    if link is None:
        raise Http404
    fresh.catch_up()
    actions.note_read(link=link, at=clock.now())
    page = queries.calendar(
        on=clock.today(),
        mark=lambda ours: f"{salted_hmac('calendar', ours).hexdigest()}@tenth-year",
        address=lambda name, pk: request.build_absolute_uri(reverse(name, args=[pk])),
    )
    if name := company.row().name:
        page = replace(page, name=f"{name}: {page.name}")
    return HttpResponse(
        drawn.ics(page),
        content_type="text/calendar; charset=utf-8",
        headers={"Content-Disposition": 'inline; filename="deadlines.ics"'},
    )


@require_http_methods(["GET", "HEAD", "POST"])
def calendars(request: HttpRequest) -> HttpResponse:
    """Show one's own links; or make one, whose address the next page alone shows."""
    if request.method != "POST":
        return _shown(request, CalendarForm())
    form = CalendarForm(request.POST)
    if not form.is_valid():
        return _shown(request, form, status=422)
    token = actions.make(name=form.cleaned_data["name"], by=access.person(request))
    request.session["calendar"] = request.build_absolute_uri(reverse("calendar_feed", args=[token]))
    return redirect("calendars")


@require_POST
def calendar_revoke(request: HttpRequest, pk: int) -> HttpResponse:
    """Let one of one's own links open nothing any more."""
    me = access.person(request)
    link = get_object_or_404(models.CalendarLink, pk=pk, person=me)
    actions.revoke(link=link, by=me, at=clock.now())
    messages.success(request, f"The link for {link.name or 'that calendar'} opens nothing any more.")
    return redirect("calendars")


def _shown(request: HttpRequest, form: CalendarForm, *, status: int = 200) -> HttpResponse:
    given = request.session.pop("calendar", "")
    page = queries.page(access.person(request), on=clock.today())
    context = {
        "page": page,
        "form": form,
        "link": given,
        "subscribe": f"webcal:{given.partition(':')[2]}" if given else "",
    }
    return render(request, "calendars/calendars.html", context, status=status)
