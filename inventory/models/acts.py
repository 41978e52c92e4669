"""Forms that were acted on, so that one which is sent twice counts once."""

from django.db import models


class DoneAct(models.Model):
    """A form that did something: the fingerprint of its key with what it said, and the address that it led to.

    It is written in one transaction with what the form made.
    """

    fingerprint = models.CharField(max_length=64, unique=True)
    led_to = models.TextField()
    at = models.DateTimeField(auto_now_add=True)

    def __str__(self) -> str:
        return f"{self.led_to}, {self.at:%d %b %Y}"
