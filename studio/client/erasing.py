"""Use case of erasing: what the bench and the books hold of a client whom the desk erases."""

from typing import Any

from quotes.models import Client
from studio.client.photographs import delete_photo
from studio.models import Fitting, JobPhoto, PieceAccount

__all__ = ["forget_client"]


def forget_client(client: Client, **kwargs: Any) -> None:
    """Delete a client's photographs, blank what was noted at fittings, and name their accounts as the desk does now.

    The money stays, and so do the words of payments, changes, corrections and the diary, which say why a figure is what
    it is and are never changed. Answers `client_erased`.
    """
    for row in JobPhoto.objects.filter(job__client=client):
        delete_photo(row)
    Fitting.objects.filter(job__client=client).update(notes="", alterations="")
    PieceAccount.objects.filter(job__client=client).update(client_name=client.name)
