// The browser knows its time zone: it answers that question itself.
"use strict";

const zone = Intl.DateTimeFormat().resolvedOptions().timeZone;
const field = document.querySelector("[data-zone] select[name=time_zone]");
const isRefused = field && field.getAttribute("aria-invalid") === "true";
if (zone && field && !isRefused) {
  if (![...field.options].some((option) => option.value === zone)) field.add(new Option(zone, zone));
  field.value = zone;
  field.closest(".field").hidden = true;
}
