// The browser knows its time zone: it answers that question itself; or offers the answer, where the place may be another.
"use strict";

const zone = Intl.DateTimeFormat().resolvedOptions().timeZone;
const field = document.querySelector("[data-zone] select[name=time_zone]");
const isRefused = field && field.getAttribute("aria-invalid") === "true";
const isOffered = field && field.closest("[data-zone]").dataset.zone === "offered";
if (zone && field && !isRefused && !(isOffered && field.value !== "UTC")) {
  if (![...field.options].some((option) => option.value === zone)) field.add(new Option(zone, zone));
  field.value = zone;
  field.closest(".field").hidden = !isOffered;
}
