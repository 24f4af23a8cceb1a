"""Every address: its view and name, who may see it and what they do there, and where it stands in the menu.

The menu and the page of roles follow the order of this table.
"""

from django.contrib.auth.views import LogoutView

from fleet.business.queries.agreements import AGREEMENTS
from fleet.business.queries.own_promises import PROMISES
from fleet.business.queries.to_decide import BILLS, TO_DECIDE
from fleet.business.views import agreement_templates, agreements, bills, house, layouts, own_promises, what_fails, year
from fleet.calls.queries.calls import CALLS
from fleet.calls.views import calls
from fleet.care.queries.write_up_checks import CHECKS
from fleet.care.views import care_sheet, due, refrigerant, visits, write_up_door, write_ups
from fleet.claims.queries.claims import CLAIMS
from fleet.claims.queries.failures_list import FAILURES
from fleet.claims.queries.money import MOVED, PARTS
from fleet.claims.queries.suppliers import SUPPLIERS
from fleet.claims.views import claim_paper, claims, failures, money, shares, statements, suppliers
from fleet.coverage.queries.ending import ENDING
from fleet.coverage.queries.payers import DIFFERENCES
from fleet.coverage.queries.set_aside import SET_ASIDE
from fleet.coverage.queries.terms import TERMS
from fleet.coverage.views import missing_facts, payers, registrations, set_aside, terms, terms_written
from fleet.front.queries.deadlines import DEADLINES
from fleet.front.views import calendars, our_desk, sites, units
from fleet.office.queries.jobs import JOBS
from fleet.office.views import backup, company, first_owner, first_steps, import_steps, imports, jobs, people
from fleet.registry.views import contacts, documents, editing, lookup, new_install
from fleet.web import home, lists
from fleet.web.address import Address, desk, everybody, owner, without_login

handler404 = "fleet.web.door.not_found"
urlpatterns = [
    *without_login(
        Address("login", people.login, "login"),
        Address("first-owner", first_owner.first_owner, "first_owner"),
        Address("logout", LogoutView.as_view(), "logout"),
        Address("password/forgotten", people.password_forgotten, "password_forgotten"),
        Address("password/sent", people.password_sent, "password_sent"),
        Address("password/new/<uidb64>/<token>", people.PasswordNewView.as_view(), "password_new"),
        Address("calendar/<str:token>.ics", calendars.calendar_feed, "calendar_feed"),
    ),
    # -- Each day
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
        Address("calls/<int:pk>", calls.call, "call", within="calls"),
    ),
    *desk(
        "Calls: correct them, take them a step on, and say whether one is a call-back",
        Address("calls/<int:pk>/correct", calls.call_correct, "call_correct", within="calls"),
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
        Address("phone/token", write_up_door.token, "phone_token"),
        Address("phone/write-ups/<str:key>/photos", write_up_door.photos_arrived, "write_up_photos"),
        Address("phone/write-ups/<str:key>/photos/<str:digest>", write_up_door.photo, "write_up_photo"),
    ),
    *everybody(
        "Write-ups: take one back; a technician, those of their own",
        Address("write-ups/<int:pk>/take-back", write_ups.undo_write_up, "undo_write_up", within="today"),
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
        "Look-up: find units, sites and customers",
        Address("", home.home, "home"),
        Address("look-up", lookup.lookup, "lookup", menu="Look-up"),
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
        Address("sites/<int:pk>/correct", editing.correct, "site_correct", {"kind": "site"}, within="lookup"),
        Address(
            "customers/<int:pk>/correct", editing.correct, "customer_correct", {"kind": "customer"}, within="lookup"
        ),
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
        "Unit: move, exchange or take it out",
        Address("units/<int:pk>/life", editing.life, "unit_life", within="lookup"),
        Address("units/<int:pk>/life/back", editing.life_back, "life_back"),
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
        Address("new-install/places", new_install.new_install_places, "new_install_places"),
        Address("new-install/serial", new_install.new_install_serial, "new_install_serial"),
        Address("new-install/<int:pk>", new_install.new_install_done, "new_install_done", within="new_install"),
    ),
    *desk(
        "New install: take back what was just saved",
        Address("new-install/saved/<int:pk>/back", new_install.new_install_undo, "new_install_undo"),
    ),
    # -- Promises
    *desk(
        "Claims: open one, work on it, and see their deadlines",
        Address("failures/<int:pk>/claims", claims.claim_open, "claim_open", within="claims"),
        Address("claims", lists.view(CLAIMS, "claims/claims.html"), "claims", menu="Claims"),
        Address("claims/<int:pk>", claims.claim, "claim", within="claims"),
        Address("claims/<int:pk>/step", claims.claim_step, "claim_step"),
        Address("claims/<int:pk>/take-back", claims.claim_take_back, "claim_take_back"),
        Address("claims/<int:pk>/change", claims.claim_change, "claim_change"),
        Address("claims/<int:pk>/dismiss-deadline", claims.claim_dismiss_deadline, "claim_dismiss_deadline"),
        Address("claims/<int:pk>/restore-deadline", claims.claim_restore_deadline, "claim_restore_deadline"),
        Address("claims/<int:pk>/give", claims.claim_give, "claim_give"),
    ),
    *desk(
        "Claims: the paper for the payer",
        Address("claims/<int:pk>/paper", claim_paper.claim_paper, "claim_paper"),
    ),
    *everybody(
        "Claims: the tag for the old part",
        Address("claims/<int:pk>/tag", claim_paper.claim_tag, "claim_tag"),
    ),
    *desk(
        "Suppliers: see, add and correct them",
        Address(
            "suppliers", lists.view(SUPPLIERS, "suppliers/suppliers.html"), "suppliers", beside=("claims", "Suppliers")
        ),
        Address("suppliers/add", suppliers.supplier_add, "supplier_add", within="suppliers"),
        Address("suppliers/<int:pk>", suppliers.supplier, "supplier", within="suppliers"),
    ),
    *desk(
        "Payers' statements: take them, and decide whose each credit is",
        Address("statements", statements.statements, "statements", beside=("claims", "Payers' statements")),
        Address("statements/<int:pk>", statements.statement, "statement", within="statements"),
        Address("statements/<int:pk>/again", statements.statement_again, "statement_again"),
        Address("statement-lines/<int:pk>/match", statements.statement_match, "statement_match"),
        Address("statement-lines/<int:pk>/aside", statements.statement_aside, "statement_aside"),
        Address("statement-lines/<int:pk>/open", statements.statement_open, "statement_open"),
    ),
    *desk(
        "Claims: see the deadlines in a calendar of one's own",
        Address("calendars", calendars.calendars, "calendars", beside=("on_our_desk", "Deadlines in your calendar")),
        Address("calendars/<int:pk>/revoke", calendars.calendar_revoke, "calendar_revoke"),
    ),
    *desk(
        "Registrations: see the queue, record and take back",
        Address("registrations", registrations.registrations, "registrations", menu="Registrations"),
        Address("systems/<int:pk>/registration", registrations.registration, "registration", within="registrations"),
        Address(
            "systems/<int:pk>/registration/late",
            registrations.registration_late,
            "registration_late",
            within="registrations",
        ),
        Address("systems/<int:pk>/registration/missed", registrations.registration_missed, "registration_missed"),
        Address("systems/<int:pk>/registration/proof", registrations.registration_proof, "registration_proof"),
        Address(
            "systems/<int:pk>/registration/date",
            registrations.registration_date,
            "registration_date",
            within="registrations",
        ),
        Address("systems/<int:pk>/registration/undo", registrations.registration_undo, "registration_undo"),
        Address(
            "systems/<int:pk>/registration/remind/<int:terms>", registrations.registration_remind, "registration_remind"
        ),
        Address(
            "systems/<int:pk>/registration/letter/<int:terms>", registrations.registration_letter, "registration_letter"
        ),
    ),
    *desk(
        "Payer disagreements: see the list",
        Address(
            "payers-differ",
            lists.view(DIFFERENCES, "payers/differences.html"),
            "payer_differences",
            beside=("on_our_desk", "Payer disagreements"),
        ),
    ),
    *desk(
        "New houses: see which were not closed yet, and record the day",
        Address("new-houses", contacts.unsold, "unsold", beside=("on_our_desk", "New houses")),
        Address("new-houses/closed", contacts.unsold_closed, "unsold_closed"),
    ),
    # -- Care
    *everybody(
        "Due: see what is due, and print it",
        Address("due", due.list_due, "due", menu="Maintenance"),
        Address("sites/<int:pk>/care", due.site_care, "site_care", within="due"),
        Address("sites/<int:pk>/care/sheet", due.site_sheet, "site_sheet"),
        Address("systems/<int:pk>/wall-card", due.wall_card, "wall_card"),
    ),
    *everybody(
        "Due: record what was done or skipped, and take one's own back",
        Address("units/<int:pk>/care", due.care_record, "care_record", within="due"),
        Address("units/<int:pk>/care/done", due.care_done, "care_done"),
        Address("care-records/<int:pk>/undo", due.care_undo, "care_undo"),
    ),
    *desk(
        "Visits: plan, book, move and call them off",
        Address("visits", visits.visits, "visits", beside=("due", "Visits")),
        Address("sites/<int:pk>/visits", visits.site_visits, "site_visits", within="visits"),
        Address("visits/<int:pk>", visits.booking, "booking", within="visits"),
        Address("visits/<int:pk>/cancel", visits.cancel_booking, "cancel_booking"),
    ),
    *desk(
        "Agreements: see them, make, change, renew and end them",
        Address(
            "agreements",
            lists.view(AGREEMENTS, "agreements/agreements.html"),
            "agreements",
            menu="Agreements",
        ),
        Address(
            "agreements/to-decide",
            lists.view(TO_DECIDE, "agreements/to_decide.html"),
            "agreements_to_decide",
            beside=("agreements", "To decide"),
        ),
        Address("agreements/<int:pk>", agreements.agreement, "agreement", within="agreements"),
        Address("agreements/<int:pk>/renew", agreements.agreement_renew, "agreement_renew"),
        Address("agreements/<int:pk>/take-back", agreements.agreement_unrenew, "agreement_unrenew"),
        Address("agreements/<int:pk>/end", agreements.agreement_end, "agreement_end"),
        Address("agreements/<int:pk>/take-up", agreements.agreement_resume, "agreement_resume"),
        Address("sites/<int:pk>/agreement", agreements.agreement_new, "agreement_new", within="agreements"),
    ),
    *desk(
        "Agreements: record bills and payments, bill added heads, settle what an early end gives back",
        Address(
            "agreements/bills",
            lists.view(BILLS, "agreements/bills.html"),
            "agreement_bills",
            beside=("agreements", "Bills"),
        ),
        Address("agreements/<int:pk>/bill", bills.bill_send, "agreement_bill_send", within="agreements"),
        Address("agreement-bills/<int:pk>", bills.bill, "agreement_bill", within="agreement_bills"),
        Address("agreement-bills/<int:pk>/undo", bills.bill_unsend, "agreement_bill_undo"),
        Address("agreement-payments/<int:pk>/undo", bills.payment_undo, "agreement_payment_undo"),
        Address("agreements/<int:pk>/added-heads", bills.heads_decide, "agreement_heads"),
        Address("agreements/<int:pk>/added-heads/undo", bills.heads_undo, "agreement_heads_undo"),
        Address("agreements/<int:pk>/refund", bills.refund_decide, "agreement_refund"),
        Address("agreements/<int:pk>/refund/undo", bills.refund_undo, "agreement_refund_undo"),
    ),
    *desk(
        "Our promises: see them, make, change, print and end them",
        Address(
            "our-promises",
            lists.view(PROMISES, "promises/promises.html"),
            "own_promises",
            beside=("agreements", "Our promises"),
        ),
        Address("our-promises/<int:pk>", own_promises.promise, "own_promise", within="own_promises"),
        Address("our-promises/<int:pk>/paper", own_promises.promise_paper, "own_promise_paper"),
        Address("our-promises/<int:pk>/called-on", own_promises.promise_call, "own_promise_call"),
        Address("our-promises/<int:pk>/released", own_promises.promise_release, "own_promise_release"),
        Address("our-promises/<int:pk>/restore", own_promises.promise_restore, "own_promise_restore"),
        Address("our-promises/<int:pk>/delete", own_promises.promise_delete, "own_promise_delete"),
        Address("sites/<int:pk>/promise", own_promises.promise_new, "own_promise_new", within="own_promises"),
    ),
    *desk(
        "Layouts: compare them before a sale, on the page and on paper",
        Address("layouts", layouts.layouts, "layouts", beside=("agreements", "Compare layouts")),
        Address("layouts/paper", layouts.layouts_paper, "layouts_paper"),
    ),
    # -- The record
    *desk(
        "Missing information: see the list",
        Address(
            "missing-information",
            missing_facts.missing_facts,
            "missing_facts",
            beside=("on_our_desk", "Missing information"),
        ),
    ),
    *desk(
        "Missing information: fill them in",
        Address("missing-information/fill", missing_facts.missing_fact_fill, "missing_fact_fill"),
        Address("missing-information/<int:change>/undo", missing_facts.missing_fact_undo, "missing_fact_undo"),
    ),
    *desk(
        "Missing information: set aside what nobody knows, and bring it back",
        Address(
            "missing-information/nobody-knows",
            lists.view(SET_ASIDE, "missing_facts/set_aside.html"),
            "set_aside",
            within="missing_facts",
        ),
        Address("missing-information/nobody-knows/set-aside", set_aside.set_aside_put, "set_aside_put"),
        Address("missing-information/nobody-knows/<int:pk>/back", set_aside.set_aside_back, "set_aside_back"),
    ),
    *desk(
        "Failures: list them",
        Address("failures", lists.view(FAILURES, "failures/failures.html"), "failures", beside=("claims", "Failures")),
    ),
    *everybody(
        "Failures: record one, its repair, its photos, and see it",
        Address("units/<int:pk>/failure", failures.failure_new, "failure_new", within="failures"),
        Address("failures/<int:pk>", failures.failure, "failure", within="failures"),
        Address("failures/<int:pk>/repair", failures.failure_repair, "failure_repair", within="failures"),
        Address("failures/<int:pk>/photos", failures.failure_photos, "failure_photos"),
        Address("failures/<int:pk>/old-part", failures.failure_old_part, "failure_old_part"),
    ),
    *desk(
        "Failures: what the customer was billed and paid",
        Address("failures/<int:pk>/bill", shares.failure_bill, "failure_bill"),
        Address("failure-bills/<int:pk>/pay", shares.bill_pay, "bill_pay"),
        Address("failure-bills/<int:pk>/undo", shares.bill_undo, "bill_undo"),
        Address("failure-payments/<int:pk>/undo", shares.payment_undo, "payment_undo"),
    ),
    *desk(
        "Failures: correct and void",
        Address("failures/<int:pk>/correct", failures.failure_correct, "failure_correct", within="failures"),
        Address("failures/<int:pk>/void", failures.failure_void, "failure_void"),
    ),
    *everybody(
        "Terms: read them",
        Address("terms", lists.view(TERMS, "terms/list.html"), "terms_list", beside=("settings", "Terms on file")),
        Address("terms/<int:pk>", terms.terms, "terms", within="terms_list"),
    ),
    *desk(
        "Terms: list the units that hold them",
        Address("terms/<int:pk>/units", terms.terms_units, "terms_units", within="terms_list"),
    ),
    *desk(
        "Terms: download them as a file",
        Address("terms/<int:pk>/file", terms_written.terms_file, "terms_file"),
    ),
    *owner(
        "Terms: write them, try them on a unit, put them in force",
        Address("terms/write", terms_written.terms_write, "terms_write", within="terms_list"),
    ),
    *desk(
        "Terms: record that they were held against the paper again",
        Address("terms/<int:pk>/checked", terms.terms_checked, "terms_checked"),
        Address("terms/<int:pk>/checks/<int:check>/undo", terms.terms_check_undone, "terms_check_undone"),
    ),
    *desk(
        "Import: bring a file, match its columns, check and take it",
        Address("import", imports.imports, "imports", beside=("new_install", "Import a file")),
        Address("import/<int:pk>", imports.import_one, "import", within="imports"),
        Address("import/<int:pk>/sheet", import_steps.import_sheet, "import_sheet", within="imports"),
        Address("import/<int:pk>/columns", import_steps.import_columns, "import_columns", within="imports"),
        Address("import/<int:pk>/values", import_steps.import_values, "import_values", within="imports"),
        Address("import/<int:pk>/look-over", import_steps.import_confirm, "import_confirm", within="imports"),
        Address("import/<int:pk>/other-sheet", import_steps.import_other_sheet, "import_other_sheet"),
        Address("import/<int:pk>/stop", imports.import_stop, "import_stop"),
        Address("import/<int:pk>/drop", imports.import_drop, "import_drop"),
        Address("import/<int:pk>/undo", imports.import_undo_one, "import_undo"),
        Address("import/<int:pk>/problems", imports.import_problems, "import_problems"),
    ),
    # -- The outlook
    *owner(
        "The year ahead: see it",
        Address("the-year-ahead", year.year_ahead, "year_ahead", menu="The year ahead"),
    ),
    *desk(
        "Work to sell: see the list to call down",
        Address("the-year-ahead/on-offer", year.on_offer, "on_offer", beside=("agreements", "Work to sell")),
    ),
    *desk(
        "Coverage ending: see the list",
        Address(
            "coverage-ending",
            lists.view(ENDING, "ending/ending.html"),
            "ending",
            menu="Coverage ending",
        ),
    ),
    *desk(
        "Money: what came back, what is out, and what was lost",
        Address("money/rows", lists.view(PARTS, "money/rows.html"), "money_rows", within="money"),
        Address("money/by-day", lists.view(MOVED, "money/by_day.html"), "money_by_day", within="money"),
        Address("money", money.money, "money", beside=("claims", "Money")),
    ),
    *owner(
        "What fails: see it",
        Address("what-fails", what_fails.what_fails, "what_fails", beside=("year_ahead", "What fails")),
        Address("what-fails/<int:pk>", what_fails.what_fails_of, "what_fails_of"),
    ),
    # -- Settings
    *everybody("Settings: see what is there", Address("settings", home.settings, "settings", menu="Settings")),
    *owner(
        "Background work: see it",
        Address("background-work", lists.view(JOBS, "jobs/jobs.html"), "jobs", beside=("settings", "Background work")),
        Address("background-work/open", jobs.jobs_open, "jobs_open"),
        Address("background-work/<int:pk>", jobs.job, "job", within="jobs"),
    ),
    *owner(
        "Background work: stop it, or have it tried again",
        Address("background-work/<int:pk>/stop", jobs.job_stop, "job_stop"),
        Address("background-work/<int:pk>/again", jobs.job_again, "job_again"),
    ),
    *owner(
        "People: see who has a login",
        Address("people", people.people, "people", beside=("settings", "People")),
        Address("people/<int:pk>", people.person, "person", within="people"),
    ),
    *owner(
        "People: give somebody a login, or change it",
        Address("people/add", people.person_add, "person_add", within="people"),
        Address("people/<int:pk>/change", people.person_change, "person_change", within="people"),
    ),
    *owner(
        "People: switch a login off or on, or unlock it",
        Address("people/<int:pk>/off", people.person_off, "person_off"),
        Address("people/<int:pk>/on", people.person_on, "person_on"),
        Address("people/<int:pk>/unlock", people.person_unlock, "person_unlock"),
    ),
    *owner(
        "People: make a link for a new password",
        Address("people/<int:pk>/link", people.person_link, "person_link"),
    ),
    *everybody(
        "Care sheet: read it",
        Address("care-sheet", care_sheet.care_sheet, "care_sheet", beside=("settings", "Care sheet")),
        Address("care-sheet/file", care_sheet.care_sheet_file, "care_sheet_file"),
    ),
    *owner(
        "Care sheet: write it, try it and put it in force",
        Address("care-sheet/begin", care_sheet.care_begin, "care_begin"),
        Address("care-sheet/upload", care_sheet.care_upload, "care_upload"),
        Address("care-sheet/draft", care_sheet.care_draft, "care_draft", within="care_sheet"),
        Address("care-sheet/draft/file", care_sheet.care_draft_file, "care_draft_file"),
        Address("care-sheet/draft/task", care_sheet.care_task, "care_task_new", within="care_sheet"),
        Address("care-sheet/draft/tasks/<int:number>", care_sheet.care_task, "care_task", within="care_sheet"),
        Address("care-sheet/draft/tasks/<int:number>/remove", care_sheet.care_task_drop, "care_task_drop"),
        Address("care-sheet/draft/throw-away", care_sheet.care_throw_away, "care_throw_away"),
        Address("care-sheet/look-over", care_sheet.care_look_over, "care_look_over", within="care_sheet"),
    ),
    *owner(
        "Backup: download all that is on file",
        Address("backup", backup.backup, "backup", beside=("settings", "Backup")),
    ),
    *owner(
        "First steps: see them, leave one out, put them away",
        Address("first-steps", first_steps.first_steps, "first_steps", beside=("settings", "First steps")),
        Address("first-steps/skip", first_steps.first_steps_skip, "first_steps_skip"),
        Address("first-steps/over", first_steps.first_steps_over, "first_steps_over"),
        Address("first-steps/again", first_steps.first_steps_again, "first_steps_again"),
    ),
    *owner(
        "Company: name, address, logo, time zone and account numbers",
        Address("company", company.company, "company", beside=("settings", "Company")),
        Address("company/logo", company.company_logo, "company_logo"),
        Address("company/logo/set", company.company_logo_set, "company_logo_set"),
        Address("company/logo/remove", company.company_logo_drop, "company_logo_drop"),
        Address("company/accounts", company.company_accounts, "company_accounts"),
        Address("company/changes/<int:pk>/undo", company.company_undo, "company_undo"),
    ),
    *owner(
        "Agreement templates: see, make, change and delete them",
        Address(
            "agreement-templates",
            agreement_templates.templates,
            "agreement_templates",
            beside=("settings", "Agreement templates"),
        ),
        Address(
            "agreement-templates/add",
            agreement_templates.template_new,
            "agreement_template_add",
            within="agreement_templates",
        ),
        Address(
            "agreement-templates/<int:pk>",
            agreement_templates.template,
            "agreement_template",
            within="agreement_templates",
        ),
        Address(
            "agreement-templates/<int:pk>/delete", agreement_templates.template_delete, "agreement_template_delete"
        ),
    ),
    *owner(
        "Hours and rates: settle them",
        Address("hours-and-rates", house.house, "house", beside=("settings", "Hours and rates")),
        Address("hours-and-rates/<int:year>", house.house_months, "house_months"),
        Address("hours-and-rates/closed", house.house_closed, "house_closed"),
        Address("hours-and-rates/holidays", house.house_holidays, "house_holidays"),
        Address("hours-and-rates/closed/<int:pk>/open", house.house_open, "house_open"),
    ),
    *everybody(
        "Your login: see which role may do what",
        Address("roles", people.roles, "roles", beside=("settings", "Who may do what")),
    ),
    *everybody(
        "Your login: change your own password",
        Address("password", people.password, "password", beside=("settings", "Your password")),
    ),
]
