"""The recipes for a feature, a page and a list that can be taken away: one feature that has them all."""

import re
from collections.abc import Callable
from typing import Any

from support_recipes import Tree, browser

FOLDER = "studio/birthdays/"
FILES = {
    "__init__.py": '"""Clients by name, for cards to be written."""\n',
    "urls.py": '''"""Addresses of studio/birthdays."""

from django.urls import path

from studio.birthdays import views

urlpatterns = [path("birthdays/", views.listing, name="birthdays")]
''',
    "forms.py": '''"""What the list is narrowed by."""

from django import forms


class WordForm(forms.Form):
    """Part of a name."""

    word = forms.CharField(required=False, label="Name")
''',
    "tables.py": '''"""Clients with how often they came."""

import django_tables2 as tables

from quotes.models import Client


class CardTable(tables.Table):
    """Clients with `pieces` beside them."""

    name = tables.Column()
    pieces = tables.Column()

    class Meta:
        model = Client
        fields = ("name", "pieces")

    def render_pieces(self, value: int) -> str:
        """In words."""
        return f"{value} pieces"

    def value_pieces(self, value: int) -> int:
        """The number alone, for a spreadsheet."""
        return value
''',
    "page.py": '''"""Words of the page."""


def heading(word: str) -> str:
    """Return whose cards these are."""
    return f"Cards for {word}" if word else "Cards for everybody"
''',
    "views.py": '''"""Cards to be written."""

from django.db.models import Count
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from inventory.ground.site.exporting import exported
from inventory.ground.site.paging import turn_to_page
from quotes.models import Client
from studio.birthdays.forms import WordForm
from studio.birthdays.page import heading
from studio.birthdays.tables import CardTable


def listing(request: HttpRequest) -> HttpResponse:
    """All clients, or those of a name."""
    form = WordForm(request.GET)
    word = form.cleaned_data["word"] if form.is_valid() else ""
    clients = Client.objects.filter(name__icontains=word).annotate(pieces=Count("quotes")).order_by("name")
    table = CardTable(clients)
    turn_to_page(table, request)
    context = {"form": form, "table": table, "heading": heading(word)}
    return exported(table, request, name="cards") or render(request, "studio/birthdays/birthdays.html", context)
''',
}
TEMPLATE = """{% extends "base.html" %}
{% load django_tables2 %}
{% block title %}Cards{% endblock %}
{% block places %}{% places "quotes" %}{% endblock %}
{% block main %}
<h1>{{ heading }}</h1>
{% include "components/_narrow.html" with form=form only %}
{% render_table table %}
{% include "components/_export.html" %}
{% endblock %}
"""
TEST = '''"""Cards."""

from studio.birthdays.page import heading


def test_the_heading_names_them():
    assert heading("Odile") == "Cards for Odile"
'''


def use() -> dict[str, Any]:
    import io

    from openpyxl import load_workbook

    site = browser()
    page = site.get("/birthdays/?word=odile").content.decode()
    links = re.findall(r'href="(\?[^"]*export=\w+[^"]*)"', page)
    taken = {link.split("export=")[1]: site.get(f"/birthdays/{link.replace('&amp;', '&')}").content for link in links}
    return {
        "heading": "Cards for odile" in page,
        "row": "1 pieces" in page,
        "csv": taken["csv"].decode("utf-8-sig").splitlines(),
        "xlsx": [list(row) for row in load_workbook(io.BytesIO(taken["xlsx"])).active.values],
    }


def test_it_is_found_by_the_tests_of_the_house_and_its_list_is_taken_away(copied: Callable[..., Tree]):
    folders = [FOLDER, "templates/studio/birthdays/", "tests/studio/birthdays/"]
    tree = copied("A feature", "A page", "A list that can be taken away", also=folders)
    for name, text in FILES.items():
        tree.add(FOLDER + name, text)
    tree.add("templates/studio/birthdays/birthdays.html", TEMPLATE)
    tree.add("tests/studio/birthdays/test_cards.py", TEST)
    today = '    path("", include("studio.today.urls")),\n'
    tree.put("studio/urls.py", today.replace("today", "birthdays"), after=today)
    tree.put("pyproject.toml", '    "birthdays",\n', after='    "today",\n')
    tree.swap("DEVELOPERS.md", "| `studio/books/` |", f"| `{FOLDER}` | cards to be written |\n| `studio/books/` |")
    assert tree.is_followed()
    assert tree.run(use) == {
        "heading": True,
        "row": True,
        "csv": ["Name,Pieces", "Odile Farrant,1"],
        "xlsx": [["Name", "Pieces"], ["Odile Farrant", 1]],
    }
    assert "0 broken" in tree.lint()
    house = ("tests/studio/test_architecture.py", "tests/studio/test_every_page.py", "tests/studio/birthdays")
    told = tree.test(*house, "-k", "birthdays or map or sentence or templates", "-rA")
    assert len(re.findall(r"PASSED .*test_every_page.*birthdays", told)) == 2
