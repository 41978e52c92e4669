"""Accounts of earlier versions read as they were meant: the golden document was kept by the version that wrote it."""

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from studio.profit.kept_account import KEPT_ACCOUNT
from studio.profit.piece import StepGroup, StepPart

DOCUMENT = Path(__file__).parents[3] / "fixtures" / "documents" / "account-1.json"


@pytest.fixture(scope="module")
def document() -> dict[str, Any]:
    return json.loads(DOCUMENT.read_text(encoding="utf-8"))


def test_the_bridge_keeps_its_codes_words_and_amounts(document: dict[str, Any]):
    account = KEPT_ACCOUNT.read(document).account
    kept = [(line["code"], line["what"], Decimal(line["amount"])) for line in document["account"]["bridge"]]
    assert [(line.code, line.what, line.amount) for line in account.bridge] == kept
    assert account.quoted_profit + sum(line.amount for line in account.bridge) == account.profit


def test_a_step_says_what_it_is_about(document: dict[str, Any]):
    steps = {line.code: line for line in KEPT_ACCOUNT.read(document).account.bridge}
    price = steps["material.coutil-white.price"]
    assert (price.group, price.subject, price.part) == (StepGroup.MATERIAL, "coutil-white", StepPart.PRICE)
    sewing = steps["labour.SEW1.hours"]
    assert (sewing.group, sewing.subject, sewing.part) == (StepGroup.LABOUR, "SEW1", StepPart.HOURS)
    assert (steps["change.1"].group, steps["change.1"].number) == (StepGroup.CHANGE, 1)
    assert (steps["rework.client"].group, steps["rework.client"].subject) == (StepGroup.REWORK, "client")


def test_what_is_written_today_reads_back_to_the_same(document: dict[str, Any]):
    kept = KEPT_ACCOUNT.read(document)
    assert KEPT_ACCOUNT.read(json.loads(json.dumps(KEPT_ACCOUNT.written(kept)))) == kept
