"""A cable between the browser and the site that can be cut: nothing passes, or only answers are lost."""

import contextlib
import socket
import threading


class Cable:
    """Listens on a port of its own and passes bytes to the site's port while it is whole."""

    def __init__(self, port):
        self.port_beyond = port
        self.whole, self.answers_pass = True, True
        self.ends = []
        self.listener = socket.create_server(("127.0.0.1", 0))
        self.address = f"http://127.0.0.1:{self.listener.getsockname()[1]}"
        threading.Thread(target=self._accept, daemon=True).start()

    def cut(self):
        """No signal: what is open breaks, what is new is refused."""
        self.whole = False
        for end in self.ends:
            with contextlib.suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)

    def lose_answers(self):
        """What is sent arrives, what is answered does not."""
        self.answers_pass = False

    def mend(self):
        """The signal is back."""
        self.whole, self.answers_pass = True, True

    def close(self):
        """Put the cable away."""
        self.cut()
        self.listener.close()

    def _accept(self):
        with contextlib.suppress(OSError):
            while True:
                near, _ = self.listener.accept()
                if not self.whole:
                    near.close()
                    continue
                far = socket.create_connection(("127.0.0.1", self.port_beyond))
                self.ends += [near, far]
                threading.Thread(target=self._pass, args=(near, far, False), daemon=True).start()
                threading.Thread(target=self._pass, args=(far, near, True), daemon=True).start()

    def _pass(self, start, end, is_answer):
        with contextlib.suppress(OSError):
            while data := start.recv(65536):
                if is_answer and not self.answers_pass:
                    break
                end.sendall(data)
        for each in (start, end):
            with contextlib.suppress(OSError):
                each.shutdown(socket.SHUT_RDWR)
