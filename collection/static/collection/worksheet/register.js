// Starts the service worker of the worksheet; without one the pages work as long as there is a signal.
"use strict";

if ("serviceWorker" in navigator) {
  const facts = document.currentScript.dataset;
  navigator.serviceWorker.register(facts.worker, { scope: facts.scope, updateViaCache: "none" });
}
