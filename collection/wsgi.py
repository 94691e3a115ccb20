"""The WSGI entry point of a web process."""

import gc
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
gc.disable()  # what is loaded here stays: looking through it again and again is a fifth of the start
application = Door(get_wsgi_application(), watch)
resolve(HEALTH)  # every page is loaded before the first is asked for
gc.freeze()
gc.enable()
watch.begin()
