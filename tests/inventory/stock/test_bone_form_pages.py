"""The forms of a bone on its material's page. Rules are the product's own; an inch is 25.4 mm by definition."""

import re
from decimal import Decimal

import pytest
from django.http import HttpResponse
from django.test import Client as Browser
from django.urls import reverse
from support_forms import PageForms
from support_shelf import item, stocked

from inventory.ground.bone_forms import BoneForm
from inventory.models import StockItem, StockMaterial

pytestmark = pytest.mark.django_db


@pytest.fixture
def spiral(browser: Browser) -> StockMaterial:
    return item("spiral", material__code="spiral-5", code="spiral-5", material__name="Spiral 5 mm").material


def added(browser: Browser, **said: str) -> HttpResponse:
    return browser.post(reverse("inventory:material-forms-add", args=["spiral-5"]), said)


def forms_of(material: StockMaterial) -> list[tuple[str, int, Decimal | None]]:
    rows = material.items.exclude(form="").select_related("material").order_by("form", "size_tenths_mm")
    return [(row.form, row.size_tenths_mm, row.unit_cost) for row in rows]


def test_a_form_is_added_in_several_lengths_at_once_in_mm_and_inches(browser: Browser, spiral: StockMaterial):
    assert added(browser, form="tipped", lengths="200 9 1/2in", unit_cost="1,20").status_code == 302
    assert forms_of(spiral) == [("tipped", 2000, Decimal("1.2")), ("tipped", 2413, Decimal("1.2"))]
    page = browser.get(reverse("inventory:material", args=["spiral-5"])).content.decode()
    assert "241.3 mm, 9 1/2 in" in page
    # HTML: an id stands once on a page, so that a label finds its field.
    ids = re.findall(r'\sid="([^"]+)"', page)
    assert len(ids) == len(set(ids))
    # The same once more, with another price, is the price of the same two.
    assert added(browser, form="tipped", lengths="200 9 1/2in", unit_cost="1.30").status_code == 302
    assert [cost for *_, cost in forms_of(spiral)] == [Decimal("1.3")] * 2


def test_a_price_is_changed_and_taken_away(browser: Browser, spiral: StockMaterial):
    added(browser, form="cut", lengths="200 300", unit_cost="0.50")
    short, long = spiral.items.filter(form="cut").order_by("size_tenths_mm")
    said = {f"price_{short.pk}": "0.55", f"price_{long.pk}": ""}
    assert browser.post(reverse("inventory:material-forms-prices", args=["spiral-5"]), said).status_code == 302
    assert forms_of(spiral) == [("cut", 2000, Decimal("0.55")), ("cut", 3000, None)]


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"form": "tipped", "lengths": "20", "unit_cost": "1"}, "A length of 20 mm is outside 30 to 1000 mm."),
        ({"form": "tipped", "lengths": "45in", "unit_cost": "1"}, "A length of 1143 mm is outside 30 to 1000 mm."),
        ({"form": "tipped", "lengths": "long", "unit_cost": "1"}, "&#x27;long&#x27; is not a number"),
        ({"form": "tipped", "lengths": "200", "unit_cost": "-1"}, "-1 is less than zero."),
        ({"form": "tipped", "lengths": "", "unit_cost": "1"}, "Say how long they are"),
        ({"form": "coil", "lengths": "", "unit_cost": "1"}, "On the coil is its own form"),
    ],
)
def test_bad_input_is_told_in_a_sentence_and_nothing_is_kept(
    browser: Browser, spiral: StockMaterial, said: dict[str, str], words: str
):
    answer = added(browser, **said)
    assert (answer.status_code, forms_of(spiral)) == (422, [])
    assert words in answer.content.decode()


def test_a_coil_of_what_comes_cut_has_no_lengths(browser: Browser):
    cane = item("cane", material__code="spiral-5", material__form="cut", size_tenths_mm=3000).material
    assert "A coil has no lengths" in added(browser, form="coil", lengths="200", unit_cost="1").content.decode()
    assert added(browser, form="coil", lengths="", unit_cost="1").status_code == 302
    assert forms_of(cane) == [("coil", 0, Decimal(1))]


def test_a_price_below_zero_is_told_at_its_field_and_none_is_kept(browser: Browser, spiral: StockMaterial):
    added(browser, form="cut", lengths="200 300", unit_cost="0.50")
    short, long = spiral.items.filter(form="cut").order_by("size_tenths_mm")
    said = {f"price_{short.pk}": "0.55", f"price_{long.pk}": "-2"}
    answer = browser.post(reverse("inventory:material-forms-prices", args=["spiral-5"]), said)
    assert answer.status_code == 422
    assert "-2 is less than zero." in answer.content.decode()
    assert [cost for *_, cost in forms_of(spiral)] == [Decimal("0.5")] * 2


def new(browser: Browser, **said: str) -> HttpResponse:
    facts = {"name": "Bone", "code": "bone", "unit_cost": "1", "usable_width_mm": "1340", "step_mm": "100", "pack": "1"}
    return browser.post(reverse("inventory:material-new"), {**facts, **said})


def test_the_form_of_a_new_bone_is_chosen_and_fixed_from_then_on(browser: Browser):
    assert new(browser, kind="spiral", form="tipped", lengths="200 250").status_code == 302
    bone = StockMaterial.objects.get(code="bone")
    assert (bone.bone_form, bone.unit) == (BoneForm.TIPPED, "each")
    assert list(bone.items.values_list("form", "size_tenths_mm")) == [("", 2000), ("", 2500)]
    page = browser.get(reverse("inventory:material", args=["bone"])).context["form"]
    assert page.fields["form"].disabled
    said = {name: page[name].value() for name in page.fields if page[name].value() not in (None, False, "")}
    answer = browser.post(reverse("inventory:material", args=["bone"]), {**said, "form": "coil", "unit_cost": "2"})
    assert answer.status_code == 302
    bone.refresh_from_db()
    assert (bone.form, bone.unit_cost) == ("tipped", 2)


def test_what_a_kind_says_already_is_not_kept_twice(browser: Browser):
    assert new(browser, kind="flat", form="tipped", lengths="250").status_code == 302
    assert StockMaterial.objects.get(code="bone").form == ""


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"kind": "cord", "form": "cut"}, "Only bones come on the coil, cut or tipped"),
        ({"kind": "spiral", "lengths": "200"}, "What comes on the coil has no lengths"),
        ({"kind": "flat", "form": "coil", "lengths": "200"}, "What comes on the coil has no lengths"),
    ],
)
def test_a_form_that_its_kind_has_not_is_told(browser: Browser, said: dict[str, str], words: str):
    answer = new(browser, **said)
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert not StockItem.objects.exists()


def test_a_coil_stays_on_the_stock_list_beside_its_cut_forms(browser: Browser, spiral: StockMaterial):
    added(browser, form="tipped", lengths="200", unit_cost="1")
    page = browser.get(reverse("inventory:stock")).content.decode()
    assert all(reverse("inventory:item", args=[code]) in page for code in ("spiral-5", "spiral-5-tipped-200"))
    stocked(spiral.items.get(form="tipped"), 3, 300)
    assert "Spiral 5 mm, 200 mm, cut and tipped" in browser.get(reverse("inventory:stock")).content.decode()


def test_the_width_of_a_bone_is_written_with_it_and_of_nothing_else(browser: Browser, spiral: StockMaterial):
    address = reverse("inventory:material", args=["spiral-5"])
    form = PageForms(browser.get(address).content.decode(), address).that_has("width")
    assert browser.post(address, form.with_values({"width": "5,5"})).status_code == 302
    spiral.refresh_from_db()
    assert spiral.width_tenths_mm == 55
    assert 'value="5.5"' in browser.get(address).content.decode()
    wide = browser.post(address, form.with_values({"width": "55"}))
    assert (wide.status_code, "outside what is believed, up to 50" in wide.content.decode()) == (422, True)
    new = reverse("inventory:material-new")
    form = PageForms(browser.get(new).content.decode(), new).that_has("width")
    said = {"name": "Cord", "code": "cord-6", "kind": "cord", "unit_cost": "1", "width": "6"}
    refused = browser.post(new, form.with_values(said))
    assert (refused.status_code, "This is the width of bones" in refused.content.decode()) == (422, True)
    cord = item("cord").material
    assert 'name="width"' not in browser.get(reverse("inventory:material", args=[cord.code])).content.decode()
