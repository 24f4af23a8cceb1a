"""The customer's share of a failure: billed, paid in parts, and undone."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_POST

from fleet import clock, models
from fleet.claims.actions import shares as actions
from fleet.claims.forms.shares import BillForm, PaymentForm, UndoShareForm
from fleet.claims.views.failures import shown
from fleet.elements.action_form import ActionForm
from fleet.web import access


@require_POST
def failure_bill(request: HttpRequest, pk: int) -> HttpResponse:
    """Record what the customer was billed for a failure."""
    get_object_or_404(models.Failure, pk=pk)
    return _done(request, pk, "bill", BillForm(request.POST), lambda **told: actions.bill(pk, **told), "Bill recorded.")


@require_POST
def bill_pay(request: HttpRequest, pk: int) -> HttpResponse:
    """Record what the customer paid of a bill."""
    row = get_object_or_404(models.FailureBill, pk=pk)
    form = PaymentForm(pk, request.POST)
    return _done(request, row.failure_id, f"pay{pk}", form, lambda **told: actions.pay(pk, **told), "Payment recorded.")


@require_POST
def bill_undo(request: HttpRequest, pk: int) -> HttpResponse:
    """Take back a bill that was entered by mistake."""
    row = models.FailureBill.objects.filter(pk=pk).first()
    if row is None:
        raise Http404
    form = UndoShareForm(f"bill{pk}", request.POST)
    return _done(
        request, row.failure_id, f"undo_bill{pk}", form, lambda **told: actions.undo_bill(pk, **told), "Bill undone."
    )


@require_POST
def payment_undo(request: HttpRequest, pk: int) -> HttpResponse:
    """Take back a payment that was entered by mistake."""
    row = models.FailurePayment.objects.select_related("bill").filter(pk=pk).first()
    if row is None:
        raise Http404
    form = UndoShareForm(f"payment{pk}", request.POST)
    return _done(
        request,
        row.bill.failure_id,
        f"undo_payment{pk}",
        form,
        lambda **told: actions.undo_payment(pk, **told),
        "Payment undone.",
    )


def _done(
    request: HttpRequest, failure: int, name: str, form: ActionForm, act: Callable[..., Any], said: str
) -> HttpResponse:
    """Act, and go back to the failure; what is refused stands in its form there."""
    if form.is_valid():
        with form.may_be_refused():
            act(**form.cleaned_data, by=access.person(request), on=clock.today())
            messages.success(request, said)
            return redirect("failure", failure)
    return shown(request, failure, sent={name: form}, status=form.status)
