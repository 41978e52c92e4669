"""The recipe for a default: a figure as data, typed in one field; what only half of it does is told at once."""

from collections.abc import Callable

import pytest
from support_recipes import Tree

READER = '''"""Tea."""

from studio.defaults import studio_defaults


def tea() -> int:
    """Return how long it takes."""
    return studio_defaults().bench.tea_minutes
'''
READ = "from studio.jobs.tea import tea; print(tea())"
ROW = """    "tea_minutes": {"value": 12, "unit": "minutes", "words": "how long tea takes", "source": "house practice, no source"},
"""


def test_code_reads_the_field_and_the_figure_stands_in_the_data_alone(copied: Callable[..., Tree]):
    tree = copied("A default", also=["studio/jobs/"])
    tree.add("studio/jobs/tea.py", READER)
    tree.put("studio/defaults.json", ROW, after='  "bench": {\n')
    with pytest.raises(AssertionError, match="tea_minutes"):
        tree.python("-c", READ)
    tree.put("studio/defaults.py", "    tea_minutes: int\n", after="    long_timer_minutes: int\n")
    assert tree.is_followed()
    assert tree.python("-c", READ) == "12\n"
