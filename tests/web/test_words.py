"""Days as pages say them."""

from datetime import date, timedelta

from collection.web.templatetags.longstand import limit_day

TODAY = date(2026, 11, 30)


def test_a_limit_that_has_passed_is_since_and_one_to_come_is_by():
    assert limit_day(TODAY, TODAY) == "by Mon 30 Nov"
    assert limit_day(TODAY - timedelta(days=1), TODAY) == "since Sun 29 Nov"
    assert limit_day(date(2027, 1, 11), TODAY) == "by Mon 11 Jan 2027"
