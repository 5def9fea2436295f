from pathlib import Path

import pytest

from monitor.intake.forecast_file import ForecastFile, ForecastFileError, read_forecast
from monitor.model.parcel import ForecastMessage

GOOD = "time,wind,temperature\n2014-01-01T00:00:00Z,3,-1.5\n2014-01-01T02:00:00+01:00,4,-2\n"


def test_a_forecast_is_read_with_its_times() -> None:
    hour = 3_600_000
    midnight = 1_388_534_400_000
    assert read_forecast(GOOD, "f.csv") == ForecastMessage(((midnight, -1.5), (midnight + hour, -2.0)))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("time,degrees\n", "f.csv: line 1: no column temperature"),
        ("", "f.csv: line 1: no column temperature and no column time"),
        ("time,temperature\nnoon,3\n", "f.csv: line 2: Invalid isoformat"),
        ("time,temperature\n2014-01-01T00:00:00Z,cold\n", "f.csv: line 2: could not convert"),
        ("time,temperature\n2014-01-01T00:00:00,3\n", "f.csv: line 2: time '2014-01-01T00:00:00' has no offset"),
        ("time,temperature\n2014-01-01T00:00:00Z,300\n", "f.csv: line 2: 300 degC is outside"),
        ("time,temperature\n", "f.csv: has 0 hours"),
    ],
)
def test_what_is_wrong_is_said_with_its_line(text: str, said: str) -> None:
    with pytest.raises(ForecastFileError) as caught:
        read_forecast(text, "f.csv")
    assert str(caught.value).startswith(said)


def test_a_file_is_taken_once_a_change_and_its_trouble_is_said(tmp_path: Path) -> None:
    path = tmp_path / "forecast.csv"
    taken: list[ForecastMessage] = []
    watched = ForecastFile(path, taken.append)
    watched.look()
    assert watched.failing is not None
    path.write_text(GOOD)
    watched.look()
    watched.look()
    assert (len(taken), watched.failing) == (1, None)
    path.write_text(GOOD + "2014-01-01T03:00:00Z,4,-3\n")
    watched.look()
    assert len(taken[1].hours) == 3
