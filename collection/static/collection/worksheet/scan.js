// Reads a label of ours with the camera, where the browser can, and opens what is to be done there: for the round and
// for the page of the scanner. A code of anybody else's leads nowhere.
"use strict";

(function () {
  const LOOK_MS = 250;
  const scanner = document.getElementById("scanner").dataset, scan = document.getElementById("scan");
  const sight = document.getElementById("sight"), told = document.getElementById("scanned");
  let stream = null;

  // A label holds the address of its car or bay; only those of this site are followed.
  function ourPage(text) {
    const ours = [scanner.carLabel, scanner.bayLabel].map(function (address) { return address.replace("0", "[0-9]+"); });
    let url = null;
    try { url = new URL(text); } catch (_fault) { return ""; }
    return url.origin === location.origin && new RegExp("^(" + ours.join("|") + ")$").test(url.pathname) ? url.pathname : "";
  }

  async function look(detector) {
    const codes = await detector.detect(sight).catch(function () { return []; }); // not yet a picture
    if (!stream) { return; }
    const page = codes.map(function (code) { return ourPage(code.rawValue); }).find(Boolean);
    if (page) { stop(); location.assign(page); return; }
    if (codes.length) { told.textContent = "This is no label of this site."; }
    setTimeout(look, LOOK_MS, detector);
  }

  function stop() {
    stream.getTracks().forEach(function (track) { track.stop(); });
    stream = null;
    sight.hidden = true;
    scan.textContent = "Scan a label";
    told.textContent = "";
  }

  async function start() {
    if (stream) { stop(); return; }
    try {
      stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } });
    } catch (_refused) {
      told.textContent = "The camera was not given: allow it for this site, or use the phone's own camera.";
      return;
    }
    sight.srcObject = stream;
    sight.hidden = false;
    scan.textContent = "Stop scanning";
    told.textContent = "Hold the label before the camera.";
    await sight.play();
    look(new window.BarcodeDetector({ formats: ["qr_code"] }));
  }

  async function reads() {
    if (!("BarcodeDetector" in window) || !navigator.mediaDevices) { return false; }
    return (await window.BarcodeDetector.getSupportedFormats()).includes("qr_code");
  }

  reads().then(function (able) {
    if (!able) { return; }
    scan.hidden = false;
    told.textContent = "";
    scan.addEventListener("click", start);
  });
})();
