"""The clock of a gateway, which stamps readings and can be wrong."""

DAY_MS = 86_400_000


class GatewayClock:
    """A clock that is right until something is done to it. All times are ms UTC."""

    __slots__ = ("_ahead_ms", "_drift_s_per_day", "_since_ms")

    def __init__(self) -> None:
        self._ahead_ms = 0
        self._drift_s_per_day = 0.0
        self._since_ms = 0

    @property
    def is_right(self) -> bool:
        """Whether it is right and stays so."""
        return not self._ahead_ms and not self._drift_s_per_day

    def reads(self, true_ms: int) -> int:
        """Say what it shows at a time; never before 1970, where its count begins."""
        drifted_ms = self._drift_s_per_day * 1000 * (true_ms - self._since_ms) / DAY_MS
        return max(true_ms + self._ahead_ms + round(drifted_ms), 0)

    def jump(self, by_ms: int) -> None:
        """Be set ahead (or back, below 0) by so much: an hour at a clock change that nobody should have made."""
        self._ahead_ms += by_ms

    def drift(self, s_per_day: float, from_ms: int) -> None:
        """Gain so many seconds a day (or lose them, below 0) from a time on; what it was wrong by before, it keeps."""
        self._ahead_ms = self.reads(from_ms) - from_ms
        self._since_ms = from_ms
        self._drift_s_per_day = s_per_day

    def forget(self, at_ms: int, restarts_at_ms: int = 0) -> None:
        """Lose the time: it begins again in 1970, or at another time such as the day its program was made."""
        self._ahead_ms = restarts_at_ms - at_ms
        self._since_ms = at_ms

    def set_right(self) -> None:
        """Be set, and kept right from then on, by a time server that it has found again."""
        self._ahead_ms = 0
        self._drift_s_per_day = 0.0
