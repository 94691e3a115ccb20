"""The organisation's own thresholds."""

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils import timezone

from collection.due.actions.thresholds import OwnValue, save_thresholds
from collection.life.core.choices import thresholds
from collection.models import DutyRow, Threshold
from tests.barn import TODAY

URL = "/limits/"


@pytest.fixture
def client(client_as, manager):
    return client_as(manager)


def own(barn):
    return {row.name: (row.value, row.reason) for row in barn.thresholds.all()}


def test_every_threshold_of_the_core_stands_there_with_default_limits_and_reason(client):
    response = client.get(URL)
    assert [form.term.name for form in response.context["forms"]] == [term.name for term in thresholds()]
    page = response.content.decode()
    assert "75 %" in page
    assert "from 50 to 95 %" in page


def test_a_share_is_typed_in_percent_and_kept_as_a_share(client, barn):
    sent = {"recharge_soc-value": "80", "recharge_soc-reason": "old batteries here"}
    assert client.post(URL, sent).status_code == 302
    assert own(barn) == {"recharge_soc": (0.8, "old batteries here")}
    assert 'value="80"' in client.get(URL).content.decode()


def test_a_difference_is_typed_in_the_persons_degrees(client, manager, barn):
    manager.units = "american"
    manager.save()
    client.post(URL, {"freeze_margin_k-value": "18", "freeze_margin_k-reason": "frost hollow"})
    assert own(barn)["freeze_margin_k"][0] == pytest.approx(10)


def test_a_temperature_is_typed_in_the_persons_degrees(client, manager, barn):
    manager.units = "american"
    manager.save()
    client.post(URL, {"run_up_oil_c-value": "185", "run_up_oil_c-reason": "as our gauges read"})
    assert own(barn)["run_up_oil_c"][0] == pytest.approx(85)


def test_an_own_threshold_moves_the_dates(client, car):
    client.post(URL, {})
    before = DutyRow.objects.get(vehicle=car, duty="inspection").due
    client.post(URL, {"inspect_covered_days-value": "7", "inspect_covered_days-reason": "mice"})
    assert DutyRow.objects.get(vehicle=car, duty="inspection").due != before


@pytest.mark.parametrize(
    ("sent", "field", "words"),
    [
        ({"recharge_soc-value": "300", "recharge_soc-reason": "x"}, "value", "give 50 to 95 %"),
        ({"recharge_soc-value": "-1", "recharge_soc-reason": "x"}, "value", "give 50 to 95 %"),
        ({"recharge_soc-value": "nan", "recharge_soc-reason": "x"}, "value", "number"),
        ({"recharge_soc-value": "80"}, "reason", "say why"),
    ],
)
def test_a_bad_own_value_is_named_and_none_is_saved(client, barn, sent, field, words):
    sent |= {"damp_rh_pct-value": "80", "damp_rh_pct-reason": "good"}
    form = next(form for form in client.post(URL, sent).context["forms"] if form.term.name == "recharge_soc")
    assert words in " ".join(form.errors[field])
    assert own(barn) == {}


def test_a_threshold_goes_back_to_its_default_and_the_others_stay(client, barn):
    sent = {
        "recharge_soc-value": "80",
        "recharge_soc-reason": "a",
        "damp_rh_pct-value": "80",
        "damp_rh_pct-reason": "b",
    }
    client.post(URL, sent)
    client.post(URL, sent | {"reset": "recharge_soc"})
    assert own(barn) == {"damp_rh_pct": (80, "b")}


def test_an_untouched_own_value_never_shifts(client, barn):
    Threshold.objects.create(organisation=barn, name="recharge_soc", value=0.7654321, reason="measured")
    client.post(URL, {"recharge_soc-value": "76.543", "recharge_soc-reason": "measured"})
    assert own(barn)["recharge_soc"][0] == 0.7654321


def test_the_action_itself_refuses_an_unknown_threshold(barn):
    with pytest.raises(ValidationError) as refusal:
        save_thresholds(
            organisation=barn, own={"vibes": OwnValue(1, "x")}, by=None, today=TODAY, now=timezone.now()
        )
    assert "not one of the intervals and limits" in refusal.value.message_dict["vibes-value"][0]


def test_one_organisations_thresholds_are_not_anothers(client, barn, other_barn):
    Threshold.objects.create(organisation=other_barn, name="recharge_soc", value=0.9, reason="theirs")
    assert all(form.own is None for form in client.get(reverse("limits")).context["forms"])


@pytest.mark.parametrize("end", ["low", "high"])
def test_at_the_end_of_every_limit_each_car_still_gets_dates(client, barn, car, end):
    sent = {}
    for form in client.get(URL).context["forms"]:
        sent[f"{form.term.name}-value"] = form.fields["value"].typed(getattr(form.term, end))
        sent[f"{form.term.name}-reason"] = "to the end"
    assert client.post(URL, sent).status_code == 302
    assert barn.runs.latest("pk").errors == []
    assert DutyRow.objects.filter(vehicle=car).exists()
