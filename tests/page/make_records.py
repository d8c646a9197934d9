#!/usr/bin/python3
"""A fleet of invented units with months of invented records, as `vergeset report` reads them.

usage: make_records.py FOLDER UNITS NIGHTS NOW [--hostile]

Writes FOLDER/fleet.yaml, units.csv, groups/all.yaml and records/. NOW is a time in UTC (2026-11-26T06:00:00Z),
before which the last night lies. With --hostile the texts that units and people give hold what a browser could
be made to run. The same arguments write the same files. Prints what the page has to show, as JSON.
"""

import datetime
import json
import os
import random
import sys

HOSTILE = "</script><script>document.title='owned'</script><img src=x onerror=\"document.title='owned'\">"


def stamp(when):
    return when.strftime("%Y-%m-%dT%H:%M:%S.000Z")


def value(words, kind, exact):
    return {"words": words, "type": kind, "value": exact}


def difference():
    return {
        "name": "position-tolerance",
        "kind": "value",
        "asked": "fleet.yaml:12:23",
        "items": [
            {
                "setting": "position-tolerance",
                "object": "rsuGnssMaxDeviation.0",
                "oid": "1.3.6.1.4.1.1206.4.2.18.6.9.0",
                "as_found": value("20 m", "Integer32", "20"),
                "desired": value("25 m", "Integer32", "25"),
                "asked": "fleet.yaml:12:23",
            }
        ],
    }


def audit(fleet, begun, units):
    head = {
        "audit": 2,
        "begun": stamp(begun),
        "choice": {},
        "ended": stamp(begun + datetime.timedelta(minutes=2)),
        "files": "00",
        "fleet": fleet,
        "part": "whole",
        "who": "vergeset@night",
    }
    text = "{"
    for name, one in head.items():
        text += '\n "%s": %s,' % (name, json.dumps(one, separators=(",", ":")))
    lines = ",".join("\n  " + json.dumps(one, separators=(",", ":")) for one in units)
    return text + '\n "units": [' + lines + "\n ]\n}\n"


def change(number, fleet, begun, why, units):
    text = f"change: {number}\nkind: apply\nfleet: {json.dumps(fleet)}\nwho: robin@desk\nwhy: {json.dumps(why)}\n"
    text += f"begun: {stamp(begun)}\nended: {stamp(begun + datetime.timedelta(minutes=9))}\nunits:\n"
    for name, off_air in units:
        text += f"  {name}:\n    outcome: settled\n    steps: 3\n    off-air-ms: {off_air}\n"
    return text + "files: {}\n"


def main():
    folder, count, nights, now = sys.argv[1], int(sys.argv[2]), int(sys.argv[3]), sys.argv[4]
    hostile = "--hostile" in sys.argv[5:]
    dice = random.Random(7)
    fleet = "Larkmoor " + HOSTILE if hostile else "Larkmoor district"
    place = HOSTILE if hostile else "Mill Lane"
    os.makedirs(folder + "/groups", exist_ok=True)
    os.makedirs(folder + "/records/audits", exist_ok=True)
    with open(folder + "/fleet.yaml", "w") as out:
        out.write(f"fleet: {json.dumps(fleet)}\n")
        out.write("timezone: Etc/UTC\n")
        out.write("credentials:\n  own: {user: vergeset, auth-secret: {env: A}, privacy-secret: {env: B}}\n")
        out.write("credential: own\nsettings:\n  position-tolerance: 25 m\n")
    for group in ("all", "signals", "corridor-7"):
        with open(f"{folder}/groups/{group}.yaml", "w") as out:
            out.write("settings: {}\n")
    names = [f"LK-{i + 1:05}" for i in range(count)]
    with open(folder + "/units.csv", "w") as out:
        out.write("unit,address,model,groups,site.place,site.latitude,site.longitude\n")
        for i, name in enumerate(names):
            model = "rsu-4.1" if i % 3 == 0 else "ntcip1218-v01"
            groups = "all; signals" if i % 2 else "all; corridor-7"
            north, east = 54.9 + dice.gauss(0, 0.02), -20 + dice.gauss(0, 0.04)
            quoted = '"' + place.replace('"', '""') + '"'
            out.write(f"{name},127.{100 + i // 62500}.{i // 250 % 250}.{i % 250 + 1},{model},{groups},{quoted},{north:.6f},{east:.6f}\n")
    last = datetime.datetime.strptime(now, "%Y-%m-%dT%H:%M:%SZ").replace(hour=2, minute=0, second=0)
    state = {name: "agrees" for name in names}
    changed = {name: [] for name in names}
    strips = {name: [] for name in names}
    off_air = {name: 0 for name in names}
    number = 0
    for night in range(nights):
        begun = last - datetime.timedelta(days=nights - 1 - night)
        mended = []
        units = []
        for name in names:
            before = state[name]
            if before == "agrees" and dice.random() < 0.004:
                state[name] = dice.choice(["drifted", "drifted", "no answer", "wrong unit"])
            elif before == "no answer" and dice.random() < 0.4:
                state[name] = "agrees"
            elif before != "agrees" and dice.random() < 0.3:
                state[name] = "agrees"
                if before == "drifted":
                    mended.append((name, dice.randrange(900, 5000)))
            one = {"unit": name, "verdict": state[name]}
            if state[name] == "no answer":
                one["what"] = HOSTILE if hostile else "no answer after 3 tries"
            else:
                one["taken"] = stamp(begun + datetime.timedelta(seconds=20))
            if state[name] == "drifted":
                one["differences"] = [difference()]
            if hash_of(name) % 50 == 0:
                text = HOSTILE if hostile else "4 satellites; at least 5 are wanted before a position counts"
                one["health"] = [{"rule": "satellites", "severity": "warning", "text": text, "source": "common practice"}]
            if hash_of(name) % 400 == 0:
                end = last + datetime.timedelta(days=10)
                one["ends"] = [{"what": "enrolment certificate", "at": stamp(end)}]
            units.append(one)
            strips[name].append(state[name])
        path = f"{folder}/records/audits/{begun.strftime('%Y-%m-%dT%H-%M-%S')}Z.json"
        with open(path, "w") as out:
            out.write(audit(fleet, begun, units))
        if mended:
            number += 1
            os.makedirs(f"{folder}/records/changes/{number:04}", exist_ok=True)
            when = begun - datetime.timedelta(hours=8)
            with open(f"{folder}/records/changes/{number:04}/change.yaml", "w") as out:
                out.write(change(number, fleet, when, HOSTILE if hostile else "back to what the files ask", mended))
            for name, took in mended:
                changed[name].append(night)
                off_air[name] += took
    print(json.dumps({"state": state, "strips": strips, "changed": changed, "off_air": off_air, "changes": number}))


def hash_of(name):
    return sum(ord(letter) * (i + 3) for i, letter in enumerate(name))


main()
