// What this person logged on this phone: added here, sent by sending.js at once, now and then, and in the
// background where the browser can.
"use strict";

window.Queue = (function () {
  const FORGET_MS = 14 * 24 * 3600 * 1000, LEAST_MS = 20000, SPREAD_MS = 20000; // phones of one barn do not retry together
  const page = document.getElementById("worksheet").dataset;
  const mine = { person: Number(page.person), organisation: Number(page.organisation) };
  const heard = [];
  const between = "BroadcastChannel" in window ? new BroadcastChannel("longstand-queue") : null;
  const NO_ROOM = "This phone has no room for it. Nothing was logged: leave the photographs out, or free some room.";
  let sending = null;
  let trouble = ""; // why entries wait, in words
  let lastTold = "";

  async function list() {
    const items = (await window.Sending.all()).filter(function (item) { return window.Sending.isOf(item, mine); });
    return items.sort(function (a, b) { return a.made - b.made; });
  }

  async function ofOthers() {
    return (await window.Sending.all()).filter(function (item) { return !window.Sending.isOf(item, mine); }).length;
  }

  async function tell() {
    const items = await list(), told = JSON.stringify([items, trouble]);
    if (told === lastTold) { return; } // what is on the screen stays, and so does the focus
    lastTold = told;
    heard.forEach(function (hear) { hear(items, trouble); });
  }

  function onChange(hear) { heard.push(hear); lastTold = ""; }

  async function add(item) {
    await window.Sending.put(Object.assign({ state: "waiting", made: Date.now(), units: page.units, send: page.send, says: "" }, mine, item));
    await tell();
    sendInBackground();
    send();
  }

  async function change(key, values) { await window.Sending.change(key, values); await tell(); }

  async function remove(key) { await window.Sending.drop(key); await tell(); }

  function send() {
    sending = (sending || Promise.resolve()).then(function () { return window.Sending.sendAll(mine, page.send); })
      .catch(function () { return "No signal"; })
      .then(function (said) { trouble = said; return tell(); });
    return sending;
  }

  // With the page closed too: the browser wakes the worker when there is a signal.
  function sendInBackground() {
    if (!("serviceWorker" in navigator && "SyncManager" in window)) { return; }
    navigator.serviceWorker.ready.then(function (at) { return at.sync.register(window.Sending.TAG); })
      .catch(function () { /* not allowed here: the page sends while it is open */ });
  }

  // Keeps what a form says, ``made`` from it, and tells whether it did. Without room for photographs the form stays as it
  // is and says so; where the phone keeps nothing else either, it goes to the site as it is.
  async function keep(form, submitter, made) {
    if (form.dataset.keeping) { return false; } // tapped twice
    form.dataset.keeping = "yes";
    warn(form, "");
    let item = null;
    try {
      item = await made();
      await add(item);
      return true;
    } catch (fault) {
      if (item && item.files && item.files.length && fault.name === "QuotaExceededError") { warn(form, NO_ROOM); }
      else { plainly(form, submitter); }
      return false;
    } finally { delete form.dataset.keeping; }
  }

  function plainly(form, submitter) {
    form.dataset.plain = "yes";
    setTimeout(function () { form.requestSubmit(submitter); }); // not while its own submission is still being told
  }

  function warn(form, text) {
    const box = form.querySelector(".no-room") || document.createElement("p");
    box.className = "no-room fault";
    box.setAttribute("role", "alert");
    box.textContent = text;
    if (text) { form.append(box); } else { box.remove(); }
  }

  // What the site would refuse is said before it waits for a signal.
  function checkFiles(event) {
    const input = event.target;
    if (input.type !== "file") { return; }
    const files = Array.from(input.files), most = Number(input.dataset.most), bytes = Number(input.dataset.bytes);
    const large = files.find(function (file) { return file.size > bytes; });
    const fault = large ? large.name + " is larger than " + Math.round(bytes / 1e6) + " MB." : "";
    input.setCustomValidity(files.length > most ? "At most " + most + " files with one entry." : fault);
  }

  // A fault in a folded place cannot be shown.
  function unfold(element) {
    for (let around = element; around; around = around.parentElement) { if (around.tagName === "DETAILS") { around.open = true; } }
  }

  // What stands in a form: texts by name, and files apart with their bytes, since what a camera roll lends may be gone
  // before there is a signal.
  async function read(form, submitter) {
    const fields = {}, files = [];
    new FormData(form).forEach(function (value, name) {
      if (["csrfmiddlewaretoken", "key", "next", "seen"].includes(name)) { return; }
      if (typeof value === "string") { fields[name] = (fields[name] || []).concat(value); }
      else if (value.size) { files.push({ field: name, name: value.name, data: value }); }
    });
    for (const file of files) { file.data = new Blob([await file.data.arrayBuffer()], { type: file.data.type }); }
    if (submitter && submitter.name) { fields[submitter.name] = [submitter.value]; }
    return { fields: fields, files: files };
  }

  function isAt(item, car) { return item.car === car || Boolean(item.cars && item.cars.includes(car)); }

  // Stored entries stay until a page that was made after them shows what the site has; results of a recommissioning
  // and of a search until their own page does, since an older one may still be kept that shows more as permitted.
  async function tidy(car, seen) {
    const items = await list();
    for (const item of items) {
      const own = item.kind === "fault_test" ? page.faults : page.recommissioning;
      const here = isAt(item, car) && (!item.check || own);
      const shown = here && item.settled && Date.parse(item.settled) <= Date.parse(seen);
      if (item.state === "stored" && (shown || Date.now() - item.made > FORGET_MS)) { await window.Sending.drop(item.key); }
    }
    await tell();
  }

  function newKey() {
    if (crypto.randomUUID) { return crypto.randomUUID(); }
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    return Array.from(bytes, function (byte) { return byte.toString(16).padStart(2, "0"); }).join("");
  }

  function again() {
    setTimeout(function () { send().then(again, again); }, LEAST_MS + Math.random() * SPREAD_MS);
  }

  document.addEventListener("change", checkFiles);
  document.addEventListener("invalid", function (event) { unfold(event.target); }, true);
  window.addEventListener("online", send);
  document.addEventListener("visibilitychange", function () { if (!document.hidden) { send(); } });
  if (between) { between.addEventListener("message", tell); }
  again();
  if (navigator.storage && navigator.storage.persist) { navigator.storage.persist(); }

  return {
    opened: window.Sending.open(), add: add, keep: keep, change: change, remove: remove, list: list, ofOthers: ofOthers, send: send,
    tidy: tidy, newKey: newKey, onChange: onChange, read: read, isAt: isAt, unfold: unfold,
  };
})();
