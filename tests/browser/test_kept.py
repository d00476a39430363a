"""What is typed is kept, or said not to be; and long lists are worked in by thumb."""

import zipfile

from playwright.sync_api import expect

from .conftest import MILL

LEVEL = f"/level?profile={MILL}"


def test_work_that_the_disk_refuses_is_told_of_until_it_is_kept_and_can_be_taken_away(server, opened, tmp_path):
    (server.folder / "drafts").write_text("a file where the folder should be", "utf-8")
    window = opened(server)
    page = window.go(server.url + LEVEL)
    warning = page.get_by_text("The profile is not kept.")
    expect(warning).to_have_count(0)
    field = page.get_by_role("textbox", name="Is it the bed that leans? Its left share")
    for share in ("51 %", "52 %"):
        page.locator(".st-key-step-left-up button").click()
        expect(field).to_have_value(share)
        expect(warning).to_be_visible()
        window.ready()
    expect(page.get_by_text("Unsaved changes, not kept on this machine")).to_be_visible()
    with page.expect_download() as download:
        page.get_by_role("button", name="Save the profile as typed").click()
    download.value.save_as(tmp_path / "typed.zip")
    with zipfile.ZipFile(tmp_path / "typed.zip") as taken:
        assert b"left_share = 0.52" in taken.read(f"{MILL}.toml")
    (server.folder / "drafts").unlink()
    page.locator(".st-key-step-left-up button").click()
    expect(page.get_by_text("Unsaved changes, kept on this machine")).to_be_visible()
    expect(warning).to_have_count(0)
    page.reload()
    window.ready()
    expect(field).to_have_value("53 %")


def test_one_of_300_things_is_found_changed_and_taken_off_by_thumb(server, opened):
    store = server.store
    cargo = [{"name": f"Crate {n}", "weight": "3 lb", "x": f"{n % 40} in", "y": "0 in"} for n in range(300)]
    store.write(store.read_profile(MILL).replaced(cargo=cargo), MILL)
    window = opened(server, phone=True)
    page = window.go(server.url + LEVEL)
    expect(page.get_by_text("300 items, 900 lb together.")).to_be_visible()
    expect(page.get_by_label("Weight", exact=True)).to_have_count(2)  # of the item that is open, and of the one to add
    chooser = page.get_by_role("combobox", name="Item to change")
    chooser.tap()
    chooser.fill("Crate 217")
    page.get_by_role("option", name="Crate 217").tap()
    row = page.locator("[class*=st-key-cargo-217-us]")
    expect(row).to_contain_text("3 lb, 17 in ahead, centred")
    window.ready()  # until then the fields of the one before may stand beside those of this one
    row.get_by_label("Weight", exact=True).fill("90")
    expect(row).to_contain_text("90 lb, 17 in ahead, centred")
    page.get_by_text("All 300 items").tap()
    expect(page.locator("li", has_text="Crate 217")).to_have_text("Crate 217 90 lb, 17 in ahead, centred")
    row.get_by_role("button", name="Take it off").tap()
    expect(page.get_by_text("299 items, 897 lb together.")).to_be_visible()
    page_width, reach = window.reaches()
    assert max(page_width, reach) <= 390
