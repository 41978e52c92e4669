"""A workroom that was installed before anything was added: its database, with a maker, a shelf, a pattern and a draft."""

from collections.abc import Callable
from pathlib import Path

import pytest
from support_recipes import PROJECT, Tree, run_there


def install() -> int:
    from django.contrib.auth.models import User
    from support_books import OPTION
    from support_patterns import block_a

    from quotes.desk.quoting import start_quote
    from quotes.models import Client
    from quotes.patterns.kept_patterns import keep_block
    from studio.demo import shelf, workroom

    maker = User.objects.create_user("maker")
    workroom.load()
    workroom.new_rates()
    shelf.load()
    shelf.new_list()
    pattern = keep_block(block=block_a(), user=maker)
    client = Client(name="Odile Farrant")
    draft = start_quote(client=client, title="Before", due=None, pattern=pattern, options=[OPTION], user=maker)
    return draft.quote.number


@pytest.fixture(scope="session")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of its database."""
    data = tmp_path_factory.mktemp("installed")
    assert run_there(PROJECT, data, install) == 1
    return data


@pytest.fixture
def copied(tmp_path: Path, installed: Path) -> Callable[..., Tree]:
    """A copy of the tree for recipes, with that database."""
    return lambda *recipes, also=(): Tree(tmp_path, *recipes, database=installed, also=also)
