"""If it failed: who would pay, and why, as the unit page shows it. The command's JSON comes from the same rules."""

from fleet.coverage.pages.answers import AnswerPart, Need, Pays, Question, Shown
from fleet.derived.answers import until
from fleet.facts import TermsBook, Told
from fleet.rules import coverage, wording
from fleet.rules.dates import in_words
from fleet.rules.findings import Answer, Code, Payment, Reason, Result


def part(told: Told, book: TermsBook, question: Question) -> AnswerPart:
    """Answer one failure of one unit."""
    on = question.on
    found = coverage.answers(
        told.unit, told.holdings, question.component, on=on, asked=question.asked, cause=question.cause
    )
    notes = () if told.holdings else (Reason(Code.NO_TERMS),)
    return AnswerPart(
        question=question,
        heading=_heading(question),
        pays=tuple(_pays(payment) for payment in coverage.payments(found)),
        answers=tuple(_shown(answer, told, book, question) for answer in found),
        notes=tuple(wording.sentence(note, on=on) for note in notes),
    )


def _heading(question: Question) -> str:
    day = "today" if question.on == question.asked else f"on {in_words(question.on)}"
    component = "another component" if question.component == "other" else f"the {question.component}"
    cause = f", by {question.cause}" if question.cause and question.cause != "not known" else ""
    return f"If {component} failed {day}{cause}"


def _pays(payment: Payment) -> Pays:
    match payment.pays:
        case "customer":
            state = Result.NOT_COVERED
        case "cannot say":
            state = Result.CANNOT_SAY
        case pays:
            state = Result.COVERED_IF if pays.endswith(" if") else Result.COVERED
    return Pays(payment.kind, payment.pays, state, wording.payment(payment))


def _shown(answer: Answer, told: Told, book: TermsBook, question: Question) -> Shown:
    on = question.on
    terms = book.by_code[answer.terms]
    clocks = coverage.clocks(answer, terms, told.unit.repairs, question.component, on=on)
    return Shown(
        terms=answer.terms,
        terms_pk=book.pks[answer.terms],
        title=terms.title,
        payer=answer.payer,
        kind=answer.kind,
        result=answer.result,
        words=wording.answer_line(answer, on=on),
        first=answer.first,
        last=answer.last,
        lifetime=answer.lifetime,
        possible_last=answer.possible_last,
        possible_lifetime=answer.possible_lifetime,
        days_left=None if answer.last is None else (answer.last - question.asked).days,
        reasons=tuple(wording.sentence(reason, on=on) for reason in answer.reasons),
        needs=tuple(Need(wording.need(need, on=on), until(need)) for need in answer.needs),
        file_by=clocks.file_by,
        part_back_by=clocks.part_back_by,
    )
