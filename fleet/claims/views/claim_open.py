"""Opening a claim on a payer of a failure, or recording that it is not asked, and why."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from fleet import clock, models
from fleet.claims.actions import claims as actions
from fleet.claims.forms.claims import OpenForm
from fleet.claims.pages import claims as pages
from fleet.claims.queries import claims as queries
from fleet.refusals import Refused
from fleet.web import access


@require_http_methods(["GET", "HEAD", "POST"])
def claim_open(request: HttpRequest, pk: int) -> HttpResponse:
    """Show whom to ask for a failure; or open a claim on one, or record that it is not asked."""
    page = queries.of_failure(pk, on=clock.today())
    if page is None:
        raise Http404
    if request.method != "POST":
        return render(request, "claims/open.html", context(page))
    offer = next((offer for offer in page.offers if str(offer.terms_pk) == request.POST.get("terms")), None)
    if offer is None:
        messages.error(request, "Nothing was opened: this payer has a claim by now, or holds nothing of this unit.")
        return redirect("claim_open", pk)
    form = OpenForm(offer, request.POST, suppliers=page.suppliers)
    if form.is_valid():
        try:
            made = _open(request, pk, form)
        except Refused as refused:
            form.refuse(refused)
        else:
            done = "Recorded: it is not asked." if "forgo" in request.POST else f"Claim {made.pk} is open."
            messages.success(request, done)
            return redirect("claim", made.pk)
    return render(request, "claims/open.html", context(page, form), status=form.status)


def _open(request: HttpRequest, pk: int, form: OpenForm) -> models.Claim:
    asked, by, on = form.cleaned_data, access.person(request), clock.today()
    if "forgo" in request.POST:
        return actions.forgo(pk, asked["terms"], because=asked["because"], by=by, on=on)
    supplier = models.Supplier.objects.filter(pk=asked["supplier"]).first() if asked["supplier"] else None
    because = "" if form.offer.promised else asked["because"]
    return actions.open(pk, asked["terms"], kinds=asked["kinds"], supplier=supplier, because=because, by=by, on=on)


def context(page: pages.OfFailure, sent: OpenForm | None = None) -> dict[str, Any]:
    """Give what `claims/_of_failure.html` shows, on a page of its own or on the failure's."""
    forms = {
        offer.terms_pk: sent if sent is not None and sent.offer is offer else OpenForm(offer, suppliers=page.suppliers)
        for offer in page.offers
    }
    return {
        "claims_of": page,
        "promised_forms": [forms[offer.terms_pk] for offer in page.promised],
        "denied_forms": [forms[offer.terms_pk] for offer in page.denied],
        "denied_open": sent is not None and not sent.offer.promised,
    }
