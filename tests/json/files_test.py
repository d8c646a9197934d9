#!/usr/bin/python3
"""The files that people write: what vergeset takes validates, and the slips that it refuses for their shape are
refused by the schemas too. What only the program can know is listed, and counted."""

import concurrent.futures
import json
import os
import pathlib
import random
import shutil
import subprocess
import sys
import tempfile
import unittest

import yaml

import schemas
from schemas import READINGS, SOURCE, Core, Validators, vergeset, yaml_files

EVERYTHING = pathlib.Path(__file__).resolve().parent / "everything"
FLEET, UNITS, ALL = "fleet.yaml", "units.yaml", "groups/all.yaml"
MK2, MK3, COMMON = "models/mk2.yaml", "models/mk3.yaml", "models/common.yaml"

# (file, what stands there, the slip). Program and schema refuse each.
SLIPS = [
    # misspelt keys and names
    (FLEET, "timezone:", "time-zone:"), (FLEET, "waves:", "wave:"),
    (FLEET, "auth-secret: {env: L", "auth-sercet: {env: L"),
    (FLEET, "{env: LARKMOOR_AUTH}", "{enviroment: LARKMOOR_AUTH}"), (FLEET, "cable-run:", "cable-length:"),
    (FLEET, "bond: error", "bonds: error"), (FLEET, "{rsu-4.1: [4.2.0", "{rsu-41: [4.2.0"),
    (FLEET, "notify-port: 162", "notify-prot: 162"),
    (FLEET, "store-and-repeat:\n    others", "store-and-repaet:\n    others"),
    (FLEET, "interval: 1000 ms", "intervall: 1000 ms"), (FLEET, "[psid, message]", "[psid, mesage]"),
    (FLEET, "rsuSysLogSeverity:", "rsuSyslogSeverity:"), (FLEET, "rsuTxPower: 80 %", "rsuTxpower: 80 %"),
    (FLEET, "  rsu-4.1:\n    settings", "  rsu4.1:\n    settings"),
    (FLEET, "{needs-standby: yes}", "{need-standby: yes}"), (FLEET, "rsuNotifyPort:", "notify-port:"),
    (FLEET, "others: keep", "other: keep"), (UNITS, "address: 192", "adress: 192"),
    (UNITS, "engine-id:", "engineid:"), (UNITS, "cable-route:", "cable-way:"), (UNITS, "units:", "unit:"),
    (ALL, "settings:", "setting:"), (MK2, "based-on:", "based on:"), (MK2, "syntax: Integer32", "sytnax: Integer32"),
    (MK2, "edit: out", "edits: out"), (MK3, "recognise:", "recognize:"),
    (MK3, "identity: {unit-id", "identity: {unitid"), (COMMON, "about: how", "abuot: how"),
    (COMMON, "elsewhere: leave", "elsewere: leave"),
    (FLEET, "keep: {audits", "keep: {audit"),
    # wrong words
    (FLEET, "auth: SHA-1", "auth: SHA1"), (FLEET, "privacy: AES-256", "privacy: AES"),
    (FLEET, "keys: store", "keys: stored"), (FLEET, "version: 2c", "version: 3"),
    (FLEET, "transport: dtls", "transport: dtsl"), (FLEET, "oldest-tls: 1.0", "oldest-tls: 1.1"),
    (FLEET, "others: keep", "others: kept"), (FLEET, "bond: error", "bond: critical"),
    (FLEET, "rsuSysLogSeverity: warning", "rsuSysLogSeverity: warnign"), (FLEET, "mode: operate", "mode: opreate"),
    (FLEET, "message: MAP", "message: MAPP"), (FLEET, "enabled: yes", "enabled: sure"),
    (FLEET, "tx-mode: continuous", "tx-mode: continous"), (FLEET, "[bypass1609dot2off]", "[bypass1609dot2of]"),
    (FLEET, "{needs-standby: yes}", "{needs-standby: maybe}"), (FLEET, "present: no", "present: none"),
    (FLEET, "require-second-person: no", "require-second-person: never"), (UNITS, "model: rsu-4.1", "model: rsu-4.2"),
    (UNITS, "cable-route: outdoor", "cable-route: outside"),
    (UNITS, "rsuMsgRepeatEnable: on", "rsuMsgRepeatEnable: onn"),
    (MK2, "access: read-write, unit", "access: readwrite, unit"),
    (MK2, "traits: [needs-standby], note", "traits: [need-standby], note"),
    (MK2, "edit: out of service", "edit: out-of-service"),
    (MK2, "syntax: Integer32 (0..20001)", "syntax: Integer (0..20001)"),
    (COMMON, "elsewhere: leave out", "elsewhere: left out"), (FLEET, "start: 2026-01-01T00:00Z", "start: soon"),
    (FLEET, "psid: 0x82", "psid: PSID"), (FLEET, "rsuSysLogCloseTime: \"23:59:00\"", "rsuSysLogCloseTime: noon"),
    (FLEET, "notify-address: \"{tmc}\"", "notify-address: our office"),
    (UNITS, "supply-voltage: 52.5 V", "supply-voltage: 52.5 m"),
    # wrong types and shapes
    (FLEET, "logs: 365 days", "logs: 365"), (FLEET, "logs: 365 days", "logs: 365 m"),
    (FLEET, "fleet: Larkmoor district", "fleet: [Larkmoor, district]"), (FLEET, "fleet: Larkmoor district", "fleet:"),
    (FLEET, "port: 16161", "port: many"), (FLEET, "port: 16161", "port: 70000"), (FLEET, "retries: 3", "retries: -1"),
    (FLEET, "retries: 3", "retries: 3.5"), (FLEET, "waves: [1, 10%, rest]", "waves: {first: 1}"),
    (FLEET, "waves: [1, 10%, rest]", "waves: [0, rest]"), (FLEET, "waves: [1, 10%, rest]", "waves: [some, rest]"),
    (FLEET, "[Mon-Fri 22:00-05:00", "[Mo-Fr 22:00-05:00"), (FLEET, "22:00-05:00", "22:00-25:00"),
    (FLEET, "mode-wait: 60 s", "mode-wait: 60"), (FLEET, "mode-wait: 60 s", "mode-wait: 60 m"),
    (FLEET, "position-within: 500 m", "position-within: far"), (FLEET, "{env: LARKMOOR_AUTH}", "LARKMOOR_AUTH"),
    (FLEET, "{env: LARKMOOR_AUTH}", "{env: LARKMOOR AUTH}"), (FLEET, "{env: LARKMOOR_AUTH}", "{env: A, file: b}"),
    (FLEET, ", privacy-secret: {file: secrets/priv}", ""),
    (FLEET, "    insecure: units of 2009 know nothing better\n", ""),
    (FLEET, "keys: store", "keys: store, auth-secret: {env: A}"), (FLEET, ", insecure: nothing else", ""),
    (FLEET, "auth: none, insecure", "auth: none, privacy: AES-128, insecure"),
    (FLEET, "key-store: {file: keys/larkmoor.keys}", "key-store: {get: cat}"),
    (FLEET, "key-store: {file: keys/larkmoor.keys}", "key-store: keys/larkmoor.keys"),
    (FLEET, "cable-run: 90 m", "cable-run: 90"), (FLEET, "cable-run: 90 m", "cable-run: 90 V"),
    (FLEET, "satellites: 6", "satellites: 6 m"), (FLEET, "satellites: 6", "satellites: 600"),
    (FLEET, "position-tolerance: 25 m", "position-tolerance: 25"),
    (FLEET, "position-tolerance: 25 m", "position-tolerance: 25 ms"),
    (FLEET, "notify-port: 162", "notify-port: 99999"), (FLEET, "notify-port: 162", "notify-port: {port: 162}"),
    (FLEET, "notify-port: 162", "notify-port:"), (FLEET, "rsuLongCommLossTime: 60 min", "rsuLongCommLossTime: 60 m"),
    (FLEET, "mode: operate", "mode: 4"), (FLEET, "interval: 1000 ms", "interval: {file: a}"),
    (FLEET, "match: [psid, message]", "index: 1, match: [psid, message]"),
    (FLEET, "match: [psid, message]", "match: []"), (FLEET, "rows:\n      map:", "rows:\n      - map:"),
    (FLEET, "tmc: 192.0.2.10", "unit: x"), (FLEET, "tmc: 192.0.2.10", "tmc: '{unit}'"),
    (FLEET, "tmc: 192.0.2.10", "t.m: 1"),
    (FLEET, "settings:\n  unit-id: \"{unit}\"", "settings:\n  store-and-repeat: 1"),
    (FLEET, "settings:\n  unit-id: \"{unit}\"", "settings:\n  rsuMsgRepeatPsid: 1"),
    (FLEET, "settings:\n  unit-id: \"{unit}\"", "settings:\n  rsuModeStatus: 1"), (UNITS, "port: 16101", "port: 0"),
    (UNITS, "port: 16101", "port: [161]"), (UNITS, "    address: larkmoor-102.example\n", ""),
    (UNITS, "    model: larkmoor-mk2\n", ""), (UNITS, "LK-101:\n", "LK 101:\n"),
    (UNITS, "groups: [all, [signals, corridor-7]]", "groups: {all: yes}"),
    (UNITS, "groups: [all, [signals, corridor-7]]", "groups: [all, [signals, [corridor-7]]]"),
    (UNITS, "latitude: 51.1234567", "latitude: north"), (UNITS, "installed: 2026-05-01", "installed: 1 May 2026"),
    (UNITS, "site: {latitude: 51.3}", "site: [51.3]"), (UNITS, "engine-id: 80001f8804010203", "engine-id: my engine"),
    (UNITS, "fingerprint: \"sha256:00:01", "fingerprint: \"sha256:01"), (UNITS, "units:", "units: LK-101\nmore:"),
    (MK2, "oid: 6.9", "oid: six.nine"), (MK2, "words: {unknown: 20001}", "words: {unknown: many}"),
    (MK2, "absolute: 1.3.6.1.4.1.99998.1", "absolute: 1.3.6.1.4.1.99998.1, oid: 7"),
    (MK2, "lmThingName: {oid: 2", "lmThingName: {oid: two"), (MK2, "{oid: 6.9, syntax", "[6.9, syntax"),
    (MK3, "root: 1.3.6.1.4.1.99999.8\n", ""), (MK3, "recognise: {object: lm3Id, equals: mark 3}\n", ""),
    (MK3, "asked: lm3Mode, ", ""), (MK3, "identity: {unit-id: lm3Id}", "identity: {latitude: lm3Id}"),
    (MK3, "model: larkmoor-mk3\n", ""), (COMMON, "on: {larkmoor-mk2: lmHeight}", "no: 1"),
    (COMMON, "on: {larkmoor-mk2: lmHeight}", "on: {larkmoor-mk9: lmHeight}"),
    (COMMON, "{refuse: it has none}", "{refused: it has none}"), (COMMON, "{object: lm3Mode, labels", "{labels"),
]

# What only the program can know: it takes other files, other places of the same file, or the world.
PROGRAM_ALONE = [
    (FLEET, "nights: 800 days", "nights: 8 days"), (FLEET, "logs: 365 days", "logs: 1 h"),
    (FLEET, "timezone: Etc/UTC", "timezone: Etc/Larkmoor"), (FLEET, "credential: larkmoor", "credential: larkmore"),
    (FLEET, "factory-credentials: [factory]", "factory-credentials: [own]"),
    (FLEET, "waves: [1, 10%, rest]", "waves: [1, 10%]"), (FLEET, "waves: [1, 10%, rest]", "waves: [rest, 1]"),
    (FLEET, "daily 12:00-13:00", "daily 12:00-12:00"), (FLEET, "mode-wait: 60 s", "mode-wait: 2 h"),
    (FLEET, "cable-run: 90 m", "cable-run: 90 km"), (FLEET, "oldest-tls: 1.0", "oldest-tls: 1"),
    (FLEET, "position-tolerance: 25 m", "position-tolerance: 25.5 m"),
    (FLEET, "position-tolerance: 25 m", "position-tolerance: 900 km"),
    (FLEET, "unit-id: \"{unit}\"", "unit-id: \"{units}\""),
    (FLEET, "notify-address: \"{tmc}\"", "notify-address: 192.0.2.300"),
    (FLEET, "payloads/{unit}.hex", "payloads/none.hex"), (UNITS, "address: 192.0.2.101", "address: 192.0.2.1001"),
    (UNITS, "groups: all", "groups: alle"), (UNITS, "credential: plain", "credential: plane"),
    (UNITS, "address: 192.0.2.101\n    port: 16101", "address: larkmoor-102.example\n    port: 10161\n    port: 1"),
    (UNITS, "engine-id: 80001f8804010203", "engine-id: 8000"), (UNITS, "mount-height: 6.7", "mount-height: 670"),
    (UNITS, "installed: 2026-05-01", "installed: 2026-02-30"),
    (UNITS, "network: 192.0.2.0/24", "network: 192.0.2.0/33"), (UNITS, "mac: 02-00-00-00-00-01", "mac: 02-00"),
    (MK2, "syntax: Integer32 (0..20001)", "syntax: Integer32 (9..1)"), (MK2, "default: dark", "default: dim"),
    (MK2, "unit: dm", "unit: dmm"), (MK2, "index: lmThingIndex", "index: lmThingIdex"),
    (MK2, "based-on: ntcip1218-v01", "based-on: ntcip1218"), (MK3, "standby: idle", "standby: idling"),
    (MK3, "{oid: 2, syntax", "{oid: 1, syntax"),
    (COMMON, "on: {larkmoor-mk2: lmHeight}", "on: {larkmoor-mk2: lmHight}"), (COMMON, "unit: m\n", "unit: s\n"),
]

# What vergeset takes though few would write it so.
VARIANTS = [
    (FLEET, "fleet: Larkmoor district", "fleet: 7"), (FLEET, "port: 16161", "port: \"16161\""),
    (FLEET, "waves: [1, 10%, rest]", "waves: rest"), (FLEET, "waves: [1, 10%, rest]", "waves:"),
    (FLEET, "waves: [1, 10%, rest]", "waves: ['5', 10 %, rest]"),
    (FLEET, "window: [Mon-Fri 22:00-05:00, daily 12:00-13:00]", "window: SUN-mon 0:00 - 24:00"),
    (FLEET, "factory-communities: [public, private]", "factory-communities: []"),
    (FLEET, "require-second-person: no", "require-second-person: FALSE"),
    (FLEET, "require-second-person: no", "require-second-person: Off"),
    (FLEET, "key-store: {file: keys/larkmoor.keys}", "key-store: {get: cat k, put: tee -a k}"),
    (FLEET, "mode-wait: 60 s", "mode-wait: 1 Min"), (FLEET, "position-within: 500 m", "position-within: 1000 feet"),
    (FLEET, "satellites: 6", "satellites: '6'"), (FLEET, "mode: operate", "mode: OPERATE"),
    (FLEET, "notify-port: 162", "notify-port: 0xa2"), (FLEET, "notify-port: 162", "notify-port: [162]"),
    (FLEET, "enabled: yes", "enabled: on"), (FLEET, "enabled: yes", "enabled: 'yes'"),
    (FLEET, "message: MAP", "message: 18"), (FLEET, "message: MAP", "message: '18'"),
    (FLEET, "unit-id: \"{unit}\"", "unit-id: {unit}"), (FLEET, "unit-id: \"{unit}\"", "unit-id: [a, b]"),
    (FLEET, "rsuSysLogSeverity: warning", "rsuSysLogSeverity: 4"),
    (FLEET, "[bypass1609dot2off]", "bypass1609dot2off"), (FLEET, "[bypass1609dot2off]", "none"),
    (FLEET, "[bypass1609dot2off]", "0x00"), (FLEET, "interval: 1000 ms", "interval: 1 s"),
    (FLEET, "interval: 1000 ms", "interval: 10 100 ms"), (FLEET, "psid: 0x82\n", "psid: p8002\n"),
    (FLEET, "priority: 5", "priority: '5'"),
    (FLEET, "severities: {bond: error, not-recorded: ignore}", "severities:"),
    (FLEET, "values: {tmc: 192.0.2.10, channel: 183}", "values: {tmc: [192.0.2.10], channel: 183}"),
    (FLEET, "rsuTxPower: 80 %", "rsuTxPower: 80"), (FLEET, "traits:\n  rsuMsg", "traits:\n  rsuMode:\n  rsuMsg"),
    (FLEET, "timeout: 1500 ms", "timeout: 1.5 s"), (FLEET, "user: vergeset, auth-secret", "user: 7, auth-secret"),
    (UNITS, "groups: [all, [signals, corridor-7]]", "groups:"),
    (UNITS, "groups: [all, [signals, corridor-7]]", "groups: [[all]]"), (UNITS, "pole: 2857", "pole: [a, b]"),
    (UNITS, "elevation: 41 m", "elevation: 134.5 ft"), (UNITS, "port: 16101", "port: '16101'"),
    (UNITS, "engine-id: 80001f8804010203", "engine-id: 0x80001f8804010203"),
    (UNITS, "engine-id: 80001f8804010203", "engine-id: 800000001010203040"),
    (UNITS, "cable-route: outdoor", "cable-route:"), (UNITS, "rsuMsgRepeatEnable: on", "rsuMsgRepeatEnable: 1"),
    (UNITS, "pole: 2857", "pole: yes"),
    (FLEET, "psid: 0x82\n        message: MAP", "psid: 130\n        message: MAP"),
    (FLEET, "notify-address: \"{tmc}\"", "notify-address: 2001:db8::1"),
    (FLEET, "notify-address: \"{tmc}\"", "notify-address: [192.0.2.1]"),
    (FLEET, "payload: {file: \"payloads/{unit}.hex\"}", "payload: 0x0012 0200"),
    (FLEET, "rsuSysLogCloseTime: \"23:59:00\"", "rsuSysLogCloseTime: 23:59:00"),
    (FLEET, "start: 2026-01-01T00:00Z", "start: 2026-01-01 00:00+00:00"),
    (ALL, "settings:\n  system-contact: Larkmoor signals desk", "settings:"), (MK2, "oid: 6.9", "oid: 6"),
    (MK2, "traits: []", "traits: "), (MK2, "traits: [needs-standby], note", "traits: needs-standby, note"),
    (MK2, "oid: 1, syntax: Integer32 (1..9)", "oid: '1', syntax: Integer32 (1..9)"),
    (MK3, "equals: mark 3", "equals: 3"), (COMMON, "elsewhere: leave out", "elsewhere: {refuse: no}"),
]


def check(folder):
    """The faults that the program finds, as `file:line: text`."""
    ran = vergeset("check", "--json", "--fleet", folder)
    return [f"{one['file']}:{one['line']}: {one['text']}" for one in json.loads(ran.stdout)["faults"]]


class Bench:
    """A copy of the fleet that says everything, whose files are changed one at a time."""

    def __init__(self):
        self.folder = tempfile.TemporaryDirectory()
        ran = vergeset("model", "schemas", "--fleet", EVERYTHING, "--out", self.folder.name + "/schemas")
        assert ran.returncode == 0, ran.stderr
        self.validators = Validators(self.folder.name + "/schemas")

    def end(self):
        self.folder.cleanup()

    def program_faults(self, texts):
        """The faults of the fleet with other texts in some files."""
        with tempfile.TemporaryDirectory(dir=self.folder.name) as folder:
            tree = pathlib.Path(folder) / "fleet"
            shutil.copytree(EVERYTHING, tree)
            for file, text in texts.items():
                (tree / file).write_text(text, encoding="utf-8")
            return check(tree)

    def schema_faults(self, file, text, reader=Core):
        return self.validators.faults_of_yaml(schemas.schema_of(file), text, reader)

    def program_takes(self, changes, most):
        """Of each change the program's faults. Up to `most` that touch different lines are made together, since the
        program tells all faults with their places; one without a fault on a line of its own is made alone."""
        spots = [Spot(change) for change in changes]
        groups = []
        for spot in spots:
            group = next((one for one in groups if len(one) < most and not any(map(spot.meets, one))), None)
            if group is None:
                groups.append([spot])
            else:
                group.append(spot)
        told = {}
        with concurrent.futures.ThreadPoolExecutor(2) as pool:
            for group, faults in zip(groups, pool.map(lambda one: self.program_faults(made(one)), groups)):
                for spot in group:
                    own = [fault for fault in faults if spot.is_at(fault)]
                    if own or not faults:
                        told[spot] = own
            alone = [spot for spot in spots if spot not in told]
            told.update(zip(alone, pool.map(lambda spot: self.program_faults(made([spot])), alone)))
        return [told[spot] for spot in spots]

    def each(self, changes, most, readings=READINGS):
        """(change, the program's faults, the schema's faults in each reading) of each."""
        for change, faults in zip(changes, self.program_takes(changes, most)):
            text = made([Spot(change)])[change[0]]
            yield change, faults, [self.schema_faults(change[0], text, reader) for reader in readings]


class Spot:
    """Where a change is made."""

    def __init__(self, change):
        self.file, self.old, self.new = change
        text = (EVERYTHING / self.file).read_text(encoding="utf-8")
        self.at = text.index(self.old)
        first = text.count("\n", 0, self.at) + 1
        self.lines = range(first, first + self.old.rstrip("\n").count("\n") + 1)
        self.same_lines = self.old.count("\n") == self.new.count("\n")

    def meets(self, other):
        """Two that are made together change no line twice, and none moves the other's lines."""
        if self.file != other.file:
            return False
        return not (self.same_lines and other.same_lines) or bool(set(self.lines) & set(other.lines))

    def is_at(self, fault):
        return any(fault.startswith(f"{self.file}:{line}: ") for line in self.lines)


def made(spots):
    """The files with these changes."""
    texts = {}
    for spot in sorted(spots, key=lambda one: -one.at):
        text = texts.get(spot.file) or (EVERYTHING / spot.file).read_text(encoding="utf-8")
        texts[spot.file] = text[:spot.at] + spot.new + text[spot.at + len(spot.old):]
    return texts


ODD_VALUES = ["", "~", "yes", "ON", "1", "-1", "0x10", "1e3", '"5"', "{}", "[]", "{a: b}", "{unit}", '"{unit}"',
              "[a]", "[[a]]",
              "2026-01-01", "22:00", "1_000", "5 m", "5 s", "12 ft", "MAP", "p8002", "{file: payloads/{unit}.hex}"]


def values_of(node):
    """Where each value of a file stands, and whether it is a scalar."""
    if isinstance(node, yaml.MappingNode):
        inner = [value for _, value in node.value]
    else:
        inner = node.value if isinstance(node, yaml.SequenceNode) else []
    for value in inner:
        yield value.start_mark.index, value.end_mark.index, isinstance(value, yaml.ScalarNode)
        yield from values_of(value)


def shown(change):
    return f"{change[0]}: {change[1]!r} -> {change[2]!r}"


class FilesThatVergesetTakes(unittest.TestCase):
    def takes(self, folder, validators):
        for path, schema in yaml_files(folder):
            for reader in READINGS:
                with self.subTest(f"{path}, {reader.__name__}"):
                    self.assertEqual(validators.faults_of_yaml(schema, path.read_text(encoding="utf-8"), reader), [])

    def test_every_fleet_of_the_inventories_and_every_model_file_validates(self):
        ours = Validators()
        for folder in sorted((SOURCE / "inventories").iterdir()):
            self.assertEqual(check(folder), [])
            self.takes(folder, ours)
        for path in (SOURCE / "schemas").glob("*.yaml"):
            schema = "common.json" if path.name == "common.yaml" else "model.json"
            with self.subTest(path.name):
                self.assertEqual(ours.faults_of_yaml(schema, path.read_text(encoding="utf-8")), [])

    def test_the_fleet_that_says_everything_validates(self):
        bench = Bench()
        self.addCleanup(bench.end)
        self.assertEqual(check(EVERYTHING), [])
        self.takes(EVERYTHING, bench.validators)

    def test_the_fleet_that_says_everything_leaves_out_no_key(self):
        """What no file of it says would be tested by nothing here."""
        said = set()

        def gather(node):
            if isinstance(node, dict):
                said.update(node)
                for value in node.values():
                    gather(value)
            elif isinstance(node, list):
                for value in node:
                    gather(value)

        for path, _ in yaml_files(EVERYTHING):
            gather(yaml.load(path.read_text(encoding="utf-8"), Loader=Core))
        keys = set()
        for name in ("fleet.json", "units.json", "group.json", "model.json", "common.json"):
            schema = schemas.read_json(schemas.SCHEMAS / name)
            stack = [schema]
            while stack:
                node = stack.pop()
                if isinstance(node, dict):
                    if isinstance(node.get("properties"), dict):
                        keys.update(node["properties"])
                    stack.extend(node.values())
                elif isinstance(node, list):
                    stack.extend(node)
        rare = {"get", "put", "fault", "status", "longitude", "sentence", "most", "labels", "from-payload"}
        self.assertEqual(keys - said - rare, set())

    def test_other_ways_to_write_a_value_validate_where_vergeset_takes_them(self):
        bench = Bench()
        self.addCleanup(bench.end)
        for change, faults, told in bench.each(VARIANTS, 40):
            with self.subTest(shown(change)):
                self.assertEqual(faults, [])
                self.assertEqual(told, [[], []])

    def test_what_is_taken_with_any_value_in_anothers_place_validates(self):
        """Values of all files, and a few odd ones, change places as a seed draws them. By hand try more:
        VALUES_DRAWN=1000 VALUES_SEED=7 tests/json/files_test.py."""
        bench = Bench()
        self.addCleanup(bench.end)
        dice = random.Random(int(os.environ.get("VALUES_SEED", "1")))
        texts = {str(path.relative_to(EVERYTHING)): path.read_text(encoding="utf-8")
                 for path, _ in yaml_files(EVERYTHING)}
        spots = [(file, *spot) for file, text in texts.items() for spot in values_of(yaml.compose(text, Loader=Core))]
        pool = sorted({texts[file][start:end] for file, start, end, plain in spots if plain}) + ODD_VALUES
        drawn = []
        for _ in range(int(os.environ.get("VALUES_DRAWN", "60"))):
            file, start, end, _ = dice.choice(spots)
            drawn.append((file, texts[file][:start] + dice.choice(pool) + texts[file][end:]))
        with concurrent.futures.ThreadPoolExecutor(2) as workers:
            told = list(workers.map(lambda one: bench.program_faults(dict([one])), drawn))
        taken = [one for one, faults in zip(drawn, told) if not faults]
        for file, text in taken:
            for reader in READINGS:
                with self.subTest(f"{file}, {reader.__name__}:\n{text}"):
                    self.assertEqual(bench.schema_faults(file, text, reader), [])
        print(f"{len(taken)} of {len(drawn)} files with a value in another's place are taken, and validate",
              file=sys.stderr)

    def test_every_fleet_in_the_tests_of_the_loader_validates_where_it_is_taken(self):
        """tests/fleet writes many fleets; with VERGESET_KEEP_FLEETS it keeps those without a fault."""
        program = os.environ.get("TEST_FLEET")
        if not program or not os.access(program, os.X_OK):
            self.skipTest("TEST_FLEET names no program")
        with tempfile.TemporaryDirectory() as folder:
            ran = subprocess.run([program, "~*mutilated*"], env=dict(os.environ, VERGESET_KEEP_FLEETS=folder),
                                 capture_output=True, text=True, timeout=60, check=False)
            self.assertEqual(ran.returncode, 0, ran.stdout[-2000:])
            trees = sorted(pathlib.Path(folder).iterdir())
            self.assertGreater(len(trees), 80)
            made = {}
            for tree in trees:
                models = (tree / "schemas").resolve()
                key = (models, *(path.read_bytes() for path in sorted((tree / "fleet").glob("models/*.yaml"))))
                if key not in made:
                    out = f"{folder}-made-{len(made)}"
                    self.addCleanup(shutil.rmtree, out)
                    made[key] = self.own_schemas(tree / "fleet", models, out)
                self.takes(tree / "fleet", made[key])
            print(f"{len(trees)} fleets of tests/fleet validate", file=sys.stderr)

    def own_schemas(self, fleet, models, out):
        """The schemas with the names of a test's own models, beside which it has none written by hand."""
        with tempfile.TemporaryDirectory() as folder:
            for path in models.glob("*.yaml"):
                shutil.copy(path, folder)
            shutil.copytree(schemas.SCHEMAS, folder + "/json")
            ran = vergeset("model", "schemas", "--fleet", fleet, "--out", out,
                           env=dict(os.environ, VERGESET_SCHEMAS_DIR=folder))
        self.assertEqual(ran.returncode, 0, ran.stderr)
        return Validators(out)


class SlipsOfThePen(unittest.TestCase):
    def test_what_the_program_refuses_for_its_shape_the_schemas_refuse(self):
        bench = Bench()
        self.addCleanup(bench.end)
        for change, faults, told in bench.each(SLIPS, 6, [Core]):
            with self.subTest(shown(change)):
                self.assertNotEqual(faults, [])
                self.assertNotEqual(told[0], [])

    def test_what_only_the_program_can_know_is_what_is_listed_here(self):
        bench = Bench()
        self.addCleanup(bench.end)
        for change, faults, told in bench.each(PROGRAM_ALONE, 3, [Core]):
            with self.subTest(shown(change)):
                self.assertNotEqual(faults, [])
                self.assertEqual(told[0], [])
        print(f"{len(SLIPS)} slips are refused by program and schema, {len(PROGRAM_ALONE)} by the program alone",
              file=sys.stderr)

    def test_no_key_may_be_misspelt_but_those_that_are_free(self):
        """Each key of the fleet that says everything gets a letter more. Of a file all keys of one depth do so at
        once for the program, which tells every fault with its place; the schemas see one at a time."""
        bench = Bench()
        self.addCleanup(bench.end)
        jobs, keys = [], 0
        for path, schema in yaml_files(EVERYTHING):
            text = path.read_text(encoding="utf-8")
            file = str(path.relative_to(EVERYTHING))
            root = yaml.compose(text, Loader=Core)
            named = [(trail, node) for trail, node in keys_of(root) if not is_free(file, trail)]
            # Without its name a model is not read at all.
            alone = [[one] for one in named if one[0] == ("model",) and file.startswith("models")]
            named = [one for one in named if [one] not in alone]
            depths = {len(trail) for trail, _ in named}
            for batch in [*alone, *([one for one in named if len(one[0]) == depth] for depth in depths)]:
                jobs.append((file, with_letter_more(text, [node for _, node in batch]), batch))
                for trail, node in batch:
                    keys += 1
                    with self.subTest(f"{file}: {'/'.join(trail)}, by the schema"):
                        self.assertNotEqual(bench.schema_faults(file, with_letter_more(text, [node])), [])
        self.assertGreater(keys, 180)
        with concurrent.futures.ThreadPoolExecutor(2) as pool:
            told = list(pool.map(lambda job: bench.program_faults({job[0]: job[1]}), jobs))
        for (file, _, batch), faults in zip(jobs, told):
            lines = {fault.rsplit(": ")[0].split(": ")[0] for fault in faults}
            for trail, node in batch:
                with self.subTest(f"{file}: {'/'.join(trail)}, by the program"):
                    self.assertIn(f"{file}:{node.start_mark.line + 1}", lines)
        print(f"{keys} keys, misspelt, are refused by program and schema", file=sys.stderr)


def keys_of(node, trail=()):
    """The keys of a file's maps, each with where it stands."""
    if isinstance(node, yaml.MappingNode):
        for key, value in node.value:
            yield (*trail, key.value), key
            yield from keys_of(value, (*trail, key.value))
    elif isinstance(node, yaml.SequenceNode):
        for at, value in enumerate(node.value):
            yield from keys_of(value, (*trail, str(at)))


def is_free(file, trail):
    """Whether a key is a name that the file's author gives."""
    above = trail[-2] if len(trail) > 1 else ""
    gives_names = {"credentials", "rows", "values", "units", "words", "labels"}
    if file.startswith("models"):
        gives_names |= {"settings", "tables", "scalars", "columns", "notifications", "objects"}
    return above in gives_names


def with_letter_more(text, keys):
    for key in sorted(keys, key=lambda key: -key.end_mark.index):
        text = text[:key.end_mark.index] + "x" + text[key.end_mark.index:]
    return text


class AnswersFiles(unittest.TestCase):
    GOOD = ("who: A. Fitter\nall: {work-area: yes, mounted: 'Yes, twice', sealed: {answer: no, note: one gland}}\n"
            "units:\n  LK-101: {serial: LM7, bond-resistance: 0.3 ohm, light: skip}\n  LK-102:\n")

    def test_what_commission_takes_validates_and_its_slips_do_not(self):
        ours = Validators()
        for reader in READINGS:
            self.assertEqual(ours.faults_of_yaml("answers.json", self.GOOD, reader), [])
        for old, new in (("who:", "whom:"), ("mounted:", "mount:"), ("work-area: yes", "work-area: perhaps"),
                         ("answer: no", "answers: no"),
                         ("{serial: LM7", "{serial: [LM7]"), ("all: {", "all: [")):
            with self.subTest(f"{old} -> {new}"):
                self.assertIn(old, self.GOOD)
                bad = self.GOOD.replace(old, new)
                self.assertNotEqual(ours.faults_of_yaml("answers.json", bad), [])
                with tempfile.TemporaryDirectory() as folder:
                    path = pathlib.Path(folder) / "day.yaml"
                    path.write_text(bad)
                    ran = vergeset("commission", "LK-101", "--bench", "--yes", "--answers", path, "--fleet",
                                   EVERYTHING, "--records", folder + "/records")
                    self.assertEqual(ran.returncode, 2)
                    self.assertIn("day.yaml:", ran.stderr)

    def test_the_example_in_the_readme_validates(self):
        readme = (SOURCE / "README.md").read_text(encoding="utf-8")
        example = readme[readme.index("    who: A. Fitter"):].split("\n\n")[0]
        self.assertEqual(Validators().faults_of_yaml("answers.json", example), [])


if __name__ == "__main__":
    unittest.main()
