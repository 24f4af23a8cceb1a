"""What the company settles for itself: the owner's page, and what is written from it."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from fleet import clock
from fleet.business.actions import house as actions
from fleet.business.forms.house import ClosedForm, HolidaysForm, HouseForm, MonthsForm
from fleet.business.queries import house as queries
from fleet.rules.dates import in_words
from fleet.web import access

# The years for which hours can be entered.
YEARS = range(2000, 2100)
DECEMBER = 12


@require_http_methods(["GET", "HEAD", "POST"])
def house(request: HttpRequest) -> HttpResponse:
    """Show what is settled, or settle rates and days."""
    if request.method != "POST":
        return _shown(request)
    form = HouseForm(request.POST, shown=queries.page(year=clock.today().year, on=clock.today()).settings)
    if form.is_valid():
        with form.may_be_refused():
            changed = actions.settle(was=form.was(), facts=form.told(), by=access.person(request), on=clock.today())
            messages.success(request, "Saved." if changed else "Nothing changed.")
            return redirect("house")
    return _shown(request, settings=form, status=form.status)


@require_POST
def house_months(request: HttpRequest, year: int) -> HttpResponse:
    """Enter the hours of a year's months."""
    if year not in YEARS:
        return redirect("house")
    page = queries.page(year=year, on=clock.today())
    form = MonthsForm(request.POST, year=year, shown=page.hours)
    if form.is_valid():
        was, facts = form.months(form.was()), form.months(form.told())
        with form.may_be_refused():
            changed = actions.month_hours(was=was, facts=facts, by=access.person(request), on=clock.today())
            messages.success(request, _months_changed(changed))
            return redirect(f"{reverse('house')}?year={year}#months")
    return _shown(request, months=form, year=year, status=form.status)


def _months_changed(changed: int) -> str:
    if not changed:
        return "Nothing changed."
    return "Saved the hours of 1 month." if changed == 1 else f"Saved the hours of {changed} months."


@require_POST
def house_closed(request: HttpRequest) -> HttpResponse:
    """Close a day, or several in a row."""
    form = ClosedForm(request.POST)
    if not form.is_valid():
        return _shown(request, closed=form, status=422)
    days = form.days()
    added = actions.close(days=days, by=access.person(request), on=clock.today())
    message = f"Closed on {in_words(min(days))}{f' to {in_words(max(days))}' if len(days) > 1 else ''}."
    messages.success(request, message if added else "Already closed; nothing changed.")
    return redirect(f"{reverse('house')}#closed")


@require_POST
def house_holidays(request: HttpRequest) -> HttpResponse:
    """Close the usual holidays that were chosen, in one step."""
    page = queries.page(year=_year(request), on=clock.today())
    form = HolidaysForm(request.POST, holidays=page.holidays)
    if not form.is_valid():
        return _shown(request, holidays=form, status=422)
    added = actions.close(days=form.closed(), by=access.person(request), on=clock.today())
    messages.success(
        request, f"Closed on {'1 holiday' if added == 1 else f'{added} holidays'}. No visit is planned then."
    )
    return redirect(f"{reverse('house')}#closed")


@require_POST
def house_open(request: HttpRequest, pk: int) -> HttpResponse:
    """Work on a closed day after all."""
    day = actions.reopen(pk, by=access.person(request), on=clock.today())
    messages.success(request, f"Open on {in_words(day)}." if day else "That day was already open.")
    return redirect(f"{reverse('house')}#closed")


def _shown(
    request: HttpRequest,
    *,
    settings: HouseForm | None = None,
    months: MonthsForm | None = None,
    closed: ClosedForm | None = None,
    holidays: HolidaysForm | None = None,
    year: int | None = None,
    status: int = 200,
) -> HttpResponse:
    page = queries.page(year=year or _year(request), on=clock.today())
    context = {
        "page": page,
        "settings": settings or HouseForm(shown=page.settings),
        "months": months or MonthsForm(year=page.year, shown=page.hours),
        "closed": closed or ClosedForm(),
        "holidays": holidays or HolidaysForm(holidays=page.holidays),
    }
    return render(request, "house/house.html", context, status=status)


def _year(request: HttpRequest) -> int:
    """The year to show; this year (in December the next) where the text is no year that can be meant."""
    text, today = request.GET.get("year", ""), clock.today()
    # In December the hours that are wanted are the next year's.
    usual = today.year + 1 if today.month == DECEMBER else today.year
    return int(text) if text.isascii() and text.isdecimal() and len(text) == 4 and int(text) in YEARS else usual
