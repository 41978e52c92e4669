"""Lists taken away: every row, numbers as numbers, text as text whatever sign it begins with.

Outside: RFC 4180 (lines end in CRLF); the OWASP page "CSV Injection" (a cell that begins with =, +, -, @, tab or carriage
return gets an apostrophe before it); files are read back by the standard library's csv and by openpyxl.
"""

import csv
import io
from datetime import date
from decimal import Decimal

import django_tables2 as tables
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpResponse
from django.template import engines
from django.test import RequestFactory
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django_tables2 import RequestConfig
from openpyxl import load_workbook
from support_importing import keep_sheet
from support_shelf import item

from inventory.ground.site.exporting import exported
from inventory.importing.importing import likely_columns, look_at, match_columns
from inventory.models import StockItem

NAMES = ["=1+1", "+31 6", "-cord", "@sum", "\ttab", "\rreturn", "plain", "it's = fine"]


class LineTable(tables.Table):
    """A list as the pages have them: a name, a number, markup, a hidden column, a way elsewhere."""

    name = tables.Column(verbose_name="Name", linkify=lambda: "/somewhere/")
    quantity = tables.Column(verbose_name="Quantity")
    price = tables.Column(verbose_name="Price", default="none")
    state = tables.Column(verbose_name="State", empty_values=())
    secret = tables.Column(verbose_name="Secret", visible=False)
    way = tables.Column(verbose_name="", empty_values=())

    def render_state(self, record: dict[str, object]) -> SafeString:
        return format_html('<span class="state">{}</span> <b>now</b>', record.get("state", "<ready> & washed"))

    def render_way(self) -> SafeString:
        return format_html('<a href="{}">Count it</a>', "/count/")


def taken(query: str, rows: list[dict[str, object]]) -> HttpResponse | None:
    request = RequestFactory().get(f"/shelf/?{query}")
    table = LineTable(rows)
    RequestConfig(request, paginate={"per_page": 2}).configure(table)
    return exported(table, request, name="stock")


def csv_rows(answer: HttpResponse | None) -> list[list[str]]:
    assert answer is not None
    return list(csv.reader(io.StringIO(answer.content.decode("utf-8-sig"), newline="")))


ROWS = [
    {"name": name, "quantity": -place, "price": Decimal("12.50"), "secret": "x"} for place, name in enumerate(NAMES)
]


def test_csv_text_that_would_begin_a_formula_gets_an_apostrophe_and_numbers_do_not():
    header, *rows = csv_rows(taken("export=csv", ROWS))
    assert header == ["Name", "Quantity", "Price", "State"]
    assert [row[0] for row in rows] == [
        "'=1+1",
        "'+31 6",
        "'-cord",
        "'@sum",
        "'\ttab",
        "'\rreturn",
        "plain",
        "it's = fine",
    ]
    assert [row[1] for row in rows] == ["0", "-1", "-2", "-3", "-4", "-5", "-6", "-7"]
    assert {row[2] for row in rows} == {"12.50"}


def test_csv_is_utf_8_with_a_mark_and_lines_that_end_in_crlf():
    answer = taken("export=csv", [{"name": "Grün", "quantity": Decimal("1E+3")}])
    assert answer is not None
    assert answer.content.startswith(b"\xef\xbb\xbf")
    assert answer.content.decode("utf-8-sig").split("\r\n") == [
        "Name,Quantity,Price,State",
        "Grün,1000,,<ready> & washed now",
        "",
    ]
    assert answer["Content-Type"] == "text/csv; charset=utf-8"
    assert answer["Content-Disposition"] == f'attachment; filename="stock-{timezone.localdate().isoformat()}.csv"'


def test_xlsx_keeps_text_as_text_and_numbers_as_numbers():
    rows = [row for row in ROWS if row["name"] != "\rreturn"]
    answer = taken("export=xlsx", [*rows, {"name": "bell\x07", "quantity": 2, "price": None}])
    assert answer is not None
    assert answer["Content-Disposition"].endswith('.xlsx"')
    header, *found = load_workbook(io.BytesIO(answer.content)).active.iter_rows()
    assert [cell.value for cell in header] == ["Name", "Quantity", "Price", "State"]
    assert [row[0].value for row in found] == [*(row["name"] for row in rows), "bell"]
    assert {row[0].data_type for row in found} == {"s"}
    assert [row[1].value for row in found] == [*(row["quantity"] for row in rows), 2]
    assert {row[1].data_type for row in found} == {"n"}
    assert found[0][2].value == Decimal("12.5")


class MinutesColumn(tables.Column):
    """A figure that the page shows as 2 h 05 and a list as 125."""

    exported_as = "Minutes"


class WorkTable(tables.Table):
    """A day, an amount, a time."""

    day = tables.DateColumn(verbose_name="Day")
    amount = tables.Column(verbose_name="Amount")
    time = MinutesColumn(verbose_name="Time")


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_days_go_out_as_days_amounts_with_their_places_and_a_time_with_its_unit(kind: str):
    table = WorkTable([{"day": date(2027, 1, 4), "amount": Decimal("1294.20"), "time": 125}])
    answer = exported(table, RequestFactory().get(f"/?export={kind}"), name="work")
    if kind == "csv":
        assert csv_rows(answer) == [["Day", "Amount", "Minutes"], ["2027-01-04", "1294.20", "125"]]
        return
    assert answer is not None
    header, (day, amount, minutes) = load_workbook(io.BytesIO(answer.content)).active.iter_rows()
    assert [cell.value for cell in header] == ["Day", "Amount", "Minutes"]
    assert (day.is_date, day.value.date(), day.number_format) == (True, date(2027, 1, 4), "yyyy-mm-dd")
    assert (amount.value, amount.number_format) == (1294.2, "0.00")
    assert (minutes.value, minutes.number_format) == (125, "General")


def test_all_rows_come_and_in_the_order_of_the_page():
    rows = csv_rows(taken("export=csv&sort=-quantity&page=2", [{"name": "a", "quantity": n} for n in (3, 1, 5, 4, 2)]))
    assert [row[1] for row in rows[1:]] == ["5", "4", "3", "2", "1"]


@pytest.mark.parametrize("query", ["", "export=", "export=pdf", "export=CSV"])
def test_anything_else_is_the_page(query: str):
    assert taken(query, ROWS) is None


def test_the_links_keep_what_the_list_is_narrowed_to():
    request = RequestFactory().get("/shelf/?word=a%20b&sort=name&export=csv")
    markup = engines["django"].from_string('{% include "components/_export.html" %}').render({}, request)
    assert 'href="?word=a+b&amp;sort=name&amp;export=xlsx"' in markup
    assert 'href="?word=a+b&amp;sort=name&amp;export=csv"' in markup


class ItemTable(tables.Table):
    """Items of the shelf."""

    class Meta:
        model = StockItem
        fields = ("code", "material__name", "material__kind")


@pytest.mark.django_db
@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_names_that_look_like_formulas_go_out_and_come_back(kind: str):
    for name in ("=cord", "-cord", "@cord", "plain cord"):
        item(material__name=name)
    request = RequestFactory().get(f"/shelf/?export={kind}")
    answer = exported(ItemTable(StockItem.objects.all()), request, name="items")
    assert answer is not None
    sheet = keep_sheet(upload=SimpleUploadedFile(f"items.{kind}", answer.content), user=None)
    match_columns(sheet, likely_columns(sheet))
    seen = look_at(sheet)
    assert seen.stops == ()
    assert {row.name for row in seen.rows} == {"=cord", "-cord", "@cord", "plain cord"}
    assert all(row.is_there for row in seen.rows)
