/* Whom outside a history has for witnesses, and since when; whether files at hand are those that came with
   the entries; whether the car is called what it was called. */
"use strict";

const NOBODY = "No witness from outside: no authority stamped a statement in this file, and nobody countersigned it. "
  + "On which day an entry was written is the keeper's word, but for what you hold yourself.";
const AUTHORS = "Names of authors stand beside the chain, which knows them by pseudonyms: they are the keeper's word.";
const ROLES = { owner: "the owner", surveyor: "a surveyor", receiver: "whoever received the car" };
const OCCASIONS = { intake: "at intake", storage: "while it stood", handover: "at hand-over" };
const wordOf = (words, code) => (has(words, code) ? words[code] : code);
const isoDay = (at) => new Date(at).toISOString().slice(0, 10);

function plainKeys(keys) {
  return new Set(keys.map((key) => key.replace(/[\s:]/g, "").toLowerCase()).filter(Boolean));
}

async function checkOutside(history, keys) {
  const seen = [], faults = [], remarks = [], anchors = new Map(), authorities = new Map();
  const named = new Set([...plainKeys(keys)].filter((key) => key.length === 64));
  for (const anchor of history.anchors) anchors.set(await digest(anchor.statement), anchor);
  const of = (form) => (history.witnesses || []).filter((each) => each.form === form);
  for (const stamp of of("time-stamp")) {
    const anchor = anchors.get(stamp.statement), [read, wrong] = await checkStamp(stamp, anchor, named);
    faults.push(...wrong);
    if (read && !wrong.length) {
      seen.push({ at: read.at, seq: anchor.seq, who: `“${read.authority}”` });
      if (!authorities.has(read.certificates.at(-1))) authorities.set(read.certificates.at(-1), read);
    }
  }
  const links = new Map(history.links.map((link) => [link.seq, link.digest]));
  for (const signed of of("countersignature")) {
    const wrong = await checkCountersignature(history.chain, signed, links);
    faults.push(...wrong);
    if (wrong.length) continue;
    seen.push({ at: moment(signed.statement.at), seq: signed.statement.seq, who: wordOf(ROLES, signed.statement.as) });
    remarks.push(await countersigned(signed, plainKeys(keys)));
  }
  for (const certificate of [...authorities.keys()].sort()) {
    const known = named.size ? "which you named" : "compare it with what the authority publishes";
    remarks.push(`Stamps of “${authorities.get(certificate).authority}” lead to the certificate ${certificate}: ${known}.`);
  }
  return { faults, seen, remarks: [...since(history, seen), ...remarks] };
}

async function checkStamp(stamp, anchor, named) {
  if (!anchor) return [null, [fault("deleted", 0, "A time stamp is over a statement that is no longer in this file.")]];
  const { seq } = anchor, title = titleOf(anchor), read = await readStamp(bytes(stamp.response));
  if (!read || read.imprint !== stamp.statement) return [null, [fault("stamp", seq, `The time stamp over the ${title} is not genuine.`)]];
  if (read.at < moment(anchor.statement.at) - HOUR) {
    const at = new Date(read.at).toISOString().slice(0, 16).replace("T", " ");
    return [read, [fault("stamp", seq, `The ${title} says that it was signed after ${at} UTC, when it was stamped.`)]];
  }
  if (named.size && !read.certificates.some((each) => named.has(each))) {
    const text = `The ${title} was stamped under the certificate ${read.certificates.at(-1)}, which you did not name.`;
    return [read, [fault("key", seq, text)]];
  }
  return [read, []];
}

async function checkCountersignature(chain, signed, links) {
  const { statement } = signed, { seq } = statement;
  const title = `countersignature of ${statement.at.slice(0, 10)} by ${wordOf(ROLES, statement.as)}`;
  const wrong = (words) => [fault("countersignature", seq, words)];
  if (!await isCountersigned(signed)) return wrong(`The ${title} is not genuine.`);
  if (!await isNamedRightly(signed)) return wrong(`The ${title} was not made by whom it names here.`);
  if (statement.chain !== chain) return wrong(`The ${title} is over another chain.`);
  if (!links.has(seq)) return [fault("deleted", seq, `The ${title} knew entry ${seq}; it is no longer here.`)];
  return links.get(seq) === statement.head ? [] : wrong(`The chain up to entry ${seq} is not the one in the ${title}.`);
}

async function countersigned({ statement, named, passkey }, keys) {
  const key = await fingerprint(statement.key), who = named ? `, ${named.name},` : "";
  const known = keys.has(key.replaceAll(" ", "")) ? "which you named" : "compare it with their own word";
  return `Countersigned up to entry ${statement.seq} by ${wordOf(ROLES, statement.as)}${who} `
    + `${wordOf(OCCASIONS, statement.occasion)}, by their own date of ${statement.at.slice(0, 10)}, `
    + `with the ${passkey ? "passkey" : "key"} ${key}: ${known}.`;
}

function since(history, seen) { // since when what is witnessed, and what is the keeper's word
  if (!history.links.length) return [];
  if (!seen.length) return [NOBODY];
  const before = (a, b) => a.at - b.at || a.seq - b.seq || (a.who < b.who ? -1 : 1);
  const first = [...seen].sort(before)[0], recorded = recordedAt(history);
  const numbers = history.links.map((link) => link.seq).sort((a, b) => a - b);
  const covering = (seq) => Math.min(...seen.filter((each) => each.seq >= seq).map((each) => each.at));
  const bare = numbers.filter((seq) => covering(seq) === Infinity);
  const alone = numbers.filter((seq) => recorded.has(seq) && covering(seq) < Infinity && covering(seq) - moment(recorded.get(seq)) > WEEK);
  const said = [`Witnessed from outside since ${isoDay(first.at)}, up to entry ${first.seq} by ${first.who}.`];
  if (bare.length) said.push(`No witness from outside has seen ${entriesOf(bare)} yet.`);
  if (alone.length) {
    said.push("Claim to be more than 7 days older than the first witness from outside: "
      + `${entriesOf(alone)}. Before that witness they are the keeper's word.`);
  }
  return said;
}

async function checkFiles(history, files) {
  if (!files.length) return [[], []];
  const place = new Map(history.links.map((link) => [link.entry, link.seq]));
  const named = history.entries.flatMap((entry) => entry.attachments.map((file) => [file, place.get(entry.id) || 0]));
  const digests = new Set(named.map(([file]) => file.digest)), ofName = new Map(named.map(([file, seq]) => [file.name, seq]));
  const faults = [], right = new Set();
  for (const [name, data] of files) {
    const made = await sha256(data);
    if (digests.has(made)) right.add(made);
    else if (ofName.has(name)) {
      faults.push(fault("attachment", ofName.get(name), `“${name}” is not the file that came with entry ${ofName.get(name)}: its SHA-256 is ${made}.`));
    } else faults.push(fault("attachment", 0, `“${name}” is none that an entry names: SHA-256 ${made}.`));
  }
  return [[`Photographs and documents at hand, each as it came with its entry: ${right.size} of ${digests.size}.`], faults];
}

function checkIdentity(history) {
  const faults = [], remarks = [], entries = new Map(history.entries.map((entry) => [entry.id, entry]));
  const kindOf = ({ entry }) => (entries.has(entry) ? entries.get(entry).kind : wordOf(history.withheld || {}, entry));
  const opened = history.links.find((link) => kindOf(link) === "record");
  const plain = (value) => (value === null || value === undefined ? "" : value);
  const now = (fact) => (isObject(fact) ? plain(fact.now) : "");
  const isKnown = (changed, after) => {
    if (after.seq && (!opened || after.seq <= opened.seq)) return true;
    if (kindOf(after) !== "record") return false;
    const entry = entries.get(after.entry), fields = after.fields || {};
    return !entry || changed.every((name) => (has(fields, `details.${name}`) && fields[`details.${name}`].salt === null)
      || now(has(entry.details, name) ? entry.details[name] : null) === plain(after.car[name]));
  };
  for (const [before, after] of pairs([...history.links, { seq: 0, car: history.car, entry: "" }])) {
    const changed = Object.keys(before.car).filter((name) => before.car[name] !== after.car[name]);
    if (!changed.length) continue;
    const words = changed.map((name) => `${name.replaceAll("_", " ")} from ${before.car[name] || "nothing"} to ${after.car[name] || "nothing"}`);
    const text = `What the record calls it changed ${after.seq ? `at entry ${after.seq}` : "since the last entry"}: ${words.join(", ")}.`;
    if (history.form === SETTINGS || isKnown(changed, after)) remarks.push(text);
    else faults.push(fault("identity", after.seq, text));
  }
  return [faults, remarks];
}
