"""Suppliers: the list, adding one, and putting one right."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from fleet import clock
from fleet.claims.actions import suppliers as actions
from fleet.claims.forms.suppliers import SupplierForm
from fleet.claims.pages import suppliers as pages
from fleet.claims.queries import suppliers as queries
from fleet.elements.list_form import ListForm
from fleet.web import access, export
from fleet.web.htmx import page_or_part


@require_safe
def suppliers(request: HttpRequest) -> HttpResponseBase:
    """List the suppliers, as a page or a file."""
    form = ListForm(request.GET, columns=pages.COLUMNS)
    if kind := export.wanted(request):
        return export.respond(kind, name="suppliers", on=clock.today(), columns=pages.COLUMNS, rows=queries.rows())
    page = queries.page(sort=form.sort_text, number=form.page_number)
    return page_or_part(request, "suppliers/suppliers.html", "suppliers/_list.html", {"page": page, "form": form})


@require_http_methods(["GET", "HEAD", "POST"])
def supplier_add(request: HttpRequest) -> HttpResponse:
    """Add a supplier."""
    if request.method != "POST":
        return render(request, "suppliers/supplier.html", {"form": SupplierForm()})
    form = SupplierForm(request.POST)
    if form.is_valid():
        try:
            row = actions.add(told=form.told(), by=access.person(request), on=clock.today())
        except actions.Refused as refused:
            form.refuse(refused.faults, {})
        else:
            messages.success(request, f"{row.name} is on file.")
            return redirect("suppliers")
    return render(request, "suppliers/supplier.html", {"form": form}, status=422)


@require_http_methods(["GET", "HEAD", "POST"])
def supplier(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one supplier, or put it right."""
    shown = queries.shown(pk)
    if shown is None:
        raise Http404
    if request.method != "POST":
        return _shown(request, pk, SupplierForm(shown=shown))
    form = SupplierForm(request.POST, shown=shown)
    if form.is_valid():
        try:
            changed = actions.correct(pk, was=form.was(), told=form.told(), by=access.person(request), on=clock.today())
        except actions.Refused as refused:
            form.refuse(refused.faults, shown)
        else:
            messages.success(request, "Saved. Claims through it follow." if changed else "Nothing was changed.")
            return redirect("supplier", pk)
    return _shown(request, pk, form, status=422)


def _shown(request: HttpRequest, pk: int, form: SupplierForm, *, status: int = 200) -> HttpResponse:
    name = (queries.shown(pk) or {}).get("name", "")
    return render(request, "suppliers/supplier.html", {"form": form, "pk": pk, "name": name}, status=status)
