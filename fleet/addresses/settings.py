"""Addresses of the settings: people, the company, care sheet, templates, hours, background work."""

from fleet.business.views import agreement_templates, house
from fleet.care.views import care_sheet
from fleet.office.queries.jobs import JOBS
from fleet.office.views import backup, company, first_steps, jobs, people
from fleet.web import home, lists
from fleet.web.address import Address, everybody, owner

ADDRESSES = [
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
