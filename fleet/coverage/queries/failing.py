"""If it failed: who would pay, and why, as the unit page shows it. The command's JSON comes from the same rules."""

from collections.abc import Iterable, Iterator, Mapping, Sequence

from fleet.coverage.pages.answers import AnswerPart, Need, Pays, Question, Shown
from fleet.derived.answers import until
from fleet.derived.claim_rows import payer_name
from fleet.facts import TermsBook, Told
from fleet.rules import answer_clocks, coverage, deadlines, stretches, wording
from fleet.rules.dates import in_words
from fleet.rules.findings import Answer, Code, Payment, Reason, Result
from fleet.rules.reach import course_of, reach
from fleet.rules.stretches import Course
from fleet.rules.wording import deadlines as deadline_words
from fleet.rules.wording.answers import has_ended
from fleet.rules.wording.names import CAUSES
from fleet.rules.wording.reach import headline

# What each of the terms held promises over time, by their code.
Courses = Mapping[str, Sequence[Course]]


def part(told: Told, book: TermsBook, question: Question, courses: Courses | None = None) -> AnswerPart:
    """Answer one failure of one unit; `courses` where they are worked out already, as of the day of asking."""
    on = question.on
    if courses is None:
        courses = courses_of(told, question)
    answers = coverage.answers(
        told.unit, told.holdings, question.component, on=on, asked=question.asked, cause=question.cause
    )
    notes = () if told.holdings else (Reason(Code.NO_TERMS),)
    return AnswerPart(
        question=question,
        heading=_heading(question),
        pays=tuple(_pays(payment, answers) for payment in coverage.payments(answers)),
        answers=tuple(_shown(answer, told, book, question, courses) for answer in answers),
        notes=tuple(wording.sentence(note, on=on) for note in notes),
        before=tuple(_before(answers, told, book, question.component)),
    )


def before_anyone_goes_out(told: Told, book: TermsBook, question: Question) -> tuple[str, ...]:
    """What must be done before anyone goes out for a failure, in sentences."""
    answers = coverage.answers(
        told.unit, told.holdings, question.component, on=question.on, asked=question.asked, cause=question.cause
    )
    return tuple(_before(answers, told, book, question.component))


def courses_of(told: Told, question: Question) -> Courses:
    """What each of the terms held promises over time, asked on the day of asking."""
    return {
        holding.terms.code: stretches.courses(told.unit, holding, asked=question.asked) for holding in told.holdings
    }


def _before(found: Iterable[Answer], told: Told, book: TermsBook, component: str) -> Iterator[str]:
    """What must be done before anyone goes out, in sentences; the same sentence once."""
    held = [holding.terms for holding in told.holdings]
    said = (
        deadline_words.before(step, payer_name(book.by_code[step.terms]), component)
        for step in deadlines.before_anyone_goes_out(found, held, component)
    )
    yield from dict.fromkeys(said)


def _heading(question: Question) -> str:
    day = "today" if question.on == question.asked else f"on {in_words(question.on)}"
    component = "another component" if question.component == "other" else f"the {question.component}"
    cause = ""
    if question.cause and question.cause != "not known":
        cause = f" ({CAUSES.get(question.cause, question.cause)})"
    return f"If {component} failed {day}{cause}"


def _pays(payment: Payment, answers: Sequence[Answer]) -> Pays:
    hangs_on: Sequence[Reason] = ()
    match payment.pays:
        case "customer":
            state = Result.NOT_COVERED
        case "cannot say":
            state = Result.CANNOT_SAY
        case pays if pays.endswith(" if"):
            state = Result.COVERED_IF
            of_kind = (one for one in answers if one.kind == payment.kind and one.result is state)
            hopeful = (one.needs for one in of_kind if one.payer == pays.removesuffix(" if"))
            hangs_on = [need for need in next(hopeful, ()) if need.code is not Code.START_ASSUMED]
        case _:
            state = Result.COVERED
    return Pays(payment.kind, payment.pays, state, wording.payment(payment, hangs_on))


def _headline(answer: Answer, told: Told, question: Question, courses: Courses) -> str:
    """The answer in one sentence, with the last days that the unit's life line has, where it hangs on days alone."""
    holding = next(one for one in told.holdings if one.terms.code == answer.terms)
    course = course_of(courses[answer.terms], answer.kind, question.component)
    if course is not None and answer.result is not Result.CANNOT_SAY:
        far = reach(told.unit, holding, course, on=question.on, asked=question.asked)
        # A part put in since may have coverage of its own, which has not ended: it has not begun on the day asked about.
        is_over = far.certain is not None and far.begins is None and has_ended(answer.reasons)
        if far.result is answer.result and (answer.result is not Result.NOT_COVERED or is_over):
            return headline(answer.payer, far, answer.reasons, asked=question.asked)
    return wording.answer_line(answer, on=question.on)


def _shown(answer: Answer, told: Told, book: TermsBook, question: Question, courses: Courses) -> Shown:
    on = question.on
    terms = book.by_code[answer.terms]
    clocks = answer_clocks.clocks(answer, terms, told.unit.repairs, question.component, on=on)
    return Shown(
        terms=answer.terms,
        terms_pk=book.pks[answer.terms],
        title=terms.title,
        payer=answer.payer,
        kind=answer.kind,
        result=answer.result,
        words=_headline(answer, told, question, courses),
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
