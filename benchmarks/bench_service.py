"""Load on the service: visits at 1 Hz with a viewer each; from reading to screen, and what is lost.

    python benchmarks/bench_service.py                        # 20 s, SQLite, PostgreSQL where there is one
    python benchmarks/bench_service.py --seconds 600          # the whole: 50 visits, 12 channels, 50 viewers
    python benchmarks/bench_service.py --kills 500            # SIGKILL at random moments under that load

The time is from the moment at which a recorder has a reading (before it is sent) to the moment at which a
viewer has read it from the event stream, all on this machine: no network is in it, and the recorders and
viewers take their share of the processors.
"""

from __future__ import annotations

import argparse
import asyncio
import multiprocessing
import os
import random
import socket
import statistics
import sys
import tempfile
import time
from multiprocessing.context import BaseContext
from multiprocessing.process import BaseProcess
from pathlib import Path

from load import Http, Token, Visit, record, set_up, tally, token_of, watch

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT / "src"))


def _serve(store: str, port: int) -> None:
    """What the process of a service does."""
    from firstfrost.web.serve import serve
    from firstfrost.web.settings import Settings

    serve(store, Settings(port=port), say=lambda line: None)


def _context() -> BaseContext:
    """Forks of a process that has imported everything and opened nothing: a service starts in no time."""
    if "forkserver" not in multiprocessing.get_all_start_methods():
        return multiprocessing.get_context("spawn")
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["firstfrost.web.serve"])
    return context


class Service:
    """A service in a process of its own, which can be killed and started again."""

    def __init__(self, store: str) -> None:
        self.store = store
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = probe.getsockname()[1]
        self._context = _context()
        self.process: BaseProcess | None = None

    def start(self) -> None:
        """Start it."""
        self.process = self._context.Process(target=_serve, args=(self.store, self.port), daemon=True)
        self.process.start()

    def kill(self) -> None:
        """End it as a power cut would, but for the disk."""
        assert self.process is not None
        self.process.kill()
        self.process.join()

    def stop(self) -> None:
        """End it in order."""
        if self.process is None:
            return
        self.process.terminate()
        self.process.join(15)
        self.process.kill()
        self.process.join()

    async def answers(self) -> str:
        """Wait until it answers, and give the CSRF token."""
        http = Http("127.0.0.1", self.port)
        try:
            return await token_of(http)
        finally:
            http.close()


async def run(
    service: Service, *, count: int, seconds: float, kills: int, period_s: float
) -> tuple[list[Visit], dict]:
    """Load a service; kill it so many times at random moments if asked to."""
    host, port = "127.0.0.1", service.port
    service.start()
    token = Token()
    token.value = await service.answers()
    visits = await set_up(host, port, count)
    end, done = asyncio.Event(), asyncio.Event()
    viewers = [asyncio.create_task(watch(host, port, visit, done)) for visit in visits]
    await asyncio.sleep(1.0)
    recorders = [
        asyncio.create_task(record(host, port, visit, token, period_s=period_s, end=end)) for visit in visits
    ]
    began = time.monotonic()
    killed = 0
    if kills:
        for killed in range(1, kills + 1):
            await asyncio.sleep(random.expovariate(1.0 / 0.6))
            await asyncio.to_thread(service.kill)
            service.start()
            token.value = await service.answers()
            if killed % 25 == 0:
                print(
                    f"  killed {killed} times, {sum(len(v.acknowledged) for v in visits)} acknowledged",
                    flush=True,
                )
    else:
        await asyncio.sleep(seconds)
    end.set()
    await asyncio.gather(*recorders)
    for _ in range(100):
        told = await tally(host, port, visits)
        if not told["unseen"]:
            break
        await asyncio.sleep(0.1)
    done.set()
    await asyncio.gather(*viewers)
    told["killed"] = killed
    told["took_s"] = time.monotonic() - began
    return visits, told


def report(name: str, visits: list[Visit], told: dict) -> int:
    """Print what was measured; 1 if anything was lost or came twice."""
    lags = sorted(lag for visit in visits for lag in visit.lags_s)
    print(f"{name}: {told['acknowledged']} batches acknowledged in {told['took_s']:.0f} s", end="")
    print(f", {told['killed']} kills" if told["killed"] else "")
    print(f"  lost {told['lost']}, stored twice {told['double']}, not shown {told['unseen']}, "
          f"shown twice {told['seen_twice']}")  # fmt: skip
    if lags and not told["killed"]:
        at = [lags[min(len(lags) - 1, int(q * len(lags)))] * 1e3 for q in (0.5, 0.9, 0.99, 0.999)]
        print(f"  from reading to screen: median {at[0]:.1f} ms, 90 % {at[1]:.1f} ms, 99 % {at[2]:.1f} ms, "
              f"99.9 % {at[3]:.1f} ms, mean {statistics.fmean(lags) * 1e3:.1f} ms")  # fmt: skip
    errors: dict[str, int] = {}
    for visit in visits:
        for key, value in visit.errors.items():
            errors[key] = errors.get(key, 0) + value
    if errors:
        print(f"  sent again after: {errors}")
    return 1 if told["lost"] or told["double"] or told["unseen"] or told["seen_twice"] else 0


def main() -> int:
    """Measure."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--visits", type=int, default=50)
    parser.add_argument("--seconds", type=float, default=20.0)
    parser.add_argument("--period", type=float, default=1.0, help="of a recorder, in s")
    parser.add_argument("--kills", type=int, default=0)
    parser.add_argument("--only", choices=("sqlite", "postgresql"))
    parser.add_argument("--postgres", metavar="URL", help="a server to use; one is started by default")
    args = parser.parse_args()
    try:
        import fastapi  # noqa: F401
    except ImportError:
        print("The service is not installed (extra serve): nothing to measure.")
        return 0
    print(
        f"{args.visits} visits x 12 channels at {1 / args.period:g} Hz, a viewer each, {os.cpu_count()} cores"
    )
    status = 0
    how = {"count": args.visits, "seconds": args.seconds, "kills": args.kills, "period_s": args.period}
    if args.only in (None, "sqlite"):
        with tempfile.TemporaryDirectory(prefix="firstfrost-") as folder:
            service = Service(str(Path(folder) / "shop.db"))
            try:
                status |= report("SQLite", *asyncio.run(run(service, **how)))
            finally:
                service.stop()
    if args.only in (None, "postgresql"):
        sys.path.insert(0, str(ROOT / "tests"))
        from stores import Server, start_server

        try:
            server = Server(admin=args.postgres) if args.postgres else start_server(fsync=True)
        except LookupError as why:
            print(f"PostgreSQL: not measured, {why}")
            return status
        try:
            service = Service(server.database())
            try:
                status |= report("PostgreSQL", *asyncio.run(run(service, **how)))
            finally:
                service.stop()
        finally:
            server.end()
    return status


if __name__ == "__main__":
    sys.exit(main())
