"""The user guide is run as it stands, so that it cannot go stale."""

import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

import firstfrost
from firstfrost.cli.main import run
from firstfrost.proofs.finding import BEST_FIRST

ROOT = Path(firstfrost.__file__).parents[2]
GUIDE = ROOT / "docs" / "guide.md"
BLOCK = re.compile(r"(?:<!-- file: (\S+) -->\n)?```(\w+)( exit=\d)?\n(.*?)```", re.DOTALL)


def squeezed(text):
    return " ".join(text.split())


def command(line, capsys):
    """Run one line of the guide; give its status and all that it printed."""
    words = shlex.split(line)
    if words[0] == "python":
        done = subprocess.run(
            [sys.executable, *words[1:]], capture_output=True, text=True, timeout=60, encoding="utf-8"
        )
        return done.returncode, done.stdout + done.stderr
    assert words[0] == "firstfrost", line
    if "<" in words:
        cut = words.index("<")
        done = subprocess.run(
            [sys.executable, "-m", "firstfrost", *words[1:cut]],
            input=Path(words[cut + 1]).read_bytes(),
            capture_output=True,
            timeout=120,
            env={**os.environ, "PYTHONPATH": str(ROOT / "src"), "PYTHONIOENCODING": "utf-8"},
        )
        return done.returncode, (done.stdout + done.stderr).decode("utf-8")
    status = run(words[1:])
    return status, "".join(capsys.readouterr())


def test_each_command_of_the_guide_does_what_the_guide_says(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    printed, ran = "", []
    for name, kind, status, text in BLOCK.findall(GUIDE.read_text(encoding="utf-8")):
        if name:
            Path(name).write_text(text, encoding="utf-8")
        elif kind == "sh":
            printed = ""
            for line in text.strip().splitlines():
                got, out = command(line, capsys)
                assert got == int(status[-1] if status else 0), f"{line}\n{out}"
                ran.append(line)
                printed += out
        elif kind == "text":
            for line in text.strip("\n").splitlines():
                assert squeezed(line) in squeezed(printed), line
        elif kind == "python":
            exec(text, {})
            assert "sensor_closes shown" in capsys.readouterr().out
        else:
            raise AssertionError(f"a block of {kind} has no file name: {text[:60]}")
    assert len(ran) >= 10
    assert Path("report.pdf").read_bytes().startswith(b"%PDF-")
    assert "</html>" in Path("report.html").read_text(encoding="utf-8")


def test_the_guide_gives_each_standing_an_example_and_each_step_its_cautions():
    text = GUIDE.read_text(encoding="utf-8")
    for standing in (*BEST_FIRST, "failed"):
        assert re.search(rf"^\| \S `{standing}` \|[^|]+\|[^|]+\|$", text, re.MULTILINE), standing
    at_the_unit = text.split("## 2. At the unit")[1].split("\n## 3.")[0]
    steps = at_the_unit.split("\n### ")[1:]
    cautioned = [step.split("\n")[0] for step in steps if "> **Cautions.**" in step]
    assert len(cautioned) >= 4, cautioned
    for danger in ("line voltage", "starts by itself", "certified people", "pressure switch"):
        assert danger in squeezed(at_the_unit.replace("\n> ", " "))
