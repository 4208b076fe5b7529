"""``counterhand serve``: the pages and the API."""

import ipaddress
import json
import socket
import threading
import webbrowser
from datetime import UTC, datetime
from pathlib import Path

import click
from sqlalchemy import Engine

from api.commands.options import add_database_option, add_json_option, open_engine
from api.settings import get_trusted_proxy, get_waiting_folder, list_allowed_hosts

DEFAULT_PORT = 8765
EPILOG = """\b
Examples:
  counterhand serve
  counterhand serve --port 9000
  counterhand key add boss --role admin
  counterhand serve --host 192.0.2.10 --tls-certificate shop.crt --tls-key shop.key

On this machine alone no key is needed until one is given out. On any other address everybody shows a key."""


@click.command("serve", epilog=EPILOG)
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to listen on.")
@click.option("--port", default=DEFAULT_PORT, show_default=True, help="Port; 0 takes a free one.")
@click.option(
    "--tls-certificate", type=click.Path(exists=True, dir_okay=False), help="Certificate chain, to speak TLS."
)
@click.option("--tls-key", type=click.Path(exists=True, dir_okay=False), help="The certificate's key.")
@add_json_option
@add_database_option
def command(
    *,
    host: str,
    port: int,
    tls_certificate: str | None,
    tls_key: str | None,
    as_json: bool,
    database_url: str | None,
) -> None:
    """Serve the database until stopped with Ctrl-C; the address is printed once it answers."""
    from kb.edits.upgrade import upgrade_database  # noqa: PLC0415 - keeps --help quick

    if bool(tls_certificate) != bool(tls_key):
        raise click.UsageError("--tls-certificate and --tls-key go together.")
    engine = open_engine(database_url)
    upgrade_database(engine)
    certificate = (tls_certificate, tls_key) if tls_certificate and tls_key else None
    if not is_loopback(host):
        need_admin_key(engine, host, speaks_tls=certificate is not None)
    waiting_folder = get_waiting_folder(database_url)
    serve(
        engine,
        bind(host, port),
        opens_browser=False,
        certificate=certificate,
        waiting_folder=waiting_folder,
        as_json=as_json,
    )


def need_admin_key(engine: Engine, host: str, *, speaks_tls: bool) -> None:
    """Refuse an address open to other machines while nobody holds an admin key.

    Raises:
        click.ClickException: there is no living key of the role ``admin``.
    """
    from kb.database import open_reader  # noqa: PLC0415 - keeps --help quick
    from kb.lookups.access import has_admin_key  # noqa: PLC0415

    with open_reader(engine) as session:
        has_key = has_admin_key(session, now=datetime.now(UTC))
    if not has_key:
        raise click.ClickException(
            f"'{host}' is open to other machines and there is no admin key; make one with: "
            "counterhand key add NAME --role admin (and serve with TLS or behind a proxy that speaks it)."
        )
    if not speaks_tls:
        click.echo(
            f"Warning: '{host}' is open to other machines without TLS, so keys can be read on the way; use "
            "--tls-certificate and --tls-key, or a proxy that speaks TLS.",
            err=True,
        )


def bind(host: str, port: int, *, or_free: bool = False) -> socket.socket:
    """A listening socket.

    Raises:
        click.ClickException: the address is taken or unknown.
    """
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    listener = socket.socket(family, socket.SOCK_STREAM)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    # A socket bound by hand lacks it; without it every kept-alive answer waits about 40 ms (measured).
    listener.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
    try:
        listener.bind((host, port))
    except (OSError, OverflowError, UnicodeError) as error:
        listener.close()
        if or_free:
            return bind(host, 0)
        reason = getattr(error, "strerror", None) or "no such address or port"
        raise click.ClickException(
            f"Port {port} on {host} cannot be used ({reason}); choose another with --port or --host."
        ) from error
    return listener


def is_loopback(host: str) -> bool:
    """Whether only this machine reaches an address; a name other than ``localhost`` is taken as open."""
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def list_own_hosts(address: str) -> tuple[str, ...]:
    """Names under which a server on this address may be asked, besides those in the settings."""
    if is_loopback(address):
        return ()
    name = socket.gethostname()
    found = {name, name.partition(".")[0], name.partition(".")[0] + ".local", address}
    if ipaddress.ip_address(address).is_unspecified:
        try:
            found |= {str(info[4][0]) for info in socket.getaddrinfo(name, None)}
        except OSError:  # a machine that does not know its own name
            return tuple(found)
    return tuple(f"[{host}]" if ":" in host else host for host in found)


def serve(
    engine: Engine,
    listener: socket.socket,
    *,
    opens_browser: bool,
    certificate: tuple[str, str] | None = None,
    waiting_folder: Path | None = None,
    as_json: bool = False,
) -> None:
    """Serve until stopped; the address is printed once the server answers, as JSON where that is asked."""
    from api.app import create_app  # noqa: PLC0415 - FastAPI and uvicorn are imported only to serve
    from api.server import Server, build_config  # noqa: PLC0415

    host, port = listener.getsockname()[:2]
    shown = f"[{host}]" if ":" in host else host
    url = f"{'https' if certificate else 'http'}://{shown}:{port}/"

    def say_ready() -> None:
        ready = f"Counterhand is ready at {url} (stop with Ctrl-C)"
        click.echo(json.dumps({"address": url}) if as_json else ready)
        if opens_browser:
            threading.Thread(target=_open_browser, args=(url,), daemon=True).start()

    app = create_app(
        engine,
        allowed_hosts=(*list_allowed_hosts(), *list_own_hosts(host)),
        always_needs_key=not is_loopback(host),
        waiting_folder=waiting_folder,
    )
    config = build_config(app, proxy=get_trusted_proxy(), certificate=certificate)
    Server(config, on_start=say_ready, on_stop=engine.dispose).run(sockets=[listener])


def _open_browser(url: str) -> None:
    try:
        webbrowser.open(url)
    except webbrowser.Error:  # no browser on this machine: the address was printed
        return
