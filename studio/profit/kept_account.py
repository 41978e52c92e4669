"""An account as a document that is kept: the figures as they came out, and what they were worked out from.

What is kept is read back as it was, whatever later versions of this program would make of the same piece.
"""

from dataclasses import dataclass

from inventory.ground.codec import Codec, Document
from studio.profit.piece import Account, Actual, Quoted, StepGroup

__all__ = ["KEPT_ACCOUNT", "KeptAccount"]


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptAccount:
    """A piece's account with what was quoted and what happened."""

    account: Account
    quoted: Quoted
    actual: Actual


def _from_version_1(document: Document) -> Document:
    """Steps of the bridge said in their code what they are about: `material.coutil-white.price`, `extra.2`."""
    account = document["account"]
    return {**document, "account": {**account, "bridge": [_step(line) for line in account["bridge"]]}}


def _step(line: Document) -> Document:
    group, _, rest = line["code"].partition(".")
    if group in (StepGroup.MATERIAL, StepGroup.LABOUR, StepGroup.OVERHEAD):
        subject, _, part = rest.rpartition(".")
        about = {"subject": subject, "part": part}
    elif group in (StepGroup.CHANGE, StepGroup.EXTRA):
        about = {"number": int(rest)}
    else:
        about = {"subject": rest}
    return {"group": group, "what": line["what"], "amount": line["amount"], **about}


def _from_version_2(document: Document) -> Document:
    """Time that nobody logged counted as none, and was not told apart."""
    return document


KEPT_ACCOUNT = Codec(kind=KeptAccount, version=3, upgrades={1: _from_version_1, 2: _from_version_2})
