"""What is signed here, verified by programs that know nothing of it.

    python independent.py MAKER [PDF ...]

MAKER is the example `seal` of the crate leverarm-seal; each PDF is a finished certificate without a
signature. It signs them, and two small files of its own (one for each kind of table of objects),
with a key of its own, an issued P-256 key and an RSA key. Then:

pdfsig (poppler)      the signature is valid, and covers the whole file
qpdf --check          the file with the signature is as sound as before
pyHanko               intact, valid, trusted, whole file, certified against any change; and the profile
openssl cms -verify   the detached signature, by the rules of CMS and of CAdES
openssl x509, pkey    the certificate and the encrypted key that are made for a start
sha256sum --check     the signed list of attachments

Each is asked about changed files too, and must refuse them. A missing program fails the run.
"""

import datetime
import pathlib
import subprocess
import sys
import tempfile

from asn1crypto import pem, x509
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign.validation import validate_pdf_signature
from pyhanko.sign.validation.settings import KeyUsageConstraints
from pyhanko.sign.validation.status import SignatureCoverageLevel
from pyhanko_certvalidator import ValidationContext

PASSPHRASE = "for the tests only"
MOMENT = datetime.datetime(2026, 12, 24, 10, 30, tzinfo=datetime.timezone.utc)
EPOCH = str(int(MOMENT.timestamp()))
passed, failed = 0, []


def check(what, holds, found=""):
    global passed
    if holds:
        passed += 1
    else:
        failed.append(f"{what}: {str(found).strip()[:600]}")


def run(*command, stdin=None):
    done = subprocess.run(command, input=stdin, capture_output=True, text=True)
    return done.returncode, done.stdout + done.stderr


def certificates(path):
    parts = pem.unarmor(path.read_bytes(), multiple=True)
    return [x509.Certificate.load(der) for _, _, der in parts]


def hanko(path, roots):
    """pyHanko's verdict on the only signature."""
    context = ValidationContext(
        trust_roots=roots, allow_fetching=False, moment=MOMENT, best_signature_time=MOMENT
    )
    usage = KeyUsageConstraints(key_usage={"non_repudiation"})
    with path.open("rb") as file:
        signatures = PdfFileReader(file).embedded_signatures
        if len(signatures) != 1:
            return None, None
        return validate_pdf_signature(signatures[0], context, key_usage_settings=usage), signatures[0]


def genuine(path, roots):
    name = path.name
    code, text = run("qpdf", "--check", str(path))
    check(f"qpdf {name}", code == 0 and "No syntax or stream encoding errors" in text, text)
    code, text = run("pdfsig", "-nocert", str(path))
    check(f"pdfsig {name}", "Signature is Valid." in text and "Total document signed" in text, text)
    check(f"pdfsig {name}, one signature", text.count("Signature #") == 1, text)
    status, signature = hanko(path, roots)
    check(f"pyHanko {name}, intact and valid", status.intact and status.valid, status.summary())
    check(f"pyHanko {name}, trusted", status.trusted, status.pretty_print_details())
    whole = status.coverage == SignatureCoverageLevel.ENTIRE_FILE
    check(f"pyHanko {name}, whole file", whole, status.coverage)
    check(f"pyHanko {name}, bottom line", status.bottom_line, status.pretty_print_details())
    check(f"pyHanko {name}, no change allowed", signature.docmdp_level.value == 1, signature.docmdp_level)
    attributes = {item["type"].native for item in signature.signer_info["signed_attrs"]}
    wanted = {"content_type", "message_digest", "signing_certificate_v2"}
    check(f"PAdES baseline B-B {name}", attributes == wanted, attributes)
    subfilter = signature.sig_object["/SubFilter"]
    check(f"sub-filter {name}", subfilter == "/ETSI.CAdES.detached", subfilter)


def forged(path, directory, roots):
    """The same file with one digit of its second half changed, and with an update."""
    file = bytearray(path.read_bytes())
    at = file.index(b"/Reason")
    file[at + 12] ^= 1
    changed = directory / "changed.pdf"
    changed.write_bytes(file)
    _, text = run("pdfsig", "-nocert", str(changed))
    check(f"pdfsig finds a change in {path.name}", "Signature is Valid." not in text, text)
    status, _ = hanko(changed, roots)
    check(f"pyHanko finds a change in {path.name}", not status.bottom_line, status.summary())


def attachments(out, who, root):
    list_file, signature = str(out / "attachments.sha256"), str(out / f"attachments-{who}.p7s")
    for rules in [[], ["-cades"]]:
        command = ["openssl", "cms", "-verify", *rules, "-inform", "DER", "-binary", "-in", signature]
        trust = ["-CAfile", str(root), "-purpose", "any", "-attime", EPOCH, "-out", "/dev/null"]
        code, text = run(*command, "-content", list_file, *trust)
        check(f"openssl cms -verify {rules} {who}", code == 0, text)
        other = out / "other.sha256"
        other.write_text(pathlib.Path(list_file).read_text().replace("0412", "0413"))
        code, text = run(*command, "-content", str(other), *trust)
        check(f"openssl cms -verify {rules} {who} finds a change", code != 0, text)


def start(out):
    """The key and the certificate that are made for a start."""
    code, text = run("openssl", "x509", "-in", str(out / "own.pem"), "-noout", "-text")
    for wanted in ["Digital Signature, Non Repudiation", "CA:FALSE", "1.3.6.1.5.5.7.3.36", "prime256v1"]:
        check(f"openssl x509: {wanted}", code == 0 and wanted in text, text)
    _, of_certificate = run("openssl", "x509", "-in", str(out / "own.pem"), "-noout", "-pubkey")
    key = ["openssl", "pkey", "-in", str(out / "own.key.pem"), "-pubout"]
    code, of_key = run(*key, "-passin", f"pass:{PASSPHRASE}")
    check("openssl opens the key, and it belongs to the certificate", of_key == of_certificate, of_key)
    code, text = run(*key, "-passin", "pass:another")
    check("openssl does not open the key with another passphrase", code != 0, text)


def main():
    maker, pdfs = sys.argv[1], sys.argv[2:]
    with tempfile.TemporaryDirectory() as directory:
        out = pathlib.Path(directory)
        code, text = run(maker, str(out), *pdfs)
        check("the maker", code == 0, text)
        roots = {"own": out / "own.pem", "issued": out / "root.pem", "rsa": out / "root.pem"}
        for who, root in roots.items():
            trusted = certificates(root)
            files = sorted(out.glob(f"*-{who}.pdf"))
            check(f"files of {who}", len(files) == 2 + len(pdfs), files)
            for path in files:
                genuine(path, trusted)
                forged(path, out, trusted)
            attachments(out, who, root)
        start(out)
        done = subprocess.run(["sha256sum", "--check", "--strict", "attachments.sha256"], cwd=out, capture_output=True)
        check("sha256sum --check", done.returncode == 0, done.stdout + done.stderr)
    for line in failed:
        print(line)
    print(f"{passed} passed, {len(failed)} failed")
    return 1 if failed or not passed else 0


if __name__ == "__main__":
    sys.exit(main())
