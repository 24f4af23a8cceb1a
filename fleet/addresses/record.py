"""Addresses of what is on file: missing facts, failures, terms, labels, files brought in."""

from fleet.claims.queries.failures_list import FAILURES
from fleet.claims.views import failures, shares
from fleet.coverage.queries.set_aside import SET_ASIDE
from fleet.coverage.queries.terms import TERMS
from fleet.coverage.views import attach, missing_facts, set_aside, terms, terms_written
from fleet.office.views import import_steps, imports
from fleet.registry.queries.unit_labels import LABELS
from fleet.registry.views import unit_labels
from fleet.web import lists
from fleet.web.address import Address, desk, everybody, owner

ADDRESSES = [
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
        Address("failures/<int:pk>/component", failures.failure_component, "failure_component"),
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
        "Unit: add a labor plan or terms that it was given later",
        Address("units/<int:pk>/terms", attach.attach, "unit_terms", within="lookup"),
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
    *everybody(
        "Labels: open a unit by one, and put one on a unit",
        Address("<label:code>", unit_labels.label, "label", within="lookup"),
        Address("labels/<int:pk>", unit_labels.label_of, "label_of", within="lookup"),
    ),
    *desk(
        "Labels: print them, list them, and take one off a unit",
        Address("labels", lists.view(LABELS, "labels/labels.html"), "labels", beside=("new_install", "Labels")),
        Address("labels/print", unit_labels.labels_print, "labels_print", within="labels"),
        Address("labels/ready", unit_labels.labels_ready, "labels_ready", within="labels"),
        Address("labels/sheet", unit_labels.labels_sheet, "labels_sheet"),
        Address("labels/<int:pk>/off", unit_labels.label_off, "label_off"),
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
]
