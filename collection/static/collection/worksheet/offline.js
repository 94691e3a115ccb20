// A scanned bay without a signal: the round on this phone knows which car stood there.
"use strict";

(function () {
  try {
    const round = JSON.parse(localStorage.getItem("worksheet-round") || "null");
    if (!round) { return; }
    document.getElementById("round").href = round.url;
    const car = round.cars.find(function (each) { return each.bay && each.bay === location.pathname; });
    if (car) { location.replace(car.url); }
  } catch (refused) {
    // the page itself says what to do
  }
})();
