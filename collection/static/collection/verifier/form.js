/* Checks an exported storage history in the browser: the same rules as `manage.py verify_history`,
   written a second time so that neither needs the other. This file: what a history looks like, its
   canonical form (RFC 8785), its digests (SHA-256) and signatures (Ed25519, RFC 8032). */
"use strict";

const HISTORY = "longstand-history-4";
const THIRD_HISTORY = "longstand-history-3"; // as files were written before witnesses stood in them
const SECOND_HISTORY = "longstand-history-2"; // as files were written while entries could not be left out whole
const FIRST_HISTORY = "longstand-history-1"; // as files were written before the record stood in the chain
const SETTINGS = "longstand-settings-1"; // what is set for an organisation or a site
const HISTORIES = [HISTORY, THIRD_HISTORY, SECOND_HISTORY, FIRST_HISTORY, SETTINGS];
const STATEMENT = "longstand-statement-2";
const FIRST_STATEMENT = "longstand-statement-1"; // as they were signed while the keeper stood in them by name
const STATEMENT_FILE = "longstand-statement-file-2";
const FIRST_STATEMENT_FILE = "longstand-statement-file-1";
const NOTHING_BEFORE = "0".repeat(64);
const HOUR = 3600e3; // policy: an entry may be under way while a statement is made
const WEEK = 7 * 24 * HOUR; // policy: a paper sheet is typed up within a week
const MOST_TRIES = 50, MOST_MISFITS = 20;
const KINDS = {
  file: "the file is not as it was written", signature: "the file's signature is wrong",
  edited: "an entry was edited", readings: "readings were changed", deleted: "something was taken out",
  inserted: "something was put in", reordered: "the order was changed", link: "a link of the chain was changed",
  anchor: "the chain does not match a signed statement",
  backdated: "an entry claims an earlier time of recording than the statements allow",
  witness: "the history does not match what you hold from before", record: "the record is not what its entries say",
  stamp: "a time stamp does not fit", countersignature: "a countersignature does not fit",
  attachment: "a photograph or document is not the one that came with its entry",
  identity: "the car was called something else when its entries were chained",
  key: "signed with another key than you expected",
};

/* canonical form, digests, signatures */

const utf8 = new TextEncoder();

function canonical(value) {
  if (Array.isArray(value)) return "[" + value.map(canonical).join(",") + "]";
  if (value !== null && typeof value === "object") {
    const names = Object.keys(value).sort(); // by UTF-16 code units, as RFC 8785 wants
    return "{" + names.map((name) => text(name) + ":" + canonical(value[name])).join(",") + "}";
  }
  if (typeof value === "number" && !Number.isFinite(value)) throw new Error("a number is too large");
  return typeof value === "string" ? text(value) : JSON.stringify(value);
}

function text(value) {
  if (/[\ud800-\udbff](?![\udc00-\udfff])|(?<![\ud800-\udbff])[\udc00-\udfff]/.test(value)) throw new Error("a text is broken");
  return JSON.stringify(value);
}

const hex = (bytes) => Array.from(new Uint8Array(bytes), (byte) => byte.toString(16).padStart(2, "0")).join("");
const bytes = (digits) => Uint8Array.from(digits.match(/../g) || [], (pair) => parseInt(pair, 16));
const sha256 = async (data) => hex(await crypto.subtle.digest("SHA-256", data));
const digest = (value) => sha256(utf8.encode(canonical(value)));

async function isSigned(value, key, signature) {
  try {
    const imported = await crypto.subtle.importKey("raw", bytes(key), { name: "Ed25519" }, false, ["verify"]);
    return await crypto.subtle.verify({ name: "Ed25519" }, imported, bytes(signature), utf8.encode(canonical(value)));
  } catch (error) {
    if (error.name === "NotSupportedError") throw error;
    return false;
  }
}

async function fingerprint(key) {
  return (await digest(key)).slice(0, 32).match(/..../g).join(" ");
}

function without(value, name) {
  const { [name]: _, ...rest } = value;
  return rest;
}

const writtenDigest = (entry) => digest(without(entry, "readings"));
const measuredDigest = (entry) => digest({ entry: entry.id, readings: entry.readings });
const linkDigest = (chain, link) => digest({ ...without(without(link, "digest"), "fields"), chain });

/* links of the second form: a salted digest for each field */

const MEASURED = "readings";
const WITHHELD = ["note", "attachments", MEASURED]; // what may be left out of a file beside details
const has = (thing, name) => Object.prototype.hasOwnProperty.call(thing, name);
const isSalted = (link) => Object.keys(link.fields || {}).length > 0;

function byCodePoints(one, other) { // as the command sorts names
  const [a, b] = [one, other].map((word) => Array.from(word, (letter) => letter.codePointAt(0)));
  for (let at = 0; at < Math.min(a.length, b.length); at += 1) if (a[at] !== b[at]) return a[at] - b[at];
  return a.length - b.length;
}

function entryValues(entry) {
  const values = new Map(Object.entries(without(entry, "details")));
  for (const [name, value] of Object.entries(entry.details)) values.set(`details.${name}`, value);
  return values;
}

async function covering(entry, fields) {
  const digests = Object.fromEntries(Object.entries(fields).map(([name, field]) => [name, field.digest]));
  const written = await digest({ form: 2, fields: without(digests, MEASURED) });
  return [written, await digest({ form: 2, entry, readings: has(digests, MEASURED) ? digests[MEASURED] : "" })];
}

async function holds(name, values, fields) {
  if (!has(fields, name)) return false;
  const { salt, digest: kept } = fields[name], value = values.get(name);
  if (salt === null) {
    if (WITHHELD.includes(name)) return !value || value.length === 0;
    return name.startsWith("details.") && !values.has(name);
  }
  return values.has(name) && await digest([salt, name, value]) === kept;
}

async function changedFields(entry, fields) {
  const values = entryValues(entry), changed = [];
  for (const name of [...new Set([...values.keys(), ...Object.keys(fields)])].sort(byCodePoints)) {
    if (!await holds(name, values, fields)) changed.push(name);
  }
  return changed;
}

const fieldWords = (name) => name.replace(/^details\./, "").replaceAll("_", " ");

/* shapes */

const isText = (value) => typeof value === "string";
const isNumber = (value) => typeof value === "number";
const isWhole = (value) => Number.isSafeInteger(value) && value >= 0;
const isObject = (value) => value !== null && typeof value === "object" && !Array.isArray(value);
const isTexts = (value) => isObject(value) && Object.values(value).every(isText);
const isHex = (digits) => (value) => isText(value) && value.length === digits && /^[0-9a-f]*$/.test(value);
const orNone = (fits) => (value) => value === null || fits(value);
const exactly = (word) => (value) => value === word;

function isInstant(value) {
  if (!isText(value) || !/^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}Z$/.test(value)) return false;
  const moment = new Date(value.slice(0, 23) + "Z");
  return !Number.isNaN(moment.getTime()) && moment.toISOString().slice(0, 23) === value.slice(0, 23) && !value.startsWith("0000");
}

const CAR = { marque: isText, model: isText, year: orNone(isWhole), chassis_number: isText };
const SUBJECT = { of: isText, name: isText };
const READING = { quantity: isText, value: isNumber, position: isText, temperature_c: orNone(isNumber), rest_hours: orNone(isNumber) };
const ATTACHMENT = { name: isText, type: isText, size: isWhole, digest: isHex(64) };
const ENTRY = {
  id: isText, kind: isText, done_at: isInstant, recorded_at: isInstant, by: isText, details: isObject, note: isText,
  corrects: orNone(isText), key: isText, attachments: [ATTACHMENT], readings: [READING],
};
const LINK = { seq: isWhole, previous: isHex(64), entry: isText, car: CAR, written: isHex(64), measured: isHex(64), digest: isHex(64) };
const SIGNED = {
  form: exactly(FIRST_STATEMENT), by: isText, number: isWhole, previous: isHex(64), since: orNone(isInstant), at: isInstant,
  chains: isWhole, root: isHex(64), key: isHex(64),
};
const SALTED = { ...SIGNED, form: exactly(STATEMENT), by: isHex(64) };
const FIRST_ANCHOR = { statement: SIGNED, signature: isHex(128), seq: isWhole, place: isWhole, proof: [isHex(64)] };
const isNamed = (value) => isObject(value) && Object.keys(value).sort().join() === "name,salt" && isHex(32)(value.salt) && isText(value.name);
const ANCHOR = { ...FIRST_ANCHOR, statement: oneOf(SIGNED, SALTED), named: orNone(isNamed) };
const isPlain = (value) => value === null || ["string", "number", "boolean"].includes(typeof value);
const isRecord = (value) => isObject(value) && Object.values(value).every(isPlain);
const isField = (value) => isObject(value) && Object.keys(value).sort().join() === "digest,salt"
  && orNone(isHex(32))(value.salt) && isHex(64)(value.digest);
const isFields = (value) => isObject(value) && Object.values(value).every(isField);
const WHOLE = {
  made_at: isInstant, kept_by: isText, chain: isText, car: CAR, people: isTexts, entries: [ENTRY], anchors: [FIRST_ANCHOR],
  key: isHex(64), signature: isHex(128),
};
const HEADS = [{ chain: isText, seq: isWhole, head: isHex(64) }];
const WITHHOLDING = { anchors: [ANCHOR], withheld: isTexts };
const THIRD = { ...WHOLE, ...WITHHOLDING, links: [{ ...LINK, fields: isFields }], record: isRecord };
const isDigits = (value) => isText(value) && value.length % 2 === 0 && /^[0-9a-f]*$/.test(value);
const isPasskey = (value) => isObject(value) && Object.keys(value).sort().join() === "authenticator,client" && Object.values(value).every(isDigits);
const STAMP = { form: exactly("time-stamp"), statement: isHex(64), response: isDigits };
const COUNTERSIGNED = {
  form: exactly("longstand-countersignature-1"), chain: isText, seq: isWhole, head: isHex(64), as: isText, occasion: isText, by: isHex(64),
  at: isInstant, key: isDigits,
};
const COUNTERSIGNATURE = {
  form: exactly("countersignature"), statement: COUNTERSIGNED, signature: isDigits, named: orNone(isNamed), passkey: orNone(isPasskey),
};
const SHAPES = {
  [FIRST_HISTORY]: { ...WHOLE, form: exactly(FIRST_HISTORY), links: [LINK] },
  [SECOND_HISTORY]: { ...WHOLE, form: exactly(SECOND_HISTORY), links: [{ ...LINK, fields: isFields }], record: isRecord },
  [THIRD_HISTORY]: { ...THIRD, form: exactly(THIRD_HISTORY) },
  [HISTORY]: { ...THIRD, form: exactly(HISTORY), witnesses: [oneOf(STAMP, COUNTERSIGNATURE)] },
  [SETTINGS]: {
    ...WHOLE, ...WITHHOLDING, form: exactly(SETTINGS), car: SUBJECT, links: [{ ...LINK, car: SUBJECT, fields: isFields }], record: isRecord,
  },
  [FIRST_STATEMENT_FILE]: { form: exactly(FIRST_STATEMENT_FILE), statement: SIGNED, signature: isHex(128), heads: HEADS },
  [STATEMENT_FILE]: {
    form: exactly(STATEMENT_FILE), statement: SALTED, signature: isHex(128), heads: HEADS, named: orNone(isNamed),
  },
};

function oneOf(...shapes) { // the form that a value names decides
  const none = { form: () => false };
  return { choose: (value) => shapes.find((shape) => isObject(value) && shape.form(value.form)) || none };
}

function misfits(value, shape, path = "") {
  if (typeof shape.choose === "function") {
    const chosen = shape.choose(value);
    return Object.keys(chosen).length > 1 ? misfits(value, chosen, path) : [path];
  }
  if (typeof shape === "function") return shape(value) ? [] : [path];
  if (Array.isArray(shape)) {
    return Array.isArray(value) ? value.flatMap((item, place) => misfits(item, shape[0], `${path}[${place}]`)) : [path];
  }
  if (!isObject(value)) return [path];
  const below = (name) => (path ? `${path}.${name}` : name);
  const strange = Object.keys(value).filter((name) => !has(shape, name));
  const missing = Object.keys(shape).filter((name) => !has(value, name));
  const shared = Object.keys(shape).filter((name) => has(value, name));
  return [...strange, ...missing].map(below).concat(shared.flatMap((name) => misfits(value[name], shape[name], below(name))));
}

/* reading a file */

const fault = (kind, seq, words) => ({ kind, seq, text: words });

function read(data, forms) {
  let value, rewritten;
  const written = new Uint8Array(data);
  try {
    value = JSON.parse(new TextDecoder("utf-8", { fatal: true, ignoreBOM: true }).decode(written));
    rewritten = utf8.encode(canonical(value));
  } catch (error) {
    return [null, [fault("file", 0, `This is not a history file: ${error.message}.`)]];
  }
  const form = isObject(value) ? value.form : null;
  if (!isText(form) || !forms.includes(form)) return [null, [fault("file", 0, `This is none of: ${forms.join(", ")}.`)]];
  const wrong = misfits(value, SHAPES[form]).slice(0, MOST_MISFITS);
  if (wrong.length) return [null, wrong.map((at) => fault("file", entryNumber(at), `Not as it was written: ${at}.`))];
  const same = rewritten.length === written.length && rewritten.every((byte, place) => byte === written[place]);
  const saved = "The file was saved again by another programme: its bytes are not those that were written.";
  return [value, same ? [] : [fault("file", 0, saved)]];
}

function entryNumber(path) {
  const inside = /^(?:entries|links)\[(\d+)\]/.exec(path);
  return inside ? Number(inside[1]) + 1 : 0;
}

const nameOf = (entry) => `${entry.kind.replaceAll("_", " ")} of ${entry.done_at.slice(0, 10)}`;
const moment = (instant) => Date.parse(instant.slice(0, 23) + "Z");
const counted = (items) => items.reduce((count, item) => count.set(item, (count.get(item) || 0) + 1), new Map());
const pairs = (items) => items.slice(1).map((item, place) => [items[place], item]);
