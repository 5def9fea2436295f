"""One POST to an address that people wrote: to a checked address, no redirects, within a time, and cut if asked."""

import socket
import ssl
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import httpx

from monitor.notify.public_address import Resolve, checked, resolve
from monitor.notify.quiet import keep_addresses_out_of_the_log


class BadAddressError(Exception):
    """An address that can never be posted to."""


class NoAnswerError(Exception):
    """No answer was to be had."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What a receiver said: its status, and after how long to come again where it says so (s or HTTP date)."""

    status: int
    retry_after: str | None


def trusting(ca_file: Path | None) -> ssl.SSLContext:
    """Give what certificates are checked with: the public authorities', or those in a file.

    Raises:
        OSError: where the file cannot be used.
    """
    return ssl.create_default_context(cafile=None if ca_file is None else str(ca_file))


class Poster:
    """Posts bodies, one after the other, each over a connection of its own.

    Connections are not kept: they are made to an address and not to a name, and the next name at the same address must
    have its certificate checked again.
    """

    def __init__(
        self, context: ssl.SSLContext, timeout_s: float, *, allow_private: bool, resolver: Resolve = resolve
    ) -> None:
        keep_addresses_out_of_the_log()
        self._timeout_s, self._allow_private, self._resolve = timeout_s, allow_private, resolver
        self._socket: socket.socket | None = None
        self._aborted = False
        self._client = httpx.Client(
            verify=context,
            timeout=timeout_s,
            follow_redirects=False,
            trust_env=False,  # a proxy would look the name up again
            limits=httpx.Limits(max_keepalive_connections=0),
        )

    def post(self, address: str, headers: dict[str, str], body: bytes) -> Answer:
        """Post a body; give the answer's head, its body is not read.

        Raises:
            BadAddressError: where the address can never be used.
            NotPublicError: where it leads to where it must not.
            NoAnswerError: where nobody answered in time.
        """
        url = self._url(address)
        host = url.raw_host.decode("ascii")
        port = url.port or (443 if url.scheme == "https" else 80)
        try:
            found = self._resolve(host, port)
        except (OSError, UnicodeError) as error:
            raise NoAnswerError(f"the name cannot be looked up: {error}") from error
        last = NoAnswerError("the name has no address")
        with self._within_time():
            for ip in checked(found, allow_private=self._allow_private):
                request = self._client.build_request(
                    "POST",
                    url.copy_with(host=ip),
                    headers={"Host": url.netloc.decode("ascii"), **headers},
                    content=body,
                    extensions={"sni_hostname": host, "trace": self._trace},
                )
                try:
                    return self._answer(request)
                except httpx.ConnectError as error:
                    last = NoAnswerError(_said(error))
                except (httpx.HTTPError, OSError, ValueError) as error:
                    raise NoAnswerError(_said(error)) from error
        raise last

    def close(self) -> None:
        """Let go of everything."""
        self._client.close()

    def abort(self) -> None:
        """Cut the line, from any thread."""
        self._aborted = True
        cut = self._socket
        if cut is not None:
            try:
                socket.socket.shutdown(cut, socket.SHUT_RDWR)
            except OSError:
                return  # it was cut already

    def _url(self, address: str) -> httpx.URL:
        try:
            url = httpx.URL(address)
        except httpx.InvalidURL as error:
            raise BadAddressError("the address is not a URL") from error
        if not url.host:
            raise BadAddressError("the address names no host")
        if url.scheme != "https" and not (url.scheme == "http" and self._allow_private):
            raise BadAddressError("the address must begin with https:// (http:// only where allow_private = true)")
        return url

    def _answer(self, request: httpx.Request) -> Answer:
        response = self._client.send(request, stream=True)
        try:
            return Answer(response.status_code, response.headers.get("retry-after"))
        finally:
            response.close()

    @contextmanager
    def _within_time(self) -> Iterator[None]:
        """Cut the line where the whole takes too long: httpx bounds each read only, and a receiver may drip."""
        timer = threading.Timer(2 * self._timeout_s, self.abort)
        timer.daemon = True
        timer.start()
        try:
            yield
        finally:
            timer.cancel()
            self._socket = None

    def _trace(self, event: str, info: dict[str, Any]) -> None:
        """Keep hold of the socket that is in use, so that it can be cut."""
        if event in {"connection.connect_tcp.complete", "connection.start_tls.complete"}:
            self._socket = info["return_value"].get_extra_info("socket")
            if self._aborted:
                self.abort()


def _said(error: Exception) -> str:
    return str(error) or type(error).__name__
