"""All that is on file as one file, for the owner to keep elsewhere."""

import tempfile
from pathlib import Path

from django.conf import settings
from django.http import FileResponse, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from fleet import clock, models
from fleet.office.actions import logins
from fleet.office.actions import people as actions
from fleet.office.forms.backup import BackupForm
from fleet.office.queries import backup as queries
from fleet.refusals import Refused
from fleet.web import access


@sensitive_post_parameters()
@require_http_methods(["GET", "HEAD", "POST"])
def backup(request: HttpRequest) -> HttpResponseBase:
    """Say what a backup is; or hand one out, once the password is given again. Guesses count like those at the login."""
    me = access.person(request)
    if request.method != "POST":
        return _shown(request, BackupForm(person=me))
    if wait := logins.begin(name=me.username, at=clock.now()):
        words = f"Too many wrong passwords. The next is looked at in {wait.words(clock.now())}."
        return _shown(request, BackupForm(person=me), wait=words, status=429)
    form = BackupForm(request.POST, person=me)
    if not form.is_valid():
        return _shown(request, form, status=422)
    logins.forget(name=me.username)
    try:
        return _handed_out(me)
    except Refused as refused:
        form.refuse(refused)
        return _shown(request, form, status=422)


def _handed_out(me: models.User) -> FileResponse:
    with tempfile.TemporaryDirectory(prefix=".backup-", dir=settings.DATA_DIR) as folder:
        path = Path(folder) / "tenth-year.backup"
        queries.write(path, made_at=clock.now())
        # Open, it can be sent though its name goes with the folder.
        file = path.open("rb")
    actions.note_backup(person=me)
    name = f"tenth-year-{clock.today().isoformat()}.backup"
    return FileResponse(file, as_attachment=True, filename=name, content_type="application/zip")


def _shown(request: HttpRequest, form: BackupForm, *, wait: str = "", status: int = 200) -> HttpResponse:
    context = {"form": form, "wait": wait, "missing": queries.missing()}
    return render(request, "company/backup.html", context, status=status)
