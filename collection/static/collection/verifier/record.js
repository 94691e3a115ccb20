/* Whether the record that stands in a history is the one that its entries tell: the same rules as
   collection/chain/replay.py. What is written later holds from its day on; what corrects an earlier
   fact takes that one's place; logged moves say where the car stands as well. */
"use strict";

const isEmpty = (value) => value === undefined || value === null || value === "";

function checkRecord(history) {
  if (!has(history, "record")) return [];
  const told = replayed(history.entries), stands = new Map(Object.entries(history.record).filter(([, value]) => !isEmpty(value)));
  if (Object.keys(history.withheld || {}).length) {
    return stands.size ? [fault("record", 0, "The record cannot be compared with its entries: some are left out.")] : [];
  }
  if (told === null) return [];
  const faults = [], unknown = unknownOfRecord(history.links);
  for (const name of [...new Set([...stands.keys(), ...told.keys()])].filter((each) => !unknown.has(each)).sort(byCodePoints)) {
    if (!same(stands.get(name), told.get(name))) {
      const words = `The record says of ${recordWords(name)}: ${shown(stands.get(name))}. Its entries say: ${shown(told.get(name))}.`;
      faults.push(fault("record", 0, words));
    }
  }
  return faults;
}

function unknownOfRecord(links) { // the fields of which the entries cannot tell all
  const names = links.flatMap(({ fields }) => Object.keys(fields || {}).filter((name) => fields[name].salt === null))
    .filter((name) => name.startsWith("details.")).map((name) => name.slice("details.".length));
  return new Set(names.includes("to_bay") ? [...names, "bay"] : names);
}

const same = (one, other) => (one === undefined || other === undefined ? one === other : canonical(one) === canonical(other));

function replayed(entries) {
  const records = entries.filter((entry) => entry.kind === "record");
  if (!records.some((entry) => entry.details.opening === true)) return null;
  const names = new Set(records.flatMap((entry) => Object.keys(entry.details).filter((name) => isObject(entry.details[name]))));
  names.delete("bay");
  const last = new Map([...names].map((name) => [name, timeline(records, name).at(-1).value]));
  const stood = bayLine(records, movesOf(entries));
  last.set("bay", stood.length ? stood.at(-1).value : null);
  return new Map([...last].filter(([, value]) => !isEmpty(value)));
}

function timeline(records, name) {
  const line = [];
  for (const entry of records) {
    const fact = factOf(entry, name, line.length > 0);
    if (fact === null || corrected(line, entry, fact)) continue;
    const since = dayOf(fact) || (line.length ? entry.recorded_at.slice(0, 10) : null);
    while (line.length && since !== null && line.at(-1).since !== null && line.at(-1).since >= since) line.pop();
    line.push({ value: fact.now, since, entry: entry.id });
  }
  return line;
}

function bayLine(records, moves) {
  const line = [], looked = [], told = [...moves, ...records.map((entry) => ({ written: entry.recorded_at, entry }))];
  told.sort((a, b) => (a.written < b.written ? -1 : a.written > b.written ? 1 : 0));
  for (const each of told) {
    if (!each.entry) {
      insert(line, each, looked);
      continue;
    }
    const fact = factOf(each.entry, "bay", line.length > 0);
    if (fact === null || corrected(line, each.entry, fact)) continue;
    looked.push(each.entry.recorded_at);
    const since = dayOf(fact) ? each.entry.done_at : line.length ? line.at(-1).since : null;
    while (line.length && (since === null || (line.at(-1).since !== null && line.at(-1).since >= since))) line.pop();
    line.push({ value: fact.now, since, entry: each.entry.id });
  }
  return line;
}

function insert(line, move, looked) { // a move that a table brought tells of then only
  const at = line.length - line.filter((fact) => fact.since !== null && fact.since > move.at).length;
  const again = looked.find((moment) => moment > move.at) || move.written;
  if (move.ofATable && at && !(at < line.length && line[at].since <= again)) line.splice(at, 0, { ...line[at - 1], since: again });
  line.splice(at, 0, { value: move.bay, since: move.at, entry: "" });
}

function movesOf(entries) {
  const byId = new Map(entries.map((entry) => [entry.id, entry])), gone = new Set(entries.map((entry) => entry.corrects).filter(Boolean));
  return entries.filter((entry) => entry.kind === "moved" && !gone.has(entry.id) && !entry.details.wheels_only)
    .map((entry) => ({ first: firstOf(entry, byId), at: entry.done_at, bay: entry.details.to_bay }))
    .map(({ first, ...move }) => ({ ...move, written: first.recorded_at, ofATable: first.key.startsWith("sheet-") }));
}

function factOf(entry, name, known) {
  if (has(entry.details, name) && isObject(entry.details[name])) return entry.details[name];
  return entry.details.opening === true && known ? { now: null } : null;
}

const dayOf = (fact) => (isText(fact.since) && fact.since ? fact.since : null);

function corrected(line, entry, fact) {
  const there = line.filter((each) => each.entry && each.entry === fact.corrects);
  for (const old of there) Object.assign(old, { value: fact.now, entry: entry.id });
  return there.length > 0;
}

function firstOf(entry, byId) {
  const seen = new Set();
  let first = entry;
  while (first.corrects && byId.has(first.corrects) && !seen.has(first.id)) {
    seen.add(first.id);
    first = byId.get(first.corrects);
  }
  return first;
}

function recordWords(name) {
  const parts = name.split(".");
  const said = parts[0] === "battery" && parts.length === 3 ? [`battery ${parts[1]}`, parts[2]] : parts;
  return said.map((part) => part.replaceAll("_", " ")).join(", ");
}

function shown(value) {
  if (isEmpty(value)) return "empty";
  return typeof value === "boolean" ? (value ? "yes" : "no") : String(value);
}
