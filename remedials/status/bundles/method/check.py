"""Checks a bundle, with nothing but Python's own library: `python -I check.py [SHA-256 of manifest.json]`, where this file lies."""

import hashlib
import json
import sys
from pathlib import Path

HERE, wrong = Path(__file__).resolve().parent, []
MANIFEST = "manifest.json"


def sha(data):
    return hashlib.sha256(data).hexdigest()


def done(found):
    print("\n".join(found))
    print(f"SHA-256 of {MANIFEST}: {sha(data)}")
    sys.exit(1)


def lines(name):
    return [json.loads(line) for line in (HERE / name).read_text("utf-8").splitlines()]


data, known = (HERE / MANIFEST).read_bytes() if (HERE / MANIFEST).is_file() else b"", sys.argv[1:]
if known and known[0].lower() != sha(data):
    wrong.append(f"{MANIFEST} is not the one whose SHA-256 you gave")
try:
    manifest = json.loads(data)
    listed, heads = {name: one["sha256"] for name, one in manifest["files"].items()}, manifest["heads"]
except (ValueError, KeyError, TypeError, AttributeError):
    done([*wrong, f"{MANIFEST}: missing or altered: it cannot be read, so nothing else can be compared with it"])
there = {p.relative_to(HERE).as_posix() for p in HERE.rglob("*") if p.is_file()} - {MANIFEST}
wrong += [f"{name}: not in the manifest" for name in sorted(there - listed.keys())]
for name, said in listed.items():
    if name not in there or sha((HERE / name).read_bytes()) != said:
        wrong.append(f"{name}: missing or altered")
try:
    sealed, ends, digests = 0, {}, {}
    for entry in lines("ledger.jsonl") + [one | {"alone": True} for one in lines("single-entries.jsonl")]:
        chain, place = entry["chain"], f"chain {entry['chain']}, entry {entry['number']}"
        alone, said = entry.pop("alone", False), entry.pop("hash")
        number, head = ends.get(chain, (0, "0" * 64))
        if not alone and (entry["number"], entry["previous"]) != (number + 1, head):
            wrong.append(f"{place}: does not follow the entry before it")
        digests[chain, entry["number"]] = entry.get("facts", {})
        previous = bytes.fromhex(entry.pop("previous"))
        text = json.dumps(entry, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()
        if "facts" not in entry:
            sealed += 1
        elif sha(previous + text) != said:
            wrong.append(f"{place}: was altered")
        if not alone:
            ends[chain] = (entry["number"], said)
    for word in lines("words.jsonl"):
        facts = digests.get((word["chain"], word["number"]), {})
        if facts.get(word["name"] + "_digest") != sha(bytes.fromhex(word["salt"]) + word["text"].encode()):
            wrong.append(f"chain {word['chain']}, entry {word['number']}: its words were altered")
    if {chain: list(end) for chain, end in ends.items()} != heads:
        wrong.append("the ledger does not end where the manifest says")
except (ValueError, KeyError, TypeError, AttributeError, OSError) as error:
    wrong.append(f"the ledger cannot be followed to its end: {type(error).__name__} {error}")
if wrong:
    done(wrong)
print(f"Nothing was altered: {len(there)} files, {len(digests)} entries, {sealed} of them sealed.")
print(f"SHA-256 of {MANIFEST}: {sha(data)}")
for chain, (number, head) in ends.items():
    print(f"ledger head {chain} {number} {head}")
