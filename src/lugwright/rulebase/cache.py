"""A checked rule base kept in the user's cache folder, so that the next command need not read YAML again.

Only content that passed every check is kept, as JSON, under a key made of all files, the package version and the
source of the modules that shape and check it. What cannot be read or written is passed over in silence: the cache only
saves time. `LUGWRIGHT_CACHE=off` turns it off.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import lugwright

KEPT = 8  # rule bases kept; the oldest goes first

_PACKAGE = Path(__file__).parent.parent
_SHAPING = ("places", "quantities", "units", "plain_words", "plain_build", "plain_yaml", "shapes", "validation")


def key_for(layers: Sequence[Mapping[str, bytes]]) -> str:
    """The cache key of the files of every layer, from the bottom up; nothing where the cache cannot be used."""
    if os.environ.get("LUGWRIGHT_CACHE", "").strip().lower() in ("off", "0", "no", "false"):
        return ""
    total = hashlib.sha256(lugwright.__version__.encode())
    try:
        sources = [_PACKAGE / f"{name}.py" for name in _SHAPING] + sorted((_PACKAGE / "rulebase").glob("*.py"))
        for source in sources:
            total.update(hashlib.sha256(source.read_bytes()).digest())
    except OSError:
        return ""
    for raw in layers:
        total.update(len(raw).to_bytes(8, "big"))
        for name, content in sorted(raw.items()):
            total.update(hashlib.sha256(name.encode()).digest() + hashlib.sha256(content).digest())
    return total.hexdigest()[:32]


def fetch(key: str) -> bytes | None:
    """The JSON kept under a key, or None. A file whose digest does not fit is as good as none."""
    try:
        digest, _, body = _file(key).read_bytes().partition(b"\n")
    except (OSError, RuntimeError):
        return None
    return body if digest.decode("ascii", "replace") == hashlib.sha256(body).hexdigest() else None


def keep(key: str, data: Mapping[str, Any]) -> None:
    """Keep data under a key: written aside, then moved into place, so that nobody reads half a file."""
    body = json.dumps(data, ensure_ascii=False, separators=(",", ":")).encode()
    with contextlib.suppress(OSError, RuntimeError):
        path = _file(key)
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, aside = tempfile.mkstemp(prefix="rulebase-", suffix=".part", dir=path.parent)
        try:
            with os.fdopen(handle, "wb") as stream:
                stream.write(hashlib.sha256(body).hexdigest().encode() + b"\n" + body)
            os.replace(aside, path)
        except OSError:
            os.unlink(aside)
            raise
        _tidy(path.parent)


def folder() -> Path:
    """Where rule bases are kept."""
    from platformdirs import user_cache_path

    return user_cache_path("lugwright")


def _file(key: str) -> Path:
    return folder() / f"rulebase-{key}.json"


def _tidy(home: Path) -> None:
    kept = sorted(home.glob("rulebase-*.json"), key=lambda path: (-path.stat().st_mtime, path.name))
    for path in kept[KEPT:]:
        path.unlink(missing_ok=True)
