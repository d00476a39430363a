import pytest

from planner.forms.profile_draft import ProfileDraft
from planner.forms.profile_form import open_profile
from planner.store import Store


@pytest.fixture
def work(store: Store) -> ProfileDraft:
    return open_profile(store, "mill-on-the-hill-road")
