// The slips beside the score: one open at a time, its place in sight, its exercises fetched when they are asked for.

import { ask, say } from "/static/page.js";
import { follow } from "/static/jobs.js";
import { announce, bringUp, change, onDrawn, piece, score } from "./sheet.js";
import { chooseBars } from "./choosing.js";
import { numberAt } from "./notes.js";
import { player } from "./player.js";

const beside = document.getElementById("beside");
const slips = () => [...beside.querySelectorAll(".slip")];
export const openSlip = () => slips().find(slip => slip.open);

function setUp() {
  for (const button of beside.querySelectorAll("[data-drill], [data-hear]")) button.hidden = false;
}

/** Open a slip and show its place. */
export function open(slip) {
  for (let outer = slip.parentElement.closest("details"); outer; outer = outer.parentElement.closest("details")) outer.open = true;
  slip.open = true;
  const summary = slip.querySelector("summary");
  summary.focus({ preventScroll: true });
  reveal(slip);
}

/** Bring the head of a slip into sight within the margin, without moving the page. */
function reveal(slip) {
  const margin = document.getElementById("margin");
  const frame = margin.getBoundingClientRect(), head = slip.querySelector("summary").getBoundingClientRect();
  if (head.top < frame.top || head.bottom > frame.top + frame.height * 0.6) margin.scrollTop += head.top - frame.top - 8;
}

/** The next place, or the one before; those of the short list. */
export function goOn(step) {
  const listed = slips().filter(slip => slip.dataset.rank);
  if (!listed.length) return;
  const now = listed.indexOf(openSlip());
  const next = listed[now < 0 ? (step > 0 ? 0 : listed.length - 1) : (now + step + listed.length) % listed.length];
  open(next);
}

/** Fetch the card of a place outside the short list. */
async function complete(slip) {
  delete slip.dataset.later;
  try {
    const whole = document.createElement("div");
    whole.innerHTML = await ask(piece.at("/place", { spot: slip.dataset.spot }));
    const fresh = whole.querySelector(".slip");
    Object.assign(slip.dataset, fresh.dataset);
    const drill = slip.querySelector(".drill");
    if (drill.childNodes.length) fresh.querySelector(".drill").replaceWith(drill);
    slip.querySelector(".card-of").replaceWith(fresh.querySelector(".card-of"));
    setUp();
    lead(slip);
  } catch (error) { say(error.message); slip.dataset.later = ""; }
}

beside.addEventListener("toggle", event => {
  const slip = event.target;
  if (!slip.matches?.(".slip")) return;
  if (slip.open && "later" in slip.dataset) complete(slip);
  show(slip.dataset.rank, slip.open);
  if (!slip.open) return;
  lead(slip);
  reveal(slip);
}, true);

/** The ring and the number of the open place stand out. */
function show(number, on) {
  for (const mark of score.querySelectorAll("[data-number]"))
    if (mark.dataset.number === number) mark.classList.toggle("is-open", on);
}

onDrawn(() => { const slip = openSlip(); if (slip) show(slip.dataset.rank, true); });

/** Bring the music of a slip into sight. */
function lead(slip) {
  const system = document.getElementById(`system-${slip.dataset.system}`);
  if (system && !inSight(system)) bringUp(system);
}

function inSight(element) {
  const box = element.getBoundingClientRect();
  return box.top >= 0 && box.bottom <= innerHeight - 70;
}

beside.addEventListener("click", event => {
  const slip = event.target.closest(".slip");
  const go = event.target.closest("[data-go]");
  if (go) {
    event.preventDefault();
    bringUp(document.querySelector(go.getAttribute("href")));
    if (slip) chooseBars(Number(slip.dataset.first), Number(slip.dataset.last));
    return;
  }
  if (!slip) return;
  if (event.target.closest("[data-drill]")) drill(slip);
  if (event.target.closest("[data-hear]"))
    player.playBars(Number(slip.dataset.first), Number(slip.dataset.last));
  const step = event.target.closest("[data-play-step]")?.closest("[data-step]");
  if (step) playStep(slip, step);
});

function playStep(slip, step) {
  const exercise = step.closest("[data-exercise]");
  const steps = [...exercise.querySelectorAll("[data-step]")];
  // "The same notes" as a step before: that one's picture is followed.
  const pictured = steps.slice(0, steps.indexOf(step) + 1).reverse().find(s => s.querySelector(".step-music"));
  player.playStep({
    spot: slip.dataset.spot,
    exercise: Number(exercise.dataset.exercise),
    step: Number(step.dataset.step),
    tempo: Number(step.dataset.tempo),
    title: step.querySelector("h4").textContent,
    music: pictured?.querySelector(".step-music") ?? null,
    hands: step.dataset.hands.split(" "),
  });
}

/** Show the exercises of a slip; again closes them. */
export async function drill(slip, again = false) {
  const place = slip.querySelector(".drill");
  const button = slip.querySelector("[data-drill]");
  if (place.childNodes.length && !again) { place.replaceChildren(); button.setAttribute("aria-expanded", "false"); return; }
  button.setAttribute("aria-expanded", "true");
  place.textContent = "Writing the exercises …";
  try {
    const address = piece.at("/exercises", { spot: slip.dataset.spot });
    let found = await ask(address);
    if (found.job) {
      const job = await follow(found.job, now => { if (now.words) place.textContent = `${now.words} …`; });
      if (job.state !== "done") throw new Error(job.error || "Stopped.");
      found = await ask(address);
    }
    place.innerHTML = found;
    shareSigns(place);
    place.scrollIntoView({ block: "nearest", behavior: "auto" });
    announce("The exercises are there.");
  } catch (error) {
    place.textContent = error.message;
  }
}

/** Music characters that the page has already are not kept twice. */
function shareSigns(place) {
  for (const sign of place.querySelectorAll(".characters path"))
    if (document.querySelectorAll(`[id="${sign.id}"]`).length > 1) sign.remove();
}

// forms that change something: sent by script, the page stays where it is

beside.addEventListener("submit", async event => {
  const form = event.target.closest("[data-change]");
  if (!form) return;
  event.preventDefault();
  const slip = form.closest(".slip");
  try {
    await change(form.action, new FormData(form));
    if ("again" in form.dataset && slip) drill(document.getElementById(slip.id), true);
  } catch (error) { say(error.message); }
});

// a number in the score opens its slip

score.addEventListener("click", event => {
  const svg = event.target.closest("svg");
  const number = svg && numberAt(svg, event.clientX, event.clientY);
  const slip = number && beside.querySelector(`.slip[data-rank="${number}"]`);
  if (slip) open(slip);
});

const fold = document.getElementById("fold");
fold.addEventListener("click", () => {
  const folded = document.getElementById("margin").classList.toggle("is-folded");
  fold.setAttribute("aria-expanded", String(!folded));
  fold.textContent = folded ? "Unfold" : "Fold away";
});

new MutationObserver(setUp).observe(beside, { childList: true });
setUp();
