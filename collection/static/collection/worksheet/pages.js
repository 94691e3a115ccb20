// Pages kept on this phone, each together with the styles and scripts that it names: a page of an older version
// keeps its own until it is read afresh. For the pages and for the service worker.
"use strict";

self.Pages = (function () {
  const PAGES = "worksheet-pages", ASSETS = "worksheet-assets"; // the first also in forget.js
  const NAMED = /(?:src|href)="([^"]+\.(?:css|js|svg|png))"/g;

  function named(html) { return Array.from(html.matchAll(NAMED), function (found) { return found[1]; }); }

  async function kept(request) { return (await caches.open(PAGES)).match(request, { ignoreVary: true }); }

  async function asset(request) { return (await caches.open(ASSETS)).match(request, { ignoreVary: true }); }

  // The assets first: where one does not come, the page kept before stays with its own.
  async function keep(request, answer) {
    const assets = await caches.open(ASSETS);
    for (const url of named(await answer.clone().text())) {
      if (!await assets.match(url, { ignoreVary: true })) { await assets.add(url); }
    }
    await (await caches.open(PAGES)).put(request, answer);
  }

  // What neither this version nor any kept page names.
  async function dropAssets(wanted) {
    const pages = await caches.open(PAGES), assets = await caches.open(ASSETS);
    const used = new Set(wanted);
    for (const request of await pages.keys()) {
      named(await (await pages.match(request, { ignoreVary: true })).text()).forEach(function (url) { used.add(url); });
    }
    for (const request of await assets.keys()) {
      if (!used.has(new URL(request.url).pathname)) { await assets.delete(request); }
    }
  }

  return { ASSETS: ASSETS, kept: kept, asset: asset, keep: keep, dropAssets: dropAssets };
})();
