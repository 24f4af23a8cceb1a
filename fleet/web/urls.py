"""Every address, by name; who may see each is in access.py."""

from django.contrib.auth.views import LoginView, LogoutView
from django.urls import path

from fleet.web.views import ending, frame, jobs, lookup, sites, terms, units

urlpatterns = [
    path("", frame.home, name="home"),
    path("login", LoginView.as_view(template_name="login.html"), name="login"),
    path("logout", LogoutView.as_view(), name="logout"),
    path("look-up", lookup.lookup, name="lookup"),
    path("units/<int:pk>", units.unit, name="unit"),
    path("units/<int:pk>/answer", units.answer, name="answer"),
    path("sites/<int:pk>", sites.site, name="site"),
    path("customers/<int:pk>", sites.customer, name="customer"),
    path("coverage-ending", ending.ending, name="ending"),
    path("terms", terms.terms_list, name="terms_list"),
    path("terms/<int:pk>", terms.terms, name="terms"),
    path("terms/<int:pk>/units", terms.terms_units, name="terms_units"),
    path("terms/<int:pk>/checked", terms.terms_checked, name="terms_checked"),
    path("terms/<int:pk>/checks/<int:check>/undo", terms.terms_check_undone, name="terms_check_undone"),
    path("background-work", jobs.jobs, name="jobs"),
    path("background-work/open", jobs.jobs_open, name="jobs_open"),
    path("background-work/<int:pk>", jobs.job, name="job"),
    path("background-work/<int:pk>/stop", jobs.job_stop, name="job_stop"),
    path("background-work/<int:pk>/again", jobs.job_again, name="job_again"),
]
