// The strip as a way through the piece: point at a bar, or go along it with arrow keys; a frame shows what is in sight.

import { bringUp, score, systems } from "./sheet.js";

const all = Number(document.querySelector(".strip").dataset.bars);
let at = 0;

// One strip for a desk's screen and one for a tablet: the style sheet shows one of them.
const strips = [...document.querySelectorAll(".strip")].map(strip => {
  const [labels, width, step, perCell] = ["labels", "width", "step", "perCell"].map(name => Number(strip.dataset[name]));
  return {
    hand: strip.querySelector(".strip-hand"),
    view: strip.querySelector(".strip-view"),
    edge: bar => (labels + bar / perCell * step) / width,
    barAt: share => Math.floor((share * width - labels) / step * perCell),
  };
});

const systemOf = bar => systems().find(s => Number(s.dataset.first) <= bar && bar <= Number(s.dataset.last));

/** Go to a bar of the score. */
export function goTo(bar) {
  at = Math.max(0, Math.min(all - 1, bar));
  const field = score.querySelector(`rect.bar[data-bar="${at}"]`);
  const system = systemOf(at);
  for (const { hand } of strips) {
    hand.setAttribute("aria-valuenow", at + 1);
    hand.setAttribute("aria-valuetext", `bar ${at + 1} of ${all}${system ? `, in the line of ${system.getAttribute("aria-label")}` : ""}`);
  }
  bringUp(system);
  if (!field) return;
  field.classList.add("is-here");
  setTimeout(() => field.classList.remove("is-here"), 1600);
}

for (const { hand, barAt } of strips) {
  hand.hidden = all === 0;
  hand.addEventListener("click", event => {
    const box = hand.getBoundingClientRect();
    goTo(barAt((event.clientX - box.left) / box.width));
  });
  hand.addEventListener("keydown", event => {
    const far = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageDown: 8, PageUp: -8, Home: -all, End: all }[event.key];
    if (!far || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    event.stopPropagation();
    goTo(at + far);
  });
}

/** Frame the bars that are in sight. */
function frame() {
  const inSight = systems().filter(s => {
    const box = s.getBoundingClientRect();
    return box.bottom > 60 && box.top < innerHeight - 100;
  });
  const first = Math.min(...inSight.map(s => Number(s.dataset.first)));
  const last = Math.max(...inSight.map(s => Number(s.dataset.last)));
  for (const { view, edge } of strips) {
    view.hidden = inSight.length === 0;
    if (view.hidden) continue;
    view.style.left = `${edge(first) * 100}%`;
    view.style.width = `${(edge(last + 1) - edge(first)) * 100}%`;
  }
}

let waiting = false;
function soon() {
  if (waiting) return;
  waiting = true;
  requestAnimationFrame(() => { waiting = false; frame(); });
}
addEventListener("scroll", soon, { passive: true });
addEventListener("resize", soon);
frame();
