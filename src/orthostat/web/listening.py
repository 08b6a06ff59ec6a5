"""Listening on this computer only, and opening the browser when it listens."""

from __future__ import annotations

import os
import secrets
import socket
import sys
import webbrowser
from contextlib import suppress
from pathlib import Path
from threading import Thread


def listen(port: int) -> socket.socket:
    """A socket on 127.0.0.1; `port` 0 takes a free one. Raises `OSError` where the port is taken."""
    # Named as TCP, so that asyncio sends small answers at once: left to gather, each waits 40 ms.
    made = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    if os.name != "nt":  # there it would let another program take the port over
        made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        made.bind(("127.0.0.1", port))
        made.listen(128)  # whoever is given the address may knock at once
    except OSError:
        made.close()
        raise
    return made


def serve(folder: Path, *, port: int = 0, open_browser: bool = True) -> int:
    """Serve the shop folder until Ctrl+C; the exit code."""
    import uvicorn

    from orthostat.web.app import create_app

    try:
        listening = listen(port)
    except OSError as fault:
        print(
            f"port {port} can't be used ({fault.strerror or fault}); leave --port out for a free one",
            file=sys.stderr,
        )
        return 2
    bound = listening.getsockname()[1]
    token = secrets.token_urlsafe(32)
    address = f"http://127.0.0.1:{bound}/enter?token={token}"
    app = create_app(folder, port=bound, token=token)
    config = uvicorn.Config(
        app,
        log_level="warning",
        access_log=False,
        server_header=False,
        date_header=False,
        proxy_headers=False,
        ws="none",
        timeout_keep_alive=15,
        timeout_graceful_shutdown=2,
        h11_max_incomplete_event_size=32_768,
    )
    server = uvicorn.Server(config)
    print(f"The page of {folder} is at\n\n    {address}\n\nCtrl+C ends it.", flush=True)
    if open_browser:
        Thread(target=webbrowser.open, args=(address,), daemon=True).start()
    with suppress(KeyboardInterrupt):
        server.run(sockets=[listening])
    return 0
