// On a page without a sign-in: pages that the last person left on this phone go. What they logged and
// has not gone up yet stays, unread, until they sign in again.
"use strict";

if ("caches" in window) { caches.delete("worksheet-pages"); }
try {
  localStorage.removeItem("worksheet-round");
} catch (refused) {
  // a browser that stores nothing has nothing to forget
}
