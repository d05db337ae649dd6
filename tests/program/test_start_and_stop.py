"""The program as a user meets it: the address line, friendly refusals, a prompt end."""

import json
import os
import signal
import socket
import sqlite3
import subprocess
import time
from contextlib import closing
from pathlib import Path

import pytest
from process_help import ringwright, running
from shop_help import ledger_line, simple_piece
from warm_program import warm

from server.access.addresses import private_addresses


def refused(*arguments: str) -> str:
    """What the program says when it does not start."""
    done = subprocess.run(
        ringwright(*arguments), capture_output=True, text=True, timeout=60, check=False
    )
    assert done.returncode == 1, done
    assert done.stdout == ""
    assert "Traceback" not in done.stderr
    assert done.stderr.startswith("ringwright: ")
    return done.stderr


def test_it_answers_once_it_has_said_where(tmp_path: Path) -> None:
    with running(tmp_path, "--empty") as server:
        assert server.host == "127.0.0.1"
        status, health = server.ask("GET", "/api/health")
        assert (status, health["status"]) == (200, "ok")
        assert health["version"]
        assert server.ask("GET", "/api/pieces") == (200, {"items": []})
        assert (tmp_path / "ringwright.db").is_file()


def test_the_first_start_puts_out_the_demo_and_no_later_one(tmp_path: Path) -> None:
    with running(tmp_path) as server:
        pieces = server.ask("GET", "/api/pieces")[1]["items"]
        assert len(pieces) == 1
        assert server.ask("GET", "/api/rack")[1]["items"]
        assert server.ask("DELETE", f"/api/pieces/{pieces[0]['id']}")[0] == 200
        server.kill()
    with running(tmp_path) as server:
        assert server.ask("GET", "/api/pieces") == (200, {"items": []})


def test_it_ends_within_three_seconds_with_ten_streams_open(tmp_path: Path) -> None:
    with running(tmp_path, "--empty") as server:
        piece = server.ask("POST", "/api/pieces", simple_piece())[1]["id"]
        streams = [server.stream() for _ in range(10)]
        lines = [ledger_line(piece) for _ in range(5)]
        for line in lines:
            assert server.ask("POST", "/api/ledger", line)[0] == 200
        began = time.monotonic()
        server.process.send_signal(signal.SIGTERM)
        server.process.wait(timeout=20)
        took = time.monotonic() - began
        assert took <= 3, f"took {took:.1f} s"
        for stream in streams:
            with stream:
                while stream.recv(65536):
                    pass  # every stream is ended, not broken off
        assert server.process.returncode in (0, -signal.SIGTERM)
        assert "Traceback" not in server.process.communicate()[1]
    with running(tmp_path) as server:
        kept = server.ask("GET", "/api/ledger")[1]["items"]
        assert [line["id"] for line in kept] == [line["id"] for line in lines]


def test_control_c_ends_it_without_a_word(tmp_path: Path) -> None:
    with running(tmp_path, "--empty") as server:
        server.process.send_signal(signal.SIGINT)
        assert server.process.communicate(timeout=20) == ("", "")
        assert server.process.returncode == 0


def test_a_timer_is_the_same_to_the_microsecond_after_a_kill(tmp_path: Path) -> None:
    with warm(tmp_path, "--empty") as server:
        piece = server.ask("POST", "/api/pieces", simple_piece())[1]["id"]
        sent = ledger_line(piece, "clamped", data={"minutes": 40.5, "faceplate": "F1"})
        before = server.ask("POST", "/api/ledger", sent)[1]
        server.kill()
    with warm(tmp_path) as server:
        assert server.ask("GET", "/api/ledger")[1]["items"] == [before]
        assert server.ask("POST", "/api/ledger", sent) == (200, before)


def test_a_port_in_use_is_said(tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = str(taken.getsockname()[1])
        said = refused("--data", str(tmp_path), "--port", port)
    assert f"Port {port} is in use" in said
    assert "--port" in said


def test_a_second_program_on_the_same_folder_is_refused(tmp_path: Path) -> None:
    with warm(tmp_path, "--empty") as server:
        assert "Another Ringwright" in refused("--data", str(tmp_path), "--port", "0")
        assert server.ask("GET", "/api/health")[0] == 200


@pytest.mark.parametrize("folder", ["/proc/ringwright", "/sys/kernel", "/dev/null/x"])
def test_a_folder_that_cannot_be_written_to_is_said(folder: str) -> None:
    said = refused("--data", folder, "--port", "0")
    assert "cannot be written to" in said
    assert "--data" in said


def test_a_host_that_is_not_ours_is_said(tmp_path: Path) -> None:
    assert "198.51.100.7" in refused("--data", str(tmp_path), "--host", "198.51.100.7")
    assert "nowhere.invalid" in refused("--data", str(tmp_path), "--host", "nowhere.invalid")


def test_a_newer_database_is_refused(tmp_path: Path) -> None:
    with warm(tmp_path, "--empty"):
        pass
    with closing(sqlite3.connect(tmp_path / "ringwright.db")) as raw:
        raw.execute("UPDATE alembic_version SET version_num = '9999'")
        raw.execute("UPDATE marks SET value = '7.2.0' WHERE name = 'program_version'")
        raw.commit()
    assert "newer Ringwright (7.2.0)" in refused("--data", str(tmp_path), "--port", "0")


def test_a_damaged_database_gets_a_page_and_a_way_back(tmp_path: Path) -> None:
    with warm(tmp_path, "--empty") as server:
        piece = server.ask("POST", "/api/pieces", simple_piece())[1]["id"]
        for _ in range(30):
            server.ask("POST", "/api/ledger", ledger_line(piece, note="x" * 2000))
        name = server.ask("POST", "/api/backups")[1]["name"]
    database = tmp_path / "ringwright.db"
    with database.open("r+b") as file:
        for page in range(4096, database.stat().st_size, 4096):
            file.seek(page + 4)
            file.write(b"\xff" * 100)
    damaged = database.read_bytes()
    with warm(tmp_path) as server:
        for method, path in (("GET", "/api/pieces"), ("POST", "/api/ledger"), ("GET", "/api/live")):
            status, problem = server.ask(method, path, {} if method == "POST" else None)
            assert status == 503
            assert name in problem["detail"]
    assert database.read_bytes() == damaged
    copy = str(tmp_path / "backups" / name)
    done = subprocess.run(
        ringwright("--data", str(tmp_path), "restore", copy),
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    assert "put in place" in done.stdout
    assert [file.read_bytes() for file in tmp_path.glob("damaged-*.db")] == [damaged]
    with warm(tmp_path) as server:
        assert len(server.ask("GET", "/api/ledger")[1]["items"]) == 30


def test_a_full_disk_is_said_and_the_server_stays(tmp_path: Path) -> None:
    """The limit on the size of a file stands for the full disk: SQLite meets it on writing."""
    with running(tmp_path, "--empty") as server:
        piece = server.ask("POST", "/api/pieces", simple_piece())[1]["id"]
        limit = (tmp_path / "ringwright.db").stat().st_size
        subprocess.run(
            ["prlimit", f"--pid={server.process.pid}", f"--fsize={limit}:unlimited"], check=True
        )
        status, problem = server.ask("POST", "/api/ledger", ledger_line(piece, note="x" * 19_000))
        assert status == 503
        assert problem["detail"].startswith("Not saved")
        assert server.ask("GET", "/api/health")[0] == 200
        subprocess.run(["prlimit", f"--pid={server.process.pid}", "--fsize=unlimited"], check=True)
        assert server.ask("POST", "/api/ledger", ledger_line(piece, note="x" * 19_000))[0] == 200
        assert len(server.ask("GET", "/api/ledger")[1]["items"]) == 1


def test_a_copy_on_demand_from_the_command_line(tmp_path: Path) -> None:
    with warm(tmp_path, "--empty") as server:
        done = subprocess.run(
            ringwright("--data", str(tmp_path), "backup"),
            capture_output=True,
            text=True,
            timeout=60,
            check=True,
        )
        listed = server.ask("GET", "/api/backups")[1]
    assert [item["name"] for item in listed["items"]] == [Path(done.stdout.strip()).name]
    assert listed["warning"] is None
    assert "no database" in refused("--data", str(tmp_path / "other"), "backup")


def test_the_plan_of_a_file_is_the_plan_of_the_api(tmp_path: Path) -> None:
    file = tmp_path / "bowl.json"
    file.write_text(json.dumps(simple_piece()))
    done = subprocess.run(
        ringwright("--data", "/proc/nowhere", "plan", str(file)),
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
        env={**os.environ, "HOME": str(tmp_path / "nobody")},
    )
    with warm(tmp_path / "data", "--empty") as server:
        assert server.ask("POST", "/api/plan", simple_piece()) == (200, json.loads(done.stdout))
    assert not (tmp_path / "nobody").exists()


@pytest.mark.parametrize("content", ["", "{", "[]", "NaN", '{"format": "x"}', "[" * 100_000])
def test_a_file_that_is_no_piece_is_said(tmp_path: Path, content: str) -> None:
    file = tmp_path / "bowl.json"
    file.write_text(content)
    assert "bowl.json" in refused("plan", str(file))


def test_a_file_that_is_not_there_is_said(tmp_path: Path) -> None:
    assert "cannot be read" in refused("plan", str(tmp_path / "nothing.json"))
    (tmp_path / "bytes.json").write_bytes(b"\xff\xfe\xfa")
    assert "cannot be read" in refused("plan", str(tmp_path / "bytes.json"))


def _said_on_the_lan(data: Path) -> tuple[str, int]:
    """All that it prints after its address, and its port."""
    with running(data, "--empty", "--lan") as server:
        assert server.host == "127.0.0.1"
        server.process.send_signal(signal.SIGTERM)
        # Not communicate(): that would lose what came together with the first line.
        assert server.process.stdout is not None
        return server.process.stdout.read(), server.port


def test_devices_get_addresses_codes_and_the_news_that_they_moved(tmp_path: Path) -> None:
    said, port = _said_on_the_lan(tmp_path)
    for address in private_addresses():
        assert f"http://{address}:{port}/" in said
        assert "▀" in said
    assert "another one than last time" not in said
    with closing(sqlite3.connect(tmp_path / "ringwright.db")) as raw:
        raw.execute("UPDATE marks SET value = '192.168.77.7' WHERE name = 'lan_addresses'")
        raw.commit()
    assert "another one than last time" in _said_on_the_lan(tmp_path)[0]
