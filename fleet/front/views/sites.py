"""The pages of a site and of a customer."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from fleet import clock
from fleet.business.queries import own_promises
from fleet.calls.queries import calls
from fleet.care.queries import due, write_ups
from fleet.facts.care import sheet_to_read
from fleet.front.queries import sites as queries
from fleet.front.views import deadlines
from fleet.registry.queries import documents as papers
from fleet.registry.queries import saved_installs
from fleet.registry.views import documents
from fleet.web import access


@require_safe
def site(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one site with what stands there."""
    sheet = sheet_to_read()
    page = queries.page(pk, sheet, on=clock.today())
    if page is None:
        raise Http404
    may_take_back = access.may_see(access.person(request).role, "new_install_undo")
    saved = saved_installs.saved_lately(pk, on=clock.today()) if may_take_back else ()
    context = {"page": page, "saved": saved, **documents.part(papers.of_site(pk))}
    promises = own_promises.rows_of_site(pk)
    context["own_promises"] = own_promises.lines(promises, on=clock.today())
    context["deadlines"] = deadlines.of_site(request, page.deadlines, pk, promises, sheet)
    context["calls"] = calls.of(site=pk)
    context["care"] = due.short_of_site(pk, sheet, on=clock.today())
    context["visits_here"] = write_ups.of_site(pk, on=clock.today())
    return render(request, "sites/site.html", context)


@require_safe
def customer(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one customer with their sites."""
    page = queries.customer_page(pk, on=clock.today())
    if page is None:
        raise Http404
    return render(request, "sites/customer.html", {"page": page})
