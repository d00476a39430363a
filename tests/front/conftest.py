import pytest

from planner.forms.profile_draft import Work, open_work
from planner.store import Store


@pytest.fixture
def work(store: Store) -> Work:
    return open_work(store, "mill-on-the-hill-road")
