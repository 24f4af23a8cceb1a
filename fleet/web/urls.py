"""Every address, by name; who may see each is in access.py."""

from django.contrib.auth.views import LogoutView
from django.urls import path

from fleet.web.views import documents, ending, frame, jobs, lookup, people, sites, terms, units

urlpatterns = [
    path("", frame.home, name="home"),
    path("login", people.login, name="login"),
    path("logout", LogoutView.as_view(), name="logout"),
    path("password", people.password, name="password"),
    path("password/forgotten", people.password_forgotten, name="password_forgotten"),
    path("password/sent", people.password_sent, name="password_sent"),
    path("password/new/<uidb64>/<token>", people.PasswordNewView.as_view(), name="password_new"),
    path("people", people.people, name="people"),
    path("people/add", people.person_add, name="person_add"),
    path("people/<int:pk>", people.person, name="person"),
    path("people/<int:pk>/change", people.person_change, name="person_change"),
    path("people/<int:pk>/off", people.person_off, name="person_off"),
    path("people/<int:pk>/on", people.person_on, name="person_on"),
    path("people/<int:pk>/unlock", people.person_unlock, name="person_unlock"),
    path("people/<int:pk>/link", people.person_link, name="person_link"),
    path("roles", people.roles, name="roles"),
    path("units/<int:pk>/documents", documents.unit_documents, name="unit_documents"),
    path("sites/<int:pk>/documents", documents.site_documents, name="site_documents"),
    path("documents/<int:pk>", documents.document, name="document"),
    path("documents/<int:pk>/small", documents.document_small, name="document_small"),
    path("documents/<int:pk>/drop", documents.document_drop, name="document_drop"),
    path("documents/<int:pk>/back", documents.document_back, name="document_back"),
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
