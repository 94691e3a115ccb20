/* Checks an exported storage history: the same rules as `manage.py verify_history`, written a second
   time so that neither needs the other. Canonical form: RFC 8785. Digest: SHA-256. Signatures:
   Ed25519 (RFC 8032). Proofs: Merkle trees of RFC 9162. Nothing is sent anywhere. */
"use strict";

const HISTORY = "longstand-history-1";
const STATEMENT = "longstand-statement-1";
const STATEMENT_FILE = "longstand-statement-file-1";
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
  witness: "the history does not match what you hold from before", key: "signed with another key than you expected",
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
const linkDigest = (chain, link) => digest({ ...without(link, "digest"), chain });

/* shapes */

const isText = (value) => typeof value === "string";
const isNumber = (value) => typeof value === "number";
const isWhole = (value) => Number.isSafeInteger(value) && value >= 0;
const isObject = (value) => value !== null && typeof value === "object" && !Array.isArray(value);
const isPeople = (value) => isObject(value) && Object.values(value).every(isText);
const isHex = (digits) => (value) => isText(value) && value.length === digits && /^[0-9a-f]*$/.test(value);
const orNone = (fits) => (value) => value === null || fits(value);
const exactly = (word) => (value) => value === word;
const isEmpty = (value) => Array.isArray(value) && value.length === 0;

function isInstant(value) {
  if (!isText(value) || !/^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}Z$/.test(value)) return false;
  const moment = new Date(value.slice(0, 23) + "Z");
  return !Number.isNaN(moment.getTime()) && moment.toISOString().slice(0, 23) === value.slice(0, 23) && !value.startsWith("0000");
}

const CAR = { marque: isText, model: isText, year: orNone(isWhole), chassis_number: isText };
const READING = { quantity: isText, value: isNumber, position: isText, temperature_c: orNone(isNumber), rest_hours: orNone(isNumber) };
const ENTRY = {
  id: isText, kind: isText, done_at: isInstant, recorded_at: isInstant, by: isText, details: isObject, note: isText,
  corrects: orNone(isText), key: isText, attachments: isEmpty, readings: [READING],
};
const LINK = { seq: isWhole, previous: isHex(64), entry: isText, car: CAR, written: isHex(64), measured: isHex(64), digest: isHex(64) };
const SIGNED = {
  form: exactly(STATEMENT), by: isText, number: isWhole, previous: isHex(64), since: orNone(isInstant), at: isInstant,
  chains: isWhole, root: isHex(64), key: isHex(64),
};
const ANCHOR = { statement: SIGNED, signature: isHex(128), seq: isWhole, place: isWhole, proof: [isHex(64)] };
const SHAPES = {
  [HISTORY]: {
    form: exactly(HISTORY), made_at: isInstant, kept_by: isText, chain: isText, car: CAR, people: isPeople,
    entries: [ENTRY], links: [LINK], anchors: [ANCHOR], key: isHex(64), signature: isHex(128),
  },
  [STATEMENT_FILE]: {
    form: exactly(STATEMENT_FILE), statement: SIGNED, signature: isHex(128),
    heads: [{ chain: isText, seq: isWhole, head: isHex(64) }],
  },
};

function misfits(value, shape, path = "") {
  if (typeof shape === "function") return shape(value) ? [] : [path];
  if (Array.isArray(shape)) {
    return Array.isArray(value) ? value.flatMap((item, place) => misfits(item, shape[0], `${path}[${place}]`)) : [path];
  }
  if (!isObject(value)) return [path];
  const below = (name) => (path ? `${path}.${name}` : name);
  const own = (thing, name) => Object.prototype.hasOwnProperty.call(thing, name);
  const strange = Object.keys(value).filter((name) => !own(shape, name));
  const missing = Object.keys(shape).filter((name) => !own(value, name));
  const shared = Object.keys(shape).filter((name) => own(value, name));
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

/* the chain */

async function checkLinks(history) {
  const links = [...history.links].sort((a, b) => a.seq - b.seq);
  return [...checkNumbers(links), ...checkOrder(history), ...checkJoints(links),
    ...await checkHarm(history.chain, links), ...await checkEntries(history.entries, links)];
}

function checkNumbers(links) {
  const faults = [], count = counted(links.map((link) => link.seq));
  for (let seq = 1; seq <= links.length; seq += 1) {
    if (!count.has(seq)) faults.push(fault("deleted", seq, `Entry ${seq} of the chain is missing.`));
  }
  for (const [seq, times] of count) {
    if (times > 1) faults.push(fault("inserted", seq, `Number ${seq} stands ${times} times in the chain.`));
    if (seq < 1 || seq > links.length) {
      faults.push(fault("inserted", seq, `Number ${seq} is beyond the ${links.length} links that there are.`));
    }
  }
  return faults;
}

function checkOrder(history) {
  const faults = [], place = new Map(history.links.map((link) => [link.entry, link.seq]));
  for (const [before, after] of pairs(history.links)) {
    if (after.seq < before.seq) faults.push(fault("reordered", after.seq, `Link ${after.seq} stands after link ${before.seq}.`));
  }
  const chained = history.entries.filter((entry) => place.has(entry.id)).map((entry) => place.get(entry.id));
  for (const [first, second] of pairs(chained)) {
    if (second < first) faults.push(fault("reordered", second, `Entry ${second} stands after entry ${first}.`));
  }
  return faults;
}

function checkJoints(links) {
  const faults = [];
  if (links.length && links[0].previous !== NOTHING_BEFORE) {
    faults.push(fault("deleted", links[0].seq, "Something stood before what is now the first link."));
  }
  for (const [before, after] of pairs(links)) {
    if (after.previous !== before.digest) {
      faults.push(fault("link", after.seq, `Link ${after.seq} was not made on top of link ${before.seq} as it now stands.`));
    }
  }
  return faults;
}

async function checkHarm(chain, links) {
  const faults = [], harmed = [];
  for (const link of links) if (await linkDigest(chain, link) !== link.digest) harmed.push(link);
  const places = harmed.slice(0, MOST_TRIES).map((link) => link.seq);
  for (const link of harmed) {
    let home = 0;
    for (const seq of places) if (!home && await linkDigest(chain, { ...link, seq }) === link.digest) home = seq;
    faults.push(home
      ? fault("reordered", link.seq, `Link ${link.seq} stood at ${home} when it was made.`)
      : fault("link", link.seq, `Link ${link.seq} does not match its own digest.`));
  }
  return faults;
}

async function checkEntries(entries, links) {
  const faults = [], found = new Map(entries.map((entry) => [entry.id, entry]));
  const written = new Map(links.map((link) => [link.written, link.seq]));
  for (const link of links) {
    const entry = found.get(link.entry);
    if (entry) faults.push(...await checkContents(entry, link, written));
    else faults.push(fault("deleted", link.seq, `Entry ${link.seq} was taken out; its link is still here.`));
  }
  return [...faults, ...checkStrangers(entries, links)];
}

async function checkContents(entry, link, written) {
  const faults = [], made = await writtenDigest(entry), { seq } = link;
  if (made !== link.written) {
    const home = written.get(made);
    faults.push(home
      ? fault("reordered", seq, `At ${seq} stands what was chained at ${home}: ${nameOf(entry)}.`)
      : fault("edited", seq, `Entry ${seq} (${nameOf(entry)}) was edited after it was chained.`));
  }
  if (await measuredDigest(entry) !== link.measured) {
    faults.push(fault("readings", seq, `The readings of entry ${seq} (${nameOf(entry)}) were changed.`));
  }
  return faults;
}

function checkStrangers(entries, links) {
  const faults = [], seen = new Set(), chained = counted(links.map((link) => link.entry));
  const place = new Map(links.map((link) => [link.entry, link.seq]));
  for (const [entry, times] of chained) {
    if (times > 1) faults.push(fault("inserted", place.get(entry), `The entry at ${place.get(entry)} is chained ${times} times.`));
  }
  for (const entry of entries) {
    if (seen.has(entry.id)) faults.push(fault("inserted", place.get(entry.id) || 0, `${nameOf(entry)} stands twice.`));
    else if (!chained.has(entry.id)) {
      faults.push(fault("inserted", 0, `An entry was put in that the chain does not know: ${nameOf(entry)}.`));
    }
    seen.add(entry.id);
  }
  return faults;
}

/* the signed statements */

const leafDigest = (leaf) => sha256(Uint8Array.of(0, ...utf8.encode(leaf)));
const nodeDigest = (left, right) => sha256(Uint8Array.of(1, ...bytes(left), ...bytes(right)));
const leafOf = (chain, seq, head) => canonical([chain, seq, head]);

async function rootFrom(leaf, place, size, proof) {
  if (place < 0 || place >= size) return null;
  let at = place, last = size - 1, root = await leafDigest(leaf);
  for (const sibling of proof) {
    if (last === 0) return null;
    if (at % 2 || at === last) {
      root = await nodeDigest(sibling, root);
      while (at % 2 === 0 && at) { at /= 2; last = Math.floor(last / 2); }
    } else root = await nodeDigest(root, sibling);
    at = Math.floor(at / 2);
    last = Math.floor(last / 2);
  }
  return last === 0 ? root : null;
}

async function rootOf(leaves) {
  if (!leaves.length) return sha256(new Uint8Array());
  if (leaves.length === 1) return leafDigest(leaves[0]);
  let split = 1;
  while (split * 2 < leaves.length) split *= 2;
  return nodeDigest(await rootOf(leaves.slice(0, split)), await rootOf(leaves.slice(split)));
}

const titleOf = (anchor) => `statement ${anchor.statement.number} of ${anchor.statement.at.slice(0, 10)}`;

async function checkAnchors(history) {
  const faults = [], links = new Map(history.links.map((link) => [link.seq, link]));
  for (const anchor of history.anchors) faults.push(...await checkAnchor(history.chain, anchor, links));
  for (const [before, after] of pairs(history.anchors)) {
    if (after.seq <= before.seq || after.statement.at < before.statement.at) {
      faults.push(fault("anchor", after.seq, `The ${titleOf(after)} is out of its order.`));
    }
  }
  return [...faults, ...checkTimes(history)];
}

async function checkAnchor(chain, anchor, links) {
  const { statement, seq } = anchor, link = links.get(seq);
  if (!await isSigned(statement, statement.key, anchor.signature)) {
    return [fault("anchor", seq, `The ${titleOf(anchor)} does not bear a right signature.`)];
  }
  if (!link) return [fault("deleted", seq, `The ${titleOf(anchor)} knew entry ${seq}; it is no longer here.`)];
  const root = await rootFrom(leafOf(chain, seq, link.digest), anchor.place, statement.chains, anchor.proof);
  if (root === statement.root) return [];
  return [fault("anchor", seq, `The chain up to entry ${seq} is not the one signed in the ${titleOf(anchor)}.`)];
}

function firstAnchors(history) {
  const first = new Map(), anchors = [...history.anchors].sort((a, b) => a.seq - b.seq);
  for (const { seq } of history.links) {
    const anchor = anchors.find((each) => each.seq >= seq);
    if (anchor) first.set(seq, anchor);
  }
  return first;
}

function recordedAt(history) {
  const said = new Map(history.entries.map((entry) => [entry.id, entry.recorded_at]));
  return new Map(history.links.filter((link) => said.has(link.entry)).map((link) => [link.seq, said.get(link.entry)]));
}

function checkTimes(history) {
  const faults = [], said = recordedAt(history), first = firstAnchors(history);
  for (const [seq, recorded] of said) {
    const anchor = first.get(seq);
    const before = history.anchors.filter((each) => each.seq < seq).map((each) => each.statement.at);
    if (anchor && anchor.statement.since) before.push(anchor.statement.since);
    const since = before.sort().at(-1);
    if (since && moment(recorded) < moment(since) - HOUR) {
      const words = `Entry ${seq} says it was recorded on ${recorded.slice(0, 10)}; a statement signed after that`;
      faults.push(fault("backdated", seq, `${words}, on ${since.slice(0, 10)}, did not know it.`));
    }
    if (anchor && moment(recorded) > moment(anchor.statement.at) + HOUR) {
      faults.push(fault("anchor", seq, `Entry ${seq} says it was recorded after the ${titleOf(anchor)}, which covers it already.`));
    }
  }
  return faults;
}

/* what the reader kept */

async function checkWitness(history, witness) {
  return witness.form === HISTORY ? checkEarlier(history, witness) : checkKept(history, witness);
}

async function checkEarlier(history, witness) {
  if (!await isSigned(without(witness, "signature"), witness.key, witness.signature)) {
    return [fault("witness", 0, "The earlier export does not bear a right signature: it proves nothing.")];
  }
  if (witness.chain !== history.chain) return [fault("witness", 0, "The earlier export is of another car's chain.")];
  const faults = witness.links.flatMap((link) => sameHead(history, link.seq, link.digest, "the earlier export"));
  const kept = new Set(history.anchors.map((anchor) => canonical(anchor.statement)));
  for (const anchor of witness.anchors) {
    if (!kept.has(canonical(anchor.statement))) {
      const day = anchor.statement.at.slice(0, 10);
      faults.push(fault("witness", anchor.seq, `The statement of ${day} stood in the earlier export and is no longer here.`));
    }
  }
  return faults;
}

async function checkKept(history, witness) {
  const { statement, heads } = witness;
  const title = `the statement ${statement.number} of ${statement.at.slice(0, 10)} that you hold`;
  const root = await rootOf(heads.map((head) => leafOf(head.chain, head.seq, head.head)));
  const genuine = await isSigned(statement, statement.key, witness.signature);
  if (!genuine || heads.length !== statement.chains || root !== statement.root) {
    return [fault("witness", 0, `T${title.slice(1)} is not genuine: it proves nothing.`)];
  }
  const mine = heads.filter((head) => head.chain === history.chain).at(-1);
  const faults = mine ? sameHead(history, mine.seq, mine.head, title) : [];
  for (const anchor of history.anchors) {
    const other = anchor.statement;
    const same = ["by", "key", "number"].every((name) => other[name] === statement[name]);
    if (same && canonical(other) !== canonical(statement)) {
      faults.push(fault("witness", anchor.seq, `The file holds another version of ${title}.`));
    }
  }
  return [...faults, ...unknownThen(history, statement, mine ? mine.seq : 0, title)];
}

function sameHead(history, seq, head, title) {
  const now = history.links.filter((link) => link.seq === seq).at(-1);
  if (!now) return [fault("witness", seq, `Entry ${seq} stood in ${title} and is no longer here.`)];
  return now.digest === head ? [] : [fault("witness", seq, `The chain up to entry ${seq} is not the one in ${title}.`)];
}

/* of another keeper: by key, or by name where the file names both (a car handed over in one house) */
function byAnother(history, anchor, statement) {
  const other = anchor.statement;
  if (other.key !== statement.key) return true;
  return other.by !== statement.by && history.anchors.some((each) => each.statement.by === statement.by);
}

function unknownThen(history, statement, reach, title) {
  const faults = [], said = recordedAt(history);
  const until = moment(statement.at) - HOUR, since = statement.since && moment(statement.since) + HOUR;
  for (const [seq, anchor] of firstAnchors(history)) {
    if (byAnother(history, anchor, statement) || seq <= reach || !said.has(seq)) continue;
    const recorded = moment(said.get(seq));
    if (recorded < until && (reach || since === null || recorded > since)) {
      faults.push(fault("backdated", seq, `Entry ${seq} says it was recorded before ${title}, which lacks it.`));
    }
  }
  return faults;
}

/* the verdict */

function keysOf(history) {
  return [...new Set([history.key, ...history.anchors.map((anchor) => anchor.statement.key)])];
}

async function checkKeys(history, expected) {
  const faults = [], known = expected.map((key) => key.replace(/\s/g, "").toLowerCase()).filter(Boolean);
  for (const key of known.length ? keysOf(history) : []) {
    const print = await fingerprint(key);
    if (!known.includes(print.replaceAll(" ", ""))) {
      faults.push(fault("key", 0, `Signed with the key ${print}, which you did not name.`));
    }
  }
  return faults;
}

function remarksOn(history) {
  const said = [], first = firstAnchors(history), recorded = recordedAt(history);
  const place = new Map(history.links.map((link) => [link.entry, link.seq]));
  const bare = history.links.map((link) => link.seq).filter((seq) => !first.has(seq));
  if (bare.length) said.push(`Newer than the last signed statement, so not yet covered by one: entries ${listed(bare)}.`);
  const late = history.entries.filter((entry) => moment(entry.recorded_at) - moment(entry.done_at) > WEEK);
  if (late.length) {
    said.push(`Written down more than 7 days after it was done: entries ${listed(late.map((entry) => place.get(entry.id) || 0))}.`);
  }
  for (const [before, after] of pairs([...history.links, { seq: 0, car: history.car }])) {
    const changed = Object.keys(CAR).filter((name) => before.car[name] !== after.car[name])
      .map((name) => `${name.replaceAll("_", " ")} from ${before.car[name] || "nothing"} to ${after.car[name] || "nothing"}`);
    const where = after.seq ? `at entry ${after.seq}` : "since the last entry";
    if (changed.length) said.push(`What the record calls the car changed ${where}: ${changed.join(", ")}.`);
  }
  const order = [...recorded.keys()].sort((a, b) => a - b);
  const turned = pairs(order).filter(([a, b]) => moment(recorded.get(b)) < moment(recorded.get(a)) - HOUR).map(([, b]) => b);
  if (turned.length) said.push(`Chained later than their time of recording says: entries ${listed(turned)}.`);
  return said;
}

function listed(numbers) {
  const spans = [];
  for (const number of [...numbers].sort((a, b) => a - b)) {
    const last = spans.at(-1);
    if (last && number === last[1] + 1) last[1] = number;
    else spans.push([number, number]);
  }
  return spans.map(([a, b]) => (b > a ? `${a} to ${b}` : `${a}`)).join(", ");
}

async function verify(data, kept = [], keys = []) {
  const [history, faults] = read(data, [HISTORY]);
  if (!history) return { faults, remarks: [], history: null };
  if (!await isSigned(without(history, "signature"), history.key, history.signature)) {
    faults.push(fault("signature", 0, "The file does not bear a right signature: it was changed after export."));
  }
  faults.push(...await checkLinks(history), ...await checkAnchors(history));
  for (const [place, file] of kept.entries()) {
    const [witness, misread] = read(file, [HISTORY, STATEMENT_FILE]);
    faults.push(...misread.map((each) => fault("witness", 0, `Kept file ${place + 1}: ${each.text}`)));
    if (witness) faults.push(...await checkWitness(history, witness));
  }
  faults.push(...await checkKeys(history, keys));
  return { faults, remarks: remarksOn(history), history };
}

/* the page */

function element(name, words, className) {
  const made = document.createElement(name);
  if (words) made.textContent = words;
  if (className) made.className = className;
  return made;
}

function listOf(items) {
  const list = element("ul");
  list.append(...items.map((item) => element("li", item)));
  return list;
}

async function show(verdict) {
  const answer = document.getElementById("answer"), { faults, remarks, history } = verdict;
  const box = element("div", "", faults.length ? "bad" : "good"), line = element("p");
  line.append(element("strong", faults.length ? "Not sound." : "Sound."),
    faults.length ? ` ${faults.length} fault${faults.length > 1 ? "s" : ""} found:` : " Nothing was changed since it was signed.");
  box.append(line);
  if (faults.length) box.append(listOf(faults.map((each) => `${each.text} (${KINDS[each.kind]})`)));
  const parts = [element("h2", "The answer"), box];
  if (history) parts.push(...await facts(history));
  if (remarks.length) parts.push(element("h2", "Worth knowing"), listOf(remarks));
  answer.replaceChildren(...parts);
}

async function facts(history) {
  const { car } = history, named = [car.year, car.marque, car.model].filter(Boolean).join(" ");
  const prints = await Promise.all(keysOf(history).map(fingerprint));
  const rows = [
    ["Car", `${named}, chassis ${car.chassis_number || "not known"}`], ["Kept by", history.kept_by],
    ["Exported", history.made_at.slice(0, 16).replace("T", " ") + " UTC"], ["Entries", history.entries.length],
    ["Signed statements", history.anchors.length], ["Key", prints.join("; ")],
  ].map(([name, value]) => {
    const row = element("tr");
    row.append(element("th", name), element("td", String(value)));
    return row;
  });
  const table = element("table"), scroll = element("div", "", "scroll");
  table.append(...rows);
  scroll.append(table);
  return [element("h2", "The file"), scroll, element("p", "Compare the key with what the keeper told you by another way, such as a letter.", "soft")];
}

async function check(event) {
  event.preventDefault();
  const answer = document.getElementById("answer");
  answer.replaceChildren(element("p", "Checking …"));
  try {
    const [file] = document.getElementById("history").files;
    const kept = await Promise.all(Array.from(document.getElementById("kept").files, (each) => each.arrayBuffer()));
    await show(await verify(await file.arrayBuffer(), kept, document.getElementById("keys").value.split("\n")));
  } catch (error) {
    answer.replaceChildren(element("p", `This browser cannot check it: ${error.message}. It needs a current browser, and the page opened from a file or over HTTPS.`, "bad"));
  }
}

if (typeof document !== "undefined") document.getElementById("ask").addEventListener("submit", check);
