"""Addresses of 0.2.0 lead on: bookmarks, papers and phones of before."""

import pytest

LED_ON = [
    ("/yard/?site=3", "/floor-plan/?site=3"),
    ("/yard/as/csv/", "/floor-plan/as/csv/"),
    ("/thresholds/", "/limits/"),
    ("/rates/", "/prices/"),
    ("/runs/", "/system/"),
    ("/tables/as/xlsx/", "/spreadsheets/as/xlsx/"),
    ("/waking-rates/", "/prices/"),
    ("/week/key-in/7/", "/week/from-paper/7/"),
    ("/places/sites/4/hands/", "/places/sites/4/staff/"),
    ("/cars/12/waking/", "/cars/12/recommission/"),
    ("/cars/12/waking/plan/spark/", "/cars/12/recommission/plan/spark/"),
    ("/cars/12/waking/finds/as/json/", "/cars/12/recommission/findings/as/json/"),
    ("/worksheet/cars/12/waking/", "/worksheet/cars/12/recommission/"),
]


@pytest.mark.parametrize(("old", "new"), LED_ON)
def test_an_address_of_before_leads_on_with_all_that_it_asked(client, db, old, new):
    answer = client.get(old)
    assert (answer.status_code, answer.url) == (308, new)
    assert client.post(old).status_code == 308  # what a form sent is sent again


@pytest.mark.parametrize(("old", "new"), LED_ON)
def test_what_it_leads_to_is_a_page_of_today(client, db, old, new):
    assert client.get(new).status_code != 404


def test_it_leads_nowhere_else(client, db):
    assert client.get("/yard///evil.example/").url == "/floor-plan///evil.example/"
