"""Each coefficient of each law wrong by 10 %: does a test fail?

    git clone . /tmp/copy && nice -n 19 python3 tests/mutants.py /tmp/copy [PART OF A NAME ...]

Rewrites the copy once, so that every constant asks the environment whether it is the wrong one, builds the tests once,
and runs them for each constant: first those of its crate, and where nothing fails the closed forms, ledgers and rules of
the trade of `tests/checks`. Tests that hold a value which the program itself made do not count. Prints a line for each
constant with the first test that failed; ends with 1 where one survived. With no constant wrong all must pass first.
"""

import os
import pathlib
import re
import subprocess
import sys

LAWS = {
    "sled-dynamics": ["laws/*.rs"],
    "ice-contact": ["film.rs", "melt.rs", "lateral.rs", "friction.rs"],
}
# steps, tolerances and guards of numerics are no coefficients of a law
NOT_A_LAW = re.compile(r"LEAST|STEP|CLOSE|^RATIO$|FIRST_M|CLEAR|SPACING|FADE|REACH")
CONSTANT = re.compile(r"^(?:pub |pub\(crate\) )?const ([A-Z_0-9]+): f64 = [^;]+;", re.M)
NO_USE = re.compile(r"\s*(//|use |pub use |(pub |pub\(crate\) )?(const|static) )")
CHECKS = ["geometry::", "motion::", "ledger::", "edges::", "swing::", "slopes::", "on_runners::", "trade::", "athlete::conserves"]
FAILED = re.compile(r"^test (\S+) .*FAILED", re.M)
WRONG = """
/// A constant, or 1.1 of it where it is the wrong one.
pub fn wrong(number: usize, value: f64) -> f64 {
    static WRONG: std::sync::LazyLock<Option<usize>> =
        std::sync::LazyLock::new(|| std::env::var("WRONG").ok().and_then(|n| n.parse().ok()));
    if *WRONG == Some(number) { 1.1 * value } else { value }
}
"""


def constants(copy):
    """Crate, file and name of each coefficient."""
    for crate, patterns in LAWS.items():
        source = copy / "crates" / crate / "src"
        for path in sorted(p for pattern in patterns for p in source.glob(pattern)):
            for name in CONSTANT.findall(path.read_text()):
                if not NOT_A_LAW.search(name):
                    yield crate, path, name


def rewrite(copy, found):
    """Every use of a constant asks whether it is wrong; a name that two files have is changed in its own only."""
    names = [name for _, _, name in found]
    for path in [p for top in ("crates", "tests") for p in sorted((copy / top).rglob("*.rs"))]:
        lines = before = path.read_text().splitlines(keepends=True)
        own = set(CONSTANT.findall("".join(lines)))
        for number, (_, home, name) in enumerate(found):
            imported = names.count(name) == 1 and name not in own and "track-geometry" not in path.parts
            if path == home or imported:
                use = re.compile(rf"(?<![\w:])((?:[a-z_]+::)*{name})\b")
                told = rf"::numerics::wrong({number}, \1)"
                in_list = False
                changed = []
                for line in lines:
                    # an import may go over several lines
                    skip = in_list or NO_USE.match(line)
                    in_list = (in_list or re.match(r"\s*(pub )?use ", line)) and ";" not in line
                    changed.append(line if skip else use.sub(told, line))
                lines = changed
        if lines != before:
            path.write_text("".join(lines))
    top = copy / "crates/numerics/src/lib.rs"
    top.write_text(top.read_text() + WRONG)


def built(copy, *arguments):
    """The program of the tests of a package."""
    done = subprocess.run(["cargo", "test", *arguments, "--no-run"], cwd=copy, capture_output=True, text=True)
    if done.returncode:
        sys.exit(done.stderr[-4000:])
    return copy / re.search(r"Executable.*\((.+)\)", done.stderr)[1]


def failing(program, package, wrong, names=()):
    """The first test that fails with a constant wrong, or None."""
    done = subprocess.run(
        [program, "--skip", "pins_", *names], cwd=package, capture_output=True, text=True, env={**os.environ, "WRONG": wrong}
    )
    return None if done.returncode == 0 else FAILED.search(done.stdout)[1]


def main():
    copy, parts = pathlib.Path(sys.argv[1]).resolve(), sys.argv[2:]
    if subprocess.run(["git", "status", "--porcelain"], cwd=copy, capture_output=True, text=True, check=True).stdout:
        sys.exit(f"{copy}: has changes; take a fresh clone")
    found, survived = list(constants(copy)), 0
    try:
        rewrite(copy, found)
        checks = built(copy, "-p", "checks", "--test", "checks")
        units = {crate: built(copy, "-p", crate, "--lib") for crate in LAWS}

        def noticed(crate, wrong):
            if test := failing(units[crate], copy / "crates" / crate, wrong):
                return f"caught by its crate, {test}"
            test = failing(checks, copy / "tests", wrong, CHECKS)
            return test and f"caught by the checks, {test}"

        for crate in LAWS:
            if test := noticed(crate, ""):
                sys.exit(f"fails with no constant wrong: {test}")
        for number, (crate, path, name) in enumerate(found):
            if not parts or any(part in name for part in parts):
                told = noticed(crate, str(number)) or "SURVIVED"
                survived += told == "SURVIVED"
                print(f"{path.relative_to(copy)} {name}: {told}", flush=True)
    finally:
        subprocess.run(["git", "checkout", "--quiet", "."], cwd=copy)
    return 1 if survived else 0


if __name__ == "__main__":
    sys.exit(main())
