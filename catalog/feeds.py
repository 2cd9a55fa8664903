"""A list from an address the person typed: fetched once, within limits of size and time, or refused in one line.

The rules, because an address is somebody else's machine:

- only http and https, no name or password inside the address;
- at most five redirects, only to the same host, from http to https but never back; where a list has moved to another
  host, the person is told and types the new address, or does not;
- one clock for everything from looking up the name to the last byte, and a limit for silence in between;
- a limit for the bytes on the wire and again for what they inflate to; inflating is done here, piece by piece;
- a list whose end cannot be told from a cut connection is refused, and so is a web page in its place.

Nothing is stored here. Works the same with no network at all: what cannot be reached says so and changes nothing.
"""

from __future__ import annotations

import asyncio
import ssl
import zlib
from collections.abc import Callable
from contextlib import suppress
from typing import TYPE_CHECKING

import msgspec

from catalog.columns import FILE_LIMIT
from catalog.encodings import Text, decoded
from catalog.text import LINE_LIMIT, Refused, clean_line

if TYPE_CHECKING:
    import httpx

REDIRECTS = 5
MARK_LIMIT = 1_000
"""Longest mark of a version (entity tag or date) that is kept, in characters."""
_POLL_SECONDS = 0.1
_MOVED = frozenset({301, 302, 303, 307, 308})
_HEADERS = {"Accept": "text/csv, text/plain;q=0.9, */*;q=0.1", "Accept-Encoding": "identity", "User-Agent": "lotwright"}


class Unreachable(Refused):
    """The list could not be fetched: no connection, no such list, cut off, too slow, called off."""


class Limits(msgspec.Struct, frozen=True):
    """How much and how long, at most."""

    seconds: float = 60.0
    """For everything."""
    silence: float = 15.0
    """Between two pieces."""
    wire: int = FILE_LIMIT
    """Bytes as they come."""
    inflated: int = FILE_LIMIT
    """Bytes after inflating."""


class Marks(msgspec.Struct, frozen=True):
    """How the server marks the version it sent: what to ask with next time. Empty when it did not say."""

    etag: str = ""
    last_modified: str = ""


class Fetched(msgspec.Struct, frozen=True):
    """A list as text, and the marks of its version."""

    text: str
    marks: Marks
    note: str = ""
    """What was assumed of its encoding; empty where nothing was."""


def fetch(
    address: str,
    known: Marks = Marks(),  # noqa: B008 - frozen
    *,
    limits: Limits = Limits(),  # noqa: B008 - frozen
    cancelled: Callable[[], bool] = lambda: False,
) -> Fetched | None:
    """The list at `address`, or None when it is still the version of `known`.

    Args:
        address: beginning with http:// or https://.
        known: the marks of the version one has.
        limits: how much and how long.
        cancelled: asked ten times a second from this thread; the fetch ends as soon as it says yes.

    Raises:
        Unreachable: it could not be fetched.
        Refused: the address is none, or what came is no list that could be taken in.
    """
    address = checked(address)
    try:
        return asyncio.run(_fetch(address, known, limits, cancelled))
    except TimeoutError:
        raise Unreachable(f"not done within {limits.seconds:g} seconds; try again later", where=address) from None
    except OSError as error:  # the certificates of this machine, or its sockets
        raise Unreachable(f"cannot be reached ({error.strerror or error}); are you connected?", where=address) from None


def checked(address: str) -> str:
    """The address in its plain form.

    Raises:
        Refused: not http or https, no host, or a name and password in it.
    """
    import httpx  # noqa: PLC0415 - costs a fifth of a second, wanted only here

    shown = clean_line(address)
    if len(address) > LINE_LIMIT:
        raise Refused(f"longer than {LINE_LIMIT:,} characters; shorten it", where=shown[:60])
    try:
        url = httpx.URL(shown)
        host = url.host
    except (httpx.InvalidURL, UnicodeError) as error:
        raise Refused(f"this is no address ({error})", where=shown[:60]) from None
    if url.scheme not in {"http", "https"} or not host:
        raise Refused("expected an address that begins with http:// or https://", where=shown[:60])
    if url.port is not None and not 0 < url.port < 65_536:
        raise Refused(f"this is no address (port {url.port})", where=shown[:60])
    if url.userinfo:
        raise Refused("a name or password in an address is not kept; fetch the file by hand", where=f"{host}")
    return str(url.copy_with(fragment=None))


def redirected(address: str, location: str) -> str:
    """Where a redirect leads, when it may be followed.

    Raises:
        Refused: to another host, from https to http, or to what is no address.
    """
    import httpx  # noqa: PLC0415

    try:
        target = checked(str(httpx.URL(address).join(clean_line(location))))
    except Refused as refused:
        raise Refused(f"it sends one on to what is no address: {refused.problem}", where=address) from None
    except (httpx.InvalidURL, UnicodeError) as error:
        raise Refused(f"it sends one on to what is no address ({error})", where=address) from None
    here, there = httpx.URL(address), httpx.URL(target)
    if there.host != here.host:
        raise Refused(f"it has moved to another host; if you trust it, fetch {target[:300]}", where=address)
    if here.scheme == "https" and there.scheme == "http":
        raise Refused("it sends one on from https to http, which anybody on the way can change", where=address)
    return target


async def _fetch(address: str, known: Marks, limits: Limits, cancelled: Callable[[], bool]) -> Fetched | None:
    """The work itself, beside a look at `cancelled`, so that a silent server cannot hold anybody up."""
    async with asyncio.timeout(limits.seconds):
        work = asyncio.ensure_future(_follow(address, known, limits))
        try:
            while not work.done():
                if cancelled():
                    raise Unreachable("called off; nothing was changed", where=address)
                await asyncio.wait({work}, timeout=_POLL_SECONDS)
            return work.result()
        finally:
            work.cancel()
            with suppress(asyncio.CancelledError, Exception):
                await work


async def _follow(address: str, known: Marks, limits: Limits) -> Fetched | None:
    import httpx  # noqa: PLC0415

    asked = {"If-None-Match": known.etag, "If-Modified-Since": known.last_modified}
    headers = _HEADERS | {name: value for name, value in asked.items() if value}
    at = address
    try:
        async with httpx.AsyncClient(timeout=limits.silence, headers=headers) as client:
            for _ in range(REDIRECTS + 1):
                async with client.stream("GET", at) as answer:
                    if answer.status_code not in _MOVED:
                        return await _received(answer, at, known, limits)
                    location = answer.headers.get("location", "")
                at = redirected(at, location)
    except httpx.HTTPError as error:
        raise _not_reached(error, at, limits) from None
    raise Unreachable(f"sent on more than {REDIRECTS} times", where=address)


async def _received(answer: httpx.Response, address: str, known: Marks, limits: Limits) -> Fetched | None:
    status = answer.status_code
    if status == 304 and known != Marks():
        return None
    if status != 200:
        said = {404: "there is no such list (404)", 410: "the list is gone (410)"}
        fault = "; the fault is there, try again later" if status >= 500 else "; check the address"
        raise Unreachable(said.get(status, f"the server answered {status} instead of the list") + fault, where=address)
    if answer.headers.get("content-type", "").partition(";")[0].strip().casefold() in {
        "text/html",
        "application/xhtml+xml",
    }:
        raise _page(address)
    told = answer.headers.get("content-length", "")
    if told.isascii() and told.isdigit() and int(told[:20]) > limits.wire:
        raise _too_large(limits.wire, address)
    encoding = answer.headers.get("content-encoding", "identity").strip().casefold()
    body = _Body(encoding, address, limits)
    async for piece in answer.aiter_raw():
        body.add(piece)
    chunked = "chunked" in answer.headers.get("transfer-encoding", "").casefold()
    text = body.text(end_told=bool(told) or chunked)
    return Fetched(text.text, Marks(_mark(answer, "etag"), _mark(answer, "last-modified")), text.note)


class _Body:
    """What came so far, inflated where needed, counted on both sides."""

    def __init__(self, encoding: str, address: str, limits: Limits) -> None:
        if encoding not in {"", "identity", "gzip", "x-gzip", "deflate"}:
            raise Refused(f"packed as {clean_line(encoding, 40)}, which is not read here", where=address)
        self._address = address
        self._limits = limits
        self._wire = 0
        self._data = bytearray()
        self._inflate = None if encoding in {"", "identity"} else zlib.decompressobj(wbits=zlib.MAX_WBITS | 32)

    def add(self, piece: bytes) -> None:
        self._wire += len(piece)
        if self._wire > self._limits.wire:
            raise _too_large(self._limits.wire, self._address)
        if self._inflate is None:
            self._data += piece
            return
        try:  # never more than one byte over the limit, however much is packed into the piece
            self._data += self._inflate.decompress(piece, self._limits.inflated + 1 - len(self._data))
        except zlib.error:
            raise Refused("what came cannot be unpacked; it is damaged", where=self._address) from None
        if len(self._data) > self._limits.inflated:
            raise _too_large(self._limits.inflated, self._address, "unpacked ")

    def text(self, *, end_told: bool) -> Text:
        if self._inflate is not None and not self._inflate.eof:
            raise Unreachable("the packed list breaks off before its end; try again", where=self._address)
        if self._inflate is None and not end_told:
            raise Refused(
                "the server does not say how long the list is, so a cut one would look whole; save it as a file first",
                where=self._address,
            )
        if len(self._data) > self._limits.inflated:
            raise _too_large(self._limits.inflated, self._address)
        if bytes(self._data[:1_000]).removeprefix(b"\xef\xbb\xbf").lstrip().startswith(b"<"):
            raise _page(self._address)
        return decoded(bytes(self._data), self._address)


def _mark(answer: httpx.Response, name: str) -> str:
    """A mark of the version, when it is one that can be sent back as it is."""
    value: str = answer.headers.get(name, "")
    return value if value.isascii() and len(value) <= MARK_LIMIT and value == clean_line(value) else ""


def _page(address: str) -> Refused:
    return Refused("this is a web page, no CSV list; give the address of the list itself", where=address)


def _too_large(limit: int, address: str, how: str = "") -> Refused:
    return Refused(f"{how}larger than {_size(limit)}; nothing was taken", where=address)


def _size(count: int) -> str:
    return f"{count // 1024 // 1024} MiB" if count >= 1024 * 1024 else f"{count:,} bytes"


def _not_reached(error: httpx.HTTPError, address: str, limits: Limits) -> Unreachable:
    import httpx  # noqa: PLC0415

    told = str(error)
    if isinstance(error, httpx.ReadTimeout):
        problem = f"nothing came for {limits.silence:g} seconds; try again later"
    elif isinstance(error, httpx.TimeoutException):
        problem = f"no connection within {limits.silence:g} seconds; try again later"
    elif isinstance(error.__cause__, ssl.SSLError) or "SSL" in told or "certificate" in told:
        problem = f"its certificate or encryption is not sound ({clean_line(told, 200)})"
    elif isinstance(error, httpx.RemoteProtocolError | httpx.ReadError):
        problem = f"the connection broke off before the end of the list ({clean_line(told, 120) or 'cut'}); try again"
    else:
        problem = f"cannot be reached ({clean_line(told, 200) or type(error).__name__}); are you connected?"
    return Unreachable(problem, where=address)
