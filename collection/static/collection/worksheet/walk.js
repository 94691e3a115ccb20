// A row of bays: says of each car what was tapped there, counts what the one button claims, and puts the whole
// row into the phone's queue as one entry.
"use strict";

(function () {
  const page = document.getElementById("worksheet").dataset;
  const form = document.getElementById("walk");
  if (!form) { return; }
  const button = form.querySelector("button[type='submit']"), said = document.getElementById("walked");
  const lines = Array.from(form.querySelectorAll("[data-line]"));
  const mending = location.hash.startsWith("#mend=") ? location.hash.slice("#mend=".length) : "";
  let key = form.elements.key.value;

  function of(line, name) { return Array.from(form.querySelectorAll("[name='" + line.dataset.line + "-" + name + "']")); }

  function ticked(line, name) {
    return of(line, name).filter(function (box) { return box.checked; }).map(function (box) { return box.value; });
  }

  function value(line, name) { return of(line, name)[0].value.trim(); }

  function isDanger(line) {
    return ticked(line, "danger").length > 0
      || of(line, "found").some(function (box) { return box.checked && box.parentElement.textContent.includes("▲"); });
  }

  function words(line) {
    const found = ticked(line, "found"), files = of(line, "photographs")[0].files.length;
    if (value(line, "words") && !found.length) { found.push(value(line, "words")); }
    const parts = [value(line, "without"), found.join(", "), value(line, "rested_volts") && value(line, "rested_volts") + " V",
      files ? (files === 1 ? "1 photograph" : files + " photographs") : ""];
    return (isDanger(line) ? "▲ " : "") + parts.filter(Boolean).join(" · ");
  }

  function isWell(line) { return !value(line, "without") && !ticked(line, "found").length && !value(line, "words") && !isDanger(line); }

  function summary() {
    const well = lines.filter(isWell).length, without = lines.filter(function (line) { return value(line, "without"); }).length;
    const found = lines.length - well - without;
    const parts = [form.dataset.done + ": " + well + (well === 1 ? " car" : " cars")];
    if (found) { parts.push(found + " with a finding"); }
    if (without) { parts.push(without + " left out"); }
    return parts.join(", ");
  }

  function show() {
    lines.forEach(function (line) {
      const state = line.querySelector(".line-state"), text = words(line);
      if (state.textContent !== text) { state.textContent = text; }
    });
    button.textContent = summary();
  }

  function numbers(some) { return some.map(function (line) { return Number(line.dataset.line); }); }

  async function submitted(event) {
    if (form.dataset.plain) { return; }
    event.preventDefault();
    if (!await window.Queue.keep(form, event.submitter, entry)) { form.hidden = false; said.textContent = ""; }
  }

  async function entry() {
    const typed = await window.Queue.read(form), what = summary();
    const old = mending && (await window.Queue.list()).find(function (each) { return each.key === mending; });
    if (old && !typed.files.length) { typed.files = old.files || []; }
    lines.forEach(function (line) { line.querySelector("details").open = false; });
    said.textContent = "✓ " + what + ": on this phone.";
    form.hidden = true;
    return {
      key: key, made: old ? old.made : Date.now(), car: null, carName: form.dataset.place, page: location.pathname + location.search,
      cars: numbers(lines.filter(function (line) { return !value(line, "without"); })), dangers: numbers(lines.filter(isDanger)),
      kind: "row", duty: form.dataset.duty, what: what, danger: false, fields: typed.fields, files: typed.files, seen: page.seen,
      done_at: old ? old.done_at : new Date().toISOString(),
    };
  }

  function mine(items) {
    const item = items.find(function (each) { return each.key === key; });
    if (!item) { form.hidden = false; said.textContent = ""; return; }
    const how = { waiting: "on this phone, waits for a signal", stored: "at the site", clash: "done by two people: see above", refused: "not all of it taken: see above" };
    said.textContent = (item.state === "refused" ? "" : "✓ ") + item.what + ": " + how[item.state] + ".";
    form.hidden = item.state !== "refused";
  }

  async function mend() {
    const item = (await window.Queue.list()).find(function (each) { return each.key === mending; });
    if (!item) { return; }
    key = item.key;
    lines.forEach(function (line) {
      ["without", "words", "rested_volts"].forEach(function (name) {
        of(line, name)[0].value = (item.fields[line.dataset.line + "-" + name] || [""])[0];
      });
      ["found", "danger"].forEach(function (name) {
        const values = item.fields[line.dataset.line + "-" + name] || [];
        of(line, name).forEach(function (box) { box.checked = values.includes(box.value); });
      });
      if (!isWell(line)) { line.querySelector("details").open = true; }
    });
    show();
  }

  window.addEventListener("hashchange", function () { location.reload(); });
  window.Queue.opened.then(function () {
    form.addEventListener("submit", submitted);
    form.addEventListener("input", show);
    form.addEventListener("change", show);
    show();
    window.Queue.onChange(mine);
    page.ready = "yes";
    return window.Queue.tidy(null, page.seen).then(mend);
  }).catch(function () { /* without a store the form goes to the site as it is */ });
})();
