"""Today's stops, and the write-up of one: a form without scripts, or a message (JSON) at the same address; and taking it back."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from fleet import clock, models
from fleet.care.actions import undo_write_up as undoing
from fleet.care.actions import write_up_checks as checks
from fleet.care.actions import write_ups as actions
from fleet.care.facts.tickets import recipients
from fleet.care.forms.tickets import TicketMailForm
from fleet.care.forms.undo_write_up import UndoForm, filled
from fleet.care.forms.write_up_checks import SettleForm
from fleet.care.forms.write_up_message import message_of
from fleet.care.forms.write_ups import WriteUpForm
from fleet.care.pages.stops import Stop
from fleet.care.pages.write_ups import Anew
from fleet.care.queries import stops, tickets, write_ups
from fleet.care.views import write_up_door
from fleet.claims.queries import failures
from fleet.elements import mail
from fleet.models.people import Role
from fleet.refusals import Conflict, Refused
from fleet.registry.actions import documents as papers
from fleet.rules.dates import in_words
from fleet.rules.wording.readings import NOT_A_CHARGING_METHOD
from fleet.web import access


@require_safe
def today(request: HttpRequest) -> HttpResponse:
    """Show the stops of today and tomorrow: a technician's own, or everybody's."""
    by = access.person(request)
    mine = by if by.role == Role.TECHNICIAN else None
    return render(request, "stops/today.html", {"page": stops.today(on=clock.today(), technician=mine)})


@require_http_methods(["GET", "HEAD", "POST"])
def write_up_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Write up a stop at a site, booked or not."""
    if request.content_type == "application/json":
        return write_up_door.message(request, pk)
    sent = request.POST if request.method == "POST" else None
    anew = _anew(request, pk)
    if anew is not None and anew.written is not None:
        return redirect("write_up", anew.written)
    booking = _number((sent if sent is not None else request.GET).get("booking", ""))
    stop = stops.at_site(pk, on=clock.today(), booking=booking if anew is None else anew.booking)
    if stop is None:
        raise Http404
    if sent is not None and sent.get("check"):
        return _checked(request)
    name = access.person(request).get_full_name()
    form = WriteUpForm(
        stop,
        sent if anew is None else filled(anew),
        request.FILES if sent is not None else None,
        technician=name,
        today=clock.today(),
        more="" if sent is None else sent.get("more", ""),
    )
    if sent is None or sent.get("more"):
        return _form(request, stop, form, anew=anew)
    recorded = _recorded(request, pk, form)
    if recorded is None:
        return _form(request, stop, form, status=form.status)
    _say(request, recorded)
    if recorded.write_up.taken_back_on is None:
        # Sent again, a photo may come that did not the first time; one that is on file is kept once.
        _keep_photos(request, recorded.write_up, form)
    return redirect("write_up", recorded.write_up.pk)


def _number(text: str) -> int | None:
    return int(text) if text.isdecimal() and len(text) < 18 else None


def _anew(request: HttpRequest, site: int) -> Anew | None:
    """The write-up taken back that is to be written up anew, where the address names one."""
    pk_of_undone = _number(request.GET.get("anew", "")) if request.method != "POST" else None
    return None if pk_of_undone is None else write_ups.anew(pk_of_undone, site=site)


def _form(
    request: HttpRequest, stop: Stop, form: WriteUpForm, *, anew: Anew | None = None, status: int = 200
) -> HttpResponse:
    if status != 200:
        form.focus_first()
    context = {"stop": stop, "form": form, "anew": anew, "not_a_charging_method": NOT_A_CHARGING_METHOD}
    return render(request, "write_ups/new.html", context, status=status)


def _recorded(request: HttpRequest, pk: int, form: WriteUpForm) -> actions.Recorded | None:
    if not form.is_valid():
        return None
    try:
        message = message_of(request.POST)
        return actions.record(pk, message, sent=message, by=access.person(request), on=clock.today())
    except Refused as refused:
        form.refuse(refused)
        if isinstance(refused, Conflict):
            form.add_error(None, "Open the stop again to write up more work.")
    return None


def _say(request: HttpRequest, recorded: actions.Recorded) -> None:
    if not recorded.new:
        messages.info(request, recorded.note or "This was already recorded; it is on file once.")
    else:
        messages.success(request, f"Recorded. {recorded.note}".strip())


def _keep_photos(request: HttpRequest, made: models.WriteUp, form: WriteUpForm) -> None:
    """Keep each photo with the site: one that is refused costs neither the write-up nor the others."""
    for file in form.cleaned_data.get("photos") or ():
        try:
            papers.add(
                file=file,
                name=file.name,
                whose=made.site,
                caption=f"Write-up of {in_words(made.on)}",
                write_up=made,
                by=access.person(request),
            )
        except Refused as refused:
            messages.error(request, f"{file.name} was not added. {refused}")


def _checked(request: HttpRequest) -> HttpResponse:
    """The warnings for one unit's readings, as they are written."""
    unit = request.POST["check"]
    measured = [row for one in message_of(request.POST)["units"] if one["unit"] == unit for row in one["readings"]]
    warned = failures.warned(int(unit), measured, on=clock.today()) if unit.isdecimal() and len(unit) < 18 else ()
    return render(request, "write_ups/_warned.html", {"warned": warned})


@require_safe
def write_up(request: HttpRequest, pk: int) -> HttpResponse:
    """Show what was written up."""
    return shown(request, pk)


def shown(
    request: HttpRequest,
    pk: int,
    form: UndoForm | None = None,
    *,
    settle: SettleForm | None = None,
    check: int | None = None,
    ticket: TicketMailForm | None = None,
    status: int = 200,
) -> HttpResponse:
    """The page of a write-up; with the form of what was refused on it: taking it back, settling a check, emailing its ticket."""
    page = write_ups.page(pk, on=clock.today())
    if page is None:
        raise Http404
    may = page.taken_back is None and undoing.may(access.person(request), sent_by=page.sent_by)
    context = {
        "page": page,
        "undo": form or UndoForm(),
        "may_undo": may,
        "settle": settle or SettleForm(),
        "refused_check": check,
        "ticket": ticket or TicketMailForm(recipients=recipients(pk)),
        "emailed": tickets.emailed(pk),
        "mail_works": mail.works(),
    }
    return render(request, "write_ups/write_up.html", context, status=status)


@require_POST
def undo_write_up(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a write-up back, with the reason."""
    row = get_object_or_404(models.WriteUp, pk=pk)
    by, form = access.person(request), UndoForm(request.POST)
    if not undoing.may(by, sent_by=row.by_id):
        raise PermissionDenied
    if not form.is_valid():
        return shown(request, pk, form, status=422)
    try:
        undoing.undo(pk, why=form.cleaned_data["reason"], by=by, on=clock.today())
    except Conflict as before:
        messages.info(request, str(before))
    except Refused as refused:
        form.refuse(refused)
        return shown(request, pk, form, status=form.status)
    else:
        messages.success(request, "Taken back. It stays here to read, and no longer counts.")
    return redirect("write_up", pk)


@require_POST
def check_settle(request: HttpRequest, pk: int) -> HttpResponse:
    """Record what was done about something that a write-up said and that could not be recorded."""
    row = get_object_or_404(models.WriteUpCheck, pk=pk)
    form = SettleForm(request.POST)
    if form.is_valid():
        with form.may_be_refused():
            checks.settle(pk, how=form.cleaned_data["how"], by=access.person(request), on=clock.today())
            messages.success(request, "Settled. It no longer stands on our desk.")
            return redirect("write_up", row.write_up_id)
    return shown(request, row.write_up_id, settle=form, check=pk, status=form.status)


@require_POST
def check_reopen(request: HttpRequest, pk: int) -> HttpResponse:
    """Let it stand on our desk again."""
    row = get_object_or_404(models.WriteUpCheck, pk=pk)
    checks.reopen(pk, by=access.person(request))
    messages.success(request, "It stands on our desk again.")
    return redirect("write_up", row.write_up_id)
