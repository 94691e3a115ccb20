// Reads a label of ours with the camera and opens what is to be done there; a code of anybody else's leads nowhere.
"use strict";

(function () {
  const EVERY_MS = 250;
  const scanner = document.getElementById("scanner"), sight = document.getElementById("sight"), told = document.getElementById("told");
  const button = document.getElementById("camera");

  function ourPage(text) {
    const ours = [scanner.dataset.car, scanner.dataset.bay].map(function (address) { return address.replace("0", "[0-9]+"); });
    let path = "";
    try { path = new URL(text, location.origin).pathname; } catch (_fault) { return ""; }
    return new RegExp("^(" + ours.join("|") + ")$").test(path) ? path : "";
  }

  async function look(detector) {
    const codes = sight.readyState >= 2 ? await detector.detect(sight).catch(function () { return []; }) : [];
    const pages = codes.map(function (code) { return ourPage(code.rawValue); }), page = pages.find(Boolean);
    if (page) { location.assign(page); return; }
    if (codes.length) { told.textContent = "This is no label of a car or a bay here."; }
    setTimeout(look, EVERY_MS, detector);
  }

  async function start() {
    button.disabled = true;
    try {
      sight.srcObject = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } });
      sight.hidden = false;
      await sight.play();
      told.textContent = "Hold the label before the camera.";
      look(new window.BarcodeDetector({ formats: ["qr_code"] }));
    } catch (_refused) {
      button.disabled = false;
      told.textContent = "The camera was not given: allow it for this site, or use the phone's own camera.";
    }
  }

  async function reads() {
    if (!("BarcodeDetector" in window) || !navigator.mediaDevices) { return false; }
    return (await window.BarcodeDetector.getSupportedFormats()).includes("qr_code");
  }

  reads().then(function (able) {
    scanner.hidden = !able;
    if (able) { told.textContent = "The code on a car or a bay opens what is to be done there."; }
    button.addEventListener("click", start);
  });
})();
