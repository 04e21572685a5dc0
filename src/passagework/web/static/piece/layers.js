// Which layers of the score are shown; remembered by this browser.

import { onDrawn, score, systems } from "./sheet.js";

const KEPT = "passagework.layers";
const boxes = [...document.querySelectorAll("#layers input")];

function apply(figures = systems()) {
  for (const box of boxes) score.classList.toggle(`no-${box.value}`, !box.checked);
  const deep = boxes.find(box => box.value === "harmony").checked;
  for (const system of figures) {
    const svg = system.querySelector("svg");
    if (!svg) continue;
    const view = svg.getAttribute("viewBox").split(" ");
    view[3] = deep ? svg.dataset.deep : svg.dataset.low;
    svg.setAttribute("viewBox", view.join(" "));
    svg.setAttribute("height", view[3]);
  }
}

function recall() {
  try {
    const kept = JSON.parse(localStorage.getItem(KEPT) || "{}");
    for (const box of boxes) if (typeof kept[box.value] === "boolean") box.checked = kept[box.value];
  } catch { /* a browser that keeps nothing shows the usual layers */ }
}

for (const box of boxes)
  box.addEventListener("change", () => {
    apply();
    try { localStorage.setItem(KEPT, JSON.stringify(Object.fromEntries(boxes.map(b => [b.value, b.checked])))); } catch { /* as above */ }
  });

onDrawn(apply);
recall();
apply();
