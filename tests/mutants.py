"""Each coefficient of each law wrong by 10 %: does a test fail?

    git clone . /tmp/copy && python3 tests/mutants.py /tmp/copy [PART OF A NAME ...]

Changes one constant at a time in the copy, runs the tests of its crate, and for those that nothing noticed the closed
forms, ledgers and rules of the trade of `tests/checks`. Tests that hold a value which the program itself made do not
count. Prints a line for each constant with the test that failed; ends with 1 where one survived. The copy as it is
must pass first. Takes about a minute for each constant on two cores.
"""

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
CONSTANT = re.compile(r"^(?P<head>(?:pub |pub\(crate\) )?const (?P<name>[A-Z_0-9]+): f64 = )(?P<value>[^;]+);", re.M)
# the closed forms, ledgers and rules of the trade that descents are held to
CHECKS = ["motion::", "ledger::", "edges::", "swing::", "slopes::", "on_runners::", "trade::"]
FAILED = re.compile(r"^test (\S+) .*FAILED|^    (\S+::\S+|\w+)$", re.M)


def failing(copy, *arguments):
    """The first test that fails, or None."""
    done = subprocess.run(["cargo", "test", *arguments], cwd=copy, capture_output=True, text=True)
    if done.returncode == 0:
        return None
    found = FAILED.search(done.stdout)
    return next(name for name in found.groups() if name) if found else "it ended with " + str(done.returncode)


def noticed(copy, crate):
    """The stage and the test that notices what is wrong in the copy, or None."""
    # a value that the program made proves no coefficient
    proofs = ["--", "--skip", "pins_"]
    test = failing(copy, "-p", crate, "--lib", *proofs)
    if test:
        return f"caught by its crate, {test}"
    test = failing(copy, "-p", "checks", "--test", "checks", *proofs, *CHECKS)
    return f"caught by the checks, {test}" if test else None


def main():
    copy, parts = pathlib.Path(sys.argv[1]), sys.argv[2:]
    survived = 0
    for crate, patterns in LAWS.items():
        if wrong := noticed(copy, crate):
            print(f"{crate} fails as it is: {wrong}")
            return 2
        source = copy / "crates" / crate / "src"
        for path in sorted(p for pattern in patterns for p in source.glob(pattern)):
            text = path.read_text()
            for found in CONSTANT.finditer(text):
                name = found["name"]
                if NOT_A_LAW.search(name) or (parts and not any(part in name for part in parts)):
                    continue
                changed = f"{found['head']}1.1 * ({found['value']});"
                path.write_text(text[: found.start()] + changed + text[found.end() :])
                try:
                    if failing(copy, "-p", crate, "--lib", "--no-run"):
                        told = "DOES NOT COMPILE"
                    else:
                        told = noticed(copy, crate) or "SURVIVED"
                finally:
                    path.write_text(text)
                survived += told.isupper()
                print(f"{path.relative_to(copy)} {name}: {told}", flush=True)
    return 1 if survived else 0


if __name__ == "__main__":
    sys.exit(main())
