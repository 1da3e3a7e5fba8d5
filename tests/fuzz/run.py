"""Fuzzes every reader, round after round, and prints a row of the table in README.md for each.

    cd tests/fuzz && nice python3 run.py [--rounds 10] [--inputs 1000000] [--seed 1] [READER ...]

Builds first. In a round each reader gets its share of the inputs; it starts from the shipped files of its kind and goes
on from what earlier rounds found. What crashes, hangs for ten seconds or lets a number through that is none ends that
reader's turn, is kept in `target/fuzz/crashes` and counted; ends with 1 where there was one. Stopped amid a round
(Ctrl-C) it tells what was done.
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
    parser.add_argument("--rounds", type=int, default=10)
    parser.add_argument("--inputs", type=int, default=1_000_000, help="inputs of a round, all readers")
    parser.add_argument("--seed", type=int, default=1, help="of the first round")
    parser.add_argument("readers", nargs="*", metavar="READER")
    asked = parser.parse_args()
    subprocess.run(["cargo", "build", "--release"], cwd=HERE, check=True)
    (program,) = (TOP / "target/fuzz").glob("*/release/fuzz")
    # a build beside it must not change what is running
    running = shutil.copy(program, program.with_name("fuzz-running"))
    commit = subprocess.run(["git", "rev-parse", "--short", "HEAD"], cwd=TOP, capture_output=True, text=True).stdout.strip()
    done = {reader: [0, 0.0, 0] for reader in asked.readers or READERS}
    try:
        for seed in range(asked.seed, asked.seed + asked.rounds):
            for reader in done:
                for i, more in enumerate(fuzzed(running, reader, asked.inputs, seed)):
                    done[reader][i] += more
    except KeyboardInterrupt:
        pass
    for reader, (inputs, seconds, crashes) in done.items():
        print(f"| {reader} | {inputs} | {seconds:.0f} | {crashes} | {time.strftime('%Y-%m-%d')} | {commit} |")
    inputs, seconds, crashes = (sum(d[i] for d in done.values()) for i in range(3))
    print(f"| all | {inputs} | {seconds:.0f} | {crashes} | {time.strftime('%Y-%m-%d')} | {commit} |")
    return 1 if crashes else 0


def fuzzed(running, reader, inputs, seed):
    """Inputs, seconds and crashes of one reader in one round."""
    share, longest, patterns = READERS[reader]
    crashes = TOP / "target/fuzz/crashes"
    crashes.mkdir(parents=True, exist_ok=True)
    runs, begun = inputs * share // sum(r[0] for r in READERS.values()), time.monotonic()
    options = [f"-runs={runs}", f"-max_len={longest}", f"-seed={seed}", "-timeout=10", "-rss_limit_mb=2048"]
    options += [f"-artifact_prefix={crashes}/{reader}-", "-print_final_stats=1"]
    told = subprocess.run(
        [running, corpus(reader, longest, patterns), *options],
        env={**os.environ, "READER": reader}, capture_output=True, text=True, errors="replace",
    )  # fmt: skip
    ran = re.search(r"number_of_executed_units: (\d+)", told.stderr)
    seconds = time.monotonic() - begun
    coverage = re.findall(r"cov: (\d+)", told.stderr)[-1:]
    print(f"round {seed}: {reader} {ran and ran[1]} inputs, {seconds:.0f} s, {coverage} places", file=sys.stderr, flush=True)
    if told.returncode:
        print(told.stderr[-3000:], file=sys.stderr, flush=True)
    return int(ran[1]) if ran else 0, seconds, int(told.returncode != 0)


if __name__ == "__main__":
    sys.exit(main())
