"""Makes hostile messages from a seed: good ones spoilt, odd values in every field, bombs, and plain noise."""

from random import Random

from tests.hostile.tokens import AT_S, BAD_TOPICS, GOOD_TOPICS, KEYS, ODD_JSON, ODD_NUMBERS, SENSORS, bombs, packs

_PIECES = tuple(
    piece.encode("utf-8", "surrogatepass") for piece in (*ODD_NUMBERS, *ODD_JSON, *(f'"{k}":' for k in KEYS))
)
_BRACKETS = (b"[", b"]", b"{", b"}", b'"', b",", b":", b"\\", b"\x00", b"\xff", b"-", b"e", b".")
BOMB_EVERY = 2_000  # they cost a thousand times what others do, and are few
BAD_TOPIC_CHANCE = 0.08
READINGS_CHANCE = 0.4
AT_TEXT = b"%d" % AT_S
MOST_SPOILT = 6


class Mutants:
    """An endless run of (topic, payload), the same for the same seed."""

    def __init__(self, seed: int) -> None:
        self._random = Random(seed)
        self._packs = packs()
        self._bombs = bombs()
        self._made = 0

    def next(self) -> tuple[str, bytes]:
        """Make one message."""
        self._made += 1
        random = self._random
        if self._made % BOMB_EVERY == 0:
            return random.choice(GOOD_TOPICS), random.choice(self._bombs)
        topics = BAD_TOPICS if random.random() < BAD_TOPIC_CHANCE else GOOD_TOPICS
        topic = topics[0] if topics is GOOD_TOPICS and random.random() < READINGS_CHANCE else random.choice(topics)
        if topics is GOOD_TOPICS and random.random() < BAD_TOPIC_CHANCE:
            topic = self._spoilt_topic(topic)
        return topic, self._payload().replace(AT_TEXT, b"%d.%d" % (AT_S + self._made // 10, self._made % 10))

    def _payload(self) -> bytes:
        random = self._random
        way = random.randrange(8)
        if way == 0:
            return random.randbytes(random.randrange(60))
        if way == 1:
            return random.choice(_PIECES)
        if way in {2, 3}:
            return self._odd_pack()
        if way == 4:
            return random.choice(self._packs)
        return self._spoilt(bytearray(random.choice(self._packs)))

    def _odd_pack(self) -> bytes:
        """Make a pack whose form is right and whose values are not."""
        random = self._random
        records = []
        for _ in range(random.randrange(1, 5)):
            fields = [f'"{random.choice(KEYS)}":{random.choice(ODD_JSON)}' for _ in range(random.randrange(4))]
            if random.random() < 0.7:
                fields.append(f'"n":"{random.choice(SENSORS)}"')
            if random.random() < 0.7:
                fields.append(f'"v":{random.choice(ODD_JSON)}' if random.random() < 0.5 else '"v":4.5')
            records.append("{" + ",".join(fields) + "}")
        return ("[" + ",".join(records) + "]").encode()

    def _spoilt(self, payload: bytearray) -> bytes:
        random = self._random
        for _ in range(random.randrange(1, random.randrange(2, MOST_SPOILT))):
            at = random.randrange(len(payload) + 1)
            way = random.randrange(6)
            if way == 0 and payload:
                payload[at % len(payload)] ^= 1 << random.randrange(8)
            elif way == 1:
                del payload[at : at + random.randrange(12)]
            elif way == 2:
                payload[at:at] = random.choice(_PIECES)
            elif way == 3:
                payload[at:at] = random.choice(_BRACKETS)
            elif way == 4:
                payload[at : at + random.randrange(8)] = random.choice(_PIECES)
            else:
                payload[at:at] = payload[at : at + random.randrange(40)]
        return bytes(payload)

    def _spoilt_topic(self, topic: str) -> str:
        random = self._random
        at = random.randrange(len(topic) + 1)
        return (
            topic[:at]
            + random.choice(("/", "+", "#", "\x00", "\x1b", "\n", "é", "x" * 300, "..", ""))
            + topic[at + 1 :]
        )
