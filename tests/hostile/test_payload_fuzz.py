"""Messages of every malice, through reader, fleet, writer and journal: taken in range, or refused and counted."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from monitor.intake.one_time import MOST_AT_ONE_TIME
from monitor.intake.plain_pack import MOST_RECORDS
from monitor.intake.reader import LARGEST, LONGEST_KEPT, MOST_ADDRESSES
from monitor.model.parcel import RejectReason
from tests.hostile.mutants import Mutants
from tests.hostile.tokens import AT_S, BAD_TOPICS, GOOD_TOPICS, KEYS, ODD_JSON, ODD_NUMBERS, SENSORS, bombs
from tests.hostile.tried import Tried

SPOILT = 8_000
READINGS = "layup/quay/tern/readings"


@pytest.fixture
def tried(tmp_path: Path) -> Iterator[Tried]:
    made = Tried(tmp_path)
    yield made
    made.close()


def test_thousands_of_spoilt_messages_are_taken_in_range_or_refused_with_a_reason(tried: Tried) -> None:
    mutants = Mutants(7)
    for _ in range(SPOILT):
        tried.send(*mutants.next())
    tally = tried.finish()
    assert tally.readings > SPOILT / 20, "hardly anything got past the parser: the fuzzer tries too little"
    assert len(tally.reasons) == len(RejectReason), "each reason for which a message is refused is met"


def test_every_bomb_on_every_topic_is_over_within_a_second(tried: Tried) -> None:
    for topic in GOOD_TOPICS:
        for bomb in bombs():
            assert len(bomb) <= LARGEST + 5_000
            tried.send(topic, bomb)
    tried.finish()


def test_every_odd_number_on_every_bare_topic(tried: Tried) -> None:
    for number in ODD_NUMBERS:
        for sensor in ("engine-space", "bilge-float"):
            tried.send(f"layup/quay/tern/{sensor}", number.encode())
            tried.send("cellar/tern/float", number.encode(), retained=True)
    tried.finish()


def test_every_odd_topic(tried: Tried) -> None:
    for topic in BAD_TOPICS:
        parcel = tried.send(topic, b"4.5")
        assert not parcel.readings, topic[:80]
    tried.finish()


records = st.dictionaries(
    st.sampled_from(KEYS), st.sampled_from((*ODD_JSON, *(f'"{s}"' for s in SENSORS), str(AT_S))), max_size=6
).map(lambda fields: "{" + ",".join(f'"{key}":{value}' for key, value in fields.items()) + "}")
hostile_packs = st.lists(records, max_size=8).map(lambda made: f"[{','.join(made)}]".encode())
payloads = st.binary(max_size=200) | st.text(max_size=100).map(str.encode) | hostile_packs
topics = st.sampled_from(GOOD_TOPICS) | st.text(max_size=60) | st.sampled_from(BAD_TOPICS)


@settings(max_examples=30, deadline=None, derandomize=True)
@given(st.lists(st.tuples(topics, payloads, st.booleans()), min_size=20, max_size=60))
def test_no_run_of_messages_stops_the_writer(
    tmp_path_factory: pytest.TempPathFactory, messages: list[tuple[str, bytes, bool]]
) -> None:
    tried = Tried(tmp_path_factory.mktemp("fuzz"))
    try:
        for topic, payload, retained in messages:
            tried.send(topic, payload, retained=retained)
        tried.finish()
    finally:
        tried.close()


def test_a_version_beyond_every_float_is_refused_and_does_not_raise(tried: Tried) -> None:
    huge = b'[{"bver":1' + b"0" * 400 + b',"n":"engine-space","v":4}]'
    reject = tried.send(READINGS, huge).rejects[0]
    assert reject.detail.startswith("SenML version 1000")


def test_a_pack_of_more_records_than_can_be_meant_is_refused_whole(tried: Tried) -> None:
    most = b'[{"bn":"engine-space"}' + b',{"v":1}' * MOST_RECORDS + b"]"
    parcel = tried.send(READINGS, most)
    assert parcel.readings == []
    assert [reject.reason for reject in parcel.rejects] == [RejectReason.OVERSIZED]


def test_of_thousands_of_values_of_one_time_a_few_are_taken_and_the_rest_are_counted(tried: Tried) -> None:
    many = b'[{"bn":"engine-space"}' + b',{"v":1}' * (MOST_RECORDS - 1) + b"]"
    parcel = tried.send(READINGS, many)
    assert len(parcel.readings) == MOST_AT_ONE_TIME
    assert parcel.rejects[0].detail.startswith("engine-space: 3979 values beyond 20 of one time")


def test_the_largest_pack_with_a_time_for_each_value_is_taken_whole(tried: Tried) -> None:
    count = 2_000
    timed = b",".join(b'{"n":"outside","v":1,"t":%d}' % -n for n in range(count))
    pack = b'[{"bt":%d},' % AT_S + timed + b"]"
    assert len(pack) <= LARGEST
    parcel = tried.send(READINGS, pack)
    assert (len(parcel.readings), parcel.rejects) == (count, [])


def test_a_pack_that_states_no_value_at_all_is_refused_and_counted(tried: Tried) -> None:
    parcel = tried.send(READINGS, b'[{"bn":"engine-space"},{"bt":1383300000}]')
    assert [reject.detail for reject in parcel.rejects] == ["no record of it states a value"]


def test_topics_made_up_by_somebody_do_not_fill_the_memory(tried: Tried) -> None:
    for number in range(200):
        tried.send(f"layup/quay/tern/{number}" + "k" * 60_000, b"1")
    kept = tried.reader._addresses
    assert sum(len(topic) for topic in kept) <= MOST_ADDRESSES * LONGEST_KEPT
    assert all(len(topic) <= LONGEST_KEPT for topic in kept)
