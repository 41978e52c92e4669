"""Use cases of what is personal: photographs, kept with the client's leave only; what is forgotten of an erased client."""

from typing import Any

from django.contrib.auth.models import User
from django.core.files.base import File
from django.db import transaction

from inventory.ground.findings import refuse
from quotes.models import Client
from studio.jobs.acts import note_down
from studio.models import Fitting, Job, JobPhoto, PieceAccount

__all__ = [
    "delete_photo",
    "forget_client",
    "keep_photo",
    "take_away_photo",
]


def keep_photo(job: Job, *, photo: "File[bytes]", words: str) -> JobPhoto:
    """Keep a photograph, which was written anew under a name of its own (inventory.ground.photo_files).

    Raises:
        Refused: the client has not agreed to photographs.
    """
    if not job.client.may_photograph:
        raise refuse(
            "photo.no-leave",
            str(job.client),
            "The client has not agreed to photographs.",
            "Ask first, and note the answer on the client's page.",
        )
    return JobPhoto.objects.create(job=job, photo=photo, words=words)


def take_away_photo(photo: JobPhoto, *, user: User) -> None:
    """Delete a photograph with its file."""
    with transaction.atomic():
        note_down(photo.job, f"Photograph taken away: {photo}.", by=user)
        delete_photo(photo)


def delete_photo(photo: JobPhoto) -> None:
    """Delete a photograph inside the caller's transaction; its file goes only once the row is gone for good."""
    photo.delete()
    # A file that cannot be deleted keeps no other from being so.
    transaction.on_commit(lambda: photo.photo.delete(save=False), robust=True)


def forget_client(client: Client, **kwargs: Any) -> None:
    """Delete a client's photographs, blank what was noted at fittings, and name their accounts as the desk does now.

    The money stays, and so do the words of payments, lower prices, changes, corrections and the diary, which say why a figure is what
    it is and are never changed. Answers `client_erased`.
    """
    for photo in JobPhoto.objects.filter(job__client=client):
        delete_photo(photo)
    Fitting.objects.filter(job__client=client).update(notes="", alterations="")
    PieceAccount.objects.filter(job__client=client).update(client_name=client.name)
