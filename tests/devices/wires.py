"""The cable or the radio between a device and the book: an address of its own, and a plug to pull.

A browser is told to use one as its proxy. What it asks for is passed on unread to the terminator,
from an address of this machine that belongs to the device alone.
"""

import socket
import threading
from contextlib import suppress
from typing import Any

HEAD_ENDS = b"\r\n\r\n"


class Wire:
    def __init__(self, address: str, to_port: int) -> None:
        self.address, self.to_port = address, to_port
        self.is_plugged_in = True
        self.open: list[socket.socket] = []
        self.listening = socket.create_server(("127.0.0.1", 0))
        self.proxy = f"http://127.0.0.1:{self.listening.getsockname()[1]}"
        threading.Thread(target=self._serve, daemon=True).start()

    def pull(self) -> None:
        """Nothing passes any more, and what was under way breaks off."""
        self.is_plugged_in = False
        for end in self.open:
            _shut(end)
        self.open.clear()

    def plug_in(self) -> None:
        self.is_plugged_in = True

    def close(self) -> None:
        self.pull()
        _shut(self.listening)

    def connected(self, port: int | None = None) -> socket.socket:
        """A connection to the terminator as from the device."""
        there = ("127.0.0.1", port or self.to_port)
        return socket.create_connection(there, timeout=30, source_address=(self.address, 0))

    def _serve(self) -> None:
        with suppress(OSError):  # closed at the end
            while True:
                device, _ = self.listening.accept()
                threading.Thread(target=self._pass_on, args=[device], daemon=True).start()

    def _pass_on(self, device: socket.socket) -> None:
        with suppress(OSError):
            head = b""
            while HEAD_ENDS not in head:
                got = device.recv(4096)
                if not got:
                    return
                head += got
            if not self.is_plugged_in:
                _shut(device)
                return
            book = self.connected()
            book.settimeout(None)
            self.open += [device, book]
            device.sendall(b"HTTP/1.1 200 OK" + HEAD_ENDS)
            threading.Thread(target=_pour, args=[book, device], daemon=True).start()
            _pour(device, book)


def _pour(from_: socket.socket, into: socket.socket) -> None:
    with suppress(OSError):
        while got := from_.recv(65536):
            into.sendall(got)
    _shut(from_)
    _shut(into)


def _shut(end: Any) -> None:
    with suppress(OSError):
        end.shutdown(socket.SHUT_RDWR)
    end.close()
