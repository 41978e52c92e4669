"""Pictures that offers show: kept once, under what they are, and never changed."""

from django.db import models

from inventory.ground.pictures import PICTURE_TYPES, Picture


class KeptPicture(models.Model):
    """A picture by its digest. Sealed offers name it so; a newer picture of the same thing is another row."""

    digest = models.CharField(max_length=64, unique=True)
    kind = models.CharField(max_length=4, choices=[(kind, kind.upper()) for kind in PICTURE_TYPES])
    data = models.BinaryField()

    def __str__(self) -> str:
        return self.digest[:12]

    @property
    def picture(self) -> Picture:
        """The picture itself."""
        return Picture(kind=self.kind, data=bytes(self.data))
