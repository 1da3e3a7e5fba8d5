"""Fuzzes every reader, one after the other, and prints a row of the table in README.md for each.

    cd tests/fuzz && nice python3 run.py [--inputs 10000000] [READER ...]

Builds first. Each reader starts from the shipped files of its kind, goes on from what earlier runs found, and gets its
share of the inputs. What crashes, hangs for ten seconds or lets a number through that is none ends that reader, is kept
in `target/fuzz/crashes` and counted; ends with 1 where there was one.
"""

import argparse
import os
import pathlib
import re
import shutil
import subprocess
import sys
import time

HERE = pathlib.Path(__file__).resolve().parent
TOP = HERE.parent.parent
# reader: share of the inputs by how quick it is, greatest length (bytes), seeds from the top; beside them seeds/READER.*
READERS = {
    "set-up": (6, 4096, ["examples/clubs-*.toml"]),
    "set-up-keys": (20, 512, []),
    "track-words": (1, 4096, ["tracks/*/track.toml"]),
    "track-table": (1, 4096, ["tracks/tests/*/stations.csv"]),
    "corner-list": (15, 4096, ["tracks/*/corner_list.toml"]),
    "runners-toml": (40, 4096, ["examples/runners.toml"]),
    "runners-csv": (50, 2048, []),
    "rules": (40, 4096, ["examples/rules.toml"]),
    "readings": (60, 2048, ["examples/readings*.csv"]),
    "notes": (60, 1024, ["examples/notes.txt"]),
    "line": (60, 1024, []),
    "ride": (60, 1024, []),
    "sheet": (45, 2048, ["examples/*-sheet.csv"]),
    "log": (35, 2048, ["examples/log.csv"]),
    "notebook": (40, 2048, []),
    "questions": (35, 4096, ["examples/questions.toml"]),
    "study": (15, 4096, ["examples/bow-and-*.toml", "examples/wh*.toml"]),
    "evening": (25, 4096, ["examples/evening.toml"]),
    "travel": (25, 4096, ["examples/travel.toml"]),
    "calibration": (3, 24000, []),
    "samples": (20, 1024, []),
    "plausible": (60, 2048, []),
    "sweep-table": (30, 2048, []),
    "sweep-sidecar": (50, 10000, []),
    "kept-plan": (80, 4096, []),
    "asked-rough": (15, 4096, []),
    "asked-setup": (10, 4096, []),
    "asked-contact": (15, 4096, []),
    "asked-ice": (12, 4096, []),
    "asked-place": (12, 4096, []),
    "asked-line": (15, 4096, []),
    "asked-evening": (15, 4096, []),
    "asked-calibration": (15, 4096, []),
    "asked-trial": (15, 4096, []),
    "asked-check-track": (10, 4096, []),
}


def corpus(reader, longest, patterns):
    """The folder of a reader's inputs, with the seeds in it; long files are cut, since a start is as good."""
    folder = TOP / "target/fuzz/corpus" / reader
    folder.mkdir(parents=True, exist_ok=True)
    seeds = [p for pattern in patterns for p in sorted(TOP.glob(pattern))] + sorted((HERE / "seeds").glob(f"{reader}.*"))
    assert seeds, f"{reader} has no seeds"
    for seed in seeds:
        (folder / str(seed.relative_to(TOP)).replace("/", "-")).write_bytes(seed.read_bytes()[:longest])
    return folder


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--inputs", type=int, default=10_000_000)
    parser.add_argument("readers", nargs="*", choices=[[], *READERS])
    asked = parser.parse_args()
    subprocess.run(["cargo", "build", "--release"], cwd=HERE, check=True)
    (program,) = (TOP / "target/fuzz").glob("*/release/fuzz")
    # a build beside it must not change what is running
    running = shutil.copy(program, program.with_name("fuzz-running"))
    commit = subprocess.run(["git", "rev-parse", "--short", "HEAD"], cwd=TOP, capture_output=True, text=True).stdout.strip()
    crashes = TOP / "target/fuzz/crashes"
    crashes.mkdir(parents=True, exist_ok=True)
    shares, failed = sum(r[0] for r in READERS.values()), 0
    for reader in asked.readers or READERS:
        share, longest, patterns = READERS[reader]
        runs = asked.inputs * share // shares
        begun = time.monotonic()
        done = subprocess.run(
            [running, corpus(reader, longest, patterns), f"-runs={runs}", f"-max_len={longest}", "-seed=1", "-timeout=10",
             "-rss_limit_mb=2048", f"-artifact_prefix={crashes}/{reader}-", "-print_final_stats=1", "-verbosity=0"],
            env={**os.environ, "READER": reader}, capture_output=True, text=True, errors="replace",
        )  # fmt: skip
        ran = re.search(r"number_of_executed_units: (\d+)", done.stderr)
        ran = int(ran[1]) if ran else 0
        seconds, crashed = time.monotonic() - begun, done.returncode != 0
        failed += crashed
        print(f"| {reader} | {ran} | {seconds:.0f} | {int(crashed)} | {time.strftime('%Y-%m-%d')} | {commit} |", flush=True)
        if crashed:
            print(done.stderr[-3000:], file=sys.stderr, flush=True)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
