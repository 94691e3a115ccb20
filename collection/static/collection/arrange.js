// Moves bays over a floor by pointer or arrow keys, and writes where they lie into the fields beneath.
"use strict";
(() => {
  const plan = document.querySelector("svg.arranged");
  if (!plan) return;
  const metres = Number(plan.dataset.metresAUnit), depth = Number(plan.dataset.depth);
  const told = document.querySelector("[data-told]");
  const STEP = 0.1, FAR = 1;
  const steps = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
  document.querySelectorAll(".with-script").forEach((part) => { part.hidden = false; });

  const input = (bay, name) => document.getElementById(`id_${bay.dataset.bay}-${name}`);
  const read = (bay, name) => (Number(input(bay, name).value.replace(",", ".")) || 0) * metres;
  const write = (bay, name, value) => { input(bay, name).value = String(Math.round(value / metres * 100) / 100); };
  const round = (value) => Math.max(0, Math.round(value / STEP) * STEP);

  const show = (bay) => {
    const [left, door, width, deep] = ["from_left_m", "from_door_m", "width_m", "depth_m"].map((name) => read(bay, name));
    bay.setAttribute("transform", `translate(${left} ${depth - door - deep})`);
    const rect = bay.querySelector("rect");
    rect.setAttribute("width", width);
    rect.setAttribute("height", deep);
  };
  const put = (bay, left, door) => {
    write(bay, "from_left_m", round(left));
    write(bay, "from_door_m", round(door));
    show(bay);
    told.textContent = `${bay.dataset.label}: ${input(bay, "from_left_m").value} from the left, ${
      input(bay, "from_door_m").value} from the door. Not saved yet.`;
  };
  const at = (event) => new DOMPoint(event.clientX, event.clientY).matrixTransform(plan.getScreenCTM().inverse());

  plan.querySelectorAll("[data-bay]").forEach((bay) => {
    bay.setAttribute("tabindex", "0");
    bay.setAttribute("role", "button");
    bay.setAttribute("aria-label", `Move bay ${bay.dataset.label}`);
    bay.addEventListener("keydown", (event) => {
      const step = steps[event.key];
      if (!step) return;
      event.preventDefault();
      const far = event.shiftKey ? FAR : STEP;
      put(bay, read(bay, "from_left_m") + step[0] * far, read(bay, "from_door_m") + step[1] * far);
    });
    bay.addEventListener("pointerdown", (event) => {
      const from = at(event), left = read(bay, "from_left_m"), door = read(bay, "from_door_m");
      bay.setPointerCapture(event.pointerId);
      event.preventDefault();
      bay.focus();
      const move = (now) => { const to = at(now); put(bay, left + to.x - from.x, door - to.y + from.y); };
      bay.addEventListener("pointermove", move);
      bay.addEventListener("lostpointercapture", () => bay.removeEventListener("pointermove", move), { once: true });
    });
  });
  document.querySelector("table.lie").addEventListener("input", (event) => {
    const bay = plan.querySelector(`[data-bay="${event.target.id.slice(3).split("-")[0]}"]`);
    if (bay) show(bay);
  });
})();
