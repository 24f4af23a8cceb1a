"""Opening a claim of a failure, or recording that it is not asked; one claim: its steps, what is known and given beside them."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from fleet import clock, models
from fleet.claims.actions import claim_corrections, claim_documents
from fleet.claims.actions import claims as actions
from fleet.claims.forms.claims import DismissForm, GiveForm, KnownForm, OpenForm, StepForm, TakeBackForm
from fleet.claims.pages import claims as pages
from fleet.claims.queries import claim as claim_queries
from fleet.claims.queries import claims as queries
from fleet.elements.action_form import ActionForm
from fleet.refusals import Refused
from fleet.rules.claims import State
from fleet.rules.wording.claim_steps import papers_missing
from fleet.rules.wording.deadlines import SAY_WHICH
from fleet.rules.wording.names import lower
from fleet.web import access


@require_http_methods(["GET", "HEAD", "POST"])
def claim_open(request: HttpRequest, pk: int) -> HttpResponse:
    """Show whom to ask for a failure; or open a claim on one, or record that it is not asked."""
    page = queries.of_failure(pk, on=clock.today())
    if page is None:
        raise Http404
    if request.method != "POST":
        return render(request, "claims/open.html", parts_of_failure(page))
    offer = next((offer for offer in page.offers if str(offer.terms_pk) == request.POST.get("terms")), None)
    if not page.component_known:
        messages.error(request, f"No claim was opened. {SAY_WHICH}")
        return redirect("failure", pk)
    if offer is None:
        messages.error(
            request,
            "Nothing was opened: this payer already has a claim by now, or its terms no longer apply to this unit.",
        )
        return redirect("claim_open", pk)
    form = OpenForm(offer, request.POST, suppliers=page.suppliers)
    if form.is_valid():
        with form.may_be_refused():
            made = _open(request, pk, form)
            done = "Recorded: this claim will not be filed." if "forgo" in request.POST else f"Claim {made.pk} is open."
            messages.success(request, done)
            return redirect("claim", made.pk)
    return render(request, "claims/open.html", parts_of_failure(page, form), status=form.status)


def _open(request: HttpRequest, pk: int, form: OpenForm) -> models.Claim:
    asked, by, on = form.cleaned_data, access.person(request), clock.today()
    if "forgo" in request.POST:
        return actions.forgo(pk, asked["terms"], because=asked["because"], by=by, on=on)
    supplier = models.Supplier.objects.filter(pk=asked["supplier"]).first() if asked["supplier"] else None
    because = "" if form.offer.promised else asked["because"]
    return actions.open(pk, asked["terms"], kinds=asked["kinds"], supplier=supplier, because=because, by=by, on=on)


def parts_of_failure(page: pages.OfFailure, sent: OpenForm | None = None) -> dict[str, Any]:
    """What `claims/_of_failure.html` shows, on a page of its own or on the failure's."""
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


@require_safe
def claim(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one claim."""
    return _shown(request, _page(pk))


@require_POST
def claim_step(request: HttpRequest, pk: int) -> HttpResponse:
    """Let a claim take a step."""
    page = _page(pk)
    to = request.POST.get("to", "")
    offer = next((offer for offer in page.offers if offer.to == to), None) or claim_queries.offer(page.state, to)
    if offer is None:
        raise Http404
    form = StepForm(offer, request.POST)
    if form.is_valid() and offer.to == State.FILED and page.missing and not form.cleaned_data["confirmed"]:
        form.add_error("confirmed", papers_missing([want.text for want in page.wants if not want.there]))
    if form.is_valid():
        step = {"version": form.cleaned_data["version"], "to": State(offer.to), **form.step()}
        return _done(request, pk, form, "step", actions.step, step, claim_queries.taken)
    return _shown(request, page, step=form)


@require_POST
def claim_take_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Take back the latest step of a claim."""
    page = _page(pk)
    form = TakeBackForm(request.POST)
    if form.is_valid():
        return _done(request, pk, form, "back", actions.take_back, form.cleaned_data, _taken_back)
    return _shown(request, page, back=form)


@require_POST
def claim_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Put right or add what a claim has beside its steps."""
    page = _page(pk)
    form = KnownForm(page, request.POST, suppliers=queries.suppliers())
    if form.is_valid():
        edits = form.edits()
        if edits.get("supplier") is not None:
            edits["supplier"] = models.Supplier.objects.filter(pk=edits["supplier"]).first()
        changed = {"version": form.cleaned_data["version"], "edits": edits}
        return _done(request, pk, form, "known", actions.change, changed, lambda _: "Saved.")
    return _shown(request, page, known=form)


@require_POST
def claim_undo_correction(request: HttpRequest, pk: int) -> HttpResponse:
    """Undo a correction beside the steps."""
    page = _page(pk)
    change = request.POST.get("change", "")
    if not (change.isascii() and change.isdecimal() and len(change) < 19):
        raise Http404
    try:
        claim_corrections.undo(pk, int(change), by=access.person(request), on=clock.today())
        messages.success(request, "The correction is undone.")
    except Refused as refused:
        messages.error(request, f"Nothing was undone. {' '.join(refused.faults.values())}")
    return redirect("claim", page.pk)


@require_POST
def claim_dismiss_deadline(request: HttpRequest, pk: int) -> HttpResponse:
    """Record why a clock of a claim counts no more."""
    page = _page(pk)
    form = DismissForm(request.POST)
    if form.is_valid():
        told = "Dismissed. This deadline is off our desk."
        return _done(request, pk, form, "dismiss", actions.dismiss_deadline, form.cleaned_data, lambda _: told)
    return _shown(request, page, dismiss=form)


@require_POST
def claim_restore_deadline(request: HttpRequest, pk: int) -> HttpResponse:
    """Let a clock count again."""
    page = _page(pk)
    form = DismissForm(request.POST)
    if form.is_valid():
        asked = form.cleaned_data
        try:
            actions.restore_deadline(
                pk, version=asked["version"], kind=asked["kind"], by=access.person(request), on=clock.today()
            )
            messages.success(request, "This deadline applies again.")
        except Refused as refused:
            messages.error(request, str(refused))
    return redirect("claim", page.pk)


@require_POST
def claim_give(request: HttpRequest, pk: int) -> HttpResponse:
    """Record a photo or paper as given for what the payer wants."""
    page = _page(pk)
    form = GiveForm(request.POST, request.FILES, wants=page.wants, kept=claim_queries.on_file(pk))
    if form.is_valid():
        asked = form.cleaned_data
        file = asked["file"]
        with form.may_be_refused():
            claim_documents.give(
                pk,
                want=asked["want"],
                file=file or None,
                name=file.name if file else "",
                document=asked["document"],
                by=access.person(request),
                on=clock.today(),
            )
            messages.success(request, f"Given for: {asked['want']}.")
            return redirect("claim", pk)
    return _shown(request, page, give=form)


def _page(pk: int) -> pages.ClaimPage:
    page = claim_queries.page(pk, on=clock.today())
    if page is None:
        raise Http404
    return page


def _taken_back(step: str) -> str:
    return f"Taken back: {lower(step)}."


def _done(
    request: HttpRequest,
    pk: int,
    form: ActionForm,
    name: str,
    act: Callable[..., Any],
    values: dict[str, Any],
    told: Callable[[Any], str],
) -> HttpResponse:
    """Act on a claim, and tell of what came of it; what is refused stands in the form."""
    try:
        found = act(pk, by=access.person(request), on=clock.today(), **values)
    except Refused as refused:
        form.refuse(refused)
        return _shown(request, _page(pk), **{name: form})
    messages.success(request, told(found))
    return redirect("claim", pk)


def _shown(request: HttpRequest, page: pages.ClaimPage, **bound: Any) -> HttpResponse:
    """Draw the page; a form that was refused stands as it was sent, also where the claim moved on meanwhile."""
    step: StepForm | None = bound.get("step")
    steps = [
        step
        if step is not None and step.offer.to == offer.to
        else StepForm(offer, version=page.version, today=clock.today())
        for offer in page.offers
    ]
    suppliers = queries.suppliers()
    context = {
        "page": page,
        "steps": steps,
        "stray": step if step is not None and step not in steps else None,
        "known": bound.get("known") or KnownForm(page, suppliers=suppliers),
        "dismiss": bound.get("dismiss"),
        "back": bound.get("back") or TakeBackForm(version=page.version),
        "give": bound.get("give") or GiveForm(wants=page.wants, kept=claim_queries.on_file(page.pk)),
        "refused": tuple(bound),
    }
    status = max((form.status for form in bound.values()), default=200)
    return render(request, "claims/claim.html", context, status=status)
