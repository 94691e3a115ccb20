// The steps of a recommissioning: says at once when a typed result is a stop, and marks what it takes away. The
// site alone gives a permission; the phone only takes away.
"use strict";

(function () {
  const page = document.getElementById("worksheet").dataset;
  const forms = Array.from(document.querySelectorAll("form[data-stops]"));

  function typed(form, name) {
    const fields = new FormData(form);
    return String(fields.get(name) || "").trim();
  }

  function number(text) { return Number(text.replace(",", ".")); }

  function isStop(rule, form) {
    if (rule.answers) { return rule.answers.includes(typed(form, "answer")); }
    const text = typed(form, "value"), read = number(text) * rule.units[typed(form, "unit")];
    const own = rule.magnitude ? Math.abs(read) : read;
    if (text === "" || Number.isNaN(own)) { return false; }
    const moved = rule.shift ? amount(rule.shift, typed(form, rule.shift.field)) : 0;
    return !rule.ranges.some(function (range) {
      return (range[0] === null || range[0] + moved <= own) && (range[1] === null || own <= range[1] + moved);
    });
  }

  // How far a condition moves the limits: straight between its points, flat beyond.
  function amount(shift, text) {
    const at = shift.at, by = shift.by, here = text === "" ? shift.unknown : shift.nought + shift.one * number(text);
    const next = at.findIndex(function (point) { return here <= point; });
    if (next <= 0) { return next === 0 ? by[0] : by[by.length - 1]; }
    return by[next - 1] + (by[next] - by[next - 1]) * (here - at[next - 1]) / (at[next] - at[next - 1]);
  }

  // What the site would refuse is said here, where somebody can still look again.
  function fault(form) {
    const value = typed(form, "value"), result = value || typed(form, "answer"), not = typed(form, "could_not");
    if (!result && !not) { return "Give the result, or say why it could not be done."; }
    if (result && not) { return "Give the result, or say why it could not be done: one of the two."; }
    return value && !Number.isFinite(number(value)) ? "Type a number: 12.4" : "";
  }

  function said(form) {
    const value = typed(form, "value"), answer = typed(form, "answer");
    return value ? value + " " + typed(form, "unit") : answer || "could not be done";
  }

  function looked(form) {
    const stop = isStop(JSON.parse(form.dataset.stops), form);
    form.querySelector("[name='value'], [name='answer']").setCustomValidity(fault(form));
    form.dataset.stopped = stop ? "yes" : "";
    form.dataset.said = said(form);
    const box = form.querySelector(".stop-here");
    if (box.hidden === stop) { box.hidden = !stop; }
  }

  function show(items) {
    const here = items.filter(function (item) { return item.car === Number(page.car) && item.check; });
    const stops = here.filter(function (item) { return typeof item.revokes === "string"; });
    document.getElementById("gone-up").hidden = !here.some(isNewer);
    const box = document.getElementById("stopped");
    box.querySelector("span").textContent = stops.map(function (item) { return item.what; }).join("; ");
    box.hidden = stops.length === 0;
    mark(new Set(stops.flatMap(function (item) { return item.revokes.split(" ").filter(Boolean); })));
  }

  function isNewer(item) { return item.state === "stored" && Date.parse(item.settled) > Date.parse(page.seen); }

  function mark(revoked) {
    document.querySelectorAll("[data-permission]").forEach(function (line) {
      const state = line.querySelector(".state"), taken = revoked.has(line.dataset.permission);
      state.dataset.made = state.dataset.made || state.textContent;
      state.textContent = taken ? "✕ " + line.dataset.label + ": no, a stop on this phone" : state.dataset.made;
      state.classList.toggle("state-late", taken || state.dataset.made.startsWith("✕"));
      state.classList.toggle("state-fine", !taken && state.dataset.made.startsWith("✓"));
    });
  }

  forms.forEach(function (form) {
    ["input", "change"].forEach(function (name) { form.addEventListener(name, function () { looked(form); }); });
    form.addEventListener("reset", function () { setTimeout(looked, 0, form); });
    looked(form);
  });
  if (document.getElementById("stopped")) { window.Queue.onChange(show); }
})();
