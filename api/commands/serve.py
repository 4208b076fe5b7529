"""``counterhand serve``: the pages and the API."""

import ipaddress
import socket
import threading
import webbrowser
from typing import Any

import click
from sqlalchemy import Engine

from api.commands.options import add_database_option, open_engine
from api.settings import list_allowed_hosts

DEFAULT_PORT = 8765
EPILOG = """\b
Examples:
  counterhand serve
  counterhand serve --port 9000"""


@click.command("serve", epilog=EPILOG)
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to listen on.")
@click.option("--port", default=DEFAULT_PORT, show_default=True, help="Port; 0 takes a free one.")
@add_database_option
def command(host: str, port: int, database_url: str | None) -> None:
    """Serve the database on this machine until stopped with Ctrl-C."""
    from kb.migrate import upgrade_schema  # noqa: PLC0415 - keeps --help quick

    engine = open_engine(database_url)
    upgrade_schema(engine)
    serve(engine, bind(host, port), opens_browser=False)


def bind(host: str, port: int, *, or_free: bool = False) -> socket.socket:
    """A listening socket.

    Raises:
        click.ClickException: the address is taken, unknown, or open to other machines without a key.
    """
    if not _is_loopback(host):
        raise click.ClickException(
            f"'{host}' is open to other machines, and access keys are not part of this version; "
            "listen on 127.0.0.1 and put a proxy that asks for a password and speaks TLS in front."
        )
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    listener = socket.socket(family, socket.SOCK_STREAM)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    # A socket bound by hand lacks it; without it every kept-alive answer waits about 40 ms (measured).
    listener.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
    try:
        listener.bind((host, port))
    except OSError as error:
        listener.close()
        if or_free:
            return bind(host, 0)
        raise click.ClickException(
            f"Port {port} on {host} cannot be used ({error.strerror}); choose another with --port."
        ) from error
    return listener


def _is_loopback(host: str) -> bool:
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def serve(engine: Engine, listener: socket.socket, *, opens_browser: bool) -> None:
    """Serve until stopped; the address is printed once the server answers."""
    import uvicorn  # noqa: PLC0415 - FastAPI and uvicorn are imported only to serve

    from api.app import create_app  # noqa: PLC0415

    host, port = listener.getsockname()[:2]
    shown = f"[{host}]" if ":" in host else host
    url = f"http://{shown}:{port}/"

    class Server(uvicorn.Server):
        """Says where it is once it is up."""

        async def startup(self, sockets: list[socket.socket] | None = None) -> None:
            await super().startup(sockets=sockets)
            click.echo(f"Counterhand is ready at {url} (stop with Ctrl-C)")
            if opens_browser:
                threading.Thread(target=_open_browser, args=(url,), daemon=True).start()

    app: Any = create_app(engine, allowed_hosts=list_allowed_hosts())
    config = uvicorn.Config(app, log_level="warning", server_header=False, timeout_graceful_shutdown=10)
    Server(config).run(sockets=[listener])


def _open_browser(url: str) -> None:
    try:
        webbrowser.open(url)
    except webbrowser.Error:  # no browser on this machine: the address was printed
        return
