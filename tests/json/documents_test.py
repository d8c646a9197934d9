#!/usr/bin/python3
"""The JSON document of every command: each is made by the built program, over simulated units where it asks
any, and validates against its schema in schemas/json/documents, which is found by the document's `command`."""

import collections
import hashlib
import json
import os
import pathlib
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import unittest

import schemas
from schemas import SCHEMAS, SOURCE, Validators

PORT = 16109
SECRETS = {"FACTORY_AUTH": "out of the box", "FACTORY_PRIV": "box of the out", "NO_COLOR": "1"}

FLEET = """fleet: Larkmoor documents
mode-wait: 2 s
timeout: 500 ms
retries: 1
failures-allowed: 4
factory-communities: []
credentials:
  factory: {user: installer, auth-secret: {env: FACTORY_AUTH}, privacy-secret: {env: FACTORY_PRIV}}
  own: {user: vergeset, keys: store}
  old: {version: 1, community: {file: old}, insecure: a box of 2009}
credential: own
factory-credentials: [factory]
key-store: {file: keys/documents.keys}
severities: {bond: error}
settings:
  unit-id: "{unit}"
  notify-address: 192.0.2.10
  mode: operate
tables:
  store-and-repeat:
    rows:
      map: {match: [psid, message], psid: 0x82, message: MAP, channel: 183, interval: 1000 ms, enabled: yes,
            start: 2026-01-01T00:00Z, stop: 2036-01-01T00:00Z, payload: {file: payloads/LK-101-map.hex}}
  immediate-forward:
    rows:
      spat: {match: [psid], psid: 0x82, message: SPAT, tx-mode: continuous, channel: 183, enabled: yes}
only:
  rsu-4.1:
    tables:
      store-and-repeat: {rows: {map: {tx-mode: continuous, channel: 172}}}
      immediate-forward: {rows: {spat: {channel: 172}}}
"""

# Another address, another interval, another row, and the one that was there is to go.
CHANGED = (FLEET.replace("192.0.2.10", "192.0.2.11").replace("interval: 1000 ms", "interval: 500 ms")
           .replace("spat: {match", "other: {match").replace("rows: {spat:", "rows: {other:")
           .replace("psid: 0x82, message: SPAT", "psid: 0x83, message: SPAT")
           .replace("  immediate-forward:\n    rows", "  immediate-forward:\n    others: remove\n    rows"))

SITE = "{pole: p-17, latitude: 51.1234567, longitude: -1.2345678, elevation: 41.2, antennas: 2 C-V2X 6 dBi + GNSS}"
UNITS = f"""units:
  LK-101: {{address: 127.109.1.1, port: {PORT}, model: ntcip1218-v01, groups: [all], site: {SITE}}}
  LK-201: {{address: 127.109.1.2, port: {PORT}, model: rsu-4.1, groups: [[all]], site: {SITE}}}
  LK-301: {{address: 127.109.1.3, port: {PORT + 1}, model: rsu-4.1}}
  LK-302: {{address: 127.109.1.4, port: {PORT}, model: rsu-4.1, credential: factory}}
  LK-303: {{address: 127.109.1.5, port: {PORT + 1}, model: rsu-4.1, credential: old}}
"""

# Silent units take their time.
ANSWERING = ["LK-101", "LK-201", "LK-302"]

ANSWERS = """who: A. Fitter
all: {work-area: yes, mounted: yes, mount-height: 6.3 m, serial: LM1, mac: 02-00-00-00-00-01, antennas: yes,
  gnss-sky: yes, sealed: {answer: no, note: one gland}, cable-length: 41, surge-protector: SP-1, bond: bar,
  bond-resistance: 0.3, earth-resistance: 8, injector-voltage: 55, supply-voltage: 52.5 V, light: skip}
"""

MIB = """LARKMOOR-MIB DEFINITIONS ::= BEGIN
IMPORTS MODULE-IDENTITY, OBJECT-TYPE, Integer32, enterprises FROM SNMPv2-SMI;
lark MODULE-IDENTITY LAST-UPDATED "202601010000Z" ORGANIZATION "o" CONTACT-INFO "c" DESCRIPTION "d"
 ::= { enterprises 99999 }
lamp OBJECT-TYPE SYNTAX Integer32 (0..9) MAX-ACCESS read-write STATUS current DESCRIPTION "d" ::= { lark 1 }
key OBJECT-TYPE SYNTAX SEQUENCE OF Key MAX-ACCESS not-accessible STATUS current DESCRIPTION "d" ::= { lark 2 }
row OBJECT-TYPE SYNTAX Key MAX-ACCESS not-accessible STATUS current DESCRIPTION "d" INDEX { one, two } ::= { key 1 }
Key ::= SEQUENCE { one Integer32, two Integer32 }
one OBJECT-TYPE SYNTAX Integer32 (0..9) MAX-ACCESS not-accessible STATUS current DESCRIPTION "d" ::= { row 1 }
two OBJECT-TYPE SYNTAX Integer32 (0..9) MAX-ACCESS read-only STATUS current DESCRIPTION "d" ::= { row 2 }
END
"""

SHEET = """Unit,IP,Model,Pole #,Cable ft,Installed,Colour
LK-900,192.0.2.90,rsu-4.1,p-1,300,05/13/2026,red
LK-901,192.0.2.91,rsu-9,p-2,40,05/14/2026,red
LK-101,127.109.1.1,ntcip1218-v01,p-99,40,05/14/2026,red
LK-902,192.0.2.92,rsu-4.1,p-3,long,05/15/2026,red
"""


class Fleet:
    """A fleet on disk, with units that a simulator plays."""

    def __init__(self):
        self._kept = tempfile.TemporaryDirectory()
        self.folder = pathlib.Path(self._kept.name)
        self.simulator = None
        self.write("fleet.yaml", FLEET)
        self.write("units.yaml", UNITS)
        self.write("groups/all.yaml", "settings: {notify-port: 162}\n")
        self.write("old", "larkmoor-of-old\n")
        self.write("answers.yaml", ANSWERS)
        self.write("LARKMOOR-MIB.txt", MIB)
        self.write("rsus.csv", SHEET)
        shutil.copytree(SOURCE / "inventories/larkmoor/payloads", self.folder / "payloads")
        os.chmod(self.folder / "old", 0o600)
        self.env = {**os.environ, **SECRETS, "VERGESET_LOCKS": str(self.folder / "locks")}

    def path(self, name):
        return str(self.folder / name)

    def write(self, name, text):
        path = self.folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")

    def start(self):
        program = os.environ.get("SIMULATOR", str(SOURCE / "build/src/sim/roadside-sim"))
        self.simulator = subprocess.Popen(
            [program, "--fleet", self.folder, "--schemas", SOURCE / "schemas", "--control", self.path("control"),
             "--ready", self.path("ready"), "--transition", "30", "--credential", "factory", "--state", "factory",
             "--seconds", "90", "--dead", "LK-301,LK-303"],
            env=self.env, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        for _ in range(1000):
            if (self.folder / "ready").exists():
                return
            if self.simulator.poll() is not None:
                break
            time.sleep(0.01)
        raise RuntimeError("roadside-sim does not serve the fleet")

    def tell(self, *words):
        program = os.environ.get("SIMULATOR", str(SOURCE / "build/src/sim/roadside-sim"))
        subprocess.run([program, "tell", "--control", self.path("control"), *words], check=True, env=self.env,
                       stdout=subprocess.DEVNULL)

    def end(self):
        if self.simulator is not None and self.simulator.poll() is None:
            self.simulator.send_signal(signal.SIGTERM)
            self.simulator.wait()
        self._kept.cleanup()


def commands_of_the_program():
    """As its help lists them."""
    told = subprocess.run([schemas.PROGRAM, "--help"], capture_output=True, text=True, check=True).stdout
    names = []
    for line in told.splitlines():
        found = re.match(r"  ([a-z-]+(?:, [a-z-]+)?) +[A-Z]", line)
        if found:
            names += found.group(1).split(", ")
    return names


class Documents(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.fleet = Fleet()
        cls.validators = Validators()
        cls.by_command = {schemas.read_json(path)["properties"]["command"]["const"]: path.name
                          for path in (SCHEMAS / "documents").glob("*.json") if path.name != "pieces.json"}
        cls.seen = collections.Counter()
        cls.began = time.monotonic()

    @classmethod
    def tearDownClass(cls):
        cls.fleet.end()
        print(f"{sum(cls.seen.values())} documents of {len(cls.seen)} commands validate, in "
              f"{time.monotonic() - cls.began:.1f} s", file=sys.stderr)

    def valid(self, words, *statuses, alone=False):
        """The document of a command, which validates; `alone`: it takes no fleet."""
        words = [*map(str, words), "--json"] + ([] if alone else ["--fleet", str(self.fleet.folder)])
        ran = schemas.vergeset(*words, env=self.fleet.env)
        shown = " ".join(words)
        self.assertIn(ran.returncode, statuses or (0,), f"{shown}\n{ran.stdout[-3000:]}{ran.stderr[-3000:]}")
        document = json.loads(ran.stdout)
        self.assertIn(document["command"], self.by_command,
                      f"{shown}: no schema in schemas/json/documents is of this command; add one")
        name = "documents/" + self.by_command[document["command"]]
        self.assertEqual(self.validators.faults(name, document), [], shown)
        # One more member, or one less at the top, is told: the schema is no open door.
        self.assertNotEqual(self.validators.faults(name, {**document, "quite-unknown": 1}), [], shown)
        self.seen[document["command"]] += 1
        return document

    def outcomes(self, document):
        return {unit["unit"]: unit.get("outcome") or unit.get("verdict") for unit in document["units"]}

    def test_every_document_of_every_command_validates(self):
        self.offline()
        self.fleet.start()
        # What answers at LK-302 is not what the inventory says from here on.
        stated = "credential: factory, engine-id: 80001f88040102030405"
        self.fleet.write("units.yaml", UNITS.replace("credential: factory", stated))
        self.reached_and_opened()
        self.changed_by_order()
        self.drifted_and_put_back()
        self.heard_unasked()
        self.heard_by_certificate()
        self.broken_off()
        self.described_and_commissioned()
        self.kept_as_the_manual_says()
        missing = [name for name in commands_of_the_program() if not any(
            seen == name or seen.startswith(name + " ") for seen in self.seen)]
        self.assertEqual(missing, [], "a command without a run here: add one, and its schema")
        self.assertEqual(set(self.by_command), set(self.seen), "a schema without a document")

    def offline(self):
        fleet = self.fleet
        self.assertEqual(self.valid(["check"], 5)["faults"], [])
        self.assertIn("rules", self.valid(["check", "--rules"], 5))
        self.assertNotEqual(self.valid(["check", "--load"], 5)["channels"], [])
        fleet.write("groups/bad.yaml", "setting: 1\n")
        self.assertNotEqual(self.valid(["check"], 2)["faults"], [])
        os.remove(fleet.path("groups/bad.yaml"))
        larkmoor = str(SOURCE / "inventories/larkmoor")
        self.valid(["check", "--fleet", larkmoor], alone=True)
        for unit in ("LK-101", "LK-112", "LK-131"):
            self.valid(["where", unit, "--fleet", larkmoor], alone=True)
        self.valid(["new", fleet.path("first")], alone=True)
        for payload in sorted((fleet.folder / "payloads").glob("*.hex")):
            self.valid(["message", payload], alone=True)
        for octets in ("0014", "00", "0012ff00"):
            self.valid(["message", octets], 0, 2, alone=True)
        for seed in sorted((SOURCE / "tests/fuzz/seeds/j2735").iterdir()):
            self.valid(["message", seed.read_bytes().hex()], 0, 2, alone=True)
        self.valid(["model", "from-mib", fleet.path("LARKMOOR-MIB.txt")], alone=True)
        self.valid(["model", "from-mib", SOURCE / "tests/schema/mibs/LARKMOOR-BELL-MIB.txt", "--based-on", "rsu-4.1"],
                   alone=True)
        self.valid(["model", "schemas", "--fleet", fleet.folder, "--out", fleet.path(".schemas")], alone=True)
        self.valid(["import", fleet.path("rsus.csv"), "--out", fleet.path("new.csv"), "--dry-run"], 2)
        # 05/06 could be either.
        fleet.write("either.csv", SHEET.replace("05/13", "05/06").replace("05/14", "05/06").replace("05/15", "05/06"))
        asked = self.valid(["import", fleet.path("either.csv"), "--out", fleet.path("new.csv")], 2)
        self.assertNotEqual(asked["questions"], [])
        made = self.valid(["import", fleet.path("rsus.csv"), "--out", fleet.path("new.csv"), "--dates", "month-first",
                           "--column", "Colour=none"], 2)
        self.assertEqual([unit["fields"]["unit"] for unit in made["units"]], ["LK-900", "LK-902"])
        self.valid(["units"])
        self.valid(["where", "LK-101"])
        self.valid(["where", "LK-201", "store-and-repeat"])
        self.valid(["changes"])
        self.valid(["log", "LK-101"])
        self.valid(["recover"])
        self.valid(["report"])

    def reached_and_opened(self):
        units = self.valid(["reach"], 5, 4)["units"]
        self.assertEqual(len(units), 5)
        self.valid(["rekey", "LK-101", "LK-201", "--dry-run"])
        document = self.valid(["rekey", "LK-101", "LK-201", "--yes", "--why", "into service"])
        self.assertEqual(self.outcomes(document), {"LK-101": "settled", "LK-201": "settled"})
        self.assertTrue(self.valid(["reach", "LK-101"])["units"][0]["at_top"])

    def changed_by_order(self):
        order = self.fleet.path("order.yaml")
        self.valid(["survey", *ANSWERING], 3)
        self.valid(["survey", "LK-101", "LK-201", "--whole"])
        found = self.outcomes(self.valid(["diff"], 3, 4, 5))
        self.assertEqual(found, {"LK-101": "drifted", "LK-201": "drifted", "LK-301": "no answer",
                                 "LK-302": "wrong unit", "LK-303": "no answer"})
        self.valid(["diff", "--survey"], 4)
        walk = SOURCE / "tests/fuzz/seeds/walk/ntcip1218.txt"
        self.assertEqual(self.valid(["diff", "LK-101", "--walk", walk], 3, 4, 5)["from"], "walk")
        self.valid(["apply", "--dry-run"], 5)
        document = self.valid(["apply", "LK-101", "LK-201", "--dry-run", "--rehearse", "--write", order])
        self.assertTrue(all(unit["passed"] for unit in document["rehearsal"]["units"]), document["rehearsal"])
        text = pathlib.Path(order).read_text(encoding="utf-8")
        self.assertEqual(self.validators.faults_of_yaml("work-order.json", text), [])
        self.sealed_by_another(order, text)
        self.valid(["approve", order])
        text = pathlib.Path(self.fleet.path("order.approval.yaml")).read_text(encoding="utf-8")
        self.assertEqual(self.validators.faults_of_yaml("approval.json", text), [])
        document = self.valid(["apply", "--order", order, "--require-second-person", "--yes", "--why", "as ordered"])
        self.assertEqual(self.outcomes(document), {"LK-101": "settled", "LK-201": "settled"})
        self.valid(["apply", "--yes", "--rehearse", *ANSWERING], 5)

    def sealed_by_another(self, path, text):
        """The order as another login would have written it."""
        body = re.sub(r"^who: .*$", "who: robin@desk", text[:text.rindex("# digest: ")], count=1, flags=re.M)
        digest = hashlib.sha256(body.encode("utf-8")).hexdigest()
        pathlib.Path(path).write_text(f"{body}# digest: {digest}\n", encoding="utf-8")

    def drifted_and_put_back(self):
        fleet = self.fleet
        whole = self.valid(["audit", "LK-101", "LK-201"], 0, 3)
        self.assertEqual(set(self.outcomes(whole).values()), {"agrees"})
        fleet.write("fleet.yaml", CHANGED)
        document = self.valid(["audit", *ANSWERING], 3)
        kinds = {one["kind"] for unit in document["units"] for one in unit["differences"]}
        self.assertEqual(kinds, {"value", "new row", "changed row", "removed row"})
        self.valid(["audit", "--part", "1/2", *ANSWERING], 0, 3)
        self.valid(["audit", "--part", "2/2", *ANSWERING, "--records", fleet.path("records-2")], 0, 3, 5)
        self.valid(["gather", fleet.path("records")], 3, 4, 5)
        self.valid(["gather", fleet.path("records"), fleet.path("records-2")], 3, 4, 5)
        document = self.valid(["apply", "LK-101", "LK-201", "--yes", "--why", "other rows"])
        self.valid(["rollback", document["change"], "--dry-run"])
        self.valid(["rollback", document["change"], "--yes", "--why", "no good"])
        self.assertGreater(len(self.valid(["changes"])["changes"]), 2)
        self.valid(["changes", "show", document["change"]])
        self.assertNotEqual(self.valid(["log", "LK-101"])["lines"], [])
        standing = self.valid(["report"])
        self.assertTrue(any(unit["changes"] and unit["nights"] for unit in standing["units"]))
        self.valid(["thin", "--dry-run"])
        self.valid(["thin"])
        self.valid(["units"])
        self.valid(["self-test"], alone=True)

    def kept_as_the_manual_says(self):
        """After all commands no file of records is of a kind that vergeset-records(5) and the samples do not know."""
        page = (SOURCE / "src/cli/pages/vergeset-records.5.md").read_text(encoding="utf-8")
        told = [path for row in re.findall(r"^\| (`.*?) \|", page, flags=re.M) for path in re.findall("`(.*?)`", row)]
        samples = (SOURCE / "tests/records/samples/README.md").read_text(encoding="utf-8")
        left = {str(path.relative_to(self.fleet.folder / "records"))
                for path in (self.fleet.folder / "records").rglob("*") if path.is_file()}
        for path in told:
            self.assertIn(f"`{path}`", samples, "no kind of sample is of this record")
            shape = re.sub("NNNN", "[0-9]{4,}", re.sub("UNIT|TIME", "[^/]+", re.escape(path)))
            # A sheet is for people, and is not read again.
            ended = shape.replace("jsonl", "(jsonl|txt|html)") if path.startswith("commissioning/") else shape
            found = {name for name in left if re.fullmatch(ended, name)}
            self.assertNotEqual(found, set(), f"no command has written {path}")
            left -= found
        self.assertEqual(left, set(), "records of a kind that neither the manual nor the samples know")

    def heard_by_certificate(self):
        """A unit that shows no certificate is told of: OpenSSL's own client, at the unit's address."""
        with tempfile.TemporaryDirectory() as folder:
            at = pathlib.Path(folder)
            (at / "fleet.yaml").write_text(
                "fleet: Larkmoor by certificate\ncredentials:\n  road: {transport: tls, certificate: ours.crt, key: {file: "
                "ours.key}, trust: ours.crt}\ncredential: road\n", encoding="utf-8")
            (at / "units.yaml").write_text("units:\n  LK-401: {address: 127.109.1.6, model: rsu-4.1}\n", encoding="utf-8")
            subprocess.run(["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-keyout", at / "ours.key", "-out",
                            at / "ours.crt", "-subj", "/CN=office", "-days", "2"], check=True, capture_output=True)
            port = str(PORT + 3)
            listening = subprocess.Popen(
                [schemas.PROGRAM, "listen", "--json", "--fleet", folder, "--address", "127.109.1.9", "--tls-port", port,
                 "--seconds", "30"], env=self.fleet.env, stdout=subprocess.PIPE, text=True)
            lines = [listening.stdout.readline()]
            subprocess.run(["openssl", "s_client", "-bind", "127.109.1.6:0", "-connect", f"127.109.1.9:{port}"],
                           stdin=subprocess.DEVNULL, capture_output=True, timeout=20, check=False)
            lines.append(listening.stdout.readline())
            listening.send_signal(signal.SIGTERM)
            lines += listening.stdout.read().splitlines()
            self.assertEqual(listening.wait(), 0)
        documents = [json.loads(line) for line in lines]
        self.assertEqual([one["event"] for one in documents], ["listening", "refused", "ended"])
        self.assertEqual(documents[0]["tls-ports"], [f"127.109.1.9:{port}"])
        self.heard(documents)

    def heard(self, documents):
        for document in documents:
            self.assertEqual(self.validators.faults("documents/listen.json", document), [], document)
            self.assertNotEqual(self.validators.faults("documents/listen.json", {**document, "quite-unknown": 1}), [])
        self.seen["listen"] += len(documents)

    def heard_unasked(self):
        """A line each: what a unit that speaks SNMPv1 sends by net-snmp's snmptrap."""
        fleet = self.fleet
        port = str(PORT + 2)
        listening = subprocess.Popen(
            [schemas.PROGRAM, "listen", "LK-303", "--json", "--fleet", fleet.folder, "--address", "127.109.1.9", "--port", port,
             "--seconds", "30"], env=fleet.env, stdout=subprocess.PIPE, text=True)
        lines = [listening.stdout.readline()]
        # coldStart of RFC 1157.
        subprocess.run(["snmptrap", "--clientaddr=127.109.1.5", "-v1", "-c", "larkmoor-of-old", f"127.109.1.9:{port}",
                        "1.3.6.1.4.1.1206.4", "127.109.1.5", "0", "0", "", "1.3.6.1.2.1.1.5.0", "s", "LK-303"], check=True)
        lines.append(listening.stdout.readline())
        listening.send_signal(signal.SIGTERM)
        lines += listening.stdout.read().splitlines()
        self.assertEqual(listening.wait(), 0)
        documents = [json.loads(line) for line in lines]
        self.assertEqual([one["event"] for one in documents], ["listening", "notification", "ended"])
        self.assertEqual(documents[1]["notification"]["name"], "coldStart")
        self.heard(documents)

    def broken_off(self):
        """A vergeset that is killed while a unit takes its time leaves a change to recover."""
        fleet = self.fleet
        fleet.tell("LK-101", "delay", "150")
        changes = fleet.folder / "records/changes"
        begun = set(os.listdir(changes))
        running = subprocess.Popen([schemas.PROGRAM, "apply", "LK-101", "--yes", "--fleet", fleet.folder],
                                   env=fleet.env, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
                                   stderr=subprocess.DEVNULL)

        def sets():
            journals = [changes / name / "journal.jsonl" for name in set(os.listdir(changes)) - begun]
            return any('"set"' in path.read_text(encoding="utf-8") for path in journals if path.exists())

        while running.poll() is None and not sets():
            time.sleep(0.005)
        self.assertIsNone(running.poll(), "the change ended before it was broken off")
        running.kill()
        running.wait()
        fleet.tell("LK-101", "clear")
        self.assertIsNotNone(self.valid(["log", "LK-101"])["unfinished_change"])
        recovered = self.valid(["recover"])["changes"]
        self.assertEqual([unit["unit"] for change in recovered for unit in change["units"]], ["LK-101"])

    def described_and_commissioned(self):
        fleet = self.fleet
        self.valid(["draft", "--out", fleet.path("drafted"), *ANSWERING], 3)
        self.valid(["draft", "--survey", "--out", fleet.path("drafted-again"), "LK-101"])
        document = self.valid(["commission", "LK-101", "--bench", "--yes", "--answers", fleet.path("answers.yaml")],
                              0, 5)
        self.assertNotEqual(document["units"][0]["stages"], [])


if __name__ == "__main__":
    unittest.main()
