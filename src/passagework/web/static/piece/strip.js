// The strip as a way through the piece: point at a bar, or go along it with arrow keys; a frame shows what is in sight.

import { bringUp, score, systems } from "./sheet.js";

const strip = document.getElementById("strip");
const hand = document.getElementById("strip-hand");
const view = document.getElementById("strip-view");
const all = Number(strip.dataset.bars);
const [labels, width, step, perCell] = ["labels", "width", "step", "perCell"].map(name => Number(strip.dataset[name]));

hand.hidden = all === 0;
let at = 0;

const edge = bar => (labels + bar / perCell * step) / width;
const systemOf = bar => systems().find(s => Number(s.dataset.first) <= bar && bar <= Number(s.dataset.last));

/** Go to a bar of the score. */
export function goTo(bar) {
  at = Math.max(0, Math.min(all - 1, bar));
  const field = score.querySelector(`rect.bar[data-bar="${at}"]`);
  hand.setAttribute("aria-valuenow", at);
  const system = systemOf(at);
  hand.setAttribute("aria-valuetext", system ? `bar ${at + 1} of ${all}, ${system.getAttribute("aria-label")}` : `bar ${at + 1} of ${all}`);
  bringUp(system);
  if (!field) return;
  field.classList.add("is-here");
  setTimeout(() => field.classList.remove("is-here"), 1600);
}

hand.addEventListener("click", event => {
  const box = hand.getBoundingClientRect();
  const share = (event.clientX - box.left) / box.width;
  goTo(Math.floor((share * width - labels) / step * perCell));
});

hand.addEventListener("keydown", event => {
  const far = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageDown: 8, PageUp: -8, Home: -all, End: all }[event.key];
  if (!far) return;
  event.preventDefault();
  event.stopPropagation();
  goTo(at + far);
});

/** Frame the bars that are in sight. */
function frame() {
  const inSight = systems().filter(s => {
    const box = s.getBoundingClientRect();
    return box.bottom > 60 && box.top < innerHeight - 60;
  });
  view.hidden = inSight.length === 0;
  if (view.hidden) return;
  const first = Math.min(...inSight.map(s => Number(s.dataset.first)));
  const last = Math.max(...inSight.map(s => Number(s.dataset.last)));
  view.style.left = `${edge(first) * 100}%`;
  view.style.width = `${(edge(last + 1) - edge(first)) * 100}%`;
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
