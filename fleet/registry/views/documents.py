"""Photos and papers of a unit or a site: shown, added, handed out, dropped and brought back."""

import logging
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from fleet import clock, models
from fleet.refusals import Refused
from fleet.registry.actions import documents as actions
from fleet.registry.forms.documents import DocumentsForm
from fleet.registry.pages.documents import Kept, Papers
from fleet.registry.queries import documents as queries
from fleet.web import access

_log = logging.getLogger(__name__)


@require_http_methods(["GET", "HEAD", "POST"])
def unit_documents(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the photos and papers of a unit by themselves; or add some."""
    return _shown_or_added(request, get_object_or_404(models.Unit, pk=pk))


@require_http_methods(["GET", "HEAD", "POST"])
def site_documents(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the photos and papers of a site by themselves; or add some."""
    return _shown_or_added(request, get_object_or_404(models.Site.objects.select_related("customer"), pk=pk))


@require_safe
def document(request: HttpRequest, pk: int) -> FileResponse:
    """Hand out a photo to be looked at, or a paper to be saved."""
    found = _found(pk)
    return _handed_out(found, found.stored)


@require_safe
def document_small(request: HttpRequest, pk: int) -> FileResponse:
    """Hand out the small copy of a photo."""
    found = _found(pk)
    if not found.is_photo:
        raise Http404
    return _handed_out(found, found.small)


@require_POST
def document_drop(request: HttpRequest, pk: int) -> HttpResponse:
    """Remove a photo or paper from sight; its file stays."""
    found = get_object_or_404(models.Document.objects.select_related("unit", "site"), pk=pk)
    actions.drop(document=found, by=access.person(request), on=clock.today())
    messages.success(request, f"Removed: {found}. It can be restored below, under Removed.")
    return _to_page_of(found.whose)


@require_POST
def document_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Show again what was dropped."""
    found = get_object_or_404(models.Document.objects.select_related("unit", "site"), pk=pk)
    actions.bring_back(document=found, by=access.person(request))
    messages.success(request, f"Restored: {found}.")
    return _to_page_of(found.whose)


def part(papers: Papers) -> dict[str, Any]:
    """The context of `documents/_part.html` on the page of a unit or site."""
    return {"papers": papers, "documents_form": DocumentsForm()}


def _shown_or_added(request: HttpRequest, whose: models.Unit | models.Site) -> HttpResponse:
    if request.method != "POST":
        return _shown(request, whose, DocumentsForm())
    form = DocumentsForm(request.POST, request.FILES)
    if form.is_valid():
        _add(request, whose, form)
    if form.errors:
        return _shown(request, whose, form)
    return _to_page_of(whose)


def _add(request: HttpRequest, whose: models.Unit | models.Site, form: DocumentsForm) -> None:
    """Add each file by itself: one that is refused does not cost the others."""
    asked, by, added = form.cleaned_data, access.person(request), 0
    for file in asked["documents"]:
        try:
            actions.add(
                file=file,
                name=file.name,
                whose=whose,
                caption=asked["caption"],
                proves_registration=asked["proves_registration"],
                by=by,
            )
            added += 1
        except Refused as refused:
            form.add_error("documents", f"{file.name} was not added. {refused}")
    if added:
        messages.success(request, "Added." if added == 1 else f"{added} added.")


def _shown(request: HttpRequest, whose: models.Unit | models.Site, form: DocumentsForm) -> HttpResponse:
    papers = queries.of_unit(whose.pk) if isinstance(whose, models.Unit) else queries.of_site(whose.pk)
    title = str(whose) if isinstance(whose, models.Unit) else f"{whose.customer}, {whose}"
    context = {**part(papers), "documents_form": form, "title": title}
    return render(request, "documents/documents.html", context, status=422 if form.is_bound else 200)


def _to_page_of(whose: models.Unit | models.Site) -> HttpResponse:
    name = "unit" if isinstance(whose, models.Unit) else "site"
    return redirect(f"{reverse(name, args=[whose.pk])}#documents")


def _handed_out(kept: Kept, name: str) -> FileResponse:
    """Stream a file; only a photo is shown by the browser, whose type is certain since it was written here."""
    try:
        file = (settings.MEDIA_ROOT / name).open("rb")
    except FileNotFoundError:
        _log.exception("%s is on file, but not in the media folder.", name)
        raise Http404 from None
    response = FileResponse(
        file, as_attachment=not kept.is_photo, filename=kept.download_name, content_type=kept.media_type
    )
    # Whatever a file holds, nothing runs in it; a browser styles the frame in which it shows a photo.
    response["Content-Security-Policy"] = "default-src 'none'; style-src 'unsafe-inline'; sandbox"
    return response


def _found(pk: int) -> Kept:
    found = queries.kept(pk)
    if found is None:
        raise Http404
    return found
