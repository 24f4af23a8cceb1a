"""Rows: what is on file, what was told and by whom, and what is kept of what the rules say."""

from fleet.models.history import Failure, HistoryRow, MaintenanceRecord
from fleet.models.jobs import Job
from fleet.models.kept import CoverageRow, FactRow, HoldingRow
from fleet.models.log import Change, Load
from fleet.models.lookup import LookupEntry
from fleet.models.office import ColumnMemory, Contact, Document, Import, Merge, PayerWord
from fleet.models.people import LoginTries, User
from fleet.models.promises import Attachment, Notice, Registration, Terms, TermsCheck
from fleet.models.reminders import Reminder
from fleet.models.sites import Customer, Sale, Site, SiteUse
from fleet.models.units import Idle, Place, System, Unit

__all__ = [
    "Attachment",
    "Change",
    "ColumnMemory",
    "Contact",
    "CoverageRow",
    "Customer",
    "Document",
    "FactRow",
    "Failure",
    "HistoryRow",
    "HoldingRow",
    "Idle",
    "Import",
    "Job",
    "Load",
    "LoginTries",
    "LookupEntry",
    "MaintenanceRecord",
    "Merge",
    "Notice",
    "PayerWord",
    "Place",
    "Registration",
    "Reminder",
    "Sale",
    "Site",
    "SiteUse",
    "System",
    "Terms",
    "TermsCheck",
    "Unit",
    "User",
]
