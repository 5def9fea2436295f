"""The reader: a message in, a parcel out. Pure, and no bytes whatever make it raise."""

from collections.abc import Mapping, Sequence

from paho.mqtt.matcher import MQTTMatcher

from monitor.intake.bare import bare_number, clock_ms, marker_nonce, text_of
from monitor.intake.channel import Channel, channel, channels_of
from monitor.intake.one_time import few_at_one_time
from monitor.intake.refusal import Refusal
from monitor.intake.senml import decode_pack
from monitor.intake.sources import Message, Source, read_with_source
from monitor.intake.times import time_order
from monitor.intake.topics import Address, Kind, Topics
from monitor.model.parcel import ClockMessage, ForecastMessage, Marker, Parcel, RawReading, RejectReason
from monitor.model.ports import Directory
from monitor.model.quantity import SPANS, Quantity
from monitor.model.surroundings import LONGEST_FORECAST
from monitor.model.vessel import Vessel

_FORECAST = {"temperature": Channel("", "temperature", is_switch=False, unit=SPANS[Quantity.TEMPERATURE].unit)}
MOST_ADDRESSES = 50_000  # topics kept taken apart
LONGEST_KEPT = 200  # characters: a topic may have 64 KiB, and those of the scheme have less than this
LARGEST = 64 * 1024  # bytes; a pack of a thousand readings is smaller


class Reader:
    """Reads the messages of one yard.

    Args:
        yard: the yard's id.
        directory: which vessels there are.
        sources: rows for sensors that do not follow the topic scheme.
    """

    def __init__(self, yard: str, directory: Directory, sources: Sequence[Source] = ()) -> None:
        self.topics = Topics(yard)
        self.sources = tuple(sources)
        self._directory = directory
        self._rows = MQTTMatcher()  # type: ignore[no-untyped-call]  # paho leaves it without annotations
        for topic_filter in {source.topic for source in self.sources}:
            self._rows[topic_filter] = [source for source in self.sources if source.topic == topic_filter]
        self._addresses: dict[str, Address] = {}
        self._channels: dict[str, tuple[Vessel, Mapping[str, Channel]]] = {}

    @property
    def filters(self) -> tuple[str, ...]:
        """What must be subscribed to for all of it to be heard, each filter once."""
        others = {s.topic: None for s in self.sources if not self.topics.covers(s.topic)}
        return (*self.topics.filters, *others)

    def read(self, topic: str, payload: bytes, *, mid: int, qos: int, session: int, retained: bool) -> Parcel:
        """Read one message. What cannot be used stands among the parcel's rejects."""
        parcel = Parcel(mid, qos, session, retained, topic)
        try:
            if len(payload) > LARGEST:
                raise Refusal(RejectReason.OVERSIZED, f"{len(payload)} bytes; {LARGEST} are taken")  # noqa: TRY301 - said once
            self._fill(parcel, payload)
        except Refusal as refusal:
            parcel.rejects.append(refusal.on(topic))
        return parcel

    def _fill(self, parcel: Parcel, payload: bytes) -> None:
        address = self._addresses.get(parcel.topic) or self._new_address(parcel.topic)
        match address.kind:
            case Kind.READINGS:
                decoded = decode_pack(payload, self._channels_of(address.vessel))
                parcel.readings, too_many = few_at_one_time(decoded.readings)
                parcel.rejects = [refusal.on(parcel.topic) for refusal in (*decoded.refusals, *too_many)]
            case Kind.CLOCK:
                parcel.clock = ClockMessage(clock_ms(payload))
            case Kind.FORECAST:
                decoded = decode_pack(payload, _FORECAST)
                parcel.rejects = [refusal.on(parcel.topic) for refusal in decoded.refusals]
                parcel.forecast = _forecast(decoded.readings)
            case Kind.MARKER:
                parcel.marker = Marker(marker_nonce(payload))
            case Kind.BARE | Kind.UNKNOWN:
                if not self._fill_from_sources(parcel, payload):
                    if address.kind is Kind.UNKNOWN:
                        raise Refusal(
                            RejectReason.UNKNOWN_TOPIC, "neither in the topic scheme nor in the sources table"
                        )
                    known = channel(self._channels_of(address.vessel), address.sensor)
                    value = known.number(bare_number(text_of(payload), known))
                    parcel.readings.append(RawReading(known.vessel, known.sensor, value))
            case Kind.NOT_FOR_US:
                pass

    def _new_address(self, topic: str) -> Address:
        address = self.topics.parse(topic)
        if len(topic) <= LONGEST_KEPT:
            if len(self._addresses) >= MOST_ADDRESSES:
                self._addresses.clear()  # a yard has fewer: somebody makes topics up
            self._addresses[topic] = address
        return address

    def _fill_from_sources(self, parcel: Parcel, payload: bytes) -> bool:
        """Read a message by every row of the table that matches; tell whether one did."""
        if not self.sources:
            return False
        matched = self._rows.iter_match(parcel.topic)  # type: ignore[no-untyped-call]  # as above
        rows: list[Source] = [row for of_filter in matched for row in of_filter]
        message = Message(parcel.topic, payload)
        for source in rows:
            try:
                parcel.readings.append(read_with_source(source, message, self._channels_of))
            except Refusal as refusal:
                parcel.rejects.append(refusal.on(parcel.topic))
        parcel.readings.sort(key=time_order)
        return bool(rows)

    def _channels_of(self, vessel_id: str) -> Mapping[str, Channel]:
        vessel = self._directory.vessel(vessel_id)
        if vessel is None:
            raise Refusal(RejectReason.UNKNOWN_VESSEL, f"no vessel {vessel_id[:60]!r} has a record in this yard")
        known = self._channels.get(vessel_id)
        if known is None or known[0] is not vessel:  # a new version of her record is another object
            known = self._channels[vessel_id] = (vessel, channels_of(vessel))
        return known[1]


def _forecast(readings: Sequence[RawReading]) -> ForecastMessage:
    """Make a forecast of a pack's values, each for its own absolute time."""
    hours = tuple((r.stated_ms, r.value) for r in readings if r.stated_ms is not None)
    span = SPANS[Quantity.TEMPERATURE]
    if not hours or len(hours) != len(readings):
        raise Refusal(RejectReason.WRONG_TIME, "a forecast states an absolute time with each temperature")
    if len(hours) > LONGEST_FORECAST:
        raise Refusal(RejectReason.OVERSIZED, f"{len(hours)} times; a forecast has at most {LONGEST_FORECAST}")
    if not all(span.low <= value <= span.high for _, value in hours):
        raise Refusal(RejectReason.NOT_A_NUMBER, f"a temperature outside {span.low:g} to {span.high:g} degC")
    return ForecastMessage(hours)
