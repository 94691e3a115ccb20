/* Whether the entries are those that were chained: none edited, taken out, put in or moved. */
"use strict";

async function checkLinks(history) {
  const links = [...history.links].sort((a, b) => a.seq - b.seq);
  return [...checkNumbers(links), ...checkOrder(history), ...checkJoints(links),
    ...await checkHarm(history.chain, links), ...await checkEntries(history.entries, links, history.withheld || {})];
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

async function checkEntries(entries, links, withheld) {
  const faults = [], found = new Map(entries.map((entry) => [entry.id, entry]));
  const written = new Map(links.map((link) => [link.written, link.seq]));
  const strayed = [];
  for (const link of links.filter(isSalted)) {
    if (!await holds("id", new Map([["id", link.entry]]), link.fields)) strayed.push(link);
  }
  strayed.splice(MOST_TRIES);
  for (const link of links) {
    const entry = found.get(link.entry);
    if (entry && isSalted(link)) faults.push(...await checkFields(entry, link, strayed));
    else if (entry) faults.push(...await checkContents(entry, link, written));
    else if (has(withheld, link.entry)) faults.push(...await checkDigests(link));
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

async function checkDigests(link) {
  if (!isSalted(link)) return [];
  const [written, measured] = await covering(link.entry, link.fields);
  if (written === link.written && measured === link.measured) return [];
  return [fault("link", link.seq, `The digests of the fields of entry ${link.seq} were changed.`)];
}

async function checkFields(entry, link, strayed) {
  const { seq, fields } = link, what = nameOf(entry), faults = await checkDigests(link);
  const changed = await changedFields(entry, fields);
  if (changed.includes("id")) {
    for (const other of strayed) {
      if ((await changedFields(entry, other.fields)).length === 0) {
        return [...faults, fault("reordered", seq, `At ${seq} stands what was chained at ${other.seq}: ${what}.`)];
      }
    }
  }
  if (changed.includes(MEASURED)) faults.push(fault("readings", seq, `The readings of entry ${seq} (${what}) were changed.`));
  const others = changed.filter((name) => name !== MEASURED).map(fieldWords);
  if (others.length) {
    faults.push(fault("edited", seq, `Entry ${seq} (${what}) was edited after it was chained: ${others.join(", ")}.`));
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
