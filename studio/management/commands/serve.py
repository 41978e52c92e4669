"""`serve`: the site for this machine, DEBUG off, until it is asked to stop."""

import signal
import socket
import sys
import threading
import time
from argparse import ArgumentParser
from dataclasses import replace
from typing import Any

import waitress
from django.conf import settings

from inventory.ground.findings import Refused, Severity, refuse, stops
from inventory.ground.site.command import ActingCommand, tell
from quotes.defaults import desk_defaults
from quotes.searching.supervising import lays_drawn_here
from studio.checkup.checks import found
from studio.checkup.facts import facts
from studio.keeping.daily import served_here
from studio.wsgi import application

_LAST_PORT = 65_535
_MOST_SENT_BYTES = desk_defaults().photograph.most_mb * 1_000_000 + 10_000_000
"""No page takes more; a little above it, a page says so in words of its own."""


class Command(ActingCommand):
    help = "Serve the site on this machine; prints the address once it answers."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--host", default="127.0.0.1")
        parser.add_argument("--port", type=int, default=8410)
        parser.add_argument(
            "--clock-is-right", action="store_true", help="Serve although the books have an entry from after now."
        )
        parser.add_argument(
            "--no-idle-lays", action="store_true", help="Do not make lays shorter while nothing is asked for."
        )

    def act(self, **options: Any) -> None:
        host, port = options["host"], options["port"]
        if not 1 <= port <= _LAST_PORT:
            raise refuse("serve.port", "--port", f"{port} is no port.", f"Take one from 1024 to {_LAST_PORT}.")
        try:
            server = waitress.create_server(
                application,
                host=host,
                port=port,
                threads=8,
                connection_limit=100,
                max_request_body_size=_MOST_SENT_BYTES,
                ident=None,
                # Nothing is believed of them, but the first day looks whether a proxy passed a request on.
                clear_untrusted_proxy_headers=False,
                asyncore_use_poll=True,
            )
        except OSError as error:
            raise refuse(
                "serve.port",
                "--port",
                f"Port {port} on {host} cannot be used: {error.strerror}.",
                "Try another --port.",
            ) from None
        try:
            with served_here():
                self._look_first(is_clock_right=options["clock_is_right"])
                with lays_drawn_here(in_idle_time=not options["no_idle_lays"]):
                    self._run(server, host, port)
        except Refused:
            server.close()
            raise

    def _run(self, server: Any, host: str, port: int) -> None:
        # A request under way is answered before the process ends.
        signal.signal(signal.SIGTERM, lambda *_: sys.exit(0))
        threading.Thread(target=self._announce, args=(host, port), daemon=True).start()
        try:
            server.run()
        except (KeyboardInterrupt, SystemExit):
            server.close()

    def _look_first(self, *, is_clock_right: bool) -> None:
        """Warn of what was found, or raise Refused where the books are in danger."""
        if settings.IS_READ_ONLY:
            raise refuse(
                "serve.read-only",
                str(settings.DATA_DIR),
                "The books cannot be written, so nobody could log in.",
                "Give the user that runs this program the right to write in the data folder, or mount its disk writable; "
                "commands that only read, such as profit and export, work meanwhile.",
            )
        findings = [
            replace(finding, severity=Severity.WARN) if is_clock_right and finding.code == "clock.behind" else finding
            for finding in found(facts())
        ]
        if stops(findings):
            raise Refused(findings)
        tell(findings, as_json=False, out=self.stdout.write, err=self.stderr.write)

    def _announce(self, host: str, port: int) -> None:
        for _ in range(100):
            with socket.socket() as probe:
                if probe.connect_ex((host, port)) == 0:
                    self.stdout.write(f"Staymaker’s Daybook answers at http://{host}:{port}/")
                    self.stdout.flush()
                    return
            time.sleep(0.1)
