"""covered: is it covered, who pays, until when, and why?"""

import datetime as dt
import json
import sys
from collections.abc import Iterator
from typing import Any

from django.core.management.base import CommandError, CommandParser

from fleet import clock, sheets
from fleet.coverage.queries import answers
from fleet.management.here import HereCommand
from fleet.rules import words
from fleet.rules.dates import in_words


def day(text: str) -> dt.date:
    """Read a day for argparse."""
    return dt.date.fromisoformat(text)


class Command(HereCommand):
    """Answer one question, or a file of them in their order."""

    help = "Show whether a failure is covered, who pays, until when, and why."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("serial", nargs="?", metavar="SERIAL")
        parser.add_argument("--maker", default="")
        parser.add_argument("--model", default="")
        parser.add_argument("--component", choices=words.COMPONENTS, metavar="C")
        parser.add_argument("--cause", choices=words.CAUSES, default="", metavar="C")
        parser.add_argument("--on", type=day, metavar="DAY")
        parser.add_argument("--asked", type=day, metavar="DAY", help="the day you ask; default: today")
        parser.add_argument(
            "--ask", metavar="FILE.csv", help=f"a file of questions, with the columns {', '.join(answers.COLUMNS)}"
        )
        parser.add_argument("--json", action="store_true")

    def handle(self, *args: object, **options: Any) -> None:
        one = options["serial"] is not None
        if one == (options["ask"] is not None):
            raise CommandError("Give either SERIAL with --component and --on, or --ask FILE.csv.", returncode=2)
        if one and (options["component"] is None or options["on"] is None):
            raise CommandError("SERIAL needs --component and --on.", returncode=2)
        today = clock.today()
        asked = self._of_file(options["ask"], today) if not one else iter([self._of_line(options, today)])
        failed = False
        for found in answers.ask_all(asked):
            failed |= "error" in found
            self._say(found, as_json=options["json"])
        if failed:
            sys.exit(1)

    def _of_line(self, options: dict[str, Any], today: dt.date) -> answers.Question | answers.Unasked:
        named = {name: options[name] for name in ("serial", "maker", "model", "component", "cause")}
        days = {"on": options["on"].isoformat(), "asked": (options["asked"] or today).isoformat()}
        return answers.question(named | days, today=today)

    def _of_file(self, path: str, today: dt.date) -> Iterator[answers.Question | answers.Unasked]:
        try:
            for _, row in sheets.rows(path, columns=answers.COLUMNS):
                yield answers.question(row, today=today)
        except sheets.Problem as problem:
            raise CommandError(str(problem)) from problem

    def _say(self, found: dict[str, Any], *, as_json: bool) -> None:
        if as_json:
            self.stdout.write(json.dumps(found, ensure_ascii=False))
            return
        if "error" in found:
            self.stderr.write(f"{found['serial']}: {found['error']['text']}")
            return
        on = in_words(dt.date.fromisoformat(found["on"]))
        self.stdout.write(f"{found['maker']} {found['model']} {found['serial']}: {found['component']} on {on}")
        for kind, payer in found["pays"].items():
            asking = found["worth_asking"][kind]
            self.stdout.write(f"  {kind}: {payer}" + (f" (ask: {', '.join(asking)})" if asking else ""))
        for answer in found["answers"]:
            self.stdout.write(f"  {answer['terms']}, {answer['pays_for']}: {answer['result'].replace('_', ' ')}")
            for part in (*answer["reasons"], *answer["needs"]):
                self.stdout.write(f"    {part['text']}")
        for note in found["notes"]:
            self.stdout.write(f"  {note['text']}")
        self.stdout.write("  This is a reading of the terms on file; the payer decides.")
