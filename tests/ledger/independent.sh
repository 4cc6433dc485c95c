#!/bin/sh
# The ledger's files in the hands of other programs: OpenSSL opens its keys, sqlite3 its file, and
# sha256sum agrees with the chain. Wants openssl, python3 (with its sqlite3) and the example built:
#   cargo build --release -p leverarm-ledger --examples && tests/ledger/independent.sh target/release/examples/append
set -eu
append=$1
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

"$append" key runa 'grey geese over voe' > "$work/key"
sed -n 1p "$work/key" | tr -d ' ' > "$work/wanted"
sed -n '/BEGIN/,/END/p' "$work/key" | sed 's/^ //' > "$work/key.pem"
openssl pkey -in "$work/key.pem" -passin 'pass:grey geese over voe' -pubout -outform DER |
  tail -c 32 | od -An -v -tx1 | tr -d ' \n' > "$work/found"
echo >> "$work/found"
diff "$work/wanted" "$work/found"
if openssl pkey -in "$work/key.pem" -passin 'pass:grey geese over vo' -noout 2> /dev/null; then
  echo 'a wrong passphrase opened the key' >&2
  exit 1
fi
echo 'key: opened by OpenSSL, public half the same'

"$append" found "$work/a.ledger" > /dev/null
"$append" jobs "$work/a.ledger" J 5 > /dev/null
python3 - "$work/a.ledger" "$work" <<'PYTHON'
import hashlib, json, sqlite3, subprocess, sys
connection = sqlite3.connect(f"file:{sys.argv[1]}?mode=ro", uri=True)
keys, previous, count = {}, "0" * 64, 0
prefix = bytes.fromhex("302a300506032b6570032100")  # SubjectPublicKeyInfo of Ed25519, RFC 8410
for sequence, body, digest, signature in connection.execute("SELECT * FROM entry ORDER BY sequence"):
    entry = json.loads(body)
    assert entry["sequence"] == sequence == count + 1 and entry["previous"] == previous
    assert hashlib.sha256(b"leverarm ledger entry 1\n" + body).digest() == digest
    for kind, field in (("founded", "administrator"), ("person-enrolled", "person")):
        if kind in entry["event"]:
            person = entry["event"][kind][field]
            keys[person["id"]] = person["key"]
    paths = {name: f"{sys.argv[2]}/{name}" for name in ("key.der", "hash", "signature")}
    for name, data in (("key.der", prefix + bytes.fromhex(keys[entry["author"]])), ("hash", digest), ("signature", signature)):
        with open(paths[name], "wb") as file:
            file.write(data)
    subprocess.run(["openssl", "pkeyutl", "-verify", "-pubin", "-keyform", "DER", "-inkey", paths["key.der"], "-rawin",
                    "-in", paths["hash"], "-sigfile", paths["signature"]], check=True, stdout=subprocess.DEVNULL)
    previous, count = digest.hex(), sequence
files = connection.execute("SELECT digest, bytes FROM file").fetchall()
assert all(hashlib.sha256(data).digest() == digest for digest, data in files)
print(f"chain: {count} entries, each signature accepted by OpenSSL; {len(files)} files")
PYTHON
