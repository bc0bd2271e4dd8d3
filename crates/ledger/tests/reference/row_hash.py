"""Row hashes of faying's ledger, computed apart from the Rust code.

Two uses, both with Python and the `blake3` package from PyPI (pip install blake3):

    python row_hash.py > row_hash.csv      writes the expected values
    python row_hash.py FILE.faying         checks a ledger file with sqlite3 from the standard library

The rule is retold here from its description (crates/ledger/src/row.rs), not
translated from the code: all lengths and numbers are eight bytes, least first.
"""

import sqlite3
import struct
import sys

from blake3 import blake3

NONE = bytes(32)


def row_hash(writer, seq, prev, order, act, data):
    def counted(part):
        return struct.pack("<Q", len(part)) + part

    return blake3(
        b"faying ledger 1\n"
        + counted(writer.encode())
        + struct.pack("<Q", seq)
        + prev
        + struct.pack("<Q", order)
        + counted(act.encode())
        + counted(data)
    ).digest()


def write_expected():
    rows = [
        ("a", 1, 7, "a1", b"{}\n"),
        ("a", 2, 8, "a2", b""),
        ("a", 3, 1 << 40, "a3", bytes(range(256)) * 9),  # over two BLAKE3 chunks
        ("bench-nördlich", 1, 1, "tap 日本", "Schließkopf .205".encode()),
        ("bench-nördlich", 2, 2, "x" * 70, b"\x00\xff"),
        ("c", 1, (1 << 63) - 1, "c1", b"the greatest order a file can hold"),
        ("ab", 1, 1, "c", b"d"),
        ("a", 1, 1, "bc", b"d"),
    ]
    print("# Written by row_hash.py with PyPI blake3 1.0.11; never by faying itself.")
    print("writer,seq,prev,order,act,bytes,hash")
    last = {}
    for writer, seq, order, act, data in rows:
        prev = NONE if seq == 1 else last[writer]
        digest = row_hash(writer, seq, prev, order, act, data)
        last[writer] = digest
        print(f"{writer},{seq},{prev.hex()},{order},{act},{data.hex()},{digest.hex()}")


def check(path):
    file = sqlite3.connect(f"file:{path}?mode=ro", uri=True)
    wrong = count = 0
    seen = {}
    for writer, seq, prev, digest, order, act, data in file.execute(
        'SELECT writer, seq, prev, hash, "order", act, bytes FROM rows ORDER BY position'
    ):
        count += 1
        before = NONE if seq == 1 else prev
        known = seq == 1 or (writer, seq - 1, prev) in seen
        if not known or prev != before or row_hash(writer, seq, prev, order, act, data) != digest:
            wrong += 1
            print(f"wrong: {writer} {seq}")
        seen[(writer, seq, digest)] = True
    print(f"{count} rows, {wrong} wrong")
    return wrong


if __name__ == "__main__":
    if len(sys.argv) > 1:
        sys.exit(1 if check(sys.argv[1]) else 0)
    write_expected()
