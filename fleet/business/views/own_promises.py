"""Promises of our own: made for a site, and one of them: corrected, called on, released, printed, taken off."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from fleet import clock, models
from fleet.business.actions import own_promises as actions
from fleet.business.forms.own_promises import CallForm, PromiseForm, ReleaseForm
from fleet.business.papers import own_promises as paper
from fleet.business.queries import own_promises as queries
from fleet.facts import company
from fleet.refusals import Refused
from fleet.web import access


@require_http_methods(["GET", "HEAD", "POST"])
def promise_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Make a promise for a site."""
    site, systems = queries.site(pk), queries.systems(pk)
    if site is None or systems is None:
        raise Http404
    who = access.person(request)
    shown = {"made_on": clock.today(), "made_by": who.get_full_name()}
    form = PromiseForm(request.POST if request.method == "POST" else None, systems=systems, shown=shown)
    if form.is_bound and form.is_valid():
        with form.may_be_refused():
            row = actions.make(pk, facts=form.told(), by=who, on=clock.today())
            messages.success(request, "Promise saved.")
            return redirect("own_promise", row.pk)
    return render(request, "promises/new.html", {"site": site, "form": form}, status=form.status)


@require_http_methods(["GET", "HEAD", "POST"])
def promise(request: HttpRequest, pk: int) -> HttpResponse:
    """Show a promise, or correct it."""
    if request.method != "POST":
        return _shown(request, pk)
    form = _form(pk, request.POST)
    if form.is_valid():
        with form.may_be_refused():
            changed = actions.change(pk, was=form.was(), facts=form.told(), by=access.person(request), on=clock.today())
            messages.success(request, "Saved." if changed else "Nothing changed.")
            return redirect("own_promise", pk)
    return _shown(request, pk, form=form, status=form.status)


@require_POST
def promise_call(request: HttpRequest, pk: int) -> HttpResponse:
    """Record that a promise was called on."""
    form = CallForm(request.POST)
    if form.is_valid():
        cleaned = form.cleaned_data
        try:
            actions.call_on(
                pk,
                day=cleaned["day"],
                what=cleaned["what"],
                cost=cleaned["cost"],
                by=access.person(request),
                on=clock.today(),
            )
        except models.OwnPromise.DoesNotExist as missing:
            raise Http404 from missing
        except Refused as refused:
            form.refuse(refused)
        else:
            messages.success(request, "Recorded what was done.")
            return redirect("own_promise", pk)
    return _shown(request, pk, call=form, status=form.status)


@require_POST
def promise_release(request: HttpRequest, pk: int) -> HttpResponse:
    """Record that the customer released us from a promise."""
    form = ReleaseForm(request.POST)
    if form.is_valid():
        cleaned = form.cleaned_data
        try:
            actions.release(pk, day=cleaned["day"], why=cleaned["why"], by=access.person(request), on=clock.today())
        except models.OwnPromise.DoesNotExist as missing:
            raise Http404 from missing
        except Refused as refused:
            form.refuse(refused)
        else:
            messages.success(request, "Released: it holds no longer.")
            return redirect("own_promise", pk)
    return _shown(request, pk, release=form, status=form.status)


@require_POST
def promise_restore(request: HttpRequest, pk: int) -> HttpResponse:
    """Take back that a promise was called on or released."""
    try:
        actions.restore(pk, by=access.person(request), on=clock.today())
    except models.OwnPromise.DoesNotExist as missing:
        raise Http404 from missing
    except Refused as refused:
        messages.error(request, str(refused))
    else:
        messages.success(request, "Undone: the promise holds as before.")
    return redirect("own_promise", pk)


@require_POST
def promise_delete(request: HttpRequest, pk: int) -> HttpResponse:
    """Take off a promise that was entered by mistake."""
    try:
        site = actions.delete(pk, by=access.person(request), on=clock.today())
    except models.OwnPromise.DoesNotExist as missing:
        raise Http404 from missing
    except Refused as refused:
        messages.error(request, str(refused))
        return redirect("own_promise", pk)
    messages.success(request, "Promise deleted.")
    return redirect("site", site.pk)


@require_safe
def promise_paper(request: HttpRequest, pk: int) -> HttpResponse:
    """The promise as a PDF for the customer."""
    page = queries.paper(pk, company=company.company(), on=clock.today())
    if page is None:
        raise Http404
    response = HttpResponse(paper.pdf(page), content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{page.filename}"'
    return response


def _form(pk: int, data: object = None) -> PromiseForm:
    page = queries.shown(pk)
    row = models.OwnPromise.objects.filter(pk=pk).first()
    if page is None or row is None:
        raise Http404
    return PromiseForm(data, systems=queries.systems(row.site_id) or [], shown=page)


def _shown(
    request: HttpRequest,
    pk: int,
    *,
    form: PromiseForm | None = None,
    call: CallForm | None = None,
    release: ReleaseForm | None = None,
    status: int = 200,
) -> HttpResponse:
    page = queries.promise(pk, on=clock.today())
    if page is None:
        raise Http404
    context = {
        "page": page,
        "form": form or _form(pk),
        "call": call or CallForm(),
        "release": release or ReleaseForm(),
    }
    return render(request, "promises/promise.html", context, status=status)
