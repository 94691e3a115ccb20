// A clock for run-ups: goes on when the page is closed, and fills in the minutes when it is stopped.
"use strict";

(function () {
  const SECOND_MS = 1000, MINUTE_MS = 60000;

  function read(key) { try { return Number(localStorage.getItem(key)) || 0; } catch (refused) { return 0; } }

  function write(key, value) {
    try {
      if (value) { localStorage.setItem(key, String(value)); } else { localStorage.removeItem(key); }
    } catch (refused) {
      // the clock then runs only while the page is open
    }
  }

  function said(ms) {
    const seconds = Math.floor(ms / SECOND_MS);
    return Math.floor(seconds / 60) + ":" + String(seconds % 60).padStart(2, "0");
  }

  function start(box) {
    const key = "worksheet-timer-" + box.dataset.timer;
    const minutes = box.closest("form").querySelector("[name$='minutes']");
    const button = document.createElement("button");
    const clock = document.createElement("output");
    let since = read(key);
    button.type = "button";
    clock.setAttribute("aria-live", "off");

    function show() {
      button.textContent = since ? "Stop the clock" : "Start the clock";
      clock.textContent = since ? said(Date.now() - since) : "";
    }

    button.addEventListener("click", function () {
      if (since) { minutes.value = Math.max(1, Math.round((Date.now() - since) / MINUTE_MS)); minutes.focus(); }
      since = since ? 0 : Date.now();
      write(key, since);
      show();
    });
    box.closest("form").addEventListener("logged", function () { since = 0; write(key, 0); show(); });
    box.append(button, clock);
    if (since) { box.closest("details").open = true; }
    setInterval(show, SECOND_MS);
    show();
  }

  document.querySelectorAll("[data-timer]").forEach(start);
})();
