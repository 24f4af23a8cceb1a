"""Whom to reach about a site, a house that was sold, and new houses that were not closed yet."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from fleet import clock, models
from fleet.elements.edits import Edit
from fleet.refusals import Refused
from fleet.registry.actions import contacts as actions
from fleet.registry.actions import correct, sales
from fleet.registry.forms.contacts import ClosedForm, ContactForm, SaleBackForm, SoldForm, ToldForm
from fleet.registry.queries import contacts as queries
from fleet.registry.queries import namesakes
from fleet.rules.dates import in_words
from fleet.web import access, lists


@require_safe
def site_contacts(request: HttpRequest, pk: int) -> HttpResponse:
    """Show whom to reach about a site, and how to get in."""
    return _contacts(request, pk, ContactForm())


@require_POST
def contact_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Put somebody on file for a site."""
    get_object_or_404(models.Site, pk=pk)
    form = ContactForm(request.POST)
    if form.is_valid():
        with form.may_be_refused():
            made = actions.add(site=pk, told=form.cleaned_data, by=access.person(request))
            messages.success(request, f"{made.name} is on file.")
            return redirect("site_contacts", pk)
    return _contacts(request, pk, form, status=form.status)


def _contacts(request: HttpRequest, pk: int, form: ContactForm, *, status: int = 200) -> HttpResponse:
    page = queries.page(pk)
    if page is None:
        raise Http404
    context = {"page": page, "form": form}
    return render(request, "contacts/contacts.html", context, status=status)


@require_http_methods(["GET", "HEAD", "POST"])
def contact(request: HttpRequest, pk: int) -> HttpResponse:
    """Put a contact right."""
    found = queries.contact(pk)
    if found is None:
        raise Http404
    shown, site = found
    if request.method == "POST":
        form = ContactForm(request.POST)
        if form.is_valid():
            with form.may_be_refused():
                actions.change(pk=pk, told=form.cleaned_data, by=access.person(request))
                messages.success(request, "Saved.")
                return redirect("site_contacts", site)
    else:
        form = ContactForm(initial={name: getattr(shown, name) for name in actions.FIELDS})
    context = {"contact": shown, "site": site, "form": form}
    return render(request, "contacts/contact.html", context, status=form.status)


@require_POST
def contact_drop(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a contact off a site."""
    found = queries.contact(pk)
    if found is None:
        raise Http404
    actions.drop(pk=pk, by=access.person(request))
    messages.success(request, f"{found[0].name} was removed. The site's changes still say how to reach them.")
    return redirect("site_contacts", found[1])


# -- sold


@require_http_methods(["GET", "HEAD", "POST"])
def sold(request: HttpRequest, pk: int) -> HttpResponse:
    """Record that a house was sold, and show which payers must be told."""
    form = SoldForm(request.POST if request.method == "POST" else None)
    site = get_object_or_404(models.Site, pk=pk)
    if request.method == "POST":
        name = request.POST.get("buyer", "").strip()
        form.offer_customers(name, namesakes.of_name(name, but=site.customer_id))
    if request.method == "POST" and form.is_valid():
        told = form.cleaned_data
        buyer = sales.Buyer(told["buyer"].strip(), told["phone"].strip(), told["email"].strip(), form.chosen)
        with form.may_be_refused():
            by, called = access.person(request), told["called"].strip()
            sales.sell(pk, sold_on=told["sold_on"], buyer=buyer, called=called, by=by, on=clock.today())
            messages.success(request, f"Recorded: the house is {buyer.name}'s.")
            return redirect("sold", pk)
    return _sold(request, pk, form, status=form.status)


@require_POST
def sold_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Undo the last sale of a house, which never happened."""
    get_object_or_404(models.Site, pk=pk)
    form = SaleBackForm(request.POST, auto_id="back_%s")
    if form.is_valid():
        told = form.cleaned_data
        with form.may_be_refused():
            owner = sales.undo(
                pk,
                sold_on=told["sold_on"],
                why=told["why"],
                called=told["called"].strip(),
                by=access.person(request),
                on=clock.today(),
            )
            messages.success(request, f"Undone: the house is {owner}’s again.")
            return redirect("site", pk)
    return _sold(request, pk, SoldForm(), back=form, status=form.status)


@require_POST
def payer_told(request: HttpRequest, pk: int) -> HttpResponse:
    """Record that a payer was told of the sale."""
    get_object_or_404(models.Site, pk=pk)
    form = ToldForm(request.POST)
    if form.is_valid():
        told = form.cleaned_data
        with form.may_be_refused():
            made = sales.told(
                pk,
                terms=told["terms"],
                told_on=told["told_on"],
                number=told["number"],
                by=access.person(request),
                on=clock.today(),
            )
            units = f"{len(made)} unit{'' if len(made) == 1 else 's'}"
            messages.success(request, f"Recorded: notified on {in_words(told['told_on'])}, for {units}.")
            return redirect("sold", pk)
    return _sold(request, pk, SoldForm(), told=form, status=form.status)


def _sold(
    request: HttpRequest,
    pk: int,
    form: SoldForm,
    *,
    told: ToldForm | None = None,
    back: SaleBackForm | None = None,
    status: int = 200,
) -> HttpResponse:
    page = queries.sold_page(pk)
    if page is None:
        raise Http404
    rows = []
    for payer in page.payers:
        mine = told if told is not None and told["terms"].value() == str(payer.terms) else None
        rows.append(
            (
                payer,
                mine
                or ToldForm(initial={"terms": payer.terms, "told_on": clock.today()}, auto_id=f"t{payer.terms}_%s"),
            )
        )
    context = {"page": page, "form": form, "rows": rows, "fault": told}
    context["back"] = back or SaleBackForm(initial={"sold_on": page.sold_on}, auto_id="back_%s")
    return render(request, "contacts/sold.html", context, status=status)


# -- new houses


@require_safe
def unsold(request: HttpRequest) -> HttpResponseBase:
    """List the new houses without a closing day, as a page or a file."""
    return lists.file(request, queries.UNSOLD) or _unsold(request, ClosedForm())


@require_POST
def unsold_closed(request: HttpRequest) -> HttpResponseBase:
    """Fill in the closing day of a new house."""
    form = ClosedForm(request.POST)
    if form.is_valid():
        site, day = form.cleaned_data["site"], form.cleaned_data["closed_on"]
        try:
            correct.site(
                site,
                {"closed_on": Edit("", day.isoformat())},
                by=access.person(request),
                on=clock.today(),
                why="closed",
            )
            messages.success(request, f"Closed on {in_words(day)}. Coverage there is worked out from that day.")
            return redirect("unsold")
        except Refused as refused:
            form.refuse(refused)
        except models.Site.DoesNotExist:
            form.refuse(Refused("This house is no longer on file.", "closed_on"))
    return _unsold(request, form, status=form.status)


def _unsold(request: HttpRequest, closed: ClosedForm, *, status: int = 200) -> HttpResponse:
    form = lists.ListForm(request.GET, queries.UNSOLD, on=clock.today())
    sent_site = closed["site"].value() or ""
    return lists.shown(request, form, "contacts/unsold.html", status=status, closed=closed, sent_site=sent_site)
