"""The ticket of a visit: handed out, and emailed to the customer when the office wants it."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_POST, require_safe

from fleet import clock, models
from fleet.care.actions import tickets as actions
from fleet.care.facts.tickets import recipients
from fleet.care.forms.tickets import TicketMailForm
from fleet.care.papers import ticket as paper
from fleet.care.queries import tickets as queries
from fleet.care.views.write_ups import shown
from fleet.elements import mail
from fleet.facts import company
from fleet.refusals import Refused
from fleet.web import access


@require_safe
def ticket(request: HttpRequest, pk: int) -> HttpResponse:
    """Hand out the ticket of a write-up that counts."""
    found = queries.ticket(pk, on=clock.today())
    if found is None:
        raise Http404
    headers = {"Content-Disposition": f'attachment; filename="{found.filename}"'}
    return HttpResponse(paper.pdf(found, company=company.company()), content_type="application/pdf", headers=headers)


@require_POST
def ticket_mail(request: HttpRequest, pk: int) -> HttpResponse:
    """Have it emailed to one of the addresses on file."""
    get_object_or_404(models.WriteUp, pk=pk)
    form = TicketMailForm(request.POST, recipients=recipients(pk))
    if not mail.works():
        form.add_error(None, "Email is not set up on this server. Download the ticket and send it yourself.")
    if form.is_valid():
        to = form.cleaned_data["to"]
        try:
            actions.mail_soon(pk, to=to, by=access.person(request), at=clock.now())
        except Refused as refused:
            form.refuse(refused)
            if models.WriteUp.objects.filter(pk=pk).exclude(taken_back_on=None).exists():
                # Its page has no form of this any more, where it could be said.
                messages.error(request, str(refused))
        else:
            messages.success(request, f"The ticket is on its way to {to}. This page says once it was sent.")
            return redirect("write_up", pk)
    return shown(request, pk, ticket=form, status=form.status)
