"""Pictures kept and found by their digests."""

from collections.abc import Iterable

from inventory.ground.pictures import Picture
from inventory.models import KeptPicture

__all__ = ["keep_picture", "kept_pictures"]


def keep_picture(picture: Picture) -> KeptPicture:
    """Keep a picture, once however often it comes."""
    kept, _ = KeptPicture.objects.get_or_create(
        digest=picture.digest, defaults={"kind": picture.kind, "data": picture.data}
    )
    return kept


def kept_pictures(digests: Iterable[str]) -> dict[str, Picture]:
    """Return the pictures of these digests; an empty one, or one that is not kept here, has none."""
    wanted = set(digests) - {""}
    if not wanted:
        return {}
    return {kept.digest: kept.picture for kept in KeptPicture.objects.filter(digest__in=wanted)}
