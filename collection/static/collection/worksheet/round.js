// The round: takes every car's page onto the phone, and shows which cars have entries on it.
"use strict";

(function () {
  const page = document.getElementById("worksheet").dataset;
  const links = Array.from(document.querySelectorAll("[data-car]"));
  const status = document.getElementById("kept");
  const PAGES = "worksheet-pages", FRESH_MS = 10 * 60 * 1000;

  function remember() {
    const cars = links.map(function (link) { return { url: link.getAttribute("href"), name: link.dataset.name, bay: link.dataset.bay }; });
    try {
      localStorage.setItem("worksheet-round", JSON.stringify({ url: location.pathname + location.search, cars: cars }));
    } catch (refused) {
      // without it only "next car" and scanned bays need a signal
    }
  }

  async function isFresh(pages, url) {
    const kept = await pages.match(url, { ignoreVary: true });
    const made = kept && Date.parse(kept.headers.get("Date") || "");
    return Boolean(made) && Date.now() - made < FRESH_MS;
  }

  async function keep(pages, url) {
    if (await isFresh(pages, url)) { return true; }
    const answer = await fetch(url, { credentials: "same-origin", redirect: "manual" });
    if (answer.ok) { await pages.put(url, answer); }
    return answer.ok;
  }

  function wanted() {
    const urls = links.flatMap(function (link) { return [link.getAttribute("href")].concat((link.dataset.also || "").split(" ")); });
    return Array.from(new Set([page.home].concat(urls.filter(Boolean))));
  }

  async function keepAll() {
    const pages = await caches.open(PAGES), urls = wanted();
    let kept = 0;
    for (const url of urls) {
      if (await keep(pages, url).catch(function () { return false; })) { kept += 1; }
      status.textContent = kept + " of " + urls.length + " pages are on this phone.";
    }
    if (kept === urls.length) {
      status.textContent = "All of it is on this phone: it works without a signal.";
    }
    status.dataset.done = "yes";
  }

  function mark(items) {
    links.forEach(function (link) {
      const here = items.filter(function (item) { return item.car === Number(link.dataset.car); });
      const waiting = here.filter(function (item) { return item.state === "waiting"; }).length;
      const told = link.querySelector(".on-phone");
      told.textContent = here.length ? "✓ " + here.length + " logged on this phone" + (waiting ? ", " + waiting + " waiting" : "") : "";
    });
  }

  remember();
  window.Queue.onChange(mark);
  if ("caches" in window) { keepAll(); }
})();
