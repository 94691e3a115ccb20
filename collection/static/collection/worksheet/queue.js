// Entries made at the car, kept on this phone until the site has them. An entry is sent again until the
// site answers; its key sees to it that it is stored once. States: waiting, stored, clash, refused.
"use strict";

window.Queue = (function () {
  const NAME = "longstand", STORE = "entries", EVERY_MS = 30000, A_BATCH = 20;
  const FORGET_MS = 14 * 24 * 3600 * 1000;
  const page = document.getElementById("worksheet").dataset;
  const mine = { person: Number(page.person), organisation: Number(page.organisation) };
  const heard = [];
  let sending = null;
  let trouble = ""; // why entries wait, in words
  let lastTold = "";

  const opened = new Promise(function (resolve, reject) {
    const asked = indexedDB.open(NAME, 1);
    asked.onupgradeneeded = function () { asked.result.createObjectStore(STORE, { keyPath: "key" }); };
    asked.onsuccess = function () { resolve(asked.result); };
    asked.onerror = function () { reject(asked.error); };
  });

  async function act(mode, doing) {
    const database = await opened;
    return new Promise(function (resolve, reject) {
      const transaction = database.transaction(STORE, mode, { durability: "strict" });
      const asked = doing(transaction.objectStore(STORE));
      transaction.oncomplete = function () { resolve(asked.result); };
      transaction.onerror = function () { reject(transaction.error); };
      transaction.onabort = function () { reject(transaction.error); };
    });
  }

  function put(item) { return act("readwrite", function (store) { return store.put(item); }); }

  function drop(key) { return act("readwrite", function (store) { return store.delete(key); }); }

  function all() { return act("readonly", function (store) { return store.getAll(); }); }

  function isMine(item) { return item.person === mine.person && item.organisation === mine.organisation; }

  async function list() {
    const items = (await all()).filter(isMine);
    return items.sort(function (a, b) { return a.made - b.made; });
  }

  async function ofOthers() { return (await all()).filter(function (item) { return !isMine(item); }).length; }

  async function tell() {
    const items = await list(), told = JSON.stringify([items, trouble]);
    if (told === lastTold) { return; } // what is on the screen stays, and so does the focus
    lastTold = told;
    heard.forEach(function (hear) { hear(items, trouble); });
  }

  function onChange(hear) { heard.push(hear); lastTold = ""; }

  async function add(item) {
    await put(Object.assign({ state: "waiting", made: Date.now(), units: page.units }, mine, item));
    await tell();
    return send();
  }

  async function change(key, values) {
    const item = (await all()).find(function (each) { return each.key === key; });
    if (item) { await put(Object.assign(item, values)); }
    await tell();
  }

  async function remove(key) { await drop(key); await tell(); }

  function send() {
    sending = (sending || Promise.resolve()).then(sendAll).catch(function () { trouble = "No signal"; }).then(tell);
    return sending;
  }

  async function sendAll() {
    const waiting = (await list()).filter(function (item) { return item.state === "waiting"; });
    let plain = waiting.filter(function (item) { return !hasFiles(item); });
    trouble = "";
    while (plain.length && !trouble) {
      await sendBatch(plain.slice(0, A_BATCH));
      plain = plain.slice(A_BATCH);
    }
    for (const item of waiting.filter(hasFiles)) { // words first: a weak signal is not kept busy by photographs
      if (!trouble) { await sendBatch([item]); }
    }
  }

  function hasFiles(item) { return Boolean(item.files && item.files.length); }

  async function sendBatch(items) {
    const batch = JSON.stringify(Object.assign({ sent_at: new Date().toISOString(), entries: items.map(asSent) }, mine));
    const pictured = items.some(hasFiles), headers = { "X-CSRFToken": token() };
    if (!pictured) { headers["Content-Type"] = "application/json"; } // with files the browser names the form's parts
    const answer = await fetch(page.send, {
      method: "POST", credentials: "same-origin", redirect: "manual", headers: headers, body: pictured ? parts(batch, items) : batch,
    });
    if (answer.type === "opaqueredirect" || answer.status === 403) { trouble = "Sign in again"; return; }
    if ([409, 503, 507].includes(answer.status)) { trouble = await says(answer); return; }
    if (!answer.ok) { trouble = "The site did not take them"; return; }
    const said = await answer.json();
    for (const outcome of said.outcomes) { await settle(outcome, said.now); }
  }

  function parts(batch, items) {
    const form = new FormData();
    form.append("batch", batch);
    items.forEach(function (item) { item.files.forEach(function (file) { form.append(item.key, file.data, file.name); }); });
    return form;
  }

  async function says(answer) {
    try { return (await answer.json()).says.replace(/\.$/, ""); } catch (_fault) { return "The site cannot take them now"; }
  }

  function asSent(item) {
    return {
      key: item.key, car: item.car, kind: item.kind, duty: item.duty, check: item.check || "", units: item.units, fields: item.fields,
      done_at: item.done_at, seen: item.also ? null : item.seen, finding: item.finding || null,
    };
  }

  async function settle(outcome, now) {
    const state = { before: "stored", failed: "waiting" }[outcome.state] || outcome.state;
    await change(outcome.key, { state: state, says: outcome.says || "", settled: now });
  }

  function token() {
    const found = document.cookie.match(/(?:^|;\s*)csrftoken=([^;]+)/);
    return found ? decodeURIComponent(found[1]) : "";
  }

  // Stored entries stay until a page that was made after them shows what the site has; results of a recommissioning
  // and of a search until their own page does, since an older one may still be kept that shows more as permitted.
  async function tidy(car, seen) {
    const items = await list();
    for (const item of items) {
      const own = item.kind === "fault_test" ? page.faults : page.recommissioning;
      const here = item.car === car && (!item.check || own);
      const shown = here && item.settled && Date.parse(item.settled) <= Date.parse(seen);
      if (item.state === "stored" && (shown || Date.now() - item.made > FORGET_MS)) { await drop(item.key); }
    }
    await tell();
  }

  function newKey() {
    if (crypto.randomUUID) { return crypto.randomUUID(); }
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    return Array.from(bytes, function (byte) { return byte.toString(16).padStart(2, "0"); }).join("");
  }

  window.addEventListener("online", send);
  document.addEventListener("visibilitychange", function () { if (!document.hidden) { send(); } });
  setInterval(send, EVERY_MS);
  if (navigator.storage && navigator.storage.persist) { navigator.storage.persist(); }

  return {
    opened: opened, add: add, change: change, remove: remove, list: list, ofOthers: ofOthers, send: send,
    tidy: tidy, newKey: newKey, onChange: onChange,
  };
})();
