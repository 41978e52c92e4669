"""Lists that are sorted and turned page by page, as their address says."""

from typing import Any

from django.http import HttpRequest
from django_tables2 import RequestConfig, Table

__all__ = ["PER_PAGE", "RIGHT", "turn_to_page"]

PER_PAGE = 40
RIGHT = {"td": {"class": "number"}, "th": {"class": "number"}}
"""What a column of figures carries, so that they stand right."""


def turn_to_page(table: Table, request: HttpRequest, *, per_page: int = PER_PAGE) -> None:
    """Sort a table and turn to the page that the address asks for; how long a page is, is not for the address to say."""
    asked: Any = request.GET.copy()
    asked.pop(table.prefixed_per_page_field, None)
    request.GET = asked
    RequestConfig(request, paginate={"per_page": per_page}).configure(table)
