"""What ``dayrung check`` says of the settings themselves: names, addresses and numbers."""

import contextlib
import difflib
import http.client
import json
import re
import socket
from pathlib import Path
from urllib.parse import SplitResult, urlsplit

from bot.cli.finding import Finding
from bot.errors import SettingsError
from bot.runtime.listening import PortTaken, listen
from bot.settings import Settings, unknown_settings

WEBHOOK_PORTS = (443, 80, 88, 8443)
"""Where the platform brings updates (Bot API, setWebhook)."""

SECRET = re.compile(r"[A-Za-z0-9_-]{1,256}")
"""What the platform takes as a secret (Bot API, setWebhook)."""

MOST_PER_SECOND = 30
LEAST_BETWEEN = 1.0
"""What the platform asks of bots (Telegram, "Bots FAQ"): over all chats, and to one chat."""

OTHERS_READ = 0o044
"""Mode of what the group or everybody may read."""

ANSWERS_WITHIN = 3.0
"""Seconds that an address is given."""


def check_settings(settings: Settings) -> list[Finding]:
    """Look at names, addresses and numbers; it may ask other machines, but changes nothing."""
    return [
        *_names(),
        *_closed_to_others(settings),
        *_listening(settings),
        *_webhook(settings),
        *_heartbeat(settings),
        *_pace(settings),
    ]


def _names() -> list[Finding]:
    found = []
    known = [f"DAYRUNG_{name}".upper() for name in Settings.model_fields]
    for name in unknown_settings():
        meant = difflib.get_close_matches(name.upper(), known, n=1)
        hint = f" Is {meant[0]} meant?" if meant else ""
        found.append(Finding("warn", f"There is no setting {name!a}.{hint}".replace("'", "")))
    return found


def _closed_to_others(settings: Settings) -> list[Finding]:
    """Files that others on this machine may read, as a copy by hand leaves them."""
    files = [settings.home]
    # What systemd hands over is closed by systemd.
    if settings.followed_key_file in (settings.home / "key", Path(settings.key_path)):
        files.append(settings.followed_key_file)
    found = []
    for path in files:
        with contextlib.suppress(OSError):
            if path.stat().st_mode & OTHERS_READ:
                how = "700" if path.is_dir() else "600"
                text = f"{path} can be read by others on this machine: chmod {how} {path}"
                found.append(Finding("warn", f"{text}."))
    return found


def _listening(settings: Settings) -> list[Finding]:
    where = f"{settings.host} port {settings.port}"
    try:
        listen(settings.host, settings.port).close()
    except PortTaken as error:
        if _is_ours(settings.host, settings.port):
            return [Finding("ok", f"A dayrung serve listens on {where}.")]
        return [Finding("bad", str(error))]
    except SettingsError as error:
        return [Finding("bad", str(error))]
    return [Finding("ok", f"The web server can listen on {where}.")]


def _is_ours(host: str, port: int) -> bool:
    """Whether what listens there answers as a Dayrung does."""
    connection = http.client.HTTPConnection(host, port, timeout=ANSWERS_WITHIN)
    try:
        connection.request("GET", "/health")
        answer = json.loads(connection.getresponse().read(1000))
    except (OSError, http.client.HTTPException, ValueError):
        return False
    finally:
        connection.close()
    return isinstance(answer, dict) and set(answer) == {"healthy"}


def _webhook(settings: Settings) -> list[Finding]:
    if not settings.telegram_webhook:
        return []
    found = []
    at = _split(settings.telegram_webhook)
    name = "DAYRUNG_TELEGRAM_WEBHOOK"
    if at is None or at.scheme != "https":
        found.append(Finding("bad", f"{name} is no https address."))
    elif at.username is not None or at.query or at.fragment:
        found.append(Finding("bad", f"{name} must be an address alone, without a name or a query."))
    elif (at.port or 443) not in WEBHOOK_PORTS:
        ports = ", ".join(map(str, WEBHOOK_PORTS))
        found.append(Finding("bad", f"{name}: Telegram uses the ports {ports} only."))
    if not SECRET.fullmatch(settings.telegram_secret):
        text = "DAYRUNG_TELEGRAM_SECRET must have 1 to 256 letters, digits, _ and - only."
        found.append(Finding("bad", text))
    return found or [Finding("ok", "The webhook's address and secret have the right form.")]


def _heartbeat(settings: Settings) -> list[Finding]:
    """Reached, but not called: a call would tell the monitor that all is well."""
    if not settings.heartbeat:
        text = "No outside monitor (DAYRUNG_HEARTBEAT) would notice that the service is silent."
        return [Finding("warn", text)]
    at = _split(settings.heartbeat)
    if at is None or at.scheme not in ("http", "https"):
        return [Finding("bad", "DAYRUNG_HEARTBEAT is no http or https address.")]
    place = (at.hostname or "", at.port or (443 if at.scheme == "https" else 80))
    try:
        socket.create_connection(place, ANSWERS_WITHIN).close()
    except (OSError, UnicodeError):
        return [Finding("bad", f"The outside monitor (DAYRUNG_HEARTBEAT) is not at {place[0]!a}.")]
    return [Finding("ok", "The outside monitor can be reached.")]


def _pace(settings: Settings) -> list[Finding]:
    found = []
    if settings.sends_per_second > MOST_PER_SECOND:
        text = f"DAYRUNG_SENDS_PER_SECOND: Telegram takes {MOST_PER_SECOND} messages a second."
        found.append(Finding("warn", text))
    if settings.seconds_between_sends < LEAST_BETWEEN:
        text = "DAYRUNG_SECONDS_BETWEEN_SENDS: Telegram takes one message a second to one chat."
        found.append(Finding("warn", text))
    return found


def _split(address: str) -> SplitResult | None:
    """An address in parts; ``None`` when it is none, or names no machine."""
    try:
        at = urlsplit(address)
        _ = at.port
    except ValueError:
        return None
    return at if at.hostname and not re.search(r"[\s\\]", address) else None
