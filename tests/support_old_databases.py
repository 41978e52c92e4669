"""What the books of an older version say: run as a program of its own on a database in STUDIO_DATA, printed as JSON.
ASKED_AT is the moment at which they are asked, ISO 8601 with its offset; DOCUMENTS, where it is set, is "2 of 3" for the second
and every third document after it.

It migrates the database, asks `audit` and `profit`, prints the sent quotes' documents, and opens pages of every kind
as links lead to them. `fixtures/databases/` keeps what the version that wrote each database answered.
"""

import io
import json
import os
import re
import sys
from collections import Counter
from datetime import datetime
from pathlib import Path
from unittest import mock

PAGES_OF_A_KIND = 2
_LINK = re.compile(r'href="(/[^"#]*)')
_WRITES = re.compile(r"\s*(INSERT|UPDATE|DELETE|REPLACE)", re.IGNORECASE)


def answers() -> dict[str, object]:
    """Return what the database in STUDIO_DATA answers under this version."""
    sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
    os.environ["DJANGO_SETTINGS_MODULE"] = "studio.settings"
    import django

    django.setup()
    from django.conf import settings
    from django.contrib.auth.models import User
    from django.core.management import call_command
    from django.test import Client
    from django.utils import timezone

    # The clock stands where it stood when the version that wrote the database was asked.
    mock.patch.object(timezone, "now", return_value=datetime.fromisoformat(os.environ["ASKED_AT"])).start()
    settings.ALLOWED_HOSTS = ["testserver"]
    call_command("migrate", verbosity=0)
    browser = Client()
    browser.force_login(User.objects.get())
    return {
        "audit": _printed("audit"),
        "profit": _printed("profit"),
        "documents": _documents(browser),
        "pages": _pages(browser),
    }


def _printed(command: str) -> object:
    from django.core.management import call_command

    out = io.StringIO()
    call_command(command, "--json", stdout=out)
    return json.loads(out.getvalue())


def _documents(browser) -> dict[str, str]:
    """The text of the sealed quotes' PDFs, by their addresses."""
    from pypdf import PdfReader

    from quotes.models import QuoteRevision

    found = {}
    first, step = (int(number) for number in os.environ.get("DOCUMENTS", "1 of 1").split(" of "))
    sent = QuoteRevision.objects.exclude(sent_at=None).order_by("pk").values_list("quote", "number")
    for quote, number in sent[first - 1 :: step]:
        address = f"/quotes/{quote}/{number}/quote.pdf"
        pdf = browser.get(address)
        found[address] = "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf.content)).pages)
    return found


def _pages(browser) -> dict[str, dict[str, object]]:
    """Each address that links lead to, a few of every kind: how it answered, how often it asked the database, what it wrote."""
    from django.db import connection
    from django.test.utils import CaptureQueriesContext
    from django.urls import resolve

    waiting, answered, kinds = ["/"], {}, Counter()
    while waiting:
        address = waiting.pop(0)
        kind = resolve(address.split("?")[0]).view_name
        if address in answered or kinds[kind] >= PAGES_OF_A_KIND:
            continue
        kinds[kind] += 1
        with CaptureQueriesContext(connection) as asked:
            response = browser.get(address)
        statements = [query["sql"] for query in asked.captured_queries]
        answered[address] = {
            "kind": kind,
            "status": response.status_code,
            "queries": len(statements),
            "writes": [statement[:200] for statement in statements if _WRITES.match(statement)],
        }
        if response.status_code in (301, 302):
            waiting.append(response.headers["Location"])
        elif response.headers["Content-Type"].startswith("text/html"):
            links = _LINK.findall(response.content.decode())
            waiting += [link.replace("&amp;", "&") for link in links if not link.startswith("/static/")]
    return answered


if __name__ == "__main__":
    # What libraries print below Python would spoil the answer.
    with os.fdopen(os.dup(1), "w") as answer:
        os.dup2(2, 1)
        json.dump(answers(), answer, ensure_ascii=False, sort_keys=True)
