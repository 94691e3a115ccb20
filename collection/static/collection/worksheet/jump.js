// From the round straight to a car: its bay or registration typed. The round on this phone knows the cars, so that no
// signal is needed.
"use strict";

(function () {
  const form = document.getElementById("jump"), field = document.getElementById("jump-to"), said = document.getElementById("jumped");

  function plain(text) { return (text || "").replace(/\s+/g, "").toLowerCase(); }

  function cars() {
    try { return (JSON.parse(localStorage.getItem("worksheet-round") || "null") || { cars: [] }).cars; } catch (_refused) { return []; }
  }

  form.hidden = false;
  form.addEventListener("submit", function (event) {
    event.preventDefault();
    const wanted = plain(field.value);
    const car = wanted && cars().find(function (each) { return plain(each.plate) === wanted || plain(each.name.split(" ")[0]) === wanted; });
    if (car) { location.assign(car.url); return; }
    const anywhere = document.createElement("a");
    anywhere.href = form.action + "?q=" + encodeURIComponent(field.value);
    anywhere.textContent = "Find it anywhere";
    said.replaceChildren("Not in this round. ", anywhere, " (needs a signal)");
  });
})();
