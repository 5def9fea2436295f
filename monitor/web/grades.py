"""What somebody must be to ask what: one line a route. What stands in no line is for nobody."""

from monitor.model.access import Grade

OPEN = frozenset(
    {
        ("GET", "/static/charts/{name}"),
        ("GET", "/static/{digest}/{name}"),
        ("GET", "/healthz"),
        ("GET", "/sign-in"),
        ("POST", "/sign-in"),
        ("GET", "/join/{invitation}"),
        ("POST", "/join/{invitation}"),
        ("GET", "/in/{secret}"),
        # Links in messages: signed, for one reader and one call, and used once.
        ("GET", "/a/{token}"),
        ("HEAD", "/a/{token}"),
        ("POST", "/a/{token}"),
    }
)
"""For whoever can reach the server."""

_OWNER = (
    ("GET", "/"),
    ("GET", "/rows"),
    ("GET", "/since"),
    ("POST", "/since"),
    ("GET", "/changes"),
    ("GET", "/vessels/{vessel_id}"),
    ("GET", "/vessels/{vessel_id}/charts.json"),
    ("GET", "/vessels/{vessel_id}/owner.json"),
    ("GET", "/vessels/{vessel_id}/report.pdf"),
    ("GET", "/alerts/{alert_id}"),
    ("GET", "/rules"),
    ("GET", "/rules/{name}"),
    ("GET", "/vessels/{vessel_id}/visits/{at_ms}"),
    ("GET", "/vessels/{vessel_id}/photos/{photo_id}"),
    ("GET", "/calls"),
    ("GET", "/calls/{call_id}"),
    ("GET", "/visits"),
    ("GET", "/calendar.ics"),
    ("POST", "/sign-out"),
    # An owner may take on what is handed to them, and nothing else: asked further in (`commands.act_on_alert`).
    ("POST", "/alerts/{alert_id}/{act}"),
    ("POST", "/api/alerts/{alert_id}/accept"),
    ("GET", "/api/openapi.json"),
    ("GET", "/api/alerts"),
    ("GET", "/api/alerts/{alert_id}"),
    ("GET", "/api/calls"),
    ("GET", "/api/calls/{call_id}"),
    ("GET", "/api/vessels"),
    ("GET", "/api/vessels/{vessel_id}"),
    ("GET", "/api/vessels/{vessel_id}/readings"),
    ("GET", "/api/vessels/{vessel_id}/readings.csv"),
    ("GET", "/api/vessels/{vessel_id}/record"),
    ("GET", "/api/visits"),
)
_YARD = (
    ("GET", "/round"),
    ("GET", "/coolant"),
    ("GET", "/undelivered"),
    ("GET", "/load"),
    ("GET", "/rejects"),
    ("GET", "/metrics"),
    ("GET", "/alerts/{alert_id}/incident.zip"),
    ("GET", "/vessels/{vessel_id}/visit"),
    ("POST", "/vessels/{vessel_id}/visit"),
    ("GET", "/vessels/{vessel_id}/record"),
    ("GET", "/vessels/{vessel_id}/work"),
    ("GET", "/vessels/{vessel_id}/work/{job_id}"),
    ("GET", "/api/vessels/{vessel_id}/work"),
    ("GET", "/vessels/{vessel_id}/gate"),
    ("GET", "/vessels/{vessel_id}/gate/{item_id}"),
    # Overriding, and opening her for the lift, are for engineers: asked further in (`gate_in.say`).
    ("POST", "/vessels/{vessel_id}/gate"),
    ("POST", "/vessels/{vessel_id}/gate/{item_id}"),
    ("POST", "/vessels/{vessel_id}/aboard"),
    ("POST", "/vessels/{vessel_id}/ashore"),
    ("POST", "/calls/{call_id}/acknowledge"),
    ("POST", "/undelivered/{notice_id}/again"),
    ("GET", "/api/undelivered"),
    ("POST", "/api/undelivered/{notice_id}/again"),
    ("GET", "/api/load"),
    ("GET", "/api/rejects"),
    ("GET", "/api/round"),
    ("POST", "/api/alerts/{alert_id}/acknowledge"),
    ("POST", "/api/alerts/{alert_id}/confirm"),
    ("POST", "/api/alerts/{alert_id}/hand-over"),
    ("POST", "/api/alerts/{alert_id}/shelve"),
    ("POST", "/api/alerts/{alert_id}/bring-back"),
    # Whether they are a manager is asked further in, with the reason in words.
    ("POST", "/api/alerts/{alert_id}/out-of-service"),
    ("POST", "/api/vessels/{vessel_id}/aboard"),
    ("DELETE", "/api/vessels/{vessel_id}/aboard"),
    ("POST", "/api/vessels/{vessel_id}/visits"),
    ("GET", "/api/vessels/{vessel_id}/gate"),
    ("POST", "/api/vessels/{vessel_id}/gate"),
    ("POST", "/api/vessels/{vessel_id}/gate/{item_id}"),
)
_ENGINEER = (
    ("GET", "/vessels/new"),
    ("POST", "/vessels/new"),
    ("GET", "/vessels/{vessel_id}/record/{part}"),
    ("POST", "/vessels/{vessel_id}/record/{part}"),
    ("GET", "/vessels/{vessel_id}/record/{part}/{entry}"),
    ("POST", "/vessels/{vessel_id}/record/{part}/{entry}"),
    ("PUT", "/api/vessels/{vessel_id}/record"),
    ("POST", "/vessels/{vessel_id}/work/{job_id}"),
    ("POST", "/api/vessels/{vessel_id}/work/{job_id}"),
)
_MANAGER = (
    ("GET", "/settings"),
    ("GET", "/people"),
    ("POST", "/people"),
    ("POST", "/people/{login}/invite"),
    ("POST", "/people/{login}/remove"),
    ("POST", "/people/links"),
    ("POST", "/people/secrets/{secret_id}/revoke"),
)

LEAST: dict[tuple[str, str], Grade] = {
    **dict.fromkeys(_OWNER, Grade.OWNER),
    **dict.fromkeys(_YARD, Grade.YARD),
    **dict.fromkeys(_ENGINEER, Grade.ENGINEER),
    **dict.fromkeys(_MANAGER, Grade.MANAGER),
}
"""The least grade for each method and path; owners see of it what `sight.may_see` lets them."""
