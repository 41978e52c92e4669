"""Speed of the books over 5,000 finished pieces, in a database file of its own; run by `run.py`."""

import io
import os
import tempfile

from run import measured, told

PIECES = 5_000


def main() -> None:
    """Fill the books and measure their pages."""
    import django

    with tempfile.TemporaryDirectory() as folder:
        os.environ["STUDIO_DATA"] = folder
        # The books of a workroom that keeps them in PostgreSQL are not to be filled.
        os.environ.pop("DATABASE_URL", None)
        django.setup()
        from django.contrib.auth.models import User
        from django.core.management import call_command
        from django.db import connection
        from django.test import Client as Browser
        from django.test.utils import CaptureQueriesContext
        from django.utils import timezone
        from finished_pieces import fill

        call_command("migrate", verbosity=0)
        call_command("demo", stdout=io.StringIO())
        browser = Browser(headers={"host": "localhost"})
        browser.force_login(User.objects.get(username="maker"))
        fill(PIECES, on=timezone.localdate())
        pages = {
            f"profit page, {PIECES} finished pieces": "/books/",
            "profit page, a later page by margin": "/books/?sort=-margin&page=90",
            "profit page, one client's pieces": "/books/?word=client+12",
            "finished pieces by client": "/books/by/client/",
            "finished pieces by month": "/books/by/month/",
            "months and a year's overhead": "/books/months/",
        }
        for what, path in pages.items():
            with CaptureQueriesContext(connection) as captured:
                assert browser.get(path).status_code == 200
                queries = len(captured)
            measured(what, lambda path=path: browser.get(path), times=20, asked=0.300)
            told(f"queries: {queries}")
        measured("quotes won by price", lambda: browser.get("/books/by/price/"), times=5, asked=1.0)


if __name__ == "__main__":
    main()
