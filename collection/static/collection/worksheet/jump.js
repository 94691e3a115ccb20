// From the round straight to a car: its bay or registration typed, or its label scanned where the browser reads
// codes. The round on this phone knows the cars, so that no signal is needed.
"use strict";

(function () {
  const form = document.getElementById("jump"), field = document.getElementById("jump-to");
  const scan = document.getElementById("scan"), camera = document.getElementById("camera"), said = document.getElementById("jumped");
  const LOOK_MS = 250;
  let stream = null;

  function plain(text) { return (text || "").replace(/\s+/g, "").toLowerCase(); }

  function cars() {
    try { return (JSON.parse(localStorage.getItem("worksheet-round") || "null") || { cars: [] }).cars; } catch (_refused) { return []; }
  }

  function typed(event) {
    event.preventDefault();
    const wanted = plain(field.value);
    const car = wanted && cars().find(function (each) { return plain(each.plate) === wanted || plain(each.name.split(" ")[0]) === wanted; });
    if (car) { location.assign(car.url); return; }
    const anywhere = document.createElement("a");
    anywhere.href = form.action + "?q=" + encodeURIComponent(field.value);
    anywhere.textContent = "Find it anywhere";
    said.replaceChildren("Not in this round. ", anywhere, " (needs a signal)");
  }

  function stop() {
    if (stream) { stream.getTracks().forEach(function (track) { track.stop(); }); }
    stream = null;
    camera.hidden = true;
    scan.textContent = "Scan a label";
  }

  // A label holds the address of its car or bay; only those of this site are followed.
  function follow(text) {
    let url = null;
    try { url = new URL(text); } catch (_fault) { /* no label of ours */ }
    if (!url || url.origin !== location.origin || !/\/worksheet\/(cars|bays)\/\d+\/$/.test(url.pathname)) {
      said.textContent = "This is no label of this site.";
      return false;
    }
    const car = cars().find(function (each) { return each.bay === url.pathname; });
    stop();
    location.assign(car ? car.url : url.pathname);
    return true;
  }

  async function look(detector) {
    if (!stream) { return; }
    const codes = await detector.detect(camera).catch(function () { return []; });
    if (stream && !(codes.length && follow(codes[0].rawValue))) { setTimeout(look, LOOK_MS, detector); }
  }

  async function start() {
    if (stream) { stop(); return; }
    said.textContent = "";
    try {
      stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } });
    } catch (_refused) {
      said.textContent = "The browser does not let this page use the camera.";
      return;
    }
    camera.srcObject = stream;
    camera.hidden = false;
    scan.textContent = "Stop scanning";
    await camera.play();
    look(new window.BarcodeDetector({ formats: ["qr_code"] }));
  }

  form.hidden = false;
  form.addEventListener("submit", typed);
  if ("BarcodeDetector" in window && navigator.mediaDevices) {
    scan.hidden = false;
    scan.addEventListener("click", start);
  }
})();
