"""A cable between a client and a broker that can be pulled and plugged in again."""

import socket
import threading
from contextlib import suppress


class Cable:
    """Passes bytes both ways between its own port and another, until it is cut."""

    def __init__(self, host: str, port: int) -> None:
        self._far = (host, port)
        self._plugged = threading.Event()
        self._plugged.set()
        self._open: list[socket.socket] = []
        self._door = socket.create_server(("127.0.0.1", 0))
        self.port: int = self._door.getsockname()[1]
        self.host = "127.0.0.1"
        self.cuts = 0
        threading.Thread(target=self._answer, daemon=True).start()

    def cut(self) -> None:
        """Cut every connection, and refuse new ones."""
        self._plugged.clear()
        self.cuts += 1
        while self._open:
            end = self._open.pop()
            with suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)
            end.close()

    def mend(self) -> None:
        """Let connections through again."""
        self._plugged.set()

    def close(self) -> None:
        """Cut it for good."""
        self._door.close()
        self.cut()

    def _answer(self) -> None:
        while True:
            try:
                near, _ = self._door.accept()
            except OSError:
                return
            if not self._plugged.is_set():
                near.close()
                continue
            far = socket.create_connection(self._far)
            self._open += [near, far]
            for one, other in ((near, far), (far, near)):
                threading.Thread(target=self._pass, args=(one, other), daemon=True).start()

    @staticmethod
    def _pass(one: socket.socket, other: socket.socket) -> None:
        with suppress(OSError):
            while data := one.recv(65_536):
                other.sendall(data)
        for end in (one, other):
            with suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)
