"""Layouts compared before a sale: on a page, and on a paper for whoever chooses."""

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from fleet import clock
from fleet.business.forms.layouts import LayoutsForm
from fleet.business.pages.layouts import BESIDES
from fleet.business.papers import layouts as paper
from fleet.business.queries import layouts as queries
from fleet.facts import company
from fleet.web.htmx import page_or_part


@require_safe
def layouts(request: HttpRequest) -> HttpResponse:
    """Compare what was written; what cannot be read is said beside its field."""
    return _shown(request, LayoutsForm(request.GET))


@require_safe
def layouts_paper(request: HttpRequest) -> HttpResponse:
    """The comparison as a PDF."""
    form = LayoutsForm(request.GET)
    compared = queries.compared(form.comparison()) if form.is_valid() else None
    if compared is None:
        return _shown(request, form)
    content = paper.pdf(compared, customer=form.cleaned_data["customer"], company=company.company(), on=clock.today())
    response = HttpResponse(content, content_type="application/pdf")
    response["Content-Disposition"] = 'inline; filename="layouts-compared.pdf"'
    return response


def _shown(request: HttpRequest, form: LayoutsForm) -> HttpResponse:
    good = form.is_valid()
    context = {
        "form": form,
        "compared": queries.compared(form.comparison()) if good else None,
        "faulty": not good,
        "besides": BESIDES,
    }
    status = 200 if good else 422
    return page_or_part(request, "layouts/layouts.html", "layouts/_compared.html", context, status=status)
