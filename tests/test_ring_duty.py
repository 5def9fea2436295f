"""The duty phone rung by the real program: a test message through a real broker's agent to a real mail server."""

from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest
from fixtures_broker import Broker, free_port
from notify.servers import MailServer
from test_agent import Yard


@pytest.fixture
def yard(tmp_path: Path, broker: Broker) -> Iterator[Yard]:
    mail = MailServer(free_port()).start()
    made = Yard(tmp_path, broker, mail)
    assert made.command("vessel", "import", str(made.record)).returncode == 0
    made.start()
    yield made
    if made.process is not None and made.process.poll() is None:
        made.process.kill()
        made.process.wait()
    mail.stop()


@pytest.mark.broker
def test_a_test_message_comes_to_whoever_has_the_duty_and_the_page_says_that_it_was_sent(yard: Yard) -> None:
    base = f"http://127.0.0.1:{yard.web}"
    page = "/vessels/tern/commission"
    with httpx.Client(base_url=base, headers={"Origin": base}, follow_redirects=True, timeout=20) as client:
        assert client.post(f"{page}/ring", data={"name": "R. Invented"}).status_code == 200
        yard.until(lambda: len(yard.mail.box.taken) == 1)
        ((to, mail),) = yard.mail.box.taken
        assert to == "duty@example.org"
        assert mail["Subject"] == "[Test] Quay: can you be reached?"
        body = mail.get_body(("plain",))
        assert body is not None
        assert "R. Invented takes on the watch of Tern at plot B4" in body.get_content()
        yard.until(lambda: "Duty, by e-mail: sent" in client.get(page).text)
        # The other pages that show messages and calls get on with one that is of no call.
        for other in ("/", "/calls", "/undelivered", "/load", "/vessels/tern"):
            assert client.get(other).status_code == 200
    # Nothing was opened, and nothing else is told.
    assert yard.get("/api/calls") == []
    assert len(yard.mail.box.taken) == 1
