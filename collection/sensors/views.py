"""Sensors: listed with what they last said, made with a token, ended; and the door by which they speak."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_POST

from collection.permissions import MANAGE, WORK, AccessRequest, needs
from collection.sensors import queries as query
from collection.sensors.actions import tokens as act
from collection.sensors.door import MOST_BYTES, NoBatch, answer_of, take
from collection.sensors.forms import SensorForm
from collection.sensors.words import latest_values
from collection.web.form_faults import saved
from collection.web.problem_json import problem
from collection.web.sorting import Column, Sorting
from collection.web.units import edge

BEARER = "bearer "
COLUMNS = (
    Column("name", "Sensor", ("name",)),
    Column("last", "Last said"),
    Column("heard", "Heard", ("heard_at",)),
    Column("end", ""),
)


@needs(WORK)
def sensors(request: AccessRequest) -> HttpResponse:
    """Every sensor, where it stands, what it last said and when."""
    now, units = timezone.now(), edge(request.access.person.units)
    listed = Sorting(request.GET, COLUMNS)
    rows = [
        {"sensor": row, "values": latest_values(row, units), "silent_since": row.silent_since(now)}
        for row in query.sensors_of(request.access, listed)
    ]
    return render(request, "sensors/sensors.html", {"rows": rows, "heads": listed.heads})


@needs(MANAGE)
def sensor_new(request: AccessRequest) -> HttpResponse:
    """Make a sensor; its token is shown this once."""
    form = SensorForm(request.POST if request.method == "POST" else None, access=request.access)
    shown: dict[str, object] = {}

    def make() -> None:
        shown["sensor"], shown["secret"] = act.make_sensor(
            organisation=request.access.organisation,
            place=form.chosen(),
            name=form.cleaned_data["name"],
            by=request.access.person,
            now=timezone.now(),
        )

    if request.method == "POST" and saved([form], make):
        shown["address"] = request.build_absolute_uri("/sensors/readings/")
    answer = render(request, "sensors/new.html", shown | {"form": form})
    answer.headers["Cache-Control"] = "private, no-store"  # a secret may stand on it
    return answer


@require_POST
@needs(MANAGE)
def sensor_end(request: AccessRequest, pk: int) -> HttpResponse:
    """Turn its token away from now on."""
    row = get_object_or_404(request.access.sensors(), pk=pk)
    act.end_sensor(sensor=row, now=timezone.now())
    messages.success(request, f"{row.name}: ended. What it measured stays.")
    return redirect("sensors")


@csrf_exempt  # the token in the head is the key; a cookie opens nothing here
@require_POST
def sensor_readings(request: HttpRequest) -> HttpResponse:
    """Take a batch of readings; every refusal is problem+json."""
    now, head = timezone.now(), request.headers.get("Authorization", "")
    secret = head[len(BEARER) :].strip() if head.lower().startswith(BEARER) else ""
    sensor = act.use_token(secret=secret, now=now) if secret else None
    if sensor is None:
        return problem(401)
    if wait := act.seconds_to_wait(sensor, now):
        answer = problem(429)
        answer.headers["Retry-After"] = str(wait)
        return answer
    if int(request.headers.get("Content-Length") or 0) > MOST_BYTES:
        return problem(413, f"Send at most {MOST_BYTES:,} bytes at once.")
    try:
        return JsonResponse(answer_of(take(sensor, request.body, now)))
    except NoBatch as fault:
        return problem(422, str(fault), fault.faults)
