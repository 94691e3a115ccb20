// Draws the figures that the page carries as data. Without this script the sentence and the table
// under each chart say the same. Colours of text and grid come from charts.css.
"use strict";

(function () {
  const config = { displayModeBar: false, displaylogo: false, responsive: true, scrollZoom: false, doubleClick: false };
  const boxes = Array.from(document.querySelectorAll("[data-figure]"));

  function draw(box) {
    const figure = JSON.parse(document.getElementById(box.dataset.figure).textContent);
    box.hidden = false;
    box.style.height = figure.layout.height + "px"; // a firm box: resizing measures it
    return Plotly.newPlot(box, figure.data, figure.layout, config);
  }

  // Paper is narrower than most screens: lay the charts out anew for it, and back.
  const PAPER_PX = 660;
  function fit(width) {
    boxes.forEach(function (box) {
      Plotly.relayout(box, width ? { width: width, autosize: false } : { width: null, autosize: true });
    });
  }

  boxes.forEach(draw);
  window.addEventListener("beforeprint", function () { fit(PAPER_PX); });
  window.addEventListener("afterprint", function () { fit(0); });
})();
