"""``manage.py listen_mqtt``: takes in what sensors publish to a broker."""

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from collection.sensors.mqtt import broker_at, listen


class Command(BaseCommand):
    """Listen below the topic that LONGSTAND_MQTT names, beside serve."""

    help = "Takes in what sensors publish to the broker of LONGSTAND_MQTT; runs until it is ended."

    def handle(self, *_args: Any, **_options: Any) -> None:
        """Until Ctrl-C or SIGTERM."""
        if not settings.MQTT:
            raise CommandError("Name the broker in LONGSTAND_MQTT first: see Help, Sensors.")
        broker = broker_at(settings.MQTT)

        def ready() -> None:
            self.stdout.write(f"Listening at {broker.host} to {broker.topic}/#")
            self.stdout.flush()

        try:
            listen(broker, clock=timezone.now, ready=ready)
        except KeyboardInterrupt:
            self.stdout.write("Ended.")
