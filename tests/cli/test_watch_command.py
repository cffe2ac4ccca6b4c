import json
import os
import pty
import select
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from made.make import make
from made.visit import write

import firstfrost
from firstfrost.cli.main import run

ROOT = Path(firstfrost.__file__).parents[2]
DEMO = ROOT / "src" / "firstfrost" / "demo"
ENV = {**os.environ, "PYTHONPATH": str(ROOT / "src"), "TERM": "xterm"}
COMMAND = [sys.executable, "-m", "firstfrost", "watch"]


@pytest.fixture
def visit(tmp_path):
    for name in ("trace.csv", "unit.toml", "marks.csv"):
        shutil.copyfile(DEMO / name, tmp_path / name)
    return tmp_path


def checked(folder, capsys, *more):
    run(["check", str(folder / "trace.csv"), "--unit", str(folder / "unit.toml"), "--json", "-", *more])
    return json.loads(capsys.readouterr().out)


def test_a_file_that_does_not_grow_gives_the_result_of_check(visit, capsys):
    marks = ("--marks", str(visit / "marks.csv"))
    expected = checked(visit, capsys, *marks)
    out = visit / "out.json"
    status = run(
        [
            *("watch", str(visit / "trace.csv"), "--unit", str(visit / "unit.toml"), *marks),
            *("--until-idle", "0.1", "--json", str(out)),
        ]
    )
    assert status == 0
    assert json.loads(out.read_text(encoding="utf-8")) == expected
    printed = capsys.readouterr().out
    assert "STOP LIMIT 478 psig on your gauge (130 °F dew, the saturation ceiling)" in printed
    assert "chilldown: heating with the outdoor air stopped on purpose" in printed
    assert max(map(len, printed.splitlines())) <= 80


def test_a_growing_file_with_marks_written_on_the_way(visit, capsys):
    expected = checked(visit, capsys, "--marks", str(visit / "marks.csv"))
    rows = (visit / "trace.csv").read_bytes().splitlines(keepends=True)
    marks = (visit / "marks.csv").read_text(encoding="utf-8")
    log, marks_path, out = visit / "trace.csv", visit / "marks.csv", visit / "out.json"
    log.write_bytes(b"")
    marks_path.write_text("time,act,note\n", encoding="utf-8")
    command = [*COMMAND, str(log), "--unit", str(visit / "unit.toml"), "--marks", str(marks_path)]
    with subprocess.Popen(
        [*command, "--until-idle", "1.5", "--json", str(out)], stdout=subprocess.PIPE, text=True, env=ENV
    ) as process:
        for k in range(0, len(rows), 400):
            time.sleep(0.15)
            with log.open("ab") as file:
                file.write(b"".join(rows[k : k + 400]))
            if k == 1200:
                marks_path.write_text(marks, encoding="utf-8")
        printed = process.stdout.read()
        assert process.wait(timeout=60) == 0
    assert json.loads(out.read_text(encoding="utf-8")) == expected
    assert "● shown    Coil sensor closes cold" in printed


def test_standard_input_to_its_end(visit, capsys):
    expected = checked(visit, capsys)
    expected["input"]["files"] = ["standard input"]
    for column in expected["input"]["columns"]:
        column["source"] = "standard input"
    done = subprocess.run(
        [*COMMAND, "-", "--unit", str(visit / "unit.toml"), "--json", "-"],
        input=(visit / "trace.csv").read_bytes(),
        capture_output=True,
        env=ENV,
        check=False,
        timeout=120,
    )
    assert done.returncode == 0
    assert b"circuit turned" in done.stderr
    got = json.loads(done.stdout)
    text = json.dumps(got).replace("standard input: ", "trace.csv: ")
    assert json.loads(text) == expected


def test_ctrl_c_ends_the_watch_and_still_writes_the_results(visit):
    out = visit / "out.json"
    command = [*COMMAND, str(visit / "trace.csv"), "--unit", str(visit / "unit.toml"), "--json", str(out)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=ENV) as process:
        seen = b""
        while b"circuit turned" not in seen:
            seen += os.read(process.stdout.fileno(), 65536)
        time.sleep(0.3)
        process.send_signal(signal.SIGINT)
        rest, err = process.communicate(timeout=60)
    assert process.returncode == 0
    assert b"Alder Row 3" in rest
    assert err == b""
    assert json.loads(out.read_text(encoding="utf-8"))["defrosts"]


def terminal(command, feed):
    """Run `command` on a terminal of its own with `feed` as standard input: what the terminal got."""
    ours, theirs = pty.openpty()
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=theirs, stderr=theirs, env=ENV) as process:
        os.close(theirs)
        process.stdin.write(feed)
        process.stdin.close()
        seen = b""
        while True:
            ready, _, _ = select.select([ours], [], [], 60.0)
            try:
                piece = os.read(ours, 65536) if ready else b""
            except OSError:  # the other end is closed
                piece = b""
            if not piece:
                break
            seen += piece
        os.close(ours)
        process.wait(timeout=60)
    return seen.decode()


@pytest.mark.parametrize(("more", "rings"), [((), True), (("--no-bell",), False)])
def test_the_stop_warning_is_loud_on_a_terminal(tmp_path, more, rings):
    write(make("high-pressure trip", 3), tmp_path)
    command = [*COMMAND, "-", "--unit", str(tmp_path / "unit.toml"), *more]
    seen = terminal(command, (tmp_path / "trace.csv").read_bytes())
    first = seen.index("STOP THE DEFROST")
    assert "\x1b[1;7m" in seen[first - 10 : first]
    assert "Release the test pins, take away the call for heat at the thermostat" in seen
    assert seen.count("STOP THE DEFROST") >= 4
    assert ("\a" in seen) == rings


def test_a_log_without_high_side_says_that_no_warning_is_possible(visit, capsys):
    rows = [line.split(",") for line in (visit / "trace.csv").read_text(encoding="utf-8").splitlines()]
    keep = [k for k, name in enumerate(rows[0]) if "pressure" not in name]
    text = "\n".join(",".join(row[k] for k in keep) for row in rows)
    (visit / "trace.csv").write_text(text + "\n", encoding="utf-8")
    run(["watch", str(visit / "trace.csv"), "--unit", str(visit / "unit.toml"), "--until-idle", "0.1"])
    assert "! NO STOP WARNING is possible: this log has no high-side pressure." in capsys.readouterr().out


@pytest.mark.parametrize(
    ("argv", "sentence"),
    [
        (
            ["nowhere.csv", "--unit", "unit.toml"],
            (
                "nowhere.csv cannot be read: No such file or directory. Expected the log that the recorder "
                "writes. Check the path, and start the recorder first."
            ),
        ),
        (
            ["trace.csv", "--unit", "unit.toml", "--until-idle", "0"],
            "--until-idle is 0. Expected a time above 0, in seconds. Give one, such as 60.",
        ),
        (
            ["trace.csv", "--unit", "unit.toml", "--marks", "nowhere.csv"],
            "nowhere.csv does not exist. Expected a file with marks as CSV: time,act,note. Check the path.",
        ),
        (
            ["empty.csv", "--unit", "unit.toml", "--until-idle", "0.1"],
            "empty.csv is empty. Expected a header line and readings below it. Export the log again.",
        ),
    ],
)
def test_input_that_cannot_be_used_gets_one_message_and_2(visit, monkeypatch, capsys, argv, sentence):
    monkeypatch.chdir(visit)
    (visit / "empty.csv").write_bytes(b"")
    assert run(["watch", *argv]) == 2
    assert capsys.readouterr().err == f"firstfrost: {sentence}\n"


def test_a_log_that_shrinks_is_an_error(visit):
    log = visit / "trace.csv"
    with subprocess.Popen(
        [*COMMAND, str(log), "--unit", str(visit / "unit.toml")],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env=ENV,
    ) as process:
        seen = b""
        while b"circuit turned" not in seen:
            seen += os.read(process.stdout.fileno(), 65536)
        log.write_bytes(b"time [s]\n")
        _, err = process.communicate(timeout=60)
    assert process.returncode == 2
    assert b"has become shorter while it was followed" in err
