"""Suppliers: adding one, and putting one right."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from fleet import clock
from fleet.claims.actions import suppliers as actions
from fleet.claims.forms.suppliers import SupplierForm
from fleet.claims.queries import suppliers as queries
from fleet.web import access


@require_http_methods(["GET", "HEAD", "POST"])
def supplier_add(request: HttpRequest) -> HttpResponse:
    """Add a supplier."""
    if request.method != "POST":
        return render(request, "suppliers/supplier.html", {"form": SupplierForm()})
    form = SupplierForm(request.POST)
    if form.is_valid():
        with form.may_be_refused():
            row = actions.add(told=form.told(), by=access.person(request), on=clock.today())
            messages.success(request, f"{row.name} is on file.")
            return redirect("suppliers")
    return render(request, "suppliers/supplier.html", {"form": form}, status=form.status)


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
        with form.may_be_refused():
            changed = actions.correct(pk, was=form.was(), told=form.told(), by=access.person(request), on=clock.today())
            messages.success(request, "Saved. Claims through it follow." if changed else "Nothing was changed.")
            return redirect("supplier", pk)
    return _shown(request, pk, form, status=form.status)


def _shown(request: HttpRequest, pk: int, form: SupplierForm, *, status: int = 200) -> HttpResponse:
    name = (queries.shown(pk) or {}).get("name", "")
    return render(request, "suppliers/supplier.html", {"form": form, "pk": pk, "name": name}, status=status)
