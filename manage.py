#!/usr/bin/env python
"""Run a command of Staymaker's Daybook."""

import os
import sys


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "studio.settings")
    from django.core.management import execute_from_command_line

    from inventory.ground.faults import exit_code, told

    try:
        execute_from_command_line(sys.argv)
    except Exception as error:
        # What the settings could not read, and Django's own commands.
        findings = told(error)
        if findings is None:
            raise
        from inventory.ground.site.command import tell

        def line(stream):
            return lambda text: stream.write(f"{text}\n")

        tell(findings, as_json="--json" in sys.argv, out=line(sys.stdout), err=line(sys.stderr))
        sys.exit(exit_code(findings))


if __name__ == "__main__":
    main()
