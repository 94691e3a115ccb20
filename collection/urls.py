"""Every address of the site, room by room."""

from allauth.account.decorators import secure_admin_login
from django.urls import URLPattern, URLResolver, path
from django.views.generic import RedirectView

from collection.admin import site as admin_pages
from collection.api.urls import urlpatterns as api
from collection.car_page.urls import urlpatterns as car_page
from collection.care.urls import urlpatterns as care
from collection.cars.urls import urlpatterns as cars
from collection.due.urls import urlpatterns as due
from collection.handover.urls import urlpatterns as handover
from collection.help.urls import urlpatterns as help_
from collection.history.urls import urlpatterns as history
from collection.loggers.urls import urlpatterns as loggers
from collection.navigation.urls import urlpatterns as navigation
from collection.notices.urls import urlpatterns as notices
from collection.operations.urls import urlpatterns as operations
from collection.people.urls import urlpatterns as people
from collection.places.urls import urlpatterns as places
from collection.proof.urls import urlpatterns as proof
from collection.recommission.urls import urlpatterns as recommission
from collection.round.urls import urlpatterns as round_
from collection.sensors.urls import urlpatterns as sensors
from collection.spreadsheets.urls import urlpatterns as spreadsheets
from collection.web.old_addresses import urlpatterns as old_addresses

# the admin pages are entered by our own sign-in, second factor included
admin_pages.login = secure_admin_login(admin_pages.login)  # type: ignore[method-assign]

handler500 = "collection.web.views.outage.broken"

urlpatterns: list[URLPattern | URLResolver] = [
    path("", RedirectView.as_view(pattern_name="collection"), name="home"),
    *navigation,
    *due,
    *round_,
    *cars,
    *car_page,
    *care,
    *history,
    *handover,
    *proof,
    *recommission,
    *places,
    *loggers,
    *sensors,
    *people,
    *notices,
    *api,
    *operations,
    *spreadsheets,
    *help_,
    path("admin/", admin_pages.urls),
    *old_addresses,
]
