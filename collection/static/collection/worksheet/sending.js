// Entries kept on this phone, and their way to the site: for the pages (queue.js) and, where the browser sends in
// the background, for the service worker (keeper.js). An entry is sent again until the site answers; its key sees
// to it that it is stored once. States: waiting, stored, clash, refused.
"use strict";

self.Sending = (function () {
  const NAME = "longstand", STORE = "entries", A_BATCH = 20, TAG = "worksheet-entries";
  let opening = null;

  // A browser that clears its storage closes the database: the next act opens a new one.
  function open() {
    opening = opening || new Promise(function (resolve, reject) {
      const asked = indexedDB.open(NAME, 1);
      asked.onupgradeneeded = function () { asked.result.createObjectStore(STORE, { keyPath: "key" }); };
      asked.onsuccess = function () {
        asked.result.onclose = function () { opening = null; };
        asked.result.onversionchange = function () { asked.result.close(); opening = null; };
        resolve(asked.result);
      };
      asked.onerror = function () { opening = null; reject(asked.error); };
    });
    return opening;
  }

  async function act(mode, doing) {
    const database = await open();
    return new Promise(function (resolve, reject) {
      const transaction = database.transaction(STORE, mode, { durability: "strict" });
      const asked = doing(transaction.objectStore(STORE));
      transaction.oncomplete = function () { resolve(asked.result); };
      transaction.onabort = function () { reject(transaction.error); }; // after each error too
    });
  }

  function put(item) { return act("readwrite", function (store) { return store.put(item); }); }

  function drop(key) { return act("readwrite", function (store) { return store.delete(key); }); }

  function all() { return act("readonly", function (store) { return store.getAll(); }); }

  async function change(key, values) {
    const item = (await all()).find(function (each) { return each.key === key; });
    if (item) { await put(Object.assign(item, values)); }
  }

  function isOf(item, who) { return item.person === who.person && item.organisation === who.organisation; }

  // Page and worker take turns; a browser without locks sends twice at worst, and the key bears that.
  function sendAll(who, url) {
    function send() { return sendEach(who, url); }
    return navigator.locks ? navigator.locks.request(TAG, send) : send();
  }

  // Why entries still wait, in words; throws where there is no signal. Without ``who`` those of everybody.
  async function sendEach(who, url) {
    const waiting = (await all()).filter(function (item) { return item.state === "waiting" && (!who || isOf(item, who)); });
    // words first: a weak signal is not kept busy by photographs
    waiting.sort(function (a, b) { return hasFiles(a) - hasFiles(b) || a.made - b.made; });
    let trouble = "";
    while (waiting.length) {
      const said = await sendBatch(takeBatch(waiting), url);
      trouble = trouble || said;
      if (said && who) { break; }
    }
    return trouble;
  }

  // Those of one person; one with photographs goes by itself.
  function takeBatch(waiting) {
    const batch = [waiting.shift()];
    while (!hasFiles(batch[0]) && waiting.length && batch.length < A_BATCH && isOf(waiting[0], batch[0]) && !hasFiles(waiting[0])) {
      batch.push(waiting.shift());
    }
    return batch;
  }

  function hasFiles(item) { return Boolean(item.files && item.files.length); }

  async function sendBatch(items, url) {
    const first = items[0], token = await csrf();
    const sent = JSON.stringify({
      sent_at: new Date().toISOString(), person: first.person, organisation: first.organisation, entries: items.map(asSent),
    });
    const answer = await fetch(first.send || url, Object.assign({
      method: "POST", credentials: "same-origin", redirect: "manual",
    }, hasFiles(first) ? withFiles(sent, first, token) : {
      headers: { "Content-Type": "application/json", "X-CSRFToken": token }, body: sent,
    }));
    if (answer.type === "opaqueredirect" || answer.status === 403) { return "Sign in again"; }
    if ([409, 503, 507].includes(answer.status)) { return says(answer); }
    if (!answer.ok) { return "The site did not take them"; }
    const told = await answer.json();
    for (const outcome of told.outcomes) {
      const state = { before: "stored", failed: "waiting" }[outcome.state] || outcome.state;
      const files = state === "stored" ? { files: [] } : {}; // the room on the phone is for those that wait
      await change(outcome.key, Object.assign({ state: state, says: outcome.says || "", settled: told.now }, files));
    }
    return "";
  }

  function withFiles(sent, item, token) {
    const body = new FormData();
    body.append("sent", sent);
    item.files.forEach(function (file) { body.append(item.key + "/" + file.field, file.data, file.name); });
    return { headers: { "X-CSRFToken": token }, body: body };
  }

  async function says(answer) {
    try { return (await answer.json()).says.replace(/\.$/, ""); } catch (_fault) { return "The site cannot take them now"; }
  }

  function asSent(item) {
    return {
      key: item.key, car: item.car, kind: item.kind, duty: item.duty, check: item.check || "", units: item.units, fields: item.fields,
      done_at: item.done_at, seen: item.also ? null : item.seen, finding: item.finding || null, site: item.site || null,
    };
  }

  async function csrf() {
    if (self.document) {
      const found = document.cookie.match(/(?:^|;\s*)csrftoken=([^;]+)/);
      return found ? decodeURIComponent(found[1]) : "";
    }
    const kept = self.cookieStore ? await self.cookieStore.get("csrftoken") : null;
    return kept ? decodeURIComponent(kept.value) : "";
  }

  return { TAG: TAG, open: open, all: all, put: put, drop: drop, change: change, isOf: isOf, sendAll: sendAll };
})();
