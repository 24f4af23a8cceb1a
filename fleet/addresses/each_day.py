"""Addresses of each day's work: our desk, calls, stops, and what they look up."""

from django.contrib.auth.views import LogoutView

from fleet.calls.queries.calls import CALLS
from fleet.calls.views import calls
from fleet.care.queries.write_up_checks import CHECKS
from fleet.care.views import phone, refrigerant, tickets, visits, write_up_door, write_ups
from fleet.coverage.views import payers
from fleet.front.queries.deadlines import DEADLINES
from fleet.front.views import calendars, our_desk, sites, units
from fleet.office.views import first_owner, people
from fleet.registry.queries.reports import REPORTS
from fleet.registry.views import addresses, contacts, documents, editing, lookup, new_install, on_site, scans
from fleet.web import home, lists
from fleet.web.address import Address, desk, everybody, without_login

ADDRESSES = [
    *without_login(
        Address("login", people.login, "login"),
        Address("first-owner", first_owner.first_owner, "first_owner"),
        Address("logout", LogoutView.as_view(), "logout"),
        Address("password/forgotten", people.password_forgotten, "password_forgotten"),
        Address("password/sent", people.password_sent, "password_sent"),
        Address("password/new/<uidb64>/<token>", people.PasswordNewView.as_view(), "password_new"),
        Address("calendar/<str:token>.ics", calendars.calendar_feed, "calendar_feed"),
        Address("phone", phone.phone, "phone"),
        Address("phone-worker.js", phone.worker, "phone_worker"),
        Address("manifest.webmanifest", phone.manifest, "manifest"),
    ),
    *desk(
        "On our desk: see what there is to do",
        Address("on-our-desk", our_desk.our_desk, "on_our_desk", menu="On our desk"),
    ),
    *desk(
        "Deadlines: see them all in one list",
        Address(
            "deadlines",
            lists.view(DEADLINES, "deadlines/deadlines.html"),
            "deadlines",
            beside=("on_our_desk", "Deadlines"),
        ),
    ),
    *everybody(
        "Calls: see them, and note one",
        Address("calls", lists.view(CALLS, "calls/calls.html"), "calls", menu="Calls"),
        Address("calls/new", calls.call_new, "call_new", within="calls"),
        Address("units/<int:pk>/call", calls.unit_call, "unit_call"),
        Address("calls/<int:pk>", calls.call, "call", within="calls"),
    ),
    *everybody(
        "Calls: correct what is noted; a technician, of those that they noted",
        Address("calls/<int:pk>/correct", calls.call_correct, "call_correct", within="calls"),
    ),
    *desk(
        "Calls: put a caller's house on file, take them a step on, and say whether one is a call-back",
        Address("calls/<int:pk>/house", calls.call_house, "call_house", within="calls"),
        Address("calls/<int:pk>/house/off", calls.call_house_off, "call_house_off"),
        Address("calls/<int:pk>/site/off", calls.call_site_off, "call_site_off"),
        Address("calls/<int:pk>/step", calls.call_step, "call_step"),
        Address("calls/<int:pk>/first", calls.call_first, "call_first"),
        Address("calls/<int:pk>/undo", calls.call_undo, "call_undo"),
        Address("calls/<int:pk>/call-back", calls.call_back, "call_back"),
        Address("calls/<int:pk>/parts", calls.call_part_add, "call_part_add"),
        Address("call-parts/<int:pk>", calls.call_part, "call_part"),
    ),
    *everybody(
        "Today's stops: see them, print a visit's sheet, and write up a stop",
        Address("visits/<int:pk>/sheet", visits.visit_sheet, "visit_sheet"),
        Address("todays-stops", write_ups.today, "today", menu="Today's stops"),
        Address("sites/<int:pk>/write-up", write_ups.write_up_new, "write_up_new", within="today"),
        Address("write-ups/<int:pk>", write_ups.write_up, "write_up", within="today"),
        Address("write-ups/<int:pk>/ticket", tickets.ticket, "ticket"),
        Address("phone/stops", phone.phone_stops, "phone_stops"),
        Address("phone/token", write_up_door.token, "phone_token"),
        Address("phone/write-ups/<str:key>/photos", write_up_door.photos_arrived, "write_up_photos"),
        Address("phone/write-ups/<str:key>/photos/<str:digest>", write_up_door.photo, "write_up_photo"),
    ),
    *everybody(
        "Write-ups: take one back; a technician, those of their own",
        Address("write-ups/<int:pk>/take-back", write_ups.undo_write_up, "undo_write_up", within="today"),
    ),
    *desk(
        "Write-ups: email a visit's ticket to the customer",
        Address("write-ups/<int:pk>/ticket/email", tickets.ticket_mail, "ticket_mail", within="today"),
    ),
    *desk(
        "Write-ups: settle what could not be recorded",
        Address(
            "write-ups/to-check",
            lists.view(CHECKS, "write_ups/checks.html"),
            "write_up_checks",
            beside=("on_our_desk", "Write-ups to check"),
        ),
        Address("write-up-checks/<int:pk>/settle", write_ups.check_settle, "write_up_check_settle"),
        Address("write-up-checks/<int:pk>/reopen", write_ups.check_reopen, "write_up_check_reopen"),
    ),
    *everybody(
        "On site: put a unit on file, say that one is not there, put a serial right, and take one's own back",
        Address("sites/<int:pk>/units/found", on_site.unit_found, "unit_found", within="lookup"),
        Address("units/<int:pk>/not-there", on_site.unit_not_there, "unit_not_there", within="lookup"),
        Address("units/<int:pk>/serial", on_site.unit_serial, "unit_serial", within="lookup"),
        Address("units/<int:pk>/serial/undo", on_site.unit_serial_undo, "unit_serial_undo"),
        Address("unit-reports/<int:pk>", on_site.unit_report, "unit_report", within="lookup"),
        Address("unit-reports/<int:pk>/undo", on_site.unit_report_undo, "unit_report_undo"),
    ),
    *desk(
        "Reported on site: settle it",
        Address(
            "unit-reports",
            lists.view(REPORTS, "unit_reports/reports.html"),
            "unit_reports",
            beside=("on_our_desk", "Reported on site"),
        ),
        Address("unit-reports/<int:pk>/settle", on_site.unit_report_settle, "unit_report_settle"),
        Address("unit-reports/<int:pk>/reopen", on_site.unit_report_reopen, "unit_report_reopen"),
    ),
    *everybody(
        "Look-up: find units, sites and customers",
        Address("", home.home, "home"),
        Address("look-up", lookup.lookup, "lookup", menu="Look-up"),
    ),
    *everybody(
        "Look-up: read a label or a nameplate in a photo",
        Address("scan", scans.scan, "scan", within="lookup"),
        Address("scan/<str:token>", scans.scan_read, "scan_read", within="lookup"),
        Address("scan/<str:token>/<int:number>", scans.scan_crop, "scan_crop"),
    ),
    *everybody(
        "Unit: see it, and who would pay for a failure",
        Address("units/<int:pk>", units.unit, "unit", within="lookup"),
        Address("units/<int:pk>/answer", units.answer, "answer", within="lookup"),
    ),
    *everybody(
        "Site and customer: see them",
        Address("sites/<int:pk>", sites.site, "site", within="lookup"),
        Address("customers/<int:pk>", sites.customer, "customer", within="lookup"),
    ),
    *desk(
        "Unit, site, customer: correct what is wrong",
        Address("units/<int:pk>/correct", editing.correct, "unit_correct", {"kind": "unit"}, within="lookup"),
        Address("systems/<int:pk>/correct", editing.system_correct, "system_correct", within="lookup"),
        Address("sites/<int:pk>/correct", editing.correct, "site_correct", {"kind": "site"}, within="lookup"),
        Address(
            "customers/<int:pk>/correct", editing.correct, "customer_correct", {"kind": "customer"}, within="lookup"
        ),
        Address("changes/<int:pk>/undo", editing.correction_undo, "correction_undo"),
    ),
    *everybody(
        "Unit, site, customer: see what was changed",
        Address("units/<int:pk>/changes", editing.changes, "unit_changes", {"kind": "unit"}, within="lookup"),
        Address("sites/<int:pk>/changes", editing.changes, "site_changes", {"kind": "site"}, within="lookup"),
        Address(
            "customers/<int:pk>/changes", editing.changes, "customer_changes", {"kind": "customer"}, within="lookup"
        ),
    ),
    *desk(
        "Unit, site, customer: merge two that are one, and take them apart again",
        Address("units/<int:pk>/merge", editing.merge, "unit_merge", {"kind": "unit"}, within="lookup"),
        Address("sites/<int:pk>/merge", editing.merge, "site_merge", {"kind": "site"}, within="lookup"),
        Address("customers/<int:pk>/merge", editing.merge, "customer_merge", {"kind": "customer"}, within="lookup"),
        Address("merges/<int:pk>/undo", editing.merge_undo, "merge_undo"),
    ),
    *desk(
        "Unit: move, exchange, swap or take it out",
        Address("units/<int:pk>/swap", editing.swap, "unit_swap", within="lookup"),
        Address("swaps/<int:pk>/undo", editing.swap_undo, "swap_undo"),
        Address("units/<int:pk>/life", editing.life, "unit_life", within="lookup"),
        Address("units/<int:pk>/life/back", editing.life_back, "life_back"),
        Address("units/<int:pk>/place", editing.place, "unit_place", within="lookup"),
    ),
    *everybody(
        "Contacts: see whom to reach about a site",
        Address("sites/<int:pk>/contacts", contacts.site_contacts, "site_contacts", within="lookup"),
    ),
    *desk(
        "Contacts: add, correct and take off",
        Address("sites/<int:pk>/contacts/add", contacts.contact_add, "contact_add", within="lookup"),
        Address("contacts/<int:pk>", contacts.contact, "contact", within="lookup"),
        Address("contacts/<int:pk>/drop", contacts.contact_drop, "contact_drop"),
    ),
    *desk(
        "Sold: hand a house on, and record which payers were told",
        Address("sites/<int:pk>/sold", contacts.sold, "sold", within="lookup"),
        Address("sites/<int:pk>/payer-told", contacts.payer_told, "payer_told"),
        Address("sites/<int:pk>/sold/back", contacts.sold_back, "sold_back"),
    ),
    *everybody(
        "Photos and papers: see and add them",
        Address("units/<int:pk>/documents", documents.unit_documents, "unit_documents", within="lookup"),
        Address("sites/<int:pk>/documents", documents.site_documents, "site_documents", within="lookup"),
        Address("documents/<int:pk>", documents.document, "document"),
        Address("documents/<int:pk>/small", documents.document_small, "document_small"),
    ),
    *desk(
        "Photos and papers: drop them, and bring them back",
        Address("documents/<int:pk>/drop", documents.document_drop, "document_drop"),
        Address("documents/<int:pk>/back", documents.document_back, "document_back"),
    ),
    *everybody(
        "Refrigerant: see a system's, enter what was put in or taken out, record its start-up",
        Address("systems/<int:pk>/refrigerant", refrigerant.refrigerant, "refrigerant", within="lookup"),
        Address("systems/<int:pk>/refrigerant/add", refrigerant.refrigerant_add, "refrigerant_add"),
        Address("systems/<int:pk>/start-up", refrigerant.refrigerant_start, "refrigerant_start"),
    ),
    *desk(
        "Refrigerant: put an entry right, or take it off",
        Address("refrigerant/<int:pk>", refrigerant.refrigerant_entry, "refrigerant_entry", within="lookup"),
        Address("refrigerant/<int:pk>/off", refrigerant.refrigerant_off, "refrigerant_off"),
    ),
    *desk(
        "What payers said: record and settle it",
        Address("units/<int:pk>/payers", payers.unit_payers, "unit_payers", within="lookup"),
        Address("payers-said/<int:pk>/settled", payers.payer_settle, "payer_settle"),
        Address("payers-said/<int:pk>/reopen", payers.payer_reopen, "payer_reopen"),
        Address("payers-said/<int:pk>/undo", payers.payer_undo, "payer_undo"),
    ),
    *desk(
        "New install: register it",
        Address("new-install", new_install.new_install, "new_install", menu="New install"),
        Address("address-parts", addresses.address_parts, "address_parts"),
        Address("new-install/places", new_install.new_install_places, "new_install_places"),
        Address("new-install/days", new_install.new_install_days, "new_install_days"),
        Address("new-install/row", new_install.new_install_row, "new_install_row"),
        Address("new-install/<int:pk>", new_install.new_install_done, "new_install_done", within="new_install"),
        Address("new-install/<int:pk>/photos", new_install.new_install_photos, "new_install_photos"),
    ),
    *desk(
        "New install: take back what was just saved",
        Address("new-install/saved/<int:pk>/back", new_install.new_install_undo, "new_install_undo"),
    ),
]
