"""Who may look and mark: the one-time token of the address, the sessions it starts.

The token stands in the address and its QR code. Looking at the address uses nothing
up, so a code reader's preview does no harm; the first touch on the page trades the
token for a session and a new token takes its place. Both live in memory only.
"""

from __future__ import annotations

import base64
import hashlib
import hmac
import re
import secrets
from collections import OrderedDict

TOKEN_BYTES = 10
"""80 bits: 16 letters and digits, still short enough for a small QR code."""
_TOKEN = re.compile(f"[A-Za-z2-7]{{{TOKEN_BYTES * 8 // 5}}}")
SESSION_BYTES = 32
MOST_SESSIONS = 32
"""With one more the oldest has to pair again."""


class Pairing:
    """The token that is good now, and the sessions that were started."""

    def __init__(self) -> None:
        self._sessions: OrderedDict[bytes, str] = OrderedDict()
        self._count = 0
        self.token = self._new_token()
        """Good for one pairing; any thread may read it."""

    @property
    def paired(self) -> int:
        """How many phones have a session."""
        return len(self._sessions)

    def is_token(self, text: str) -> bool:
        """Say whether this is the token; in the same time for every wrong one."""
        given = text.upper().encode(errors="replace")
        return hmac.compare_digest(given, self.token.encode())

    def pair(self, token: str) -> str | None:
        """Trade the token for a new session's secret; None: it is not the token."""
        if not self.is_token(token):
            return None
        self.token = self._new_token()
        secret = secrets.token_hex(SESSION_BYTES)
        self._count += 1
        self._sessions[_digest(secret)] = f"phone {self._count}"
        if len(self._sessions) > MOST_SESSIONS:
            self._sessions.popitem(last=False)
        return secret

    def session(self, secret: str) -> str | None:
        """Return the name of the session this secret belongs to, or None."""
        return self._sessions.get(_digest(secret))

    def _new_token(self) -> str:
        return base64.b32encode(secrets.token_bytes(TOKEN_BYTES)).decode()


def could_be_token(text: str) -> bool:
    """Say whether this has the form of a token (RFC 4648, section 6: base 32)."""
    return _TOKEN.fullmatch(text) is not None


def _digest(secret: str) -> bytes:
    """Look secrets up by digest, so that time tells nothing of how near one was."""
    return hashlib.sha256(secret.encode()).digest()
