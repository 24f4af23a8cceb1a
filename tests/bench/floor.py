"""The least that a page can do: a view that runs one indexed query and fills a bare template, behind the same doors."""

from django.http import HttpRequest, HttpResponse
from django.template import engines
from django.urls import path

from fleet import models
from tests.bench import fleets

BARE = "<table>{% for row in rows %}<tr>{% for cell in row %}<td>{{ cell }}</td>{% endfor %}</tr>{% endfor %}</table>"
_template = engines["django"].from_string(BARE)


def rows(request: HttpRequest) -> HttpResponse:
    """Show fifty rows by an index, joined to what a list names."""
    found = models.CoverageRow.objects.filter(result="covered", last_on__gte=fleets.TODAY).order_by(
        "last_on", "unit_id"
    )
    named = found.values_list(
        "unit__serial", "unit__maker", "unit__model", "unit__room", "unit__system__site__name",
        "unit__system__site__customer__name", "kind", "components", "payer", "last_on",
    )[:50]  # fmt: skip
    return HttpResponse(_template.render({"rows": list(named)}))


# An address that somebody logged in may see, so that access is checked as for any page.
urlpatterns = [path("", rows, name="home")]
