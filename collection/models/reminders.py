"""What goes out to a person by itself: a calendar feed, a weekly mail. Both end with the membership."""

from django.db import models

from collection.models.people import Membership


class CalendarFeed(models.Model):
    """A private address under which a calendar reads a member's dates; only its digest is kept."""

    membership = models.OneToOneField(Membership, models.CASCADE, related_name="calendar_feed")
    digest = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"calendar feed of {self.membership}"


class WeeklyMail(models.Model):
    """A member who wants the week by mail; ``last_monday`` is the week last sent."""

    membership = models.OneToOneField(Membership, models.CASCADE, related_name="weekly_mail")
    last_monday = models.DateField(null=True, blank=True)

    class Meta:
        verbose_name_plural = "weekly mails"

    def __str__(self) -> str:
        return f"weekly mail to {self.membership}"
