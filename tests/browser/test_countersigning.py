"""An owner countersigns in the browser: with a key made there and saved, and with the key read again."""

from collection.chain.verify import verify
from tests.browser.conftest import DESK

CAR = """
    SELECT v.id FROM collection_vehicle v JOIN collection_owner o ON o.id = v.owner_id
    JOIN collection_person p ON p.id = o.person_id
    WHERE p.email LIKE 'owner@%' AND v.left_on IS NULL ORDER BY v.id LIMIT 1
"""


def sign(page, car, occasion):
    page.get_by_label("Your name").fill("Ida Marl")
    page.get_by_label("When").select_option(occasion)
    page.get_by_role("button", name="Sign", exact=True).click()
    page.wait_for_url(f"**/cars/{car}/history/proof/")


def test_a_key_made_in_the_browser_signs_and_signs_again_from_its_file(kaldmere, open_as, tmp_path):
    car, page = kaldmere.value(CAR), open_as("owner", DESK)
    page.goto(f"/cars/{car}/history/proof/")
    page.get_by_role("link", name="Countersign it").click()
    page.get_by_label("Your name").fill("Ida Marl")
    page.get_by_role("button", name="Sign", exact=True).click()
    assert "make a key first" in page.locator("[role=alert]:visible").inner_text()
    with page.expect_download() as saved:
        page.get_by_role("button", name="Make a key and save it").click()
    saved.value.save_as(tmp_path / "key.pem")
    page.wait_for_selector("#key-told:not(:empty)")
    key = page.inner_text("#key-told").removeprefix("Your key: ")
    sign(page, car, "intake")

    page.goto(f"/cars/{car}/history/countersign/")
    page.set_input_files("#key-file", tmp_path / "key.pem")
    page.wait_for_selector("#key-told:not(:empty)")
    assert key in page.inner_text("#key-told"), "the same key out of its file"
    sign(page, car, "storage")
    assert "Countersigned up to entry" in page.inner_text("main")
    with page.expect_download() as saved:
        page.get_by_role("link", name="Save the history as a file").click()
    saved.value.save_as(tmp_path / "history.json")
    verdict = verify((tmp_path / "history.json").read_bytes(), keys=[key])
    told = [remark for remark in verdict.remarks if remark.startswith("Countersigned")]
    assert len(told) == 2
    assert all(f"the key {key}: which you named" in remark for remark in told)
