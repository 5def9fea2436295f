"""What hostile messages are made of: good packs to spoil, and pieces that break readers elsewhere."""

import json

VESSELS = ("tern", "gull", "agent", "", "..", "t" * 70_000)
SENSORS = ("engine-space", "bilge-level", "bilge-float", "house-volts", "outside", "keel", "readings", "forecast")

GOOD_TOPICS = (
    "layup/quay/tern/readings",
    "layup/quay/tern/engine-space",
    "layup/quay/tern/bilge-level",
    "layup/quay/tern/bilge-float",
    "layup/quay/tern/house-volts",
    "layup/quay/forecast",
    "layup/quay/agent/marker",
    "layup/quay/agent/clock",
    "layup/quay/agent",
    "cellar/tern/climate",
    "cellar/tern/float",
)
BAD_TOPICS = (
    "layup/quay/tern/+",
    "layup/quay/#",
    "layup/+/tern/engine-space",
    "$SYS/broker/version",
    "$share/a/layup/quay/tern/readings",
    "layup//tern/readings",
    "layup/quay//readings",
    "layup/quay/tern/",
    "/layup/quay/tern/readings",
    "",
    "/",
    "//////",
    "layup/quay/tern/readings\x00",
    "layup/quay/tern/engine-space\x1b[2J",
    "layup/quay/tern/\r\nBcc: all@example.invalid",
    "layup/quay/tern/<script>alert(1)</script>",
    "layup/quay/t\N{CYRILLIC SMALL LETTER IE}rn/readings",
    "layup/quay/tern/\N{RIGHT-TO-LEFT OVERRIDE}daer",
    "layup/quay/tern/\ud800",
    "layup/quay/" + "/" * 60_000,
    "layup/quay/tern/" + "k" * 65_000,
    "layup/" + "quay/" * 13_000,
    "cellar/" + "x" * 60_000 + "/climate",
    "cellar/\N{SNOWMAN}/climate",
)

ODD_NUMBERS = (
    *("1e999", "-1e999", "1e308", "-1e308", "1e-400", "0x10", "1_000", "\u0661\u0662", "NaN", "Infinity", "-Infinity"),
    *("nan", "inf", "", " ", " 4.5 ", "4,5", "+4", "--4", "4.", ".5", "1e", "e1", "1e+", "0" * 300, "9" * 300),
    *(
        "9" * 5_000,
        "1" + "0" * 400,
        "-0",
        "-0.0",
        "1e9",
        "1000000001",
        "0b1",
        "1f",
        "0777",
        "\u00bd",
        "\uff11",
        "1\x000",
    ),
    *(
        "true",
        "TRUE",
        "on",
        "oN",
        "off",
        "null",
        "yes",
        "1 2",
        "4\n",
        "\n4",
        "\t4\r\n",
        "4\x0b",
        "\ufeff4",
        "253402300800000",
    ),
)

ODD_JSON = (
    *('"\\ud800"', '"\\udc00\\ud800"', '"\\u0000"', '"' + "a" * 9_000 + '"', "[]", "{}", "[[]]", "[" * 150 + "]" * 150),
    *(
        "[" * 5_000,
        '{"a":' * 150 + "1" + "}" * 150,
        "NaN",
        "Infinity",
        "-Infinity",
        "1e308",
        "-1e308",
        "1e309",
        "1e999",
    ),
    *(
        "1" + "0" * 400,
        "9" * 4_200,
        "9" * 5_000,
        "-0",
        "true",
        "false",
        "null",
        "2147483648",
        "268435456",
        "-268435456",
    ),
    *(
        "253402300800",
        "253402300799.9999",
        "1700000000000",
        "1e-320",
        "0.1",
        "11",
        '"on"',
        '"off"',
        '"block\\n\\u001b[2J"',
    ),
    *(
        '"engine-space"',
        '"bilge-float"',
        '"urn:dev:ow:10e2:engine-space"',
        '"Cel"',
        '"mm"',
        '"/"',
        '"%RH"',
        "4.5",
        "1",
        "0",
    ),
)
KEYS = (
    "bn",
    "bt",
    "bu",
    "bv",
    "bs",
    "bver",
    "n",
    "u",
    "v",
    "vs",
    "vb",
    "vd",
    "s",
    "t",
    "ut",
    "x_",
    "",
    "N",
    "__class__",
)

AT_S = 1_383_300_000  # an hour after the lay-up of tests' boats: the clock of `tried` begins there


def packs() -> tuple[bytes, ...]:
    """Give packs as devices send them, and one of each form that the RFC allows."""
    plain = [{"bt": AT_S, "n": "engine-space", "u": "Cel", "v": 4.5}, {"n": "bilge-level", "u": "m", "v": 0.02}]
    based = [{"bn": "layup/quay/tern/", "bt": AT_S, "bu": "Cel", "bv": 1}, {"n": "outside", "v": 2, "t": -60}]
    switch = [{"n": "bilge-float", "vb": True}, {"n": "bilge-float", "vs": "off", "t": -30}]
    forecast = [{"bt": AT_S, "n": "temperature", "u": "Cel", "v": -1}, {"n": "temperature", "t": 3600, "v": -2}]
    climate = {"t": 4.5, "mm": [{"level": 12}], "at": AT_S, "float": True}
    made = [json.dumps(form).encode() for form in (plain, based, switch, forecast, climate, [*plain, *based, *switch])]
    return (*made, b"4.5", b"on", b"1383300000000", b"a-marker")


def bombs() -> tuple[bytes, ...]:
    """Give packs within 64 KiB that cost a careless reader its memory, its time or its life."""
    named = b",".join(b'{"n":"s%d","v":1}' % n for n in range(3_000))
    doubled = b",".join(b'"v":%d' % n for n in range(6_000))
    return (
        b"[" + named + b"]",
        b'[{"n":"engine-space","v":1' + b"0" * 400 + b"}]",
        b'[{"bver":1' + b"0" * 400 + b'},{"n":"engine-space","v":1}]',
        b'[{"bver":-1' + b"0" * 400 + b'},{"n":"engine-space","v":1}]',
        b'[{"bn":"engine-space"}' + b',{"v":1}' * 8_000 + b"]",
        b'[{"bn":"bilge-float"}' + b',{"vb":true}' * 5_000 + b"]",
        b'[{"bn":"engine-space"}' + b',{"v":1,"t":5}' * 4_000 + b"]",
        b"[" + b"{}," * 20_000 + b'{"n":"engine-space","v":1}]',
        b"[" + b"1," * 30_000 + b"1]",
        b'[{"bn":"' + b"a/" * 15_000 + b'"}' + b',{"n":"engine-space","v":1}' * 1_000 + b"]",
        b'[{"bv":1e308,"n":"engine-space","v":1e308}]',
        b'[{"bt":1e308,"n":"engine-space","v":1,"t":1e308},{"n":"engine-space","v":1,"t":-1e308}]',
        b'[{"bt":-1e308,"n":"bilge-float","vb":true,"t":-1e308}]',
        b'[{"n":"engine-space",' + doubled + b"}]",
        b"[" * 60_000,
        b'{"a":' * 10_000,
        b'["' + b"\\u0000" * 10_000 + b'"]',
        b"\xef\xbb\xbf" + b'[{"n":"engine-space","v":1}]',
        b'[{"n":"engine-space","v":1}]'.decode().encode("utf-16"),
        b"\xff\xfe\x00" * 100,
        b" " * 64_000 + b"1",
        b" " * 70_000 + b"1",
        b'[{"bs":1e308,"n":"engine-space","s":1e308}]',
        b'[{"n":"engine-space","vd":"aGk"},{"n":"engine-space","v":1,"vb":true,"vs":"x"}]',
        b'{"mm":' + b"[" * 190 + b"1" + b"]" * 190 + b"}",
        b'{"t":' + b"9" * 4_200 + b',"at":' + b"9" * 4_200 + b"}",
    )
