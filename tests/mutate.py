"""One operator, sign or function body wrong: does a test fail? A sample of the laws, geometry, contact and statistics.

    git clone . /tmp/copy && nice -n 19 python3 tests/mutate.py /tmp/copy [--sample 160] [--seed 1]

Lists the mutants of the files below by their text, in the manner of cargo-mutants, and draws the sample. Each function
is written once more for each mutant in it, and the environment says which of them runs: one build serves all. What does
not compile is not counted. A mutant is caught where a test fails, crashes or takes too long: first the tests of its
crate, then the closed forms, ledgers and rules of the trade of `tests/checks`. Tests that hold a value which the
program itself made do not count. Prints a line for each mutant, at the end the share caught; ends with 1 where one
survived. Left out: `const fn`, and functions that return `impl`.
"""

import argparse
import collections
import math
import os
import pathlib
import random
import re
import resource
import subprocess
import sys
import time

from mutants import CHECKS, FAILED

CHECKED = {
    "track-geometry": ["surface.rs", "station.rs", "section.rs", "corner_shape.rs", "corner_list.rs"],
    "ice-contact": ["contact.rs", "contact/*.rs", "film.rs", "film/*.rs", "rod.rs", "beam.rs", "melt.rs", "melt/mean.rs"],
    "sled-dynamics": ["laws/*.rs"],
    "evidence": [
        f"{name}.rs"
        for name in "alignment calibration calibration/worth decision linear_normal next_run orders paired_power pooling "
        "pooling/grid stopping trial_analysis trial_plan".split()
    ],
}
SWAPS = {
    **{"+": "- *", "-": "+ /", "*": "+ /", "/": "% *", "+=": "-= *=", "-=": "+= /=", "*=": "+= /=", "/=": "%= *="},
    **{"<": "== > <=", ">": "== < >=", "<=": ">", ">=": "<", "==": "!=", "!=": "==", "&&": "||", "||": "&&"},
}
BINARY = re.compile(r"(?<=\s)(" + "|".join(re.escape(s) for s in sorted(SWAPS, key=len, reverse=True)) + r")(?=\s)")
UNARY = re.compile(r"(?<![\w)\]])[-!](?=[\w(])")
BODIES = {"f64": ["0.0", "1.0", "-1.0"], "bool": ["true", "false"]}
NO_CODE = re.compile(r"//[^\n]*|/\*.*?\*/|r#*\".*?\"#*|\"(?:\\.|[^\"\\])*\"|'(?:\\.[^']*|[^\\'])'", re.S)
SIGNATURE = re.compile(r"\b(const )?fn (\w+)[^{;]*?\{")
SWITCH = """
/// Whether this mutant is the one that runs.
pub fn mutant(number: usize) -> bool {
    static WRONG: std::sync::LazyLock<Option<usize>> =
        std::sync::LazyLock::new(|| std::env::var("WRONG").ok().and_then(|n| n.parse().ok()));
    *WRONG == Some(number)
}
"""
Mutant = collections.namedtuple("Mutant", "crate path line begin end new told")


def masked(text):
    """The text with blanks where there is no code or only code of tests; as long as before."""
    blank = lambda m: re.sub(r"[^\n]", " ", m[0])
    text = NO_CODE.sub(blank, text)
    for found in reversed(list(re.finditer(r"#\[cfg\(test\)\]", text))):
        first = re.compile(r"[;{]").search(text, found.end())
        end = closing(text, first.start()) if first[0] == "{" else first.end()
        text = text[: found.start()] + re.sub(r"[^\n]", " ", text[found.start() : end]) + text[end:]
    return text


def closing(text, start):
    """Behind the brace that closes the one at `start`."""
    depth = 0
    for at in range(start, len(text)):
        depth += {"{": 1, "}": -1}.get(text[at], 0)
        if depth == 0:
            return at + 1
    raise ValueError("a brace is not closed")


def functions(code):
    """Begin and end of each outermost body, and the type that is returned."""
    at = 0
    while found := SIGNATURE.search(code, at):
        begin, end = found.end() - 1, closing(code, found.end() - 1)
        returned = re.search(r"\) -> (.+?)\s*(where|\{)", found[0], re.S)
        returned = returned[1] if returned else ""
        if not found[1] and "impl " not in returned:
            yield begin, end, returned
        at = end


def mutants():
    """Every mutant of the files, in the order of crate, file and place."""
    for crate, patterns in CHECKED.items():
        source = pathlib.Path("crates") / crate / "src"
        for path in sorted(p for pattern in patterns for p in source.glob(pattern) if p.name != "tests.rs"):
            code = masked(path.read_text())
            for begin, end, returned in functions(code):
                line = lambda at: code.count("\n", 0, at) + 1
                for new in BODIES.get(returned, []):
                    yield Mutant(crate, path, line(begin), begin, end, "{ " + new + " }", f"body -> {new}")
                for found in BINARY.finditer(code, begin, end):
                    for new in SWAPS[found[1]].split():
                        yield Mutant(crate, path, line(found.start()), *found.span(), new, f"{found[1]} -> {new}")
                for found in UNARY.finditer(code, begin, end):
                    yield Mutant(crate, path, line(found.start()), *found.span(), "", f"{found[0]} deleted")


def write(chosen):
    """Writes each file with its mutants; gives the lines of each mutant in the new file."""
    places = {}
    for path in {mutant.path for mutant in chosen.values()}:
        text, out, at = path.read_text(), "", 0
        for begin, end, _ in functions(masked(text)):
            mine = [n for n, mutant in chosen.items() if mutant.path == path and begin <= mutant.begin < end]
            if mine:
                out += text[at:begin] + "{\n"
                for n in mine:
                    first = out.count("\n") + 1
                    m = chosen[n]
                    out += f"if ::numerics::mutant({n}) " + text[begin : m.begin] + m.new + text[m.end : end] + " else\n"
                    places[n] = (str(path), first, out.count("\n"))
                out += text[begin:end] + "\n}"
                at = end
        path.write_text(out + text[at:])
    return places


def unviable(places, crates):
    """The mutants that the compiler refuses."""
    command = ["cargo", "check", "--keep-going", "--message-format=short", *[f"-p{crate}" for crate in crates]]
    done = subprocess.run(command, capture_output=True, text=True)
    errors = re.findall(r"^(\S+?):(\d+):\d+: error", done.stderr, re.M)
    at = [(path, int(line)) for path, line in errors]
    found = {n for n, (p, first, last) in places.items() if any(p == path and first <= line <= last for path, line in at)}
    if done.returncode and not found:
        sys.exit(done.stderr[-4000:])
    return found


def failing(program, package, wrong, names, seconds):
    """The first test that fails with a mutant, or what else ends them; None where all pass."""
    limit = lambda: resource.setrlimit(resource.RLIMIT_AS, (6 << 30, 6 << 30))
    try:
        done = subprocess.run(
            [program, "--skip", "pins_", *names],
            **{"cwd": package, "capture_output": True, "text": True, "timeout": seconds, "preexec_fn": limit},
            env={**os.environ, "WRONG": wrong},
        )
    except subprocess.TimeoutExpired:
        return "time-out"
    found = FAILED.search(done.stdout)
    return None if done.returncode == 0 else found[1] if found else "crash"


def share(caught, counted):
    """Share and its 95 % interval (Wilson) as text."""
    z, p = 1.96, caught / counted
    middle, half = p + z * z / (2 * counted), z * math.sqrt(p * (1 - p) / counted + z * z / (4 * counted**2))
    low, high = ((middle + sign * half) / (1 + z * z / counted) for sign in (-1, 1))
    return f"{caught} of {counted}, {100 * p:.1f} % ({100 * low:.1f} to {100 * high:.1f})"


def programs(*arguments):
    """The built programs of the tests of a package."""
    done = subprocess.run(["cargo", "test", *arguments, "--no-run"], capture_output=True, text=True)
    if done.returncode:
        sys.exit(done.stderr[-4000:])
    return [pathlib.Path(p).resolve() for p in re.findall(r"Executable.*\((.+)\)", done.stderr)]


def told(mutant):
    return f"{mutant.path}:{mutant.line} {mutant.told}"


def main():
    asked = argparse.ArgumentParser()
    asked.add_argument("copy", type=pathlib.Path)
    asked.add_argument("--sample", type=int, default=160)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--again", type=pathlib.Path, help="a record of a run: only those of the sample that survived in it")
    asked.add_argument("--own", action="store_true", help="the tests of the crate alone, without tests/checks")
    asked = asked.parse_args()
    there = asked.again.read_text().splitlines() if asked.again else []
    os.chdir(asked.copy)
    if subprocess.run(["git", "status", "--porcelain"], capture_output=True, text=True, check=True).stdout:
        sys.exit(f"{asked.copy}: has changes; take a fresh clone")
    every = list(mutants())
    drawn = random.Random(asked.seed).sample(every, min(asked.sample, len(every)))
    chosen = {n: mutant for n, mutant in enumerate(drawn) if not asked.again or f"{told(mutant)}: SURVIVED" in there}
    print(f"{len(chosen)} of {len(every)} mutants, seed {asked.seed}", flush=True)
    crates = sorted({mutant.crate for mutant in chosen.values()})
    top, own, both = pathlib.Path("crates/numerics/src/lib.rs"), collections.Counter(), 0
    try:
        while True:
            subprocess.run(["git", "checkout", "--quiet", "."], check=True)
            top.write_text(top.read_text() + SWITCH)
            refused = unviable(write(chosen), crates)
            if not refused:
                break
            for n in refused:
                print(f"{told(chosen.pop(n))}: does not compile", flush=True)
        # each program with where it runs, which tests, and how long at most
        runs = {crate: [(p, f"crates/{crate}", []) for p in programs("-p", crate, "--lib", "--tests")] for crate in crates}
        if not asked.own:
            checks = [(p, "tests", CHECKS) for p in programs("-p", "checks", "--test", "checks")]
            # the checks do not link the statistics
            runs = {crate: found if crate == "evidence" else found + checks for crate, found in runs.items()}
        seconds = {}
        for program, package, names in {run[0]: run for found in runs.values() for run in found}.values():
            begun = time.monotonic()
            if test := failing(program, package, "", names, 1800):
                sys.exit(f"fails with nothing wrong: {test}")
            seconds[program] = 60 + 5 * (time.monotonic() - begun)
        for n, mutant in chosen.items():
            failed = "SURVIVED"
            for program, package, names in runs[mutant.crate]:
                if test := failing(program, package, str(n), names, seconds[program]):
                    both += 1
                    own[mutant.crate] += package != "tests"
                    failed = f"caught by {'its crate' if package != 'tests' else 'the checks'}, {test}"
                    break
            print(f"{told(mutant)}: {failed}", flush=True)
    finally:
        subprocess.run(["git", "checkout", "--quiet", "."])
    for crate in crates:
        print(f"{crate}: its own tests caught {share(own[crate], sum(m.crate == crate for m in chosen.values()))}")
    print(f"all: own tests {share(sum(own.values()), len(chosen))}; with the checks {share(both, len(chosen))}")
    return 1 if both < len(chosen) else 0


if __name__ == "__main__":
    sys.exit(main())
