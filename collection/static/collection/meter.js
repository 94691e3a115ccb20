// Says what a reading means while it is typed, and how it stands to the last one; the limits came with the page, so
// that no signal is needed. On the round it offers the work that follows: its step on the page, or today's round.
(function () {
  "use strict";

  const LAST = /^Last: (-?[\d.]+) ?(.*) on (.*)$/;

  function number(text) {
    const plain = text.trim().replace(",", ".");
    return plain === "" ? NaN : Number(plain);
  }

  function answer(bands, value) {
    return bands.find(function (band) { return band[0] === null || value >= band[0]; });
  }

  // As many decimals as the last one was told with.
  function compared(field, value) {
    const line = field.closest(".field").querySelector(".last"), last = line && LAST.exec(line.textContent.trim().replace("−", "-"));
    if (!last) { return ""; }
    const decimals = (last[1].split(".")[1] || "").length, by = Number((value - Number(last[1])).toFixed(Math.max(decimals, 1)));
    if (by === 0) { return " As on " + last[3] + "."; }
    return " " + Math.abs(by) + " " + last[2] + (by > 0 ? " more" : " less") + " than on " + last[3] + ".";
  }

  function localDay() {
    const now = new Date();
    return [now.getFullYear(), now.getMonth() + 1, now.getDate()].map(function (part) { return String(part).padStart(2, "0"); }).join("-");
  }

  function carOf(field) {
    const line = field.closest("[data-line]"), page = document.getElementById("worksheet");
    return line ? Number(line.dataset.line) : page ? Number(page.dataset.car) : 0;
  }

  function stepOf(duty, field) {
    const step = document.querySelector("[data-step='" + duty + "'] details.done");
    return step && !step.contains(field) ? step : null;
  }

  function follow(field, band) {
    const made = document.createElement("button"), step = stepOf(band[3], field);
    made.type = "button";
    made.className = "quiet";
    made.textContent = step ? "Go to it: " + band[4] : "Onto today's round: " + band[4];
    made.addEventListener("click", async function () {
      if (step) { step.open = true; step.scrollIntoView(); return; }
      const page = document.getElementById("worksheet").dataset, title = document.querySelector("h1").textContent.trim();
      await window.Queue.add({
        key: window.Queue.newKey(), car: carOf(field), carName: page.carName || title, page: location.pathname, kind: "pass_on", duty: band[3],
        what: band[4] + " put onto today's round", fields: { day: [localDay()] }, seen: page.seen, done_at: new Date().toISOString(),
      });
      made.replaceWith("✓ " + band[4] + " is on today's round.");
    });
    return made;
  }

  function isOffered(field, band) {
    const own = field.closest("[data-duty]");
    return band[3] && window.Queue && carOf(field) && !(own && own.dataset.duty === band[3]);
  }

  function show(field, told) {
    const value = number(field.value), band = Number.isNaN(value) ? null : answer(JSON.parse(field.dataset.bands), value);
    told.hidden = !band;
    told.replaceChildren();
    told.className = "answer" + (band ? " answer-" + band[2] : "");
    if (!band) { return; }
    told.append(band[1] + compared(field, value));
    if (isOffered(field, band)) { told.append(document.createElement("br"), follow(field, band)); }
  }

  document.querySelectorAll("[data-bands]").forEach(function (field) {
    const told = document.createElement("p");
    told.setAttribute("role", "status");
    told.hidden = true;
    field.after(told);
    field.addEventListener("input", function () { show(field, told); });
    show(field, told);
  });
})();
