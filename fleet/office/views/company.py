"""Who we are: the owner's page, and what is saved from it."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from fleet.facts import company as facts
from fleet.office.actions import company as actions
from fleet.office.forms.company import AccountsForm, CompanyForm, LogoForm
from fleet.office.queries import company as queries
from fleet.refusals import Refused
from fleet.web import access


@require_http_methods(["GET", "HEAD", "POST"])
def company(request: HttpRequest) -> HttpResponse:
    """Show who we are, or save it."""
    if request.method != "POST":
        return _shown(request)
    form = CompanyForm(request.POST, shown=queries.page().facts)
    if form.is_valid():
        with form.may_be_refused():
            changed = actions.settle(was=form.was(), told=form.told(), by=access.person(request))
            messages.success(
                request, "Saved. Papers printed from now on say so." if changed else "Nothing was changed."
            )
            return redirect("company")
    return _shown(request, form=form, status=form.status)


@require_safe
def company_logo(request: HttpRequest) -> HttpResponse:
    """Hand out the logo."""
    content = facts.picture(facts.row().logo)
    if not content:
        raise Http404
    return HttpResponse(content, content_type="image/png", headers={"X-Content-Type-Options": "nosniff"})


@require_POST
def company_logo_set(request: HttpRequest) -> HttpResponse:
    """Use a picture as our logo."""
    form = LogoForm(request.POST, request.FILES)
    if form.is_valid():
        file = form.cleaned_data["logo"]
        with form.may_be_refused():
            actions.set_logo(file=file, name=file.name, by=access.person(request))
            messages.success(request, "This is your logo now.")
            return redirect(f"{reverse('company')}#logo")
    return _shown(request, logo=form, status=form.status)


@require_POST
def company_logo_drop(request: HttpRequest) -> HttpResponse:
    """Print no logo any more."""
    dropped = actions.drop_logo(by=access.person(request))
    messages.success(request, "The logo is removed." if dropped else "There was no logo.")
    return redirect(f"{reverse('company')}#logo")


@require_POST
def company_accounts(request: HttpRequest) -> HttpResponse:
    """Save our account numbers with payers."""
    form = AccountsForm(request.POST, shown=queries.accounts())
    if form.is_valid():
        was, told = form.accounts(form.was()), form.accounts(form.told())
        with form.may_be_refused():
            changed = actions.accounts(was=was, told=told, by=access.person(request))
            messages.success(request, _accounts_changed(changed))
            return redirect(f"{reverse('company')}#accounts")
    return _shown(request, accounts=form, status=form.status)


def _accounts_changed(changed: int) -> str:
    if not changed:
        return "Nothing was changed."
    return "1 account number was changed." if changed == 1 else f"{changed} account numbers were changed."


@require_POST
def company_undo(request: HttpRequest, pk: int) -> HttpResponse:
    """Undo one change."""
    try:
        actions.undo(pk, by=access.person(request))
        messages.success(request, "Undone.")
    except Refused as refused:
        messages.error(request, str(refused))
    return redirect(f"{reverse('company')}#changes")


def _shown(
    request: HttpRequest,
    *,
    form: CompanyForm | None = None,
    logo: LogoForm | None = None,
    accounts: AccountsForm | None = None,
    status: int = 200,
) -> HttpResponse:
    page = queries.page()
    context = {
        "page": page,
        "form": form or CompanyForm(shown=page.facts),
        "logo": logo or LogoForm(),
        "accounts": accounts or AccountsForm(shown=page.accounts),
    }
    return render(request, "company/company.html", context, status=status)
