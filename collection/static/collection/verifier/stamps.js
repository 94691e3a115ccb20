/* Time stamps of an authority outside (RFC 3161), read from their DER (X.690) as the command reads them, and
   countersignatures by a key file or a passkey. */
"use strict";

const TST_INFO = "2a864886f70d0109100104", SIGNED_DATA = "2a864886f70d010702";
const CONTENT_TYPE = "2a864886f70d010903", MESSAGE_DIGEST = "2a864886f70d010904";
const BY_SHA1 = "2a864886f70d010910020c", BY_SHA256 = "2a864886f70d010910022f";
const EXTENDED_USE = "551d25", STAMPS_TIME = "2b06010505070308", COMMON_NAME = "550403";
const HASHES = { "608648016503040201": "SHA-256", "608648016503040202": "SHA-384", "608648016503040203": "SHA-512" };
const RSA = "2a864886f70d010101", RSA_PSS = "2a864886f70d01010a", EC = "2a8648ce3d0201", ED25519 = "2b6570";
const CURVES = { "2a8648ce3d030107": ["P-256", 32], "2b81040022": ["P-384", 48], "2b81040023": ["P-521", 66] };
const CERTIFIED_BY = {
  "2a864886f70d010105": "SHA-1", "2a864886f70d01010b": "SHA-256", "2a864886f70d01010c": "SHA-384", "2a864886f70d01010d": "SHA-512",
  "2a8648ce3d040302": "SHA-256", "2a8648ce3d040303": "SHA-384", "2a8648ce3d040304": "SHA-512",
};
const MOST_STAMP_BYTES = 64000, MOST_CERTIFICATES = 8;

/* DER */

function refuse() { throw new Error("no stamp"); }

function derAt(data, at, end) { // one value: its tag, its contents, and the whole of it
  if (at + 2 > end) refuse();
  let length = data[at + 1], start = at + 2;
  if (length > 127) {
    const digits = length & 127;
    if (!digits || digits > 3 || start + digits > end) refuse();
    length = data.subarray(start, start + digits).reduce((sum, byte) => sum * 256 + byte, 0);
    start += digits;
  }
  if (start + length > end) refuse();
  return { tag: data[at], inside: data.subarray(start, start + length), whole: data.subarray(at, start + length) };
}

function der(data, tag) { // a value that fills the bytes
  const value = derAt(data, 0, data.length);
  return value.whole.length === data.length && (!tag || value.tag === tag) ? value : refuse();
}

function parts(value, tag) {
  const found = [];
  if (tag && value.tag !== tag) refuse();
  for (let at = 0; at < value.inside.length;) {
    found.push(derAt(value.inside, at, value.inside.length));
    at += found.at(-1).whole.length;
  }
  return found;
}

const is = (value, tag) => (value && value.tag === tag ? value : refuse());
const oid = (value) => hex(is(value, 6).inside);
const algorithm = (value) => oid(parts(value, 0x30)[0]);

function time(value) {
  const said = String.fromCharCode(...value.inside);
  const found = value.tag === 0x17 ? /^(\d\d)(\d\d)(\d\d)(\d\d)(\d\d)(\d\d)Z$/.exec(said)
    : value.tag === 0x18 ? /^(\d{4})(\d\d)(\d\d)(\d\d)(\d\d)(\d\d)(?:\.(\d+))?Z$/.exec(said) : null;
  if (!found) refuse();
  const [, year, month, day, hour, minute, second, part = "0"] = found;
  const whole = year.length === 4 ? year : (Number(year) < 50 ? "20" : "19") + year;
  const at = Date.parse(`${whole}-${month}-${day}T${hour}:${minute}:${second}Z`);
  return Number.isNaN(at) ? refuse() : at + Math.floor(Number(`0.${part}`) * 1000);
}

/* keys */

function keyOf(spki) { // how WebCrypto is to take a public key
  const [kind, parameter] = parts(parts({ tag: 0x30, inside: der(spki, 0x30).inside })[0], 0x30);
  if (oid(kind) === RSA) return { name: "RSASSA-PKCS1-v1_5" };
  if (oid(kind) === ED25519) return { name: "Ed25519" };
  const curve = oid(kind) === EC && CURVES[oid(parameter)];
  return curve ? { name: "ECDSA", namedCurve: curve[0], size: curve[1] } : refuse();
}

function plainPair(signature, size) { // r and s of fixed length, out of their DER
  const numbers = parts(der(signature, 0x30)).map((number) => {
    const digits = hex(is(number, 2).inside).replace(/^(00)+/, "");
    return digits.length > 2 * size ? refuse() : digits.padStart(2 * size, "0");
  });
  return numbers.length === 2 ? bytes(numbers.join("")) : refuse();
}

async function isBy(spki, hash, signature, covered) {
  const { size, ...kind } = keyOf(spki);
  const key = await crypto.subtle.importKey("spki", spki, kind.name === "RSASSA-PKCS1-v1_5" ? { ...kind, hash } : kind, false, ["verify"]);
  const plain = kind.name === "ECDSA" ? plainPair(signature, size) : signature;
  return crypto.subtle.verify({ name: kind.name, hash }, key, plain, covered);
}

/* certificates */

async function certificateOf(value) {
  const [body, kind, signature] = parts(is(value, 0x30)), fields = parts(body, 0x30);
  if (fields[0].tag === 0xa0) fields.shift();
  const [, , issuer, validity, subject, key, ...rest] = fields;
  const extensions = rest.filter((each) => each.tag === 0xa3).flatMap((each) => parts(parts(each)[0], 0x30));
  const uses = extensions.map((each) => parts(each, 0x30)).find((each) => oid(each[0]) === EXTENDED_USE);
  return {
    whole: value.whole, print: await sha256(value.whole), body: body.whole, hash: CERTIFIED_BY[algorithm(kind)],
    signature: is(signature, 3).inside.subarray(1), issuer: hex(issuer.whole), subject: hex(subject.whole), key: key.whole,
    valid: parts(validity, 0x30).map(time), uses: uses ? parts(der(uses.at(-1).inside, 0x30)).map(oid) : [], name: commonName(subject),
  };
}

function commonName(subject) {
  const named = parts(subject, 0x30).flatMap((set) => parts(set, 0x31)).map((pair) => parts(pair, 0x30));
  const found = named.find(([kind]) => oid(kind) === COMMON_NAME);
  return found ? new TextDecoder().decode(found[1].inside) : "";
}

async function isIssued(above, certificate) {
  if (above.subject !== certificate.issuer || !certificate.hash) return false;
  try {
    return await isBy(above.key, certificate.hash, certificate.signature, certificate.body);
  } catch {
    return false;
  }
}

async function wayUp(first, certificates) {
  const way = [first];
  for (let more = true; more;) {
    more = false;
    for (const each of certificates) {
      if (!more && !way.some(({ print }) => print === each.print) && await isIssued(each, way.at(-1))) {
        way.push(each);
        more = true;
      }
    }
  }
  return way;
}

/* stamps */

async function readStamp(response) { // null where it is no genuine stamp
  try {
    return response.length <= MOST_STAMP_BYTES ? await stampOf(response) : null;
  } catch {
    return null;
  }
}

async function stampOf(response) {
  const [status, token] = parts(der(response, 0x30)), granted = hex(is(parts(status, 0x30)[0], 2).inside);
  if (granted !== "00" && granted !== "01") refuse();
  const [kind, outer] = parts(token, 0x30);
  if (oid(kind) !== SIGNED_DATA) refuse();
  const data = parts(parts(outer, 0xa0)[0], 0x30), [what, wrapped] = parts(data[2], 0x30);
  const inside = is(parts(wrapped, 0xa0)[0], 4).inside, signers = parts(is(data.at(-1), 0x31));
  if (oid(what) !== TST_INFO || signers.length !== 1) refuse();
  const [, , imprint, , at] = parts(der(inside, 0x30)), [hashed, digested] = parts(imprint, 0x30);
  if (HASHES[algorithm(hashed)] !== "SHA-256" || is(digested, 4).inside.length !== 32) refuse();
  const listed = data.filter((each) => each.tag === 0xa0).flatMap((each) => parts(each)).filter((each) => each.tag === 0x30);
  if (listed.length > MOST_CERTIFICATES) refuse();
  const certificates = await Promise.all(listed.map(certificateOf));
  const signer = parts(signers[0], 0x30), signed = is(signer[3], 0xa0), attributes = attributesOf(signed);
  const mine = await signing(attributes, certificates), hash = HASHES[algorithm(signer[2])];
  const digest = hex(await crypto.subtle.digest(hash, inside));
  if (oid(attributes.get(CONTENT_TYPE)) !== TST_INFO || hex(is(attributes.get(MESSAGE_DIGEST), 4).inside) !== digest) refuse();
  const covered = Uint8Array.from(signed.whole), moment = time(is(at, 0x18));
  covered[0] = 0x31; // RFC 5652, 5.4: signed as a SET OF
  if (keyOf(mine.key).name === "Ed25519" || algorithm(signer[4]) === RSA_PSS) refuse();
  if (!await isBy(mine.key, hash, is(signer[5], 4).inside, covered)) refuse();
  if (!mine.uses.includes(STAMPS_TIME) || moment < mine.valid[0] || moment > mine.valid[1]) refuse();
  const way = await wayUp(mine, certificates);
  return { imprint: hex(digested.inside), at: moment, authority: mine.name, certificates: way.map(({ print }) => print) };
}

function attributesOf(signed) {
  const found = new Map();
  for (const [kind, values] of parts(signed).map((each) => parts(each, 0x30))) {
    const [value, ...others] = parts(values, 0x31);
    if (!value || others.length || found.has(oid(kind))) refuse();
    found.set(oid(kind), value);
  }
  return found;
}

async function signing(attributes, certificates) { // the certificate that the signature itself names
  const second = attributes.get(BY_SHA256), named = parts(parts(parts(second || attributes.get(BY_SHA1), 0x30)[0], 0x30)[0], 0x30);
  if (second && named[0].tag === 0x30 && HASHES[algorithm(named.shift())] !== "SHA-256") refuse();
  for (const each of certificates) {
    const made = hex(await crypto.subtle.digest(second ? "SHA-256" : "SHA-1", each.whole));
    if (made === hex(is(named[0], 4).inside)) return each;
  }
  return refuse();
}

/* countersignatures */

async function isCountersigned({ statement, signature, passkey }) {
  if (!passkey) return statement.key.length === 64 && isSigned(statement, statement.key, signature);
  try {
    const [authenticator, client] = [passkey.authenticator, passkey.client].map(bytes);
    const asked = JSON.parse(new TextDecoder("utf-8", { fatal: true }).decode(client));
    const challenge = btoa(String.fromCharCode(...bytes(await digest(statement)))).replace(/=+$/, "")
      .replaceAll("+", "-").replaceAll("/", "_");
    if (asked.type !== "webauthn.get" || asked.challenge !== challenge || !(authenticator[32] & 1)) return false;
    const key = bytes(statement.key), covered = Uint8Array.of(...authenticator, ...bytes(await sha256(client)));
    const curve = keyOf(key).namedCurve;
    return (!curve || curve === "P-256") && await isBy(key, "SHA-256", bytes(signature), covered);
  } catch {
    return false;
  }
}
