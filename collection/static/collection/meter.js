// Says what a reading means while it is typed; the limits came with the page, so no signal is needed.
(function () {
  "use strict";

  function number(text) {
    const plain = text.trim().replace(",", ".");
    return plain === "" ? NaN : Number(plain);
  }

  function answer(bands, value) {
    return bands.find(function (band) { return band[0] === null || value >= band[0]; });
  }

  function show(field, told) {
    const value = number(field.value), band = Number.isNaN(value) ? null : answer(JSON.parse(field.dataset.bands), value);
    told.hidden = !band;
    told.textContent = band ? band[1] : "";
    told.className = "answer" + (band ? " answer-" + band[2] : "");
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
