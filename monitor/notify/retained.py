"""An alert as the retained message that other programs read at the broker."""

import json
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from monitor.messages.phrases import FALLBACK_LANGUAGE
from monitor.messages.words import newest_ms, put_into_words
from monitor.model.alert import Alert
from monitor.model.vessel import Vessel

ROOT = "layup-alerts"
GONE = b'{"gone":true}'


def alert_topic(yard: str, alert: Alert) -> str:
    """Give the topic an alert is retained at."""
    return f"{ROOT}/{yard}/{alert.vessel}/{alert.id}"


def agent_topic(yard: str) -> str:
    """Give the topic at which the agent's last heartbeat is retained."""
    return f"{ROOT}/{yard}/agent"


def alert_payload(alert: Alert, vessel: Vessel, zone: ZoneInfo, language: str = FALLBACK_LANGUAGE) -> bytes:
    """Write an alert as JSON (UTF-8); the same alert and record always give the same bytes.

    ``confirmed`` is when somebody who was aboard last said how it stands, ``has_it`` who sees to it, and
    ``aside_until`` when an alert that was shelved or suppressed comes back. Times are ISO 8601 in UTC. Times to harm
    are seconds from ``as_of``; null where they cannot be said, and ``harm_high_s`` also where the high estimate is
    open-ended.
    """
    now_ms, finding = newest_ms(alert), alert.finding
    words = put_into_words(finding, vessel, zone, now_ms, language)
    harm = finding.harm
    body = {
        "id": alert.id,
        "vessel": alert.vessel,
        "name": vessel.name,
        "place": vessel.place,
        "rule": alert.rule,
        "subject": alert.subject,
        "kind": finding.kind,
        "state": alert.state.value,
        "priority": alert.priority.word,
        "opened": iso_utc(alert.opened_ms),
        "returned": iso_utc(alert.returned_ms),
        "acknowledged": iso_utc(alert.acknowledged_ms),
        "confirmed": iso_utc(alert.confirmed_ms),
        "has_it": alert.has_it,
        "aside_until": iso_utc(alert.aside_until_ms),
        "as_of": iso_utc(now_ms),
        "title": words.title,
        "what": words.what,
        "sure": finding.sure.value,
        "first": words.first,
        "never": words.never,
        "harm_low_s": None if harm is None else harm.low_s,
        "harm_high_s": None if harm is None else harm.high_s,
    }
    return json.dumps(body, ensure_ascii=False, separators=(",", ":"), allow_nan=False).encode()


def iso_utc(at_ms: int | None) -> str | None:
    """Write a time (ms UTC) as ISO 8601 to the second, None where there is none."""
    if at_ms is None:
        return None
    return datetime.fromtimestamp(at_ms / 1000, UTC).isoformat(timespec="seconds").replace("+00:00", "Z")
