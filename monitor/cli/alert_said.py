"""What the command answers after something was done: what it is about, who has done what, and until when, yard time."""

from monitor.cli.alert_listed import opened, yard_clock
from monitor.cli.trouble import TroubleError
from monitor.messages.words import put_into_words
from monitor.model.alert import Alert
from monitor.model.inputs import BringBack, Command, EndSuppression, TakeOut
from monitor.model.named import SomebodysCommand, is_stranger
from monitor.model.scale import AlertState
from monitor.settings import Settings
from monitor.store.view import JournalView
from monitor.web.alert_shown import standing
from monitor.web.clock import YardClock
from monitor.web.commands import stranger_words
from monitor.web.unfit import STANDS_ON, stands_on


def say_done(settings: Settings, alert_id: str, command: SomebodysCommand) -> None:
    """Say how an alert stands after something was done about it."""
    with opened(settings) as view:
        alert, stored = view.alert(alert_id), view.record(command.vessel)
        if alert is None or stored is None:
            raise TroubleError(f"{alert_id}: it is not in the journal any more")
        clock = yard_clock(settings, view)
        title = put_into_words(alert.finding, stored.vessel, clock.zone, clock.now_ms).title
        print(f"{alert.id}  {stored.vessel.name}, {stored.vessel.place}: {title}")
        said = [_stands(alert, command, clock), *_stranger(settings, view, command)]
        print(*(f"  {line}" for line in said), sep="\n")


def say_done_aboard(settings: Settings, command: SomebodysCommand) -> None:
    """Say how a vessel stands after somebody said what is done aboard, or that it is over."""
    with opened(settings) as view:
        now = next(iter(view.vessels_now({command.vessel})), None)
        if now is None:
            raise TroubleError(f"{command.vessel}: she is not in the journal any more")
        vessel, clock = now.stored.vessel, yard_clock(settings, view)
        print(f"{vessel.name}, {vessel.place}")
        if isinstance(command, EndSuppression) or now.aboard is None:
            said = f"What was done aboard is over, says {command.actor}. Her alerts are told again."
        else:
            note = f": {now.aboard.note}" if now.aboard.note else ""
            until = f"until {clock.whole(now.aboard.until_ms)}, yard time"
            reason = f"{now.aboard.reason[:1].upper()}{now.aboard.reason[1:]}"
            said = (
                f"{reason} {until}, says {now.aboard.actor}{note}. Her alerts are put aside until then;"
                " water at a float or a high mark is told all the same."
            )
        print(*(f"  {line}" for line in (said, *_stranger(settings, view, command))), sep="\n")


def _stands(alert: Alert, command: Command, clock: YardClock) -> str:
    if not alert.is_open:
        return " ".join([*standing(alert, clock), "It has ended with that."])
    if alert.state is AlertState.SHELVED and alert.aside_until_ms is not None:
        why = alert.aside_why.rstrip(".")
        until = f"until {clock.whole(alert.aside_until_ms)}, yard time"
        return f"Put aside by {alert.aside_by} {until}: {why}. Nobody is told of it until then, unless it gets worse."
    if isinstance(command, TakeOut):
        return " ".join([standing(alert, clock)[-1], "Nobody is told of it until a manager brings it back."])
    if isinstance(command, BringBack):
        return " ".join([f"Brought back by {command.actor}: it is told of again.", *standing(alert, clock)])
    return " ".join([*standing(alert, clock), *([STANDS_ON] if stands_on(command, alert) else [])])


def _stranger(settings: Settings, view: JournalView, command: SomebodysCommand) -> list[str]:
    stored = view.record(command.vessel)
    owner = None if stored is None else stored.vessel.owner
    return [stranger_words(command.actor)] if is_stranger(command.actor, settings.roster, owner) else []
