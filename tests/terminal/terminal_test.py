#!/usr/bin/python3
"""Every command as it looks on a terminal: 80 and 200 columns wide, with and without style, in UTF-8 and in ASCII,
on TERM=dumb, and in a pipe.

usage: terminal_test.py VERGESET ROADSIDE-SIM FOLDER-FOR-RESULTS

Held against: ECMA-48 (the only controls are SGR 0, 1 and 2: normal, bold, faint), no-color.org (NO_COLOR), terminfo
(a dumb terminal obeys no control). That bold and dim are all there is, and never meaning by them alone, is the
project's own rule: without them a screen says the same.
"""

import fcntl
import os
import pty
import re
import secrets
import select
import shutil
import struct
import subprocess
import sys
import termios
import time

HERE = os.path.dirname(os.path.abspath(__file__))
SOURCE = os.path.dirname(os.path.dirname(HERE))
SGR = re.compile(r"\x1b\[[012]m")
failed = []

MIB = """LARKMOOR-MIB DEFINITIONS ::= BEGIN
IMPORTS MODULE-IDENTITY, OBJECT-TYPE, Integer32, enterprises FROM SNMPv2-SMI;
lark MODULE-IDENTITY LAST-UPDATED "202601010000Z" ORGANIZATION "o" CONTACT-INFO "c" DESCRIPTION "d"
 ::= { enterprises 99999 }
lamp OBJECT-TYPE SYNTAX Integer32 (0..9) MAX-ACCESS read-write STATUS current DESCRIPTION "d" ::= { lark 1 }
END
"""


def check(holds, what):
    if not holds:
        failed.append(what)
        print("FAILED:", what)


def on_terminal(command, environment, columns):
    """What a command writes to a terminal of so many columns."""
    child, terminal = pty.fork()
    if child == 0:
        os.chdir(environment["FLEET"])
        os.execve(command[0], command, environment)
    fcntl.ioctl(terminal, termios.TIOCSWINSZ, struct.pack("HHHH", 50, columns, 0, 0))
    octets = b""
    until = time.monotonic() + 60
    while time.monotonic() < until:
        ready, _, _ = select.select([terminal], [], [], 1)
        if not ready:
            continue
        try:
            more = os.read(terminal, 65536)
        except OSError:
            break
        if not more:
            break
        octets += more
    os.close(terminal)
    _, status = os.waitpid(child, 0)
    return octets.decode("utf-8", "surrogateescape").replace("\r\n", "\n"), os.waitstatus_to_exitcode(status)


def in_pipe(command, environment):
    ran = subprocess.run(command, env=environment, cwd=environment["FLEET"], capture_output=True, timeout=60)
    return ran.stdout.decode(), ran.stderr.decode(), ran.returncode


def widest(text):
    return max((len(line) for line in text.split("\n")), default=0)


def fresh(command, environment):
    """FRESH stands for a name that nothing has yet."""
    environment["MADE"][0] += 1
    return [f"../m{environment['MADE'][0]}" if word == "FRESH" else word for word in command]


def look_at(name, words, environment):
    variables = {key: value for key, value in environment.items() if key != "MADE"}

    def terminal(columns, **more):
        return on_terminal(fresh(words, environment), {**variables, **more}, columns)

    narrow, status = terminal(80, TERM="xterm", LC_ALL="C.UTF-8")
    wide, same = terminal(200, TERM="xterm", LC_ALL="C.UTF-8")
    out, aside, piped = in_pipe(fresh(words, environment), {**variables, "TERM": "xterm", "LC_ALL": "C.UTF-8"})
    # What changes a unit finds nothing to do the second time, and a change that was rolled back is none any more.
    changes = name.startswith(("apply ", "rollback ", "commission "))
    check(changes or status == same == piped, f"{name}: the exit status is the same everywhere: {status}, {same}, {piped}")
    check(1 not in (status, same, piped), f"{name}: no internal error")
    for text, columns in ((narrow, 80), (wide, 200)):
        plain = SGR.sub("", text)
        check("\x1b" not in plain, f"{name}, {columns} columns: no control but bold, faint and normal")
        # What is to be copied into a file as it stands is not broken.
        shown = [line.split("\r")[-1] for line in plain.split("\n") if "$schema=" not in line]
        check(widest("\n".join(shown)) <= columns, f"{name}: no line is wider than {columns} columns ({widest(plain)})")
    check("\x1b" not in out + aside, f"{name}: no control in a pipe")
    check(narrow.strip() != "" or out.strip() == "", f"{name}: it says something")
    for more in ({"TERM": "dumb"}, {"TERM": "xterm", "NO_COLOR": "1"}):
        text, _ = terminal(80, LC_ALL="C.UTF-8", **more)
        check("\x1b" not in text, f"{name}, {more}: no control at all")
        if more["TERM"] == "dumb":
            check("\r" not in text, f"{name}: no line is written over on a dumb terminal")
    plain_ascii, _ = terminal(80, TERM="xterm", LC_ALL="C")
    check(plain_ascii.isascii(), f"{name}: ASCII alone where the locale has no more")
    shown = [line for line in SGR.sub("", plain_ascii.split("\r")[-1]).split("\n") if "$schema=" not in line]
    check(widest("\n".join(shown)) <= 80, f"{name}: and as wide")


def commands(vergeset):
    """Every command by its own help, and what of it does not change a unit."""
    listed = subprocess.run([vergeset, "--help"], check=True, capture_output=True, text=True).stdout
    names = []
    for line in listed.split("\n"):
        found = re.match(r"  ([a-z-]+)(?:, ([a-z-]+))? +[A-Z]", line)
        if found:
            names += [one for one in found.groups() if one]
    check(len(names) > 20, f"the help lists the commands: {names}")
    runs = [(f"{name} --help", [name, "--help"]) for name in names]
    for words in (
        "--help", "--version", "nothing-of-this-name", "check", "check --rules", "check --load", "units", "where LK-104",
        "where LK-117 position-tolerance", "message payloads/LK-104-map.hex", "reach --full", "survey LK-104", "diff",
        "audit", "apply --dry-run", "report --summary", "thin --dry-run", "changes", "log LK-104", "units NO-SUCH-UNIT",
        "rollback 7", "rekey --dry-run LK-104", "apply LK-104 --yes --why terminals", "apply --dry-run --full LK-117",
        "audit --full", "changes show 1", "rollback 1 --yes --why terminals", "recover", "gather records", "log LK-104 --sets",
        "new FRESH", "draft --out FRESH", "draft LK-104 --out FRESH --as drawn", "import spreadsheet.csv --model rsu-4.1 --dry-run",
        "model from-mib LARKMOOR-MIB.txt --out FRESH", "model schemas --out FRESH", "apply --dry-run --write FRESH LK-103",
        "approve NO-SUCH-ORDER", "commission LK-104 --bench --yes --answers answers.yaml",
        "listen LK-104 --address 127.120.1.99 --port 16121 --seconds 1",
    ):
        runs.append((words, words.split()))
    return runs


def main():
    vergeset, simulator, work = sys.argv[1:4]
    shutil.rmtree(work, ignore_errors=True)
    os.makedirs(work)
    fleet = work + "/larkmoor"
    shutil.copytree(SOURCE + "/inventories/larkmoor", fleet)
    # Three units are enough for every screen, and addresses of this test's own; a place with letters beyond ASCII.
    lines = open(fleet + "/units.csv").read().split("\n")
    kept = [line for line in lines if not line.startswith("LK-") or line[:6] in ("LK-103", "LK-104", "LK-117")]
    text = "\n".join(kept).replace("127.77.1.", "127.120.1.").replace("at Ferry Street", "at Fährstraße")
    open(fleet + "/units.csv", "w").write(text)
    os.remove(fleet + "/units.yaml")
    with open(fleet + "/spreadsheet.csv", "w") as out:
        out.write("Unit,IP,Pole #,Cable ft,Installed,Colour\nLK-900,192.0.2.90,p-1,300,05/13/2026,red\nLK-901,192.0.2.91,p-2,long,13/13/2026,blue\n")
    with open(fleet + "/LARKMOOR-MIB.txt", "w") as out:
        out.write(MIB)
    with open(fleet + "/answers.yaml", "w") as out:
        out.write("who: A. Fitter\nall: {work-area: yes, mounted: yes, antennas: yes, gnss-sky: yes, sealed: yes, "
                  "mount-height: skip, serial: skip, mac: skip, cable-length: skip, surge-protector: skip, bond: skip, "
                  "bond-resistance: skip, earth-resistance: skip, injector-voltage: skip, supply-voltage: skip, light: skip}\n")
    settings = open(fleet + "/fleet.yaml").read().replace("port: 16161", "port: 16120")
    open(fleet + "/fleet.yaml", "w").write(settings + "factory-communities: []\n")
    environment = {
        "MADE": [0], "PATH": os.environ["PATH"], "HOME": work, "FLEET": fleet, "VERGESET_LOCKS": work + "/locks",
        **{name: secrets.token_hex(12) for name in ("LARKMOOR_AUTH", "LARKMOOR_PRIV", "LARKMOOR_FACTORY_AUTH", "LARKMOOR_FACTORY_PRIV")},
    }
    served = subprocess.Popen(
        [simulator, "--fleet", fleet, "--state", "factory", "--ready", work + "/ready", "--seconds", "300"],
        env={key: value for key, value in environment.items() if key != "MADE"}, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )
    try:
        until = time.monotonic() + 30
        while not os.path.exists(work + "/ready"):
            if served.poll() is not None or time.monotonic() > until:
                sys.exit("the simulated units did not start")
            time.sleep(0.05)
        for name, words in commands(vergeset):
            look_at(name, [vergeset, *words], environment)
    finally:
        served.terminate()
        served.wait()
    sys.exit(1 if failed else 0)


main()
