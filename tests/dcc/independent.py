"""What programs that share no code with leverarm say of its Digital Calibration Certificates.

    independent.py PROGRAM SCHEMAS

PROGRAM is the example `dcc` of the crate leverarm-dcc; SCHEMAS is the folder with dcc-3.3.0/, dcc-3.2.1/
and schematron/dcc.sch, which this repository does not hold. Nothing is skipped: what is missing fails.

1. xmllint (libxml2) and dcc-json-toolkit (xmlschema) validate against the schema; dcclib runs the business
   rules (schematron). A rule may inform or warn, a rule in the role of an error fails.
2. dcc-json-toolkit checks each unit against the D-SI and reads every value back, which is compared with
   what the program says that it wrote.
3. xmlsec1 and signxml verify the XML signature with ECDSA and RSA keys made here.
Each judge must also refuse a file that was made wrong: a judge that passes everything proves nothing.
"""

import datetime
import pathlib
import subprocess
import sys
import tempfile
import tomllib

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec, padding, rsa, utils
from cryptography.x509.oid import NameOID
from dcc_json_toolkit import DccSchema, DccSourceContent
from dcc_json_toolkit.content_validation import HAS_VALIDATE_CONTENT_IMPORTS, validate_dcc_content
from dcclib.validation import SchematronValidator
from dsi_unit import DsiUnit
from lxml import etree
from signxml import XMLVerifier
from signxml.verifier import SignatureConfiguration

PROGRAM = sys.argv[1]
SCHEMAS = pathlib.Path(sys.argv[2]).resolve()
HERE = pathlib.Path(__file__).resolve().parent
RULES = SchematronValidator.from_file(str(SCHEMAS / "schematron" / "dcc.sch"))
assert HAS_VALIDATE_CONTENT_IMPORTS, "the checks of units are not installed"


def program(*arguments):
    return subprocess.run([PROGRAM, *map(str, arguments)], check=True, capture_output=True).stdout


def xmllint(file, version="3.3.0"):
    schema = SCHEMAS / f"dcc-{version}" / "dcc.xsd"
    command = ["xmllint", "--nonet", "--noout", "--schema", str(schema), str(file)]
    run = subprocess.run(command, capture_output=True, text=True)
    return run.returncode == 0, run.stderr


def rules(file):
    """What the business rules call an error."""
    result = RULES.validate_str(file.read_text(encoding="utf-8"))
    found = result.failed_assertions + result.successful_reports
    return [entry.text for entry in found if entry.role not in ("information", "warning")]


TOOLKIT = DccSchema("3.3.0", no_cache=True, schema_url=str(SCHEMAS / "dcc-3.3.0" / "dcc.xsd"))


def numbers(value):
    values = value if isinstance(value, list) else [value]
    return [float(one["$"] if isinstance(one, dict) else one) for one in values]


def quantities(node, path=()):
    """Every quantity of the results that the toolkit decodes, in the order of the file."""
    if isinstance(node, dict):
        for key, child in node.items():
            name = key.split(":")[-1]
            if name in ("real", "realListXMLList"):
                for one in child if isinstance(child, list) else [child]:
                    yield path, one
            elif name not in ("measurementMetaData", "influenceConditions", "administrativeData"):
                yield from quantities(child, path + (name,))
    elif isinstance(node, list):
        for child in node:
            yield from quantities(child, path)


def find(node, *starts):
    """The first value whose key begins with one of the names, without its prefix."""
    for key, child in node.items():
        if key.split(":")[-1].removesuffix("XMLList") in starts:
            return child
        if isinstance(child, dict):
            found = find(child, *starts)
            if found is not None:
                return found
    return None


def read_back(file):
    rows = []
    for _, quantity in quantities(TOOLKIT.to_dict(str(file))):
        unit = find(quantity, "unit")
        unit = unit[0] if isinstance(unit, list) else unit
        if unit.startswith("|"):
            continue
        row = [unit, numbers(find(quantity, "value"))]
        for name in ("valueExpandedMU", "coverageFactor", "coverageProbability"):
            found = find(quantity, name)
            row.append([] if found is None else numbers(found))
        rows.append(row)
    return rows


def said(file):
    rows = []
    for line in file.read_text(encoding="utf-8").splitlines():
        unit, *lists = line.split("\t")
        rows.append([unit, *[[float(word) for word in numbers_.split()] for numbers_ in lists]])
    return rows


def check(holds, what):
    if not holds:
        sys.exit(f"FAILED: {what}")
    print(f"ok  {what}")


def written(folder):
    program("write", folder)
    for name in ("full", "small"):
        file = folder / f"{name}.xml"
        valid, words = xmllint(file)
        check(valid, f"{name}: valid by xmllint {words if not valid else ''}")
        errors = TOOLKIT.validate_dcc(str(file))
        check(errors == [], f"{name}: valid by dcc-json-toolkit {errors}")
        errors = validate_dcc_content(DccSourceContent(str(file)))
        errors = [error for error in errors if "|" not in error]
        check(errors == [], f"{name}: units and dates by dcc-json-toolkit {errors}")
        errors = rules(file)
        check(errors == [], f"{name}: business rules {errors}")
        back, wanted = read_back(file), said(folder / f"{name}.tsv")
        check(back == wanted, f"{name}: {len(wanted)} quantities read back as written" + ("" if back == wanted else f"\n{back}\n{wanted}"))


def examples():
    for name, version in (("example", "3.3.0"), ("minimal", "3.3.0"), ("transducer", "3.2.1")):
        valid, words = xmllint(HERE / f"{name}.xml", version)
        check(valid, f"{name}: valid against {version} {words if not valid else ''}")


def units():
    """The toolkit looks at single units only; each unit that can be written is looked at here."""
    for unit in program("units").decode().split():
        warnings = DsiUnit(unit).warnings
        if unit.startswith("|"):
            check(all("non D-SI" in words for words in warnings), f"{unit}: marked as no unit of the D-SI {warnings}")
        else:
            check(warnings == [], f"{unit}: a unit of the D-SI {warnings}")


def reference():
    """The reference file is TOML, and asks for what the certificate does not say."""
    text = program("reference", HERE / "transducer.xml").decode()
    table = tomllib.loads(text)
    check(table["certificate"] == "MI-T-2026-0320" and len(table["curve"]) == 2, "transducer: its reference file is TOML")
    check("due" not in table and "# due = " in text, "transducer: what it does not say is asked for")


def wrong(folder):
    """Each judge refuses what it is there to refuse."""
    text = (folder / "full.xml").read_text(encoding="utf-8")
    file = folder / "wrong.xml"
    file.write_text(text.replace("<dcc:uniqueIdentifier>", "<dcc:number>").replace("</dcc:uniqueIdentifier>", "</dcc:number>"))
    check(not xmllint(file)[0], "xmllint refuses an unknown element")
    check(TOOLKIT.validate_dcc(str(file)) != [], "dcc-json-toolkit refuses an unknown element")
    file.write_text(text.replace("\\newton\\metre", "\\banana"))
    check(validate_dcc_content(DccSourceContent(str(file))) != [], "dcc-json-toolkit refuses a unit")
    check(DsiUnit("\\banana").warnings != [], "the D-SI's own parser refuses a unit")
    file.write_text(text.replace("v0.1.0", "0.1.0"))
    check(rules(file) != [], "the business rules refuse a version")


def key_and_certificate(kind):
    key = ec.generate_private_key(ec.SECP256R1()) if kind == "ecdsa" else rsa.generate_private_key(65537, 2048)
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Skeldravoe Torque Laboratory")])
    now = datetime.datetime.now(datetime.timezone.utc)
    builder = x509.CertificateBuilder(name, name, key.public_key(), x509.random_serial_number(), now, now + datetime.timedelta(days=9))
    builder = builder.add_extension(x509.BasicConstraints(True, 0), critical=True)
    return key, builder.sign(key, hashes.SHA256())


def raw_signature(key, data):
    if isinstance(key, rsa.RSAPrivateKey):
        return key.sign(data, padding.PKCS1v15(), hashes.SHA256())
    r, s = utils.decode_dss_signature(key.sign(data, ec.ECDSA(hashes.SHA256())))
    return r.to_bytes(32, "big") + s.to_bytes(32, "big")


def verified(file, pem):
    """By xmlsec1, then by signxml."""
    command = ["xmlsec1", "--verify", "--trusted-pem", str(pem), "--enabled-key-data", "x509", str(file)]
    by_xmlsec = subprocess.run(command, capture_output=True, text=True)
    try:
        # its default wants another canonicalisation than the one that the DCC's own tools verify
        XMLVerifier().verify(
            etree.parse(str(file)).getroot(),
            x509_cert=pem.read_text(),
            expect_config=SignatureConfiguration(location="./"),
        )
        by_signxml = True
    except Exception as error:  # every kind of refusal is one
        by_signxml = repr(error)
    return by_xmlsec.returncode == 0, by_signxml, by_xmlsec.stderr


def signed(folder):
    for kind in ("ecdsa", "rsa"):
        key, certificate = key_and_certificate(kind)
        der, pem, value = folder / "c.der", folder / "c.pem", folder / "signature"
        der.write_bytes(certificate.public_bytes(serialization.Encoding.DER))
        pem.write_bytes(certificate.public_bytes(serialization.Encoding.PEM))
        for name in ("full", "small"):
            unsigned, file = folder / f"{name}.xml", folder / f"{name}-{kind}.xml"
            value.write_bytes(raw_signature(key, program("prepare", unsigned, der, kind)))
            file.write_bytes(program("finish", unsigned, der, kind, value))
            check(xmllint(file)[0], f"{name}, {kind}: valid with its signature")
            by_xmlsec, by_signxml, words = verified(file, pem)
            check(by_xmlsec, f"{name}, {kind}: verified by xmlsec1 {words if not by_xmlsec else ''}")
            check(by_signxml is True, f"{name}, {kind}: verified by signxml {'' if by_signxml is True else by_signxml}")
            forged = folder / "forged.xml"
            forged.write_bytes(file.read_bytes().replace(b"2026-11-18", b"2026-11-19"))
            by_xmlsec, by_signxml, _ = verified(forged, pem)
            check(not by_xmlsec and by_signxml is not True, f"{name}, {kind}: a changed date is found by both")
            ours = subprocess.run([PROGRAM, "open", str(forged)], capture_output=True)
            check(ours.returncode == 2, f"{name}, {kind}: and by leverarm")


def main():
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        examples()
        units()
        reference()
        written(folder)
        wrong(folder)
        signed(folder)


main()
