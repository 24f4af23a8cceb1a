"""Agreements: making one, and one of them: changed, renewed, ended, taken up again."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from fleet import clock, models
from fleet.business.actions import agreements as actions
from fleet.business.forms.agreements import AgreementForm, EndForm, SeenForm
from fleet.business.forms.bills import RefundForm
from fleet.business.queries import agreement_templates
from fleet.business.queries import agreements as queries
from fleet.elements.action_form import ActionForm
from fleet.refusals import Refused
from fleet.rules.dates import in_words
from fleet.web import access


@require_http_methods(["GET", "HEAD", "POST"])
def agreement_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Make an agreement for a site."""
    site = queries.for_site(pk, on=clock.today())
    if site is None:
        raise Http404
    if request.method != "POST":
        form = AgreementForm(shown=agreement_templates.terms(request.GET.get("from", "")))
        return render(
            request, "agreements/new.html", {"site": site, "templates": agreement_templates.every(), "form": form}
        )
    form = AgreementForm(request.POST)
    if form.is_valid():
        with form.may_be_refused():
            row = actions.make(pk, facts=form.told(), by=access.person(request), on=clock.today())
            messages.success(request, "Agreement saved.")
            return redirect("agreement", row.pk)
    return render(request, "agreements/new.html", {"site": site, "templates": (), "form": form}, status=form.status)


@require_http_methods(["GET", "HEAD", "POST"])
def agreement(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one agreement, or change what was agreed."""
    facts = queries.shown(pk)
    if facts is None:
        raise Http404
    if request.method != "POST":
        return shown(request, pk, form=AgreementForm(shown=facts))
    form = AgreementForm(request.POST, shown=facts)
    if form.is_valid():
        with form.may_be_refused():
            changed = actions.change(pk, was=form.was(), facts=form.told(), by=access.person(request), on=clock.today())
            messages.success(request, "Saved." if changed else "Nothing changed.")
            return redirect("agreement", pk)
    return shown(request, pk, form=form, status=form.status)


@require_POST
def agreement_renew(request: HttpRequest, pk: int) -> HttpResponse:
    """Agree one more term."""
    form = SeenForm(request.POST)
    try:
        row = actions.renew(pk, seen=_seen(form), by=access.person(request), on=clock.today())
    except models.Agreement.DoesNotExist as missing:
        raise Http404 from missing
    except Refused as refused:
        form.refuse(refused)
        return shown(request, pk, seen=form, status=form.status)
    messages.success(request, f"Renewed. {row.terms_agreed} terms are agreed now.")
    return redirect("agreement", pk)


@require_POST
def agreement_unrenew(request: HttpRequest, pk: int) -> HttpResponse:
    """Take back the renewal that was agreed last."""
    form = SeenForm(request.POST)
    try:
        actions.unrenew(pk, seen=_seen(form), by=access.person(request), on=clock.today())
    except models.Agreement.DoesNotExist as missing:
        raise Http404 from missing
    except Refused as refused:
        form.refuse(refused)
        return shown(request, pk, seen=form, status=form.status)
    messages.success(request, "Last renewal undone.")
    return redirect("agreement", pk)


def _seen(form: SeenForm) -> int:
    return int(form.cleaned_data["seen"]) if form.is_valid() else 0


@require_POST
def agreement_end(request: HttpRequest, pk: int) -> HttpResponse:
    """End an agreement, with a day and why."""
    form = EndForm(request.POST)
    if form.is_valid():
        cleaned = form.cleaned_data
        try:
            row = actions.end(pk, day=cleaned["day"], why=cleaned["why"], by=access.person(request), on=clock.today())
        except models.Agreement.DoesNotExist as missing:
            raise Http404 from missing
        except Refused as refused:
            form.refuse(refused)
        else:
            messages.success(request, f"It ends on {in_words(cleaned['day'])}.")
            return redirect("agreement", row.pk)
    return shown(request, pk, ending=form, status=form.status)


@require_POST
def agreement_resume(request: HttpRequest, pk: int) -> HttpResponse:
    """Take an ended agreement up again."""
    form = ActionForm(request.POST)
    try:
        actions.resume(pk, by=access.person(request), on=clock.today())
    except models.Agreement.DoesNotExist as missing:
        raise Http404 from missing
    except Refused as refused:
        form.refuse(refused)
        return shown(request, pk, seen=form, status=form.status)
    messages.success(request, "Resumed, as if it had not been ended.")
    return redirect("agreement", pk)


def shown(
    request: HttpRequest,
    pk: int,
    *,
    form: AgreementForm | None = None,
    ending: EndForm | None = None,
    seen: ActionForm | None = None,
    refund: RefundForm | None = None,
    status: int = 200,
) -> HttpResponse:
    """Answer with the page of an agreement, with whichever form was refused."""
    page = queries.agreement(pk, on=clock.today())
    if page is None:
        raise Http404
    context = {
        "page": page,
        "form": form or AgreementForm(shown=queries.shown(pk)),
        "ending": ending or EndForm(),
        "refund": refund or (RefundForm(ways=page.refund.ways) if page.refund else None),
        "refused": " ".join(map(str, seen.non_field_errors())) if seen else "",
    }
    return render(request, "agreements/agreement.html", context, status=status)
