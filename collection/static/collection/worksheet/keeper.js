// The service worker: pages of the worksheet from the site when it answers, else as last seen here; and entries
// that wait, sent when the browser says that there is a signal. It stands behind FACTS, pages.js and sending.js.
"use strict";

const PATIENCE_MS = 4000; // a signal this slow is none, where a kept page can serve

self.addEventListener("install", function (event) {
  event.waitUntil(keepAssets().then(function () { return self.skipWaiting(); }));
});

self.addEventListener("activate", function (event) {
  const wanted = self.FACTS.assets.concat(self.FACTS.offline);
  event.waitUntil(self.Pages.dropAssets(wanted).then(function () { return self.clients.claim(); }));
});

self.addEventListener("fetch", function (event) {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== self.location.origin) { return; }
  if (event.request.mode === "navigate") { event.respondWith(page(event.request)); }
  else if (["script", "style", "image"].includes(event.request.destination)) { event.respondWith(asset(event.request)); }
});

self.addEventListener("sync", function (event) {
  if (event.tag === self.Sending.TAG) { event.waitUntil(sendKept()); }
});

async function sendKept() {
  await self.Sending.sendAll(null, self.FACTS.send);
  new BroadcastChannel("longstand-queue").postMessage("sent");
}

async function keepAssets() {
  const kept = await caches.open(self.Pages.ASSETS);
  await kept.addAll(self.FACTS.assets.map(function (url) { return new Request(url, { cache: "reload" }); }));
  await kept.add(new Request(self.FACTS.offline, { cache: "reload" }));
}

async function asset(request) { return await self.Pages.asset(request) || fetch(request); }

async function page(request) {
  const kept = await self.Pages.kept(request);
  const fresh = fromSite(request);
  if (!kept) { return fresh.catch(notHere); }
  const answer = await Promise.race([fresh.catch(none), after(PATIENCE_MS)]);
  return answer && answer.status < 500 ? answer : kept;
}

async function fromSite(request) {
  const answer = await fetch(request);
  if (answer.ok && answer.type === "basic" && isPage(answer)) {
    self.Pages.keep(request, answer.clone()).catch(none); // the reader does not wait for it
  }
  return answer;
}

function isPage(answer) { return (answer.headers.get("Content-Type") || "").startsWith("text/html"); }

async function notHere() { return self.Pages.asset(self.FACTS.offline); }

function none() { return null; }

function after(ms) { return new Promise(function (resolve) { setTimeout(resolve, ms, null); }); }
