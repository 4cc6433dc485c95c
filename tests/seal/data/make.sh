#!/bin/sh
# Makes the keys and certificates of the tests with openssl 3: what the library must read was made
# by another program. The keys protect nothing. The passphrase of each is "for the tests only".
set -eu
cd "$(dirname "$0")"
P='pass:for the tests only'
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

ca() { # name, subject, key options
    openssl genpkey -quiet $3 -out "$work/$1.key" 2>/dev/null
    openssl req -x509 -new -key "$work/$1.key" -subj "$2" -days 36500 -sha256 -out "$1.pem" \
        -addext basicConstraints=critical,CA:TRUE -addext keyUsage=critical,keyCertSign
}
issued() { # name, subject, issuer, extensions, key options
    openssl genpkey -quiet $5 -out "$work/$1.key" 2>/dev/null
    printf '%b' "$4" > "$work/ext"
    openssl req -new -key "$work/$1.key" -subj "$2" |
        openssl x509 -req -CA "$3.pem" -CAkey "$work/$3.key" -CAcreateserial -CAserial "$work/serial" \
            -days 36499 -sha256 -extfile "$work/ext" -out "$1.pem" 2>/dev/null
}
closed() { openssl pkcs8 -topk8 -v2 aes-256-cbc -in "$work/$1.key" -out "$1.key.pem" -passout "$P"; }

EC='-algorithm EC -pkeyopt ec_paramgen_curve:P-256'
RSA='-algorithm RSA -pkeyopt rsa_keygen_bits'
LEAF='keyUsage=critical,digitalSignature,nonRepudiation\nbasicConstraints=critical,CA:FALSE\n'
ISSUER='keyUsage=critical,keyCertSign\nbasicConstraints=critical,CA:TRUE,pathlen:0\n'

ca root '/O=Isle Register of Laboratories/CN=Isle Register Root' "$RSA:2048"
ca other-root '/O=Isle Register of Laboratories/CN=Isle Register Root' "$RSA:2048"
issued middle '/O=Isle Register of Laboratories/CN=Isle Register 2' root "$ISSUER" "$EC"
issued leaf '/O=Skeldravoe Torque Laboratory/CN=Runa Hjaltevik' middle "$LEAF" "$EC"
issued rsa '/O=Skeldravoe Torque Laboratory/CN=Eskil Marnburg' root "$LEAF" "$RSA:3072"
issued below-leaf '/O=Somebody else/CN=Skeldravoe Torque Laboratory' leaf "$LEAF" "$EC"
issued encipher '/O=Skeldravoe Torque Laboratory/CN=Mail' root 'keyUsage=critical,keyEncipherment\n' "$RSA:2048"
issued weak '/O=Skeldravoe Torque Laboratory/CN=Old key' root "$LEAF" "$RSA:1024"
for name in leaf rsa below-leaf encipher weak; do closed "$name"; done
openssl pkcs8 -topk8 -scrypt -in "$work/leaf.key" -out leaf.scrypt.key.pem -passout "$P"
openssl pkcs8 -topk8 -nocrypt -in "$work/leaf.key" -out leaf.open.key.pem
cat middle.pem root.pem > "$work/above"
openssl pkcs12 -export -inkey "$work/leaf.key" -in leaf.pem -certfile "$work/above" -out leaf.p12 -passout "$P"
openssl pkcs12 -export -legacy -inkey "$work/rsa.key" -in rsa.pem -certfile root.pem -out rsa.legacy.p12 -passout "$P"
