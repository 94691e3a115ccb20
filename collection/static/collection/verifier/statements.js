/* Whether the chain is the one that signed statements speak of: those in the file, and those that the
   reader kept. Proofs are those of Merkle trees, RFC 9162, section 2.1. */
"use strict";

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

async function isNamedRightly({ named, statement }) {
  return !named || await digest([named.salt, "by", named.name]) === statement.by;
}

function sameKeeper(one, other) {
  if (one.statement.by === other.statement.by) return true;
  const [mine, theirs] = [one, other].map(keeperOf);
  return mine !== null && mine === theirs;
}

function keeperOf({ statement, named }) {
  if (statement.form === FIRST_STATEMENT) return statement.by;
  return named ? named.name : null;
}

async function checkAnchor(chain, anchor, links) {
  const { statement, seq } = anchor, link = links.get(seq);
  if (!await isSigned(statement, statement.key, anchor.signature)) {
    return [fault("anchor", seq, `The ${titleOf(anchor)} does not bear a right signature.`)];
  }
  if (!await isNamedRightly(anchor)) {
    return [fault("anchor", seq, `The ${titleOf(anchor)} was not signed by the keeper that it names here.`)];
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
  return HISTORIES.includes(witness.form) ? checkEarlier(history, witness) : checkKept(history, witness);
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
  if (!genuine || !await isNamedRightly(witness) || heads.length !== statement.chains || root !== statement.root) {
    return [fault("witness", 0, `T${title.slice(1)} is not genuine: it proves nothing.`)];
  }
  const mine = heads.filter((head) => head.chain === history.chain).at(-1);
  const faults = mine ? sameHead(history, mine.seq, mine.head, title) : [];
  for (const anchor of history.anchors) {
    const other = anchor.statement;
    const same = sameKeeper(anchor, witness) && ["key", "number"].every((name) => other[name] === statement[name]);
    if (same && canonical(other) !== canonical(statement)) {
      faults.push(fault("witness", anchor.seq, `The file holds another version of ${title}.`));
    }
  }
  return [...faults, ...unknownThen(history, witness, mine ? mine.seq : 0, title)];
}

function sameHead(history, seq, head, title) {
  const now = history.links.filter((link) => link.seq === seq).at(-1);
  if (!now) return [fault("witness", seq, `Entry ${seq} stood in ${title} and is no longer here.`)];
  return now.digest === head ? [] : [fault("witness", seq, `The chain up to entry ${seq} is not the one in ${title}.`)];
}

/* of another keeper: by key, or by name where the file names both (a car handed over in one house) */
function byAnother(history, anchor, witness) {
  if (anchor.statement.key !== witness.statement.key) return true;
  return !sameKeeper(anchor, witness) && history.anchors.some((each) => sameKeeper(each, witness));
}

function unknownThen(history, witness, reach, title) {
  const faults = [], said = recordedAt(history), { statement } = witness;
  const until = moment(statement.at) - HOUR, since = statement.since && moment(statement.since) + HOUR;
  for (const [seq, anchor] of firstAnchors(history)) {
    if (byAnother(history, anchor, witness) || seq <= reach || !said.has(seq)) continue;
    const recorded = moment(said.get(seq));
    if (recorded < until && (reach || since === null || recorded > since)) {
      faults.push(fault("backdated", seq, `Entry ${seq} says it was recorded before ${title}, which lacks it.`));
    }
  }
  return faults;
}
