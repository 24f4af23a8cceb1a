"""What pages are held against: one indexed query in a bare template, and the framework's own list over the same rows."""

import datetime as dt
from typing import Any

from django.contrib import admin
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.template import engines
from django.urls import path

from fleet import models
from fleet.elements.listing import PER_PAGE
from fleet.web.address import Address, everybody
from tests.bench import fleets

BARE = "<table>{% for row in rows %}<tr>{% for cell in row %}<td>{{ cell }}</td>{% endfor %}</tr>{% endfor %}</table>"
DAYS = 365
_template = engines["django"].from_string(BARE)


def ending() -> QuerySet[models.CoverageRow]:
    """The promises that end within a year, the soonest first."""
    until = fleets.TODAY + dt.timedelta(days=DAYS)
    rows = models.CoverageRow.objects.filter(result="covered", last_on__range=(fleets.TODAY, until))
    return rows.order_by("last_on", "unit_id", "pk")


def rows(request: HttpRequest) -> HttpResponse:
    """Show a page of rows by an index, joined to what a list names."""
    named = ending().values_list(
        "unit__serial", "unit__maker", "unit__model", "unit__room", "unit__system__site__name",
        "unit__system__site__customer__name", "kind", "components", "payer", "last_on",
    )[:PER_PAGE]  # fmt: skip
    return HttpResponse(_template.render({"rows": list(named)}))


class Ending(admin.ModelAdmin):
    """The list of coverage that ends, as the framework makes one: the same rows, columns, filters and page size."""

    list_display = ("unit", "customer", "site", "kind", "components", "payer", "last_on", "possible_last_on")
    list_filter = ("payer", "kind")
    list_select_related = ("unit__system__site__customer",)
    list_per_page = PER_PAGE
    search_fields = ("unit__serial_key", "unit__model_key", "unit__system__site__customer__name")
    actions = None

    @admin.display
    def customer(self, row: models.CoverageRow) -> str:
        """The customer of a row."""
        return row.unit.system.site.customer.name

    @admin.display
    def site(self, row: models.CoverageRow) -> str:
        """The site of a row."""
        return row.unit.system.site.name

    def get_queryset(self, request: HttpRequest) -> QuerySet[models.CoverageRow]:
        """The rows of our own list."""
        return ending()


class _Site(admin.AdminSite):
    def has_permission(self, request: HttpRequest) -> bool:
        return True


site = _Site()
site.register(models.CoverageRow, Ending)


def of_the_framework(request: HttpRequest) -> Any:
    """The framework's list, behind the same doors."""
    request.user.is_superuser = request.user.is_staff = True
    return site.get_model_admin(models.CoverageRow).changelist_view(request)


# Addresses that somebody logged in may see, so that access is checked as for any page.
urlpatterns = [
    *everybody("Floors: see them", Address("", rows, "home"), Address("framework", of_the_framework, "framework")),
    path("admin/", site.urls),
]
