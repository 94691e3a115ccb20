/* The verdict, and the page that shows it. Nothing is sent anywhere. */
"use strict";

/* the verdict */

function keysOf(history) {
  return [...new Set([history.key, ...history.anchors.map((anchor) => anchor.statement.key)])];
}

async function checkKeys(history, expected) {
  const faults = [], known = [...plainKeys(expected)].filter((key) => key.length !== 64);
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
  said.push(...leftOut(history));
  const late = history.entries.filter((entry) => moment(entry.recorded_at) - moment(entry.done_at) > WEEK);
  if (late.length) {
    said.push(`Written down more than 7 days after it was done: entries ${listed(late.map((entry) => place.get(entry.id) || 0))}.`);
  }
  if (Object.keys(history.people).length) said.push(AUTHORS);
  const order = [...recorded.keys()].sort((a, b) => a - b);
  const turned = pairs(order).filter(([a, b]) => moment(recorded.get(b)) < moment(recorded.get(a)) - HOUR).map(([, b]) => b);
  if (turned.length) said.push(`Chained later than their time of recording says: entries ${listed(turned)}.`);
  return said;
}

const entriesOf = (numbers) => (numbers.length === 1 ? `entry ${numbers[0]}` : `entries ${listed(numbers)}`);

function keepersWord(first, recorded) { // much older than the first statement that knew them, as a history typed today
  const stated = (seq) => moment(first.get(seq).statement.at);
  const alone = [...recorded.keys()].filter((seq) => first.has(seq) && stated(seq) - moment(recorded.get(seq)) > WEEK);
  if (!alone.length) return [];
  const day = new Date(Math.min(...alone.map(stated))).toISOString().slice(0, 10);
  return ["Claim to be more than 7 days older than the first signed statement over them: "
    + `${entriesOf(alone)}. Before that statement, the first of ${day}, they are the keeper's word.`];
}

function leftOut(history) {
  const whole = new Map(), part = new Map(), kinds = history.withheld || {};
  const put = (map, name, seq) => map.set(name, [...(map.get(name) || []), seq]);
  for (const { seq, entry, fields } of history.links) {
    const out = Object.keys(fields || {}).filter((name) => fields[name].salt === null).sort(byCodePoints).map(fieldWords);
    if (has(kinds, entry)) put(whole, kinds[entry].replaceAll("_", " "), seq);
    else if (out.length) put(part, out.join(", "), seq);
  }
  const said = [...part].map(([names, numbers]) => `Left out of ${entriesOf(numbers)}, whose digests still hold: ${names}.`);
  for (const [kind, numbers] of whole) {
    said.push(`Left out whole, called “${kind}” by the file, its digests still hold: ${entriesOf(numbers)}.`);
  }
  if (Object.keys(kinds).length) {
    said.push("Where the car stands and what it is now is not compared with its entries: some are left out.");
  }
  if (history.anchors.some(({ statement, named }) => statement.form === STATEMENT && named === null)) {
    said.push("The keeper's name is left out of the signed statements, which hold as they are.");
  }
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

async function verify(data, kept = [], keys = [], files = []) {
  const [history, faults] = read(data, HISTORIES);
  if (!history) return { faults, remarks: [], history: null };
  if (!await isSigned(without(history, "signature"), history.key, history.signature)) {
    faults.push(fault("signature", 0, "The file does not bear a right signature: it was changed after export."));
  }
  faults.push(...await checkLinks(history), ...await checkAnchors(history), ...checkRecord(history));
  for (const [place, file] of kept.entries()) {
    const [witness, misread] = read(file, [...HISTORIES, FIRST_STATEMENT_FILE, STATEMENT_FILE]);
    faults.push(...misread.map((each) => fault("witness", 0, `Kept file ${place + 1}: ${each.text}`)));
    if (witness) faults.push(...await checkWitness(history, witness));
  }
  const outside = await checkOutside(history, keys), [identity, renamed] = checkIdentity(history);
  const [right, strange] = await checkFiles(history, files);
  const word = outside.seen.length ? [] : keepersWord(firstAnchors(history), recordedAt(history));
  faults.push(...outside.faults, ...identity, ...strange, ...await checkKeys(history, keys));
  return { faults, remarks: [...outside.remarks, ...right, ...word, ...remarksOn(history), ...renamed], history };
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

function subjectOf(car) {
  if (has(car, "of")) return ["Settings", `${car.name} (${car.of.replace(".", " ")})`];
  const named = [car.year, car.marque, car.model].filter(Boolean).join(" ");
  return ["Car", `${named}, chassis ${car.chassis_number || "not known"}`];
}

async function facts(history) {
  const [kind, name] = subjectOf(history.car);
  const prints = await Promise.all(keysOf(history).map(fingerprint));
  const rows = [
    [kind, name], ["Kept by", history.kept_by || "left out of this file"],
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
    const files = await Promise.all(Array.from(document.getElementById("files").files, async (each) => [each.name, await each.arrayBuffer()]));
    await show(await verify(await file.arrayBuffer(), kept, document.getElementById("keys").value.split("\n"), files));
  } catch (error) {
    answer.replaceChildren(element("p", `This browser cannot check it: ${error.message}. It needs a current browser, and the page opened from a file or over HTTPS.`, "bad"));
  }
}

if (typeof document !== "undefined") document.getElementById("ask").addEventListener("submit", check);
