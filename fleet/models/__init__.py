"""Rows: what is on file, what was told and by whom, and what is kept of what the rules say."""

from fleet.models.agreement_templates import AgreementTemplate
from fleet.models.bills import AddedHeads, AgreementBill, AgreementRefund, BillPayment
from fleet.models.calls import Call, CallPart, CallStep, CallVisit
from fleet.models.care import Agreement, CareDraft, CareSheet, DueRow
from fleet.models.claims import (
    CalendarLink,
    Claim,
    ClaimStep,
    ClockNote,
    ClockRow,
    FailureBill,
    FailurePayment,
    Statement,
    StatementLine,
)
from fleet.models.company import Company, PayerAccount
from fleet.models.history import Failure, FailureAnswer, HistoryRow, MaintenanceRecord, Reading, RefrigerantEntry
from fleet.models.house import ClosedDay, House, MonthHours
from fleet.models.jobs import Job
from fleet.models.kept import CoverageRow, FactRow, HoldingRow, KeptDay, MoneyPart, MoneyRow
from fleet.models.labels import Label
from fleet.models.log import Change, Load
from fleet.models.lookup import LookupEntry
from fleet.models.office import ColumnMemory, Contact, Document, Import, Merge, PayerWord, SetAside, ValueMemory
from fleet.models.outlook import Offer, Outlook
from fleet.models.own_promises import OwnPromise
from fleet.models.people import LoginTries, User
from fleet.models.promises import Attachment, Notice, Registration, Terms, TermsCheck
from fleet.models.reminders import Reminder
from fleet.models.reports import UnitReport
from fleet.models.sites import Customer, Sale, Site, SiteUse
from fleet.models.stops import BookedTask, Booking, Signature, WriteUp, WriteUpCheck
from fleet.models.suppliers import Supplier
from fleet.models.units import Idle, Place, System, Unit

__all__ = [
    "AddedHeads",
    "Agreement",
    "AgreementBill",
    "AgreementRefund",
    "AgreementTemplate",
    "Attachment",
    "BillPayment",
    "BookedTask",
    "Booking",
    "CalendarLink",
    "Call",
    "CallPart",
    "CallStep",
    "CallVisit",
    "CareDraft",
    "CareSheet",
    "Change",
    "Claim",
    "ClaimStep",
    "ClockNote",
    "ClockRow",
    "ClosedDay",
    "ColumnMemory",
    "Company",
    "Contact",
    "CoverageRow",
    "Customer",
    "Document",
    "DueRow",
    "FactRow",
    "Failure",
    "FailureAnswer",
    "FailureBill",
    "FailurePayment",
    "HistoryRow",
    "HoldingRow",
    "House",
    "Idle",
    "Import",
    "Job",
    "KeptDay",
    "Label",
    "Load",
    "LoginTries",
    "LookupEntry",
    "MaintenanceRecord",
    "Merge",
    "MoneyPart",
    "MoneyRow",
    "MonthHours",
    "Notice",
    "Offer",
    "Outlook",
    "OwnPromise",
    "PayerAccount",
    "PayerWord",
    "Place",
    "Reading",
    "RefrigerantEntry",
    "Registration",
    "Reminder",
    "Sale",
    "SetAside",
    "Signature",
    "Site",
    "SiteUse",
    "Statement",
    "StatementLine",
    "Supplier",
    "System",
    "Terms",
    "TermsCheck",
    "Unit",
    "UnitReport",
    "User",
    "ValueMemory",
    "WriteUp",
    "WriteUpCheck",
]
