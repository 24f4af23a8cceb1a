"""Registering a new install: one form, what it is held against while it is written, and what follows from it."""

from dataclasses import replace
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from fleet import clock, models
from fleet.refusals import Refused
from fleet.registry.actions import documents, undo_install
from fleet.registry.actions import new_install as actions
from fleet.registry.forms.documents import InstallPhotosForm
from fleet.registry.forms.editing import PlaceForm
from fleet.registry.forms.new_install import InstallForm, NewInstall, UnitForm
from fleet.registry.pages.namesakes import NEW
from fleet.registry.pages.new_install import InstallPage, Told
from fleet.registry.queries import addresses, namesakes, questions, saved_installs
from fleet.registry.queries import new_install as queries
from fleet.rules.lookalike import folded
from fleet.web import access


@require_http_methods(["GET", "HEAD", "POST"])
def new_install(request: HttpRequest) -> HttpResponse:
    """Show the form, for a site on file if one is named; take it; or give it more rows."""
    if request.method != "POST":
        return _form(request, NewInstall(initial=_initial(request), serial=request.GET.get("serial", "")[:120]))
    if "more_rows" in request.POST:
        return _form(request, NewInstall.with_more_rows(request.POST))
    form = NewInstall(request.POST, request.FILES)
    if not form.is_whole():
        return _form(request, form, status=422)
    if form.install.takes_apart():
        return _form(request, form, status=422)
    by, on = access.person(request), clock.today()
    told = _of_whom(form)
    if form.install.errors:
        return _form(request, form, status=422)
    there = queries.there(told)
    is_new = queries.is_new(told, there)
    doubts = queries.doubts(told, there) if is_new else ()
    asks = is_new and form.asks_back(questions.of_install(told, there))
    if form.show(doubts) or asks:
        if all(
            doubt.tick for doubt in doubts
        ):  # then the rest can be told at once; else it would be about another unit
            form.refuse(actions.refusal(told, by=by, on=on) or Refused({}))
        return _form(request, form, status=422)
    try:
        saved = actions.save(told, by=by, on=on)
    except Refused as refused:
        form.refuse(refused)
        return _form(request, form, status=422)
    messages.success(request, _said(saved))
    _keep_photos(request, form, told, saved)
    return redirect("new_install_done", saved.system)


def _keep_photos(request: HttpRequest, form: NewInstall, told: Told, saved: actions.Saved) -> None:
    """Keep what was chosen on the form: a file that is refused costs neither the install nor the others."""
    units = queries.units_of_rows(told, saved.system)
    for row, file in form.photos():
        unit = None if row is None else units.get(row)
        try:
            if row is not None and unit is None:
                raise Refused("Its unit was not found again. Add it below.")
            _keep(request, saved.system, unit, file, load=saved.load)
        except Refused as refused:
            messages.error(request, f"{file.name} was not added. {refused}")


def _keep(request: HttpRequest, system: int, unit: int | None, file: Any, *, load: int | None = None) -> None:
    """Keep a photo of a unit's nameplate, or, of no unit, the proof that its system is registered."""
    row = models.System.objects.select_related("site").get(pk=system)
    documents.add(
        file=file,
        name=file.name or "",
        whose=row.site if unit is None else models.Unit.objects.get(pk=unit),
        caption=f"Proof of registration: {row.name}" if unit is None else "Nameplate",
        proves_registration=unit is None,
        load=load,
        by=access.person(request),
    )


@require_safe
def new_install_places(request: HttpRequest) -> HttpResponse:
    """List the sites on file that the customer's name may mean, while it is written."""
    text = request.GET.get("customer", "").replace("\0", "").strip()
    return render(request, "new_install/_places.html", {"places": queries.places(text), "text": text})


@require_safe
def new_install_days(request: HttpRequest) -> HttpResponse:
    """Say what is wrong or odd about the days of an install, while it is written."""
    cells = InstallForm(request.GET).cells()
    wrong = actions.wrong_days(cells, on=clock.today())
    odd = [] if wrong else [one.text for one in questions.of_days(cells)]
    return render(request, "new_install/_days.html", {"sentences": [*wrong, *odd]})


@require_safe
def new_install_row(request: HttpRequest) -> HttpResponse:
    """Say what is odd about a unit's manufacturer and model, and where its serial or one like it is on file, while its row is written."""
    row = _whole(request.GET.get("row", "").removeprefix("unit-")) or 0
    form = UnitForm(request.GET, prefix=f"unit-{row}")
    cells = form.cells()
    found = queries.known([(cells["maker"], cells["model"], cells["serial"])])
    if known := found.get(folded(cells["serial"])):
        form.show(queries.doubt(row, cells["serial"], known))
    form.asks_back(questions.of_names(cells))
    return render(request, "new_install/_note.html", {"unit": form})


@require_safe
def new_install_done(request: HttpRequest, pk: int) -> HttpResponse:
    """Show what follows from an install: which terms its units hold, which registration, by when."""
    page = _page(pk)
    return _done(request, page, InstallPhotosForm(page.units))


@require_POST
def new_install_photos(request: HttpRequest, pk: int) -> HttpResponse:
    """Add a photo of each nameplate and the proof of registration, right after an install; each file stands by itself."""
    page = _page(pk)
    form = InstallPhotosForm(page.units, request.POST, request.FILES)
    added = 0
    if form.is_valid():
        for field, unit, file in list(form.chosen()):
            try:
                _keep(request, page.pk, unit, file)
                added += 1
            except Refused as refused:
                form.add_error(field, f"{file.name} was not added. {refused}")
    if added:
        messages.success(request, "Added." if added == 1 else f"{added} added.")
    if form.errors:
        return _done(request, page, form)
    return redirect("new_install_done", pk)


def _page(pk: int) -> InstallPage:
    page = saved_installs.page(pk, on=clock.today())
    if page is None:
        raise Http404
    return page


def _done(request: HttpRequest, page: InstallPage, form: InstallPhotosForm) -> HttpResponse:
    places = [(one, PlaceForm(one)) for one in page.places]
    context = {
        "page": page,
        "places": places,
        "form": form,
        "photos": saved_installs.photos(unit.pk for unit in page.units),
    }
    return render(request, "new_install/done.html", context, status=form.status)


@require_POST
def new_install_undo(request: HttpRequest, pk: int) -> HttpResponse:
    """Take an install back that was just saved."""
    try:
        taken = undo_install.undo_install(pk, by=access.person(request), on=clock.today())
    except Refused as refused:
        messages.error(request, f"Nothing was undone. {refused}.")
        system = saved_installs.system_of(pk)
        return redirect("new_install") if system is None else redirect("new_install_done", system)
    units = f"{taken.units} unit{'' if taken.units == 1 else 's'}"
    messages.success(request, f"Undone: {taken.system}, {units}. Nothing of it is on file any more.")
    return redirect("new_install") if taken.site is None else redirect("site", taken.site)


def _of_whom(form: NewInstall) -> Told:
    """What was written, with the customer that is meant; where that is not clear, the form asks."""
    told, chosen = form.told(), form.install.chosen
    known = namesakes.of_name(told.system["customer"])
    if not known:
        return told
    owner = queries.owner(told, chosen, known)
    if owner is None or owner == NEW or len(known) > 1:
        form.install.offer_customers(told.system["customer"], known)
    if owner is None:
        form.install.refuse("whose", f"{told.system['customer']} is on file already. Choose which customer this is.")
    elif owner == NEW and not told.system["street"]:
        form.install.refuse("street", "Enter the street. It tells two customers of one name apart.")
    return replace(told, owner=owner)


def _initial(request: HttpRequest) -> dict[str, str]:
    site = _whole(request.GET.get("site", ""))
    known = None if site is None else queries.place(site)
    if known is None:
        return {"customer": request.GET.get("customer", "")[:200], "region": addresses.own_state()}
    return known.initial()


def _whole(text: str) -> int | None:
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 10 else None


def _form(request: HttpRequest, form: NewInstall, *, status: int = 200) -> HttpResponse:
    found = queries.suggestions()
    form.install.offer(found)
    context = {"form": form, "suggestions": found, "today": clock.today()}
    return render(request, "new_install/new_install.html", context, status=status)


def _said(saved: actions.Saved) -> str:
    if not saved.added:
        return "Nothing new: all of it was already on file."
    units = f"{saved.added} unit{'' if saved.added == 1 else 's'} added"
    return f"Saved: {units}; {saved.on_file} already on file." if saved.on_file else f"Saved: {units}."
