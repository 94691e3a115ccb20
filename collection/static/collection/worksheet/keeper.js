// The service worker: pages of the worksheet from the site when it answers, else as last seen here.
// It keeps nothing that was sent: entries wait in the page's own store (queue.js).
"use strict";

const PAGES = "worksheet-pages"; // also in round.js, car.js and forget.js
const ASSETS = "worksheet-assets";
const PATIENCE_MS = 4000; // a signal this slow is none, where a kept page can serve

self.addEventListener("install", function (event) {
  event.waitUntil(keepAssets().then(function () { return self.skipWaiting(); }));
});

self.addEventListener("activate", function (event) {
  event.waitUntil(dropOldAssets().then(function () { return self.clients.claim(); }));
});

self.addEventListener("fetch", function (event) {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== self.location.origin) { return; }
  if (self.FACTS.assets.includes(url.pathname)) { event.respondWith(asset(event.request)); }
  else if (event.request.mode === "navigate") { event.respondWith(page(event.request)); }
});

async function keepAssets() {
  const kept = await caches.open(ASSETS);
  await kept.addAll(self.FACTS.assets.map(function (url) { return new Request(url, { cache: "reload" }); }));
  await kept.add(new Request(self.FACTS.offline, { cache: "reload" }));
}

async function dropOldAssets() {
  const kept = await caches.open(ASSETS);
  const wanted = self.FACTS.assets.concat(self.FACTS.offline);
  const requests = await kept.keys();
  await Promise.all(requests.map(function (request) {
    return wanted.includes(new URL(request.url).pathname) ? null : kept.delete(request);
  }));
}

async function asset(request) {
  const kept = await (await caches.open(ASSETS)).match(request, { ignoreVary: true });
  return kept || fetch(request);
}

async function page(request) {
  const kept = await keptPage(request);
  const fresh = fromSite(request);
  if (!kept) { return fresh.catch(notHere); }
  const answer = await Promise.race([fresh.catch(none), after(PATIENCE_MS)]);
  return answer && answer.status < 500 ? answer : kept;
}

async function keptPage(request) {
  const pages = await caches.open(PAGES);
  return pages.match(request, { ignoreVary: true });
}

async function fromSite(request) {
  const answer = await fetch(request);
  if (answer.ok && answer.type === "basic" && isPage(answer)) {
    await (await caches.open(PAGES)).put(request, answer.clone());
  }
  return answer;
}

function isPage(answer) { return (answer.headers.get("Content-Type") || "").startsWith("text/html"); }

async function notHere() { return (await caches.open(ASSETS)).match(self.FACTS.offline); }

function none() { return null; }

function after(ms) { return new Promise(function (resolve) { setTimeout(resolve, ms, null); }); }
