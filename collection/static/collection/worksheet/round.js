// The round: takes every car's page and every row onto the phone, shows which cars have entries on it, opens the
// next day when it has come, and keeps the note of the shift.
"use strict";

(function () {
  const page = document.getElementById("worksheet").dataset;
  const links = Array.from(document.querySelectorAll("[data-car]"));
  const status = document.getElementById("kept");
  const FRESH_MS = 10 * 60 * 1000;

  function remember() {
    const cars = links.map(function (link) { 
      return { url: link.getAttribute("href"), name: link.dataset.name, bay: link.dataset.bay, plate: link.dataset.plate };
    });
    try {
      localStorage.setItem("worksheet-round", JSON.stringify({ url: location.pathname + location.search, cars: cars }));
    } catch (refused) {
      // without it only "next car" and scanned bays need a signal
    }
  }

  async function isFresh(url) {
    const kept = await window.Pages.kept(url);
    const made = kept && Date.parse(kept.headers.get("Date") || "");
    return Boolean(made) && Date.now() - made < FRESH_MS;
  }

  async function keep(url) {
    if (await isFresh(url)) { return true; }
    const answer = await fetch(url, { credentials: "same-origin", redirect: "manual" });
    if (answer.ok) { await window.Pages.keep(url, answer); }
    return answer.ok;
  }

  function wanted() {
    const urls = links.flatMap(function (link) { return [link.getAttribute("href")].concat((link.dataset.also || "").split(" ")); });
    const rows = Array.from(document.querySelectorAll("[data-page]"), function (link) { return new URL(link.href).pathname + new URL(link.href).search; });
    return Array.from(new Set([page.home].concat(urls.filter(Boolean), rows)));
  }

  async function keepAll() {
    const urls = wanted();
    let kept = 0;
    for (const url of urls) {
      if (await keep(url).catch(function () { return false; })) { kept += 1; }
      status.textContent = kept + " of " + urls.length + " pages are on this phone.";
    }
    if (kept === urls.length) {
      status.textContent = "All of it is on this phone: it works without a signal.";
    }
    status.dataset.done = "yes";
  }

  function mark(items) {
    document.querySelectorAll("[data-mark]").forEach(function (link) {
      const told = link.querySelector(".on-phone");
      if (!told) { return; }
      const here = items.filter(function (item) { return window.Queue.isAt(item, Number(link.dataset.mark)); });
      const waiting = here.filter(function (item) { return item.state === "waiting"; }).length;
      told.textContent = here.length ? "✓ " + here.length + " logged on this phone" + (waiting ? ", " + waiting + " waiting" : "") : "";
    });
  }

  // A page that was loaded the evening before: its next day is today by now.
  function turnDay() {
    const next = document.getElementById("after"), now = new Date();
    const today = [now.getFullYear(), now.getMonth() + 1, now.getDate()].map(function (part) { return String(part).padStart(2, "0"); }).join("-");
    if (!next || next.dataset.day > today) { return; }
    next.open = true;
    document.getElementById("today").before(next);
  }

  async function note(event) {
    const form = event.target;
    if (form.dataset.plain) { return; }
    event.preventDefault();
    if (!await window.Queue.keep(form, event.submitter, noted)) { return; }
    form.reset();
    form.closest("details").open = false;
  }

  function noted() {
    const words = document.getElementById("shift-note").elements.words.value.trim();
    return {
      key: window.Queue.newKey(), car: null, carName: page.siteName, page: location.pathname, kind: "shift_note", site: Number(page.site),
      what: "Note for the next shift: " + words.slice(0, 40), fields: { words: [words] }, seen: page.seen, done_at: new Date().toISOString(),
    };
  }

  remember();
  turnDay();
  document.getElementById("shift-note").addEventListener("submit", note);
  window.Queue.opened.then(function () { return window.Queue.tidy(null, page.seen); }).catch(function () { /* nothing waits */ });
  window.Queue.onChange(mark);
  if ("caches" in window) { keepAll(); }
})();
