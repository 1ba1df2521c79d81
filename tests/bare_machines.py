"""Runs `make site` and `make test` in minimal Debian systems, made for it; prints a table.

Not part of `make test`: it needs root, `debootstrap`, the net, about 3 GB, and half an hour. Each
system has nothing but what Debian calls minimal; then one thing after the other is added, and each
time the command has to say in one sentence what it still lacks. The folder has a space and an
umlaut in its path. Once root runs the commands, once an ordinary user without any way to root.

    python3 tests/bare_machines.py            # `make test` with the unit tests and a few pages
    python3 tests/bare_machines.py --full     # with every test
"""

from __future__ import annotations

import argparse
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).parent.parent
SUITES = {"bookworm": "Debian 12", "trixie": "Debian 13", "sid": "Debian sid"}
PLACE = "home/teacher/Übungen für alle/benchlore"
SOME_TESTS = "tests/unit tests/browser/test_exercises.py"
PASSED_ON = (
    "PIP_",
    "SSL_CERT",
    "REQUESTS_CA",
    "NODE_EXTRA_CA",
    "npm_config_",
    "http_proxy",
    "https_proxy",
    "no_proxy",
)
"""How this machine reaches the net; handed on to the systems made."""
NET_FILES = (
    "/etc/resolv.conf",
    "/etc/hosts",
    "/etc/pip.conf",
    "/etc/npmrc",
    "/etc/apt/apt.conf",
    "/etc/ssl/certs/ca-certificates.crt",
)


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table: what was tried, and whether it went as it should."""

    system: str
    who: str
    tried: str
    seconds: float
    result: str
    right: bool


@dataclass(frozen=True, slots=True)
class Machine:
    """A system made for a trial.

    Attributes:
        root: Its folder.
        name: As the table calls it.
        user: Who runs the commands there.
        rows: What was tried so far.
    """

    root: Path
    name: str
    user: str
    rows: list[Row] = field(default_factory=list)

    def run(self, command: str, user: str = "root") -> tuple[int, str]:
        """Run a shell command inside, with nothing of this machine's environment but its net.

        Returns:
            Exit status, and both outputs together.
        """
        home = "/root" if user == "root" else f"/home/{user}"
        kept = {
            name: value
            for name, value in os.environ.items()
            if name.startswith(PASSED_ON) and not Path(value).is_dir()
        }
        path = "/usr/local/sbin:/usr/local/bin:/usr/sbin:/usr/bin:/sbin:/bin"
        settings = {**kept, "HOME": home, "PATH": path}
        enter = (
            'mount -t proc proc "$0/proc" && mount --rbind /dev "$0/dev" && '
            'exec chroot --userspec="$1:$1" "$0" /bin/sh -c "$2"'
        )
        done = subprocess.run(
            ["unshare", "--mount", "sh", "-c", enter, str(self.root), user, command],
            env=settings,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            errors="replace",
        )
        return done.returncode, done.stdout

    def try_out(self, tried: str, command: str, *, works: bool, says: str) -> str:
        """Run a command in the project's folder and add a row.

        Args:
            tried: What the table calls it.
            command: The command.
            works: Whether it should end well.
            says: Pattern that its output must have.

        Returns:
            What it said.
        """
        began = time.monotonic()
        status, output = self.run(f"cd '/{PLACE}' && {command}", self.user)
        seconds = time.monotonic() - began
        found = re.search(says, output)
        traceback = "Traceback (most recent call last)" in output
        right = (status == 0) is works and found is not None and not traceback
        result = found[0] if found else f"does not say {says!r}"
        row = Row(self.name, self.user, tried, seconds, f"{status}: {result}", right)
        self.rows.append(row)
        print(format_row(row), flush=True)
        if not right:
            print("\n".join(f"    | {line}" for line in output.splitlines()[-40:]), flush=True)
        return output

    def connect(self) -> None:
        """Let it reach the net as this machine does; packages may have replaced certificates."""
        for name in NET_FILES:
            if Path(name).is_file():
                target = self.root / name.lstrip("/")
                target.parent.mkdir(parents=True, exist_ok=True)
                shutil.copy(name, target)

    def install(self, packages: str) -> None:
        """Install packages of the system."""
        command = f"DEBIAN_FRONTEND=noninteractive apt-get install -y -qq {packages}"
        status, output = self.run(f"{command} --no-install-recommends")
        if status:
            raise SystemExit(f"{self.name}: {packages} could not be installed\n{output}")
        self.connect()


def format_row(row: Row) -> str:
    """Give a row of the table in Markdown."""
    mark = "yes" if row.right else "NO"
    cells = (row.system, row.who, row.tried, f"{row.seconds:.0f} s", mark, row.result)
    return "| " + " | ".join(" ".join(cell.replace("|", "/").split()) for cell in cells) + " |"


def find_mirror() -> str:
    """Give the address from which this machine takes Debian's packages."""
    told = subprocess.run(
        ["apt-get", "indextargets", "--format", "$(SITE)", "Origin: Debian", "Label: Debian"],
        capture_output=True,
        text=True,
        check=True,
    ).stdout.split()
    if not told:
        raise SystemExit("Where Debian's packages come from is not known here.")
    return told[0]


def make_base(suite: str, folder: Path) -> Path:
    """Make a minimal system once; it is copied for each trial."""
    base = folder / f"base-{suite}"
    if not base.is_dir():
        staged = folder / f"part-{suite}"
        shutil.rmtree(staged, ignore_errors=True)
        command = ["debootstrap", "--variant=minbase", suite, str(staged), find_mirror()]
        done = subprocess.run(command, capture_output=True, text=True)
        if done.returncode:
            raise SystemExit(f"debootstrap failed for {suite}:\n{done.stdout[-2000:]}{done.stderr}")
        staged.rename(base)
    return base


@contextmanager
def start_machine(suite: str, user: str, folder: Path) -> Iterator[Machine]:
    """Copy a minimal system and put the project's files into it, owned by the user."""
    with tempfile.TemporaryDirectory(prefix=f"{suite}-{user}-", dir=folder) as made:
        root = Path(made) / "system"
        base = make_base(suite, folder)
        subprocess.run(["cp", "-a", "--reflink=auto", f"{base}/.", str(root)], check=True)
        (root / "etc/apt/apt.conf.d/99check").write_text('Acquire::Check-Valid-Until "false";\n')
        machine = Machine(root, SUITES.get(suite, suite), user)
        machine.connect()
        machine.run("useradd --create-home teacher; apt-get update -qq")
        place = root / PLACE
        place.mkdir(parents=True)
        listed = ["git", "-C", str(ROOT), "ls-files", "-z", "--cached", "--others"]
        names = subprocess.run(
            [*listed, "--exclude-standard"], capture_output=True, check=True
        ).stdout.split(b"\0")
        for name in filter(None, names):
            source = ROOT / os.fsdecode(name)
            if source.is_file():
                target = place / os.fsdecode(name)
                target.parent.mkdir(parents=True, exist_ok=True)
                shutil.copy(source, target)
        machine.run(f"chown -R {user}:{user} /home/teacher")
        yield machine


def try_site(machine: Machine) -> None:
    """`make site`: what it says while something is missing, then that it works, moved as well."""
    machine.install("make")
    machine.try_out("site, no Python", "make site", works=False, says=r"apt-get install python3 .*")
    machine.install("python3")
    version = machine.run("python3 -c 'import sys; print(\"%d.%d\" % sys.version_info[:2])'")[1]
    lacks = rf"apt-get install python{version.strip()}-venv"
    machine.try_out("site, no venv", "make site", works=False, says=lacks)
    machine.install("python3-venv")
    offline = "export PIP_NO_INDEX=1"
    machine.try_out(
        "site, no net", f"{offline}; make site", works=False, says="is there a connec.*"
    )
    machine.try_out("nothing left behind", "ls -A | grep -c venv", works=False, says="^0")
    size = "du -sm .venv | cut -f1 | sed 's/$/ MB of packages/'"
    says = r"\d+ pages in [\d.]+ s[\s\S]*MB of packages"
    machine.try_out(
        f"site, Python {version.strip()}", f"make site && {size}", works=True, says=says
    )
    machine.try_out("site again", "make site", works=True, says=r"\d+ pages in [\d.]+ s")
    move = "cd .. && mv benchlore 'moved away' && cd 'moved away'"
    back = "cd .. && mv 'moved away' benchlore"
    machine.try_out(
        "site, folder moved, no net",
        f"{move} && {offline} && make site && {back}",
        works=True,
        says="The folder was moved",
    )
    machine.try_out("site, moved back", "make site", works=True, says=r"\d+ pages in [\d.]+ s")
    machine.try_out(
        "half-made .venv",
        "rm -rf .venv/lib .venv/.complete && make site",
        works=True,
        says=r"\d+ pages in [\d.]+ s",
    )
    machine.try_out("the command itself", ".venv/bin/benchlore check", works=True, says="Read .*")


def try_tests(machine: Machine, *, full: bool) -> None:
    """`make test`: all of it as root; all but the browser's tests, and a failure, without."""
    machine.install("make python3-venv")
    some = "" if full else f" TESTS='{SOME_TESTS}'"
    size = "du -sm .venv | cut -f1 | sed 's/$/ MB of packages/'"
    if machine.user == "root":
        says = r"\d+ passed.* in [\s\S]*MB of packages"
        machine.try_out("test", f"make test{some} && {size}", works=True, says=says)
        return
    machine.try_out("lint unit", "make lint unit", works=True, says=r"\d+ passed.*")
    output = machine.try_out("test", f"make test{some}", works=False, says=r"NOT RUN: [^\n]*")
    ran = re.search(r"=+ (\d+ passed[^=]*) =+", output)
    lacks = re.search(r"Ask for: .*", output)
    right = (
        ran is not None and "failed" not in ran[1] and "error" not in ran[1] and lacks is not None
    )
    told = f"{ran[1] if ran else 'no tests ran'}; {lacks[0] if lacks else 'asks for nothing'}"
    row = Row(machine.name, machine.user, "the rest of test", 0, told, right)
    machine.rows.append(row)
    print(format_row(row), flush=True)


def main() -> int:
    """Run all trials; the exit status is 1 if one did not go as it should."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--full", action="store_true", help="every test, not only some")
    parser.add_argument("--only", choices=("site", "test"), help="one of the two commands")
    parser.add_argument("--suite", action="append", choices=SUITES, help="default: 12 and 13")
    parser.add_argument("--user", action="append", choices=("root", "teacher"))
    parser.add_argument("--folder", type=Path, default=Path("/var/tmp/benchlore-bare"))
    wanted = parser.parse_args()
    if os.geteuid() or not shutil.which("debootstrap"):
        print("This needs root and debootstrap: apt-get install debootstrap", file=sys.stderr)
        return 2
    wanted.folder.mkdir(parents=True, exist_ok=True)
    rows: list[Row] = []
    print("| system | who | what | time | as it should | result |")
    print("| --- | --- | --- | --- | --- | --- |", flush=True)
    for suite in wanted.suite or ("bookworm", "trixie"):
        for user in wanted.user or ("root", "teacher"):
            with start_machine(suite, user, wanted.folder) as machine:
                if wanted.only != "test":
                    try_site(machine)
                if wanted.only != "site":
                    try_tests(machine, full=wanted.full)
                rows += machine.rows
    wrong = sum(not row.right for row in rows)
    print(f"{len(rows) - wrong} passed, {wrong} failed")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
