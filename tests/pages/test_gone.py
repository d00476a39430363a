"""A profiles folder that is moved or deleted while it is open is said, and not made anew."""

import pytest

from .conftest import BROKEN, MILL, Tab


@pytest.mark.parametrize("page", ["profiles", "hitch"])
def test_a_folder_that_is_gone_is_said_and_not_made_anew(folder, page):
    tab = Tab(page, profile=MILL)
    folder.rename(folder.with_name("elsewhere"))
    tab.run()
    words = "\n".join([tab.html(), *(str(one.value) for one in [*tab.at.error, *tab.at.markdown])])
    assert "is no longer there" in words.replace("\\", "")
    assert BROKEN not in words
    assert not folder.exists()
    folder.with_name("elsewhere").rename(folder)
    tab.run()
    assert "is no longer there" not in tab.html()
