"""run_jobs: do the work that waits, here and now."""

import signal
from argparse import ArgumentParser
from types import FrameType

from django.core.management.base import BaseCommand

from fleet import tasks


class Command(BaseCommand):
    """Do what waits until nothing is left, or go on looking until told to end."""

    help = "Do the background work that is waiting; with --forever, keep checking every minute until stopped."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--forever", action="store_true", help="keep going until stopped")

    def handle(self, *args: object, forever: bool, **options: object) -> None:
        if forever:
            _work_until_told()
        else:
            tasks.write_daily()
            tasks.drain()


def _work_until_told() -> None:
    """Work in a thread, so that a signal finds this one idle; work in many steps is handed back at its next step."""
    worker = tasks.Worker()

    def stop(number: int, frame: FrameType | None) -> None:
        worker.stopping.set()
        tasks.nudged.set()

    for name in (signal.SIGTERM, signal.SIGINT):
        signal.signal(name, stop)
    worker.start()
    while worker.is_alive():
        worker.join(60)
