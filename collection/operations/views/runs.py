"""The forecast runs and the state of the background worker, for managers."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from collection.host import jobs
from collection.life import queries as pulse
from collection.life.actions import recompute_now
from collection.permissions import MANAGE, AccessRequest, needs
from collection.web.sorting import Column, Sorting

RUNS_A_PAGE = 30
COLUMNS = (
    Column("began", "Began", ("started_at",)),
    Column("why", "Why", ("trigger",)),
    Column("took", "Took", ("seconds",), numeric=True),
    Column("cars", "Cars", ("cars",), numeric=True),
    Column("errors", "Errors"),
)


@needs(MANAGE)
@require_http_methods(["GET", "HEAD", "POST"])
def system(request: AccessRequest) -> HttpResponse:
    """List the runs; POST asks for a new one."""
    if request.method == "POST":
        return _recompute(request)
    now = timezone.now()
    organisation = request.access.organisation
    listed = Sorting(request.GET, COLUMNS)
    pages = Paginator(listed.rows(pulse.with_progress(request.access.runs())), RUNS_A_PAGE)
    context = {
        "runs": pages.get_page(request.GET.get("page")),
        "heads": listed.heads,
        "nightly": pulse.last_run(organisation, pulse.NIGHTLY),
        "heartbeat": pulse.last_heartbeat(),
        "alive": pulse.worker_is_alive(now),
        "waiting": jobs.waiting(),
    }
    return render(request, "operations/runs.html", context)


def _recompute(request: AccessRequest) -> HttpResponse:
    run = recompute_now(organisation=request.access.organisation, now=timezone.now())
    if run is None:
        messages.success(request, "The worker recomputes the fleet now: load this page again in a moment.")
    elif run.errors:
        messages.error(request, f"Recomputed {run.cars} cars; {len(run.errors)} could not be: see below.")
    else:
        messages.success(request, f"Recomputed {run.cars} cars.")
    return redirect("system")
