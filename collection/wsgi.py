"""The WSGI entry point of a web process."""

import os
import signal

from django.core.wsgi import get_wsgi_application
from django.urls import resolve

from collection.host.parent import end_with
from collection.web.door import HEALTH, Door
from collection.web.watch import Watch

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "collection.settings")
end_with(os.getppid(), signal.SIGKILL)  # the web server above has ended, and nobody else would end us
watch = Watch()
application = Door(get_wsgi_application(), watch)
resolve(HEALTH)  # every page is loaded before the first is asked for
watch.begin()
