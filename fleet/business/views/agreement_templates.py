"""Templates of agreements: the owner's page of them, and one of them made, changed or deleted."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from fleet import clock, models
from fleet.business.actions import agreement_templates as actions
from fleet.business.forms.agreements import TemplateForm
from fleet.business.queries import agreement_templates as queries
from fleet.web import access


@require_safe
def templates(request: HttpRequest) -> HttpResponse:
    """Show every template."""
    return render(request, "agreements/templates.html", {"every": queries.every()})


@require_http_methods(["GET", "HEAD", "POST"])
def template_new(request: HttpRequest) -> HttpResponse:
    """Make a template."""
    form = TemplateForm(request.POST if request.method == "POST" else None)
    if form.is_bound and form.is_valid():
        with form.may_be_refused():
            actions.make(facts=form.told(), by=access.person(request), on=clock.today())
            messages.success(request, "Template saved.")
            return redirect("agreement_templates")
    return render(request, "agreements/template.html", {"form": form, "pk": None}, status=form.status)


@require_http_methods(["GET", "HEAD", "POST"])
def template(request: HttpRequest, pk: int) -> HttpResponse:
    """Show a template, or change it."""
    shown = queries.shown(pk)
    if shown is None:
        raise Http404
    form = TemplateForm(request.POST if request.method == "POST" else None, shown=shown)
    if form.is_bound and form.is_valid():
        with form.may_be_refused():
            changed = actions.change(pk, was=form.was(), facts=form.told(), by=access.person(request), on=clock.today())
            messages.success(request, "Saved." if changed else "Nothing changed.")
            return redirect("agreement_templates")
    return render(request, "agreements/template.html", {"form": form, "pk": pk}, status=form.status)


@require_POST
def template_delete(request: HttpRequest, pk: int) -> HttpResponse:
    """Delete a template."""
    try:
        actions.delete(pk, by=access.person(request), on=clock.today())
    except models.AgreementTemplate.DoesNotExist as missing:
        raise Http404 from missing
    messages.success(request, "Template deleted. Agreements made from it stay as they are.")
    return redirect("agreement_templates")
