"""The money of agreements: bills sent and paid, added heads, and what an early end gives back."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from fleet import clock, models
from fleet.business.actions import bills as actions
from fleet.business.forms.bills import HeadsForm, PayForm, RefundForm, SendForm
from fleet.business.queries import agreement_bills as queries
from fleet.business.views.agreements import shown
from fleet.refusals import Refused
from fleet.rules.billing import KINDS
from fleet.rules.dates import written
from fleet.web import access


@require_http_methods(["GET", "HEAD", "POST"])
def bill_send(request: HttpRequest, pk: int) -> HttpResponse:
    """Record that a planned bill was sent."""
    kind = request.GET.get("kind", "")
    first = written(request.GET.get("first", ""))
    found = (
        None if kind not in KINDS or first is None else queries.planned(pk, kind=kind, first=first, on=clock.today())
    )
    if found is None:
        raise Http404
    row, entry = found
    form = SendForm(
        request.POST if request.method == "POST" else None,
        initial={"billed_on": clock.today(), "amount": entry.amount},
    )
    if form.is_bound and form.is_valid():
        cleaned = form.cleaned_data
        with form.may_be_refused():
            actions.send(
                pk,
                kind=entry.kind,
                first=entry.days.first,
                last=entry.days.last or entry.days.first,
                amount=cleaned["amount"],
                billed_on=cleaned["billed_on"],
                number=cleaned["number"],
                by=access.person(request),
                on=clock.today(),
            )
            messages.success(request, "Bill recorded.")
            return redirect("agreement", pk)
    context = {"row": row, "entry": entry, "form": form}
    return render(request, "agreements/bill_new.html", context, status=form.status)


@require_http_methods(["GET", "HEAD", "POST"])
def bill(request: HttpRequest, pk: int) -> HttpResponse:
    """Show a bill that was sent, or record a payment of it."""
    page = queries.sent(pk)
    if page is None:
        raise Http404
    form = PayForm(
        request.POST if request.method == "POST" else None, initial={"paid_on": clock.today(), "amount": page.open}
    )
    if form.is_bound and form.is_valid():
        cleaned = form.cleaned_data
        with form.may_be_refused():
            actions.pay(
                pk,
                paid_on=cleaned["paid_on"],
                amount=cleaned["amount"],
                note=cleaned["note"],
                by=access.person(request),
                on=clock.today(),
            )
            messages.success(request, "Payment recorded.")
            return redirect("agreement_bill", pk)
    return render(request, "agreements/bill.html", {"page": page, "form": form}, status=form.status)


@require_POST
def bill_unsend(request: HttpRequest, pk: int) -> HttpResponse:
    """Take back that a bill was sent."""
    try:
        row = actions.unsend(pk, by=access.person(request), on=clock.today())
    except models.AgreementBill.DoesNotExist as missing:
        raise Http404 from missing
    except Refused as refused:
        messages.error(request, str(refused))
        return redirect("agreement_bill", pk)
    messages.success(request, "The bill is planned again.")
    return redirect("agreement", row.pk)


@require_POST
def payment_undo(request: HttpRequest, pk: int) -> HttpResponse:
    """Take back a payment that was entered by mistake."""
    try:
        row = actions.unpay(pk, by=access.person(request), on=clock.today())
    except models.BillPayment.DoesNotExist as missing:
        raise Http404 from missing
    messages.success(request, "Payment undone.")
    return redirect("agreement_bill", row.pk)


@require_POST
def heads_decide(request: HttpRequest, pk: int) -> HttpResponse:
    """Bill heads put in on a day for the days left, or leave them without a bill."""
    form = HeadsForm(request.POST)
    if not form.is_valid() or not queries.proposed(pk, put_in=form.cleaned_data["on"], on=clock.today()):
        form.add_error(None, "These heads are no longer waiting for a decision. Look at it again below.")
        return shown(request, pk, seen=form, status=409)
    put_in, taken = form.cleaned_data["on"], form.cleaned_data["taken"] == "yes"
    try:
        actions.decide_heads(pk, put_in=put_in, taken=taken, by=access.person(request), on=clock.today())
    except Refused as refused:
        form.refuse(refused)
        return shown(request, pk, seen=form, status=form.status)
    messages.success(request, "The added heads will be billed." if taken else "The added heads will not be billed.")
    return redirect("agreement", pk)


@require_POST
def heads_undo(request: HttpRequest, pk: int) -> HttpResponse:
    """Take back what was decided about heads put in on a day."""
    form = HeadsForm(request.POST)
    if not form.is_valid():
        raise Http404
    try:
        actions.undecide_heads(pk, put_in=form.cleaned_data["on"], by=access.person(request), on=clock.today())
    except models.Agreement.DoesNotExist as missing:
        raise Http404 from missing
    except Refused as refused:
        form.refuse(refused)
        return shown(request, pk, seen=form, status=form.status)
    messages.success(request, "Undone: decide about the added heads again.")
    return redirect("agreement", pk)


@require_POST
def refund_decide(request: HttpRequest, pk: int) -> HttpResponse:
    """Settle what an agreement that ended early gives back."""
    amounts = queries.amounts(pk, on=clock.today())
    ways = [(way, way) for way in (*amounts, "another")]
    form = RefundForm(request.POST, ways=ways)
    if form.is_valid():
        way = form.cleaned_data["way"]
        amount = amounts.get(way, form.cleaned_data["amount"])
        try:
            actions.decide_refund(
                pk,
                way=way,
                amount=amount,
                why=form.cleaned_data["why"] if way == "another" else "",
                by=access.person(request),
                on=clock.today(),
            )
        except models.Agreement.DoesNotExist as missing:
            raise Http404 from missing
        except Refused as refused:
            form.refuse(refused)
        else:
            messages.success(request, "Saved what to give back.")
            return redirect("agreement", pk)
    return shown(request, pk, refund=form, status=form.status)


@require_POST
def refund_undo(request: HttpRequest, pk: int) -> HttpResponse:
    """Take back what was decided about giving back."""
    try:
        actions.undecide_refund(pk, by=access.person(request), on=clock.today())
    except models.Agreement.DoesNotExist as missing:
        raise Http404 from missing
    except Refused as refused:
        messages.error(request, str(refused))
        return redirect("agreement", pk)
    messages.success(request, "Undone: decide again what to give back.")
    return redirect("agreement", pk)
