// Every chart is drawn on the page already. Whoever asks to explore one gets it with values to point at:
// only then is the large script fetched. Colours of text and grid come from charts.css.
"use strict";

(() => {
  const source = document.currentScript.dataset.plotly;
  const config = { displayModeBar: false, displaylogo: false, responsive: true, scrollZoom: false, doubleClick: false };
  let loading = null;

  const load = () => {
    loading ??= new Promise((resolve, reject) => {
      const script = document.createElement("script");
      script.src = source;
      script.onload = resolve;
      script.onerror = () => { loading = null; script.remove(); reject(new Error(source)); };
      document.head.append(script);
    });
    return loading;
  };

  const draw = (box) => {
    const figure = JSON.parse(document.getElementById(box.dataset.figure).textContent);
    box.hidden = false;
    box.style.height = figure.layout.height + "px"; // a firm box: resizing measures it
    return Plotly.newPlot(box, figure.data, figure.layout, config);
  };

  document.querySelectorAll("[data-explore]").forEach((button) => {
    button.hidden = false;
    button.addEventListener("click", () => {
      button.disabled = true;
      load().then(() => {
        draw(document.getElementById(`chart-${button.dataset.explore}`));
        button.closest(".figure").classList.add("explored");
      }).catch(() => { button.disabled = false; });
    });
  });
})();
