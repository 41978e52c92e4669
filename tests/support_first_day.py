"""One of several who open the same workroom at once: says `ready`, waits for a line, posts the first day.

Argument: the name of the user. Prints where the answer leads, or its status; started by test_first_day_at_once.
"""

import sys

import django


def main(username: str) -> None:
    django.setup()
    from django.test import Client

    browser = Client(SERVER_NAME="localhost")
    said = {
        **{"username": username, "password1": "pins and chalk", "password2": "pins and chalk"},
        **{"name": f"Workroom of {username}", "currency": "EUR", "length_unit": "cm", "language": "en"},
        **{"time_zone": "Europe/Amsterdam", "has_starter_list": "on", "income": "24000", "income_per": "year"},
        **{"overhead": "650", "productive_weeks": "46", "hours_per_week": "35", "productive_percent": "60"},
    }
    sys.stdout.write("ready\n")
    sys.stdout.flush()
    sys.stdin.readline()
    answer = browser.post("/first-day/", said)
    sys.stdout.write(answer.headers.get("Location") or str(answer.status_code))


if __name__ == "__main__":
    main(sys.argv[1])
