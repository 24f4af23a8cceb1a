"""What a phone's own script sends: a write-up as a message, its photos one by one, and the asking for a fresh token.

Everything here answers in JSON with a status that says what happened: 201 it was put on file, 200 it was on file before, 401 log in,
403 another login or an old token (`code` says which), 409 the key says something else, 413 and 422 what is wrong, by field.
Never a page of a login, which a script would take for success.
"""

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse, JsonResponse, QueryDict
from django.middleware.csrf import get_token
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from fleet import clock, models
from fleet.care.actions import write_up_meanwhile as meanwhile
from fleet.care.actions import write_up_photos as photos
from fleet.care.actions import write_ups as actions
from fleet.care.facts.write_ups import photos_arrived as photos_on_file
from fleet.care.forms.write_up_message import message_of
from fleet.care.forms.write_ups import WriteUpForm
from fleet.care.queries import stops
from fleet.refusals import Conflict, Refused
from fleet.registry.actions.documents import LARGEST as LARGEST_PHOTO
from fleet.sheets.foreign import from_json
from fleet.web import access, as_json

LARGEST_MESSAGE = 1_000_000
# What a phone's message says of its sending, beside the fields of the form.
_OF_SENDING = ("writer", "captured_at", "clock_ahead", "photos")


@require_safe
def token(request: HttpRequest) -> JsonResponse:
    """Who is logged in, a fresh token for what they send next, and what time it is here."""
    by = access.person(request)
    answer = {"token": get_token(request), "person": by.pk, "name": str(by), "now": clock.now().isoformat()}
    return JsonResponse(answer)


def message(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a write-up as a message, either in its own shape or as the fields of the form (`fields`)."""
    site = meanwhile.site_now(pk)
    if site is None:
        raise Http404
    sent = _read(request)
    if not isinstance(sent, dict):
        return as_json.refused(422, "wanted: one write-up as JSON, at most a million bytes")
    by = access.person(request)
    if (writer := str(sent.get("writer") or by.pk)) != str(by.pk):
        return _somebody_elses(writer)
    form = None
    if "fields" in sent:
        data = _fields(sent["fields"])
        if data is None:
            return as_json.refused(422, {"fields": "wanted: the fields of the form, each with a text"})
        form = _form(data, site, name=by.get_full_name())
        if not form.is_valid():
            return as_json.refused(422, form.all_faults())
        sent = message_of(data) | {name: sent[name] for name in _OF_SENDING if name in sent}
    try:
        recorded = actions.record(site, sent, sent=sent, by=by, on=clock.today())
    except Refused as refused:
        faults = refused.faults
        if form is not None:
            form.refuse(refused)
            faults = form.all_faults()
        return as_json.refused(409 if isinstance(refused, Conflict) else 422, faults)
    answer = {
        "write_up": recorded.write_up.pk,
        "address": reverse("write_up", args=[recorded.write_up.pk]),
        "told": recorded.note,
    }
    return JsonResponse(answer, status=201 if recorded.new else 200)


def _length(request: HttpRequest) -> int:
    length = str(request.META.get("CONTENT_LENGTH") or "")
    return int(length) if length.isdecimal() else 0


def _read(request: HttpRequest) -> Any:
    try:
        return from_json(request.body) if _length(request) <= LARGEST_MESSAGE else None
    except ValueError:
        return None


def _somebody_elses(writer: str) -> JsonResponse:
    person = models.User.objects.filter(pk=writer).first() if writer.isdecimal() and len(writer) < 18 else None
    who = str(person) if person is not None else "somebody else"
    return as_json.refused(403, f"{who} wrote this. It is sent once {who} logs in on this phone.", code="writer")


def _fields(said: Any) -> QueryDict | None:
    """A form's fields as a browser would post them; None if they are no texts."""
    data = QueryDict(mutable=True)
    if not isinstance(said, dict):
        return None
    for name, value in said.items():
        values = value if isinstance(value, list) else [value]
        if not all(isinstance(one, str) for one in values):
            return None
        data.setlist(name, values)
    return data


def _form(data: QueryDict, site: int, *, name: str) -> WriteUpForm:
    """The form as the page has it, which knows at which field each fault stands."""
    booking = data.get("booking", "")
    number = int(booking) if booking.isdecimal() and len(booking) < 18 else None
    stop = stops.at_site(site, on=clock.today(), booking=number)
    assert stop is not None  # the site is on file
    return WriteUpForm(stop, data, technician=name, today=clock.today())


@require_safe
def photos_arrived(request: HttpRequest, key: str) -> HttpResponse:
    """Which photos of a write-up are on file, by what their files fold to."""
    write_up = _mine(request, key)
    if isinstance(write_up, HttpResponse):
        return write_up
    return JsonResponse({"arrived": sorted(set(photos_on_file(write_up).values_list("sent_digest", flat=True)))})


@require_http_methods(["POST"])
def photo(request: HttpRequest, key: str, digest: str) -> HttpResponse:
    """Take one photo as it is: 201 when it was kept, 200 when it was before."""
    write_up = _mine(request, key)
    if isinstance(write_up, HttpResponse):
        return write_up
    if _length(request) > LARGEST_PHOTO:
        return as_json.refused(413, f"A photo may have {LARGEST_PHOTO // 1_000_000} MB.")
    try:
        _, new = photos.add(write_up, digest, request.read(LARGEST_PHOTO + 1), by=access.person(request))
    except Refused as refused:
        return as_json.refused(409 if isinstance(refused, Conflict) else 422, refused.faults)
    return JsonResponse({"digest": digest}, status=201 if new else 200)


def _mine(request: HttpRequest, key: str) -> models.WriteUp | HttpResponse:
    """The write-up of a key, if this person sent it."""
    write_up = photos.of_key(key)
    if write_up is None:
        return as_json.refused(404, "Send the write-up first, then its photos.")
    if write_up.by_id != access.person(request).pk:
        return as_json.refused(403, "This write-up was sent by somebody else.", code="writer")
    return write_up
