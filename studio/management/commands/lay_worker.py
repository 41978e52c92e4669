"""`lay_worker`: draws the lays that the site asks for, until it is asked to stop; `serve` starts one by itself."""

import os
import signal
import sys
import threading
from argparse import ArgumentParser
from typing import Any

from django.conf import settings

from inventory.ground.findings import refuse
from inventory.ground.site.command import ActingCommand
from quotes.searching.worker import Worker
from studio.keeping.backing_up import in_use_here
from studio.laying.drawing_up import move_all_on
from studio.laying.idle_time import candidates


class Command(ActingCommand):
    help = "Draw the lays that the site asks for; `serve` starts one by itself."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--until-input-ends", action="store_true", help="End with who holds the standard input.")
        parser.add_argument(
            "--no-idle-lays", action="store_true", help="Do not make lays shorter while nothing is asked for."
        )

    def act(self, **options: Any) -> None:
        if settings.IS_READ_ONLY:
            raise refuse(
                "worker.read-only",
                str(settings.DATA_DIR),
                "The books cannot be written.",
                "Give the user that runs this program the right to write in the data folder.",
            )
        ended = threading.Event()
        signal.signal(signal.SIGTERM, lambda *_: ended.set())
        if options["until_input_ends"]:
            threading.Thread(target=_end_with_input, daemon=True).start()
        worker = Worker(
            wait=ended.wait,
            is_over=ended.is_set,
            beside=move_all_on,
            works_in_idle_time=not options["no_idle_lays"],
            more=candidates,
        )
        with in_use_here():
            worker.run()


def _end_with_input() -> None:
    """End at once, as when killed, which a worker may be at any moment."""
    while os.read(sys.stdin.fileno(), 1):
        pass
    os._exit(0)
