// One car: what is logged goes into the phone's queue at once, and the page shows it before the site does.
"use strict";

(function () {
  const page = document.getElementById("worksheet").dataset;
  const car = Number(page.car);
  const forms = Array.from(document.querySelectorAll("form[data-kind]"));
  const mending = location.hash.startsWith("#mend=") ? location.hash.slice("#mend=".length) : "";

  function what(form, submitter) {
    const chosen = submitter && submitter.name ? submitter.value : form.dataset.said; // said: by recommissioning.js
    return form.dataset.what + (chosen ? ": " + chosen : "");
  }

  function isDanger(form, submitter) {
    const ticked = form.querySelector("[name='danger']");
    return Boolean((submitter && submitter.dataset.danger) || (ticked && ticked.checked));
  }

  async function submitted(event) {
    const form = event.target, submitter = event.submitter;
    if (form.dataset.plain) { return; }
    event.preventDefault();
    if (!await window.Queue.keep(form, submitter, function () { return entry(form, submitter); })) { return; }
    form.dispatchEvent(new CustomEvent("logged"));
    delete form.dataset.mends;
    form.reset();
    const step = form.closest("details");
    if (step) { step.open = false; }
    window.Queue.send().then(refresh);
  }

  async function entry(form, submitter) {
    const old = await mended(form), typed = await window.Queue.read(form, submitter);
    if (old && !typed.files.length) { typed.files = old.files || []; } // it keeps its key, time and photographs
    return {
      key: old ? old.key : window.Queue.newKey(), made: old ? old.made : Date.now(), car: car, carName: page.carName, page: location.pathname,
      kind: form.dataset.kind, duty: form.dataset.duty || "", finding: form.dataset.finding || null,
      check: form.dataset.check || "", revokes: form.dataset.stopped ? form.dataset.revokes : null,
      what: what(form, submitter), danger: isDanger(form, submitter), fields: typed.fields, files: typed.files,
      seen: page.seen, done_at: old ? old.done_at : new Date().toISOString(),
    };
  }

  async function mended(form) {
    if (!form.dataset.mends) { return null; }
    return (await window.Queue.list()).find(function (each) { return each.key === form.dataset.mends; });
  }

  // What the site shows of this car next time, signal or not.
  async function refresh() {
    if (!("caches" in window)) { return; }
    const answer = await fetch(location.pathname, { credentials: "same-origin", redirect: "manual" }).catch(function () { return null; });
    if (answer && answer.ok) { await window.Pages.keep(location.pathname, answer); }
  }

  function show(items) {
    const here = items.filter(function (item) { return window.Queue.isAt(item, car); });
    document.querySelectorAll("[data-step]").forEach(function (step) {
      const logged = here.filter(function (item) { return item.state !== "refused" && inStep(item, step); }).pop();
      step.querySelector(".acts").hidden = Boolean(logged) && !["not_done", "pass_on"].includes(logged.kind) && !logged.check;
      step.querySelector(".on-phone").textContent = logged ? words(logged) : "";
    });
    const danger = items.some(function (item) { return isDangerHere(item) && item.state !== "refused"; });
    document.getElementById("danger").hidden = !danger;
    document.querySelectorAll("[data-moves]").forEach(function (step) { if (danger) { step.querySelector(".acts").hidden = true; } });
  }

  function isDangerHere(item) { return (item.danger && item.car === car) || Boolean(item.dangers && item.dangers.includes(car)); }

  function inStep(item, step) {
    if (item.check) { return "check-" + item.check === step.dataset.step; }
    return item.duty ? item.duty === step.dataset.step : Boolean(item.finding) && item.finding === step.dataset.step;
  }

  function words(item) {
    const at = new Date(item.made).toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
    const how = { waiting: "on this phone, waits for a signal", stored: "at the site", clash: "done by two people: see above" }[item.state];
    return (typeof item.revokes === "string" ? "✕ Stop: " : "✓ ") + item.what + " logged " + at + ": " + how + ".";
  }

  // An entry that the site refused, back in its form as it was typed.
  async function mend() {
    const item = (await window.Queue.list()).find(function (each) { return each.key === mending; });
    const form = item && forms.find(function (each) {
      return each.dataset.kind === item.kind && (each.dataset.duty || "") === item.duty && (each.dataset.finding || null) === item.finding
        && (each.dataset.check || "") === (item.check || "");
    });
    if (!form) { return; }
    form.dataset.mends = item.key;
    Object.entries(item.fields).forEach(function (pair) { fill(form, pair[0], pair[1]); });
    window.Queue.unfold(form);
    form.dispatchEvent(new Event("input"));
    form.scrollIntoView();
  }

  function fill(form, name, values) {
    form.querySelectorAll("[name='" + name + "']").forEach(function (input) {
      if (input.type === "checkbox" || input.type === "radio") { input.checked = values.includes(input.value); }
      else if (input.tagName !== "BUTTON" && input.type !== "file") { input.value = values[0]; }
    });
  }

  function turn() {
    const round = JSON.parse(localStorage.getItem("worksheet-round") || "null");
    const at = round ? round.cars.findIndex(function (each) { return each.url === location.pathname; }) : -1;
    if (at < 0) { return; }
    document.getElementById("round").href = round.url;
    document.getElementById("at").textContent = "car " + (at + 1) + " of " + round.cars.length;
    link("previous", round.cars[at - 1], "←");
    link("next", round.cars[at + 1], "→");
  }

  function link(id, other, arrow) {
    if (!other) { return; }
    const made = document.getElementById(id);
    made.href = other.url;
    made.textContent = id === "next" ? other.name + " " + arrow : arrow + " " + other.name;
    made.hidden = false;
  }

  window.addEventListener("hashchange", function () { location.reload(); });
  try { turn(); } catch (refused) { /* a browser that stores nothing: back to the round instead */ }
  window.Queue.opened.then(function () {
    forms.forEach(function (form) { form.addEventListener("submit", submitted); });
    window.Queue.onChange(show);
    document.getElementById("worksheet").dataset.ready = "yes";
    return window.Queue.tidy(car, page.seen).then(mend);
  }).catch(function () { /* without a store the forms go to the site as they are */ });
})();
