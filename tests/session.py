"""Talk to a running app as its page does, without a browser: open a page with a link, hear all."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any
from urllib.parse import urlencode

from websockets.sync.client import ClientConnection, connect

LONGEST_RUN = 60.0
"""Seconds that a page may take, however busy the machine is."""


class Session:
    """One open tab; ``said`` holds every message of its last page."""

    def __init__(self, socket: ClientConnection) -> None:
        self.socket = socket
        self.said: list[Any] = []

    def open(self, page: str = "", **link: str) -> str:
        """Open a page by its path and link; return all that it wrote, as one text."""
        from streamlit.proto.BackMsg_pb2 import BackMsg

        asked = BackMsg()
        asked.rerun_script.page_name = page
        asked.rerun_script.query_string = urlencode(link)
        self.socket.send(asked.SerializeToString())
        self.said = list(self._until_finished())
        return "\n".join(str(message) for message in self.said)

    @property
    def name(self) -> str:
        """The server's own name for this tab."""
        names = [
            message.new_session.initialize.session_id
            for message in self.said
            if message.WhichOneof("type") == "new_session"
        ]
        return str(names[-1])

    @property
    def failures(self) -> list[str]:
        """What the last page stumbled over: the exceptions it shows."""
        shown = [m.delta.new_element for m in self.said if m.WhichOneof("type") == "delta"]
        return [
            f"{element.exception.type}: {element.exception.message}"
            for element in shown
            if element.WhichOneof("type") == "exception"
        ]

    def _until_finished(self) -> Iterator[Any]:
        from streamlit.proto.ForwardMsg_pb2 import ForwardMsg

        while True:
            message = ForwardMsg.FromString(self.socket.recv(LONGEST_RUN, decode=False))
            yield message
            if message.WhichOneof("type") == "script_finished":
                return


@contextmanager
def session(url: str, origin: str | None = None) -> Iterator[Session]:
    """Open a tab at the address of the app, as a page of ``origin`` (the app's own if None)."""
    address = url.replace("http://", "ws://") + "/_stcore/stream"
    with connect(
        address,
        origin=url if origin is None else origin,  # type: ignore[arg-type]
        subprotocols=["streamlit"],  # type: ignore[list-item]
        max_size=None,
        proxy=None,
    ) as socket:
        yield Session(socket)
