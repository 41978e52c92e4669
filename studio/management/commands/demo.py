"""`demo`: an invented workroom to look at, loaded once; a second run changes nothing."""

import os
import secrets
from typing import Any

from django.conf import settings
from django.contrib.auth.models import User
from django.db import transaction

from inventory.ground.site.command import ActingCommand, output_of_libraries_to_stderr
from studio.demo import is_empty, load

LOGIN = "maker"


class Command(ActingCommand):
    help = "Load the demo workroom once and say its login."

    def act(self, **options: Any) -> None:
        path = settings.DATA_DIR / "demo-login"
        with transaction.atomic():
            maker, is_new = User.objects.get_or_create(username=LOGIN)
            if is_new:
                password = secrets.token_urlsafe(9)
                maker.set_password(password)
                maker.save()
                handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
                with os.fdopen(handle, "w") as file:
                    file.write(password)
            if is_empty():
                self.stdout.write("Living through two years of the demo workroom; this takes a minute.")
                self.stdout.flush()
            with output_of_libraries_to_stderr():
                loaded = load(maker)
        words = "Loaded the demo workroom." if loaded else "The demo workroom is there already."
        login = f" Log in as {LOGIN} with the password {path.read_text()}" if path.exists() else ""
        self.stdout.write(words + login)
