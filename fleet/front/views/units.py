"""The unit's page, and on it the answer for a failure."""

import uuid

from django.http import Http404, HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from fleet import clock
from fleet.calls.forms.calls import CallHereForm
from fleet.calls.queries import calls
from fleet.care.queries import due
from fleet.coverage.forms.answer import AnswerForm
from fleet.coverage.views import payers
from fleet.facts.care import sheet_to_read
from fleet.front.queries import units as queries
from fleet.front.views import deadlines
from fleet.registry.queries import documents as papers
from fleet.registry.queries import reports
from fleet.registry.views import documents
from fleet.rules.calls import EMERGENCY
from fleet.web.htmx import page_or_part


@require_safe
def unit(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one unit, asked about what fails first in its role."""
    return _shown(request, pk, AnswerForm({}), asks=False)


@require_safe
def answer(request: HttpRequest, pk: int) -> HttpResponse:
    """Answer who would pay if a component failed on a day: the part of the page, or all of it."""
    return _shown(request, pk, AnswerForm(request.GET), asks=True)


def _shown(request: HttpRequest, pk: int, form: AnswerForm, *, asks: bool) -> HttpResponse:
    readable = form.is_valid()
    asked = form.cleaned_data if readable else {}
    sheet = sheet_to_read()
    page = queries.page(
        pk,
        sheet,
        on=clock.today(),
        component=asked.get("component", ""),
        cause=asked.get("cause", ""),
        day=asked.get("on"),
    )
    if page is None:
        raise Http404
    if readable:
        form = AnswerForm.of(page.answer.question, page.choices)
    else:
        form.offer(page.choices)
    context = {"page": page, "form": form, "readable": readable, "asks": asks}
    context["calls"] = of_it = calls.of(unit=pk)
    context["open_calls"] = [call for call in of_it if call.state in calls.OPEN]
    context |= {"call_form": CallHereForm(initial={"key": uuid.uuid4()}), "emergency": EMERGENCY}
    context["deadlines"] = deadlines.of_system(request, page.deadlines, page.identity.system_pk)
    context["reports"] = reports.of_unit(pk)
    context["care"] = due.of_unit(pk, sheet, on=clock.today())
    context |= documents.part(papers.of_unit(pk)) | payers.part(request, pk, *page.held_in_short())
    return page_or_part(request, "units/unit.html", "units/_answer.html", context, status=200 if readable else 422)
